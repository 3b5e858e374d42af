package reading

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// planOf makes a plan of one format.
func planOf(t *testing.T, format string, opt Options) *Plan {
	t.Helper()
	opt.Format = format
	p, err := New(formats.Builtin(), site.Site{}, opt)
	require.NoError(t, err)
	return p
}

// seen reads a value that must be a card of the plan.
func seen(t *testing.T, p *Plan, value string) Seen {
	t.Helper()
	var s Seen
	require.NoError(t, p.Read([]byte(value), &s), value)
	return s
}

// What a plan can't be made of is said, with what would do.
func TestPlansThatCannotBe(t *testing.T) {
	cat := formats.Builtin()
	tooLarge := site.Site{Cards: []formats.Population{{Format: "26-8-16", Printed: "number"}}}
	pair := []string{"pair"}
	for _, tt := range []struct {
		site site.Site
		opt  Options
		says string
	}{
		{site.Site{}, Options{Format: "26-8-16", Forms: []string{"pairs"}}, `form "pairs": no such form; nearest: pair, `},
		{site.Site{}, Options{Format: "26-8-16", Forms: pair, Second: []string{"bts"}},
			`form "bts": no such form; nearest: bits`},
		{twoLots, Options{Format: "26-8-61"}, `format "26-8-61": no such format; nearest: 26-8-16`},
		{site.Site{}, Options{}, "format: not given"},
		{site.Site{}, Options{Format: "26-8-16"}, "forms: how the numbers of format 26-8-16 are written is not given"},
		{twoLots, Options{Facility: "12a"}, `facility "12a": is no decimal number`},
		{tooLarge, Options{Facility: "256"}, "0 to 255"},
		{site.Site{}, Options{Format: "26-8-16", Forms: []string{"uid"}},
			"as uid: format 26-8-16 has no number that is as wide as a chip serial"},
	} {
		_, err := New(cat, tt.site, tt.opt)
		assert.ErrorContains(t, err, tt.says)
	}
	_, err := NewConverter(planOf(t, "26-0-24", Options{Forms: []string{"decimal"}}), form(t, "pair"))
	assert.EqualError(t, err, "as pair: format 26-0-24 has no facility beside its number")
}

func form(t *testing.T, name string) formats.Form {
	t.Helper()
	fm, ok := formats.FormByName(name)
	require.True(t, ok)
	return fm
}

// A number is converted by any of the plan's readings; what a card does not say, and the form asks for, is an error and
// not 0.
func TestConvertsOrSays(t *testing.T) {
	p := planOf(t, "26-8-16", Options{Forms: []string{"pair", "number"}})
	v, err := NewConverter(p, form(t, "decimal"))
	require.NoError(t, err)
	out, err := v.Convert(nil, []byte("150,46143")) // SIA AC-01-1996.10, the example of formats/catalogue.toml
	require.NoError(t, err)
	assert.Equal(t, "9876543", string(out))
	_, err = v.Convert(nil, []byte("46143"))
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, Impossible, e.Kind)
	assert.Contains(t, e.Error(), `"46143": as decimal`)
	assert.Contains(t, e.Error(), "facility")

	// TIG SCEPACS v2.2, figure 7: a read of 200 bits, which no machine word holds.
	const figure7 = "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC"
	v, err = NewConverter(planOf(t, "fascn-200", Options{Forms: []string{"bits-hex"}}), form(t, "joined"))
	require.NoError(t, err)
	out, err = v.Convert(nil, []byte(figure7))
	require.NoError(t, err)
	assert.Equal(t, "00320001092446", string(out))
	card := v.Seen.Card()
	assert.Equal(t, "agency=0032 system=0001 credential=092446 series=0 issue=1 person=1112223333 category=1 organisation=1223 association=2",
		Describe(&card))
	_, ok := v.Seen.Number()
	assert.False(t, ok, "it has no field of that name")
	_, _, ok = v.Seen.Data()
	assert.False(t, ok, "it has more than 64 data bits")
}

// Forms of second rank are tried where the others give no card, and not named among those that the list has.
func TestFormsOfSecondRank(t *testing.T) {
	p, err := New(formats.Builtin(), twoLots, Options{Format: "26-8-16", Forms: []string{"pair"},
		Second: []string{"decimal", "pair"}})
	require.NoError(t, err)
	assert.Equal(t, "pair", p.FirstForms())
	s := seen(t, p, "121,43")
	assert.False(t, s.Reading.Second())
	s = seen(t, p, "7929899") // 121 × 65536 + 43
	assert.True(t, s.Reading.Second())
	v, width, ok := s.Data()
	assert.Equal(t, []any{uint64(7929899), 24, true}, []any{v, width, ok})
	cards := 0
	p.Each([]byte("121,43"), func(*Seen) bool { cards++; return true })
	assert.Equal(t, 1, cards)
}

// A key is the same for one card however it is written, and different for any other card, of formats beyond a machine
// word too; keys have an order.
func TestKeys(t *testing.T) {
	pairs := planOf(t, "26-8-16", Options{Forms: []string{"pair", "hex", "bits-hex"}})
	pair, hex, read := seen(t, pairs, "150,46143"), seen(t, pairs, "96B43F"), seen(t, pairs, "26:32D687E")
	assert.Equal(t, pair.Key(), hex.Key())
	assert.Equal(t, pair.Key(), read.Key())
	next := seen(t, pairs, "150,46144")
	assert.NotEqual(t, pair.Key(), next.Key())

	long := planOf(t, "fascn-200", Options{Forms: []string{"bits-hex", "bits"}})
	first := seen(t, long, "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC")  // TIG SCEPACS v2.2, figure 7
	second := seen(t, long, "200:D13810D828AB6C10C339E5A1685A08C92ADE0A6184E739C3E7") // a public test card
	card := first.Card()
	bits, err := form(t, "bits").Text(&card)
	require.NoError(t, err)
	again := seen(t, long, bits)
	assert.Equal(t, first.Key(), again.Key())
	assert.NotEqual(t, first.Key(), second.Key())
	assert.Equal(t, first.Key(), long.KeyOf(&card))
	assert.Equal(t, first.Key(), long.KeyOfSeen(&again))
	assert.NotEqual(t, first.Key(), pairs.KeyOf(&card), "the plan has no such format")

	keys := []Key{second.Key(), next.Key(), first.Key(), pair.Key()}
	slices.SortFunc(keys, Key.Compare)
	for i := range keys {
		assert.Zero(t, keys[i].Compare(keys[i]))
		for k := range i {
			assert.Equal(t, -1, keys[k].Compare(keys[i]))
			assert.Equal(t, 1, keys[i].Compare(keys[k]))
		}
	}
}

// A card that another plan has read, without the facility that this one knows, has the key of the whole card.
func TestKeyOfACardWithoutFacility(t *testing.T) {
	bare := planOf(t, "26-8-16", Options{Forms: []string{"number"}, Any: true})
	whole := planOf(t, "26-8-16", Options{Forms: []string{"pair"}, Facility: "150", Any: true})
	s, want := seen(t, bare, "46143"), seen(t, whole, "150,46143")
	_, known := s.Facility()
	assert.False(t, known)
	assert.NotEqual(t, want.Key(), s.Key())
	// Formats are compared as the catalogue's own, and this one has formats of its own.
	copied, err := formats.Builtin().With(nil)
	require.NoError(t, err)
	other, err := New(copied, site.Site{}, Options{Format: "26-8-16", Forms: []string{"pair"}, Facility: "150", Any: true})
	require.NoError(t, err)
	assert.Equal(t, Key{format: ^uint16(0)}, other.KeyOfSeen(&s))
	s.Reading = &whole.readings[0]
	assert.Equal(t, want.Key(), whole.KeyOfSeen(&s))
}

// Cards are made of a facility and a number, up to the largest that the fields hold.
func TestMake(t *testing.T) {
	r := &planOf(t, "26-8-16", Options{Forms: []string{"pair"}}).readings[0]
	s, ok := r.Make(150, true, 46143)
	require.True(t, ok)
	card := s.Card()
	assert.Equal(t, "26:32D687E", card.Record.Bits().Hex())
	largest, ok := r.Largest()
	facility, ok2 := r.LargestFacility()
	assert.Equal(t, []any{uint64(65535), true, uint64(255), true}, []any{largest, ok, facility, ok2}, "SIA AC-01-1996.10")
	_, ok = r.Make(150, true, 65536)
	assert.False(t, ok)
	_, ok = r.Make(256, true, 1)
	assert.False(t, ok)
	s, ok = r.Make(0, false, 46143)
	require.True(t, ok)
	_, known := s.Facility()
	assert.False(t, known)

	bare := &planOf(t, "26-0-24", Options{Forms: []string{"number"}}).readings[0]
	_, ok = bare.Make(1, true, 1)
	assert.False(t, ok, "it has no facility")
	_, ok = bare.LargestFacility()
	assert.False(t, ok)
	long := &planOf(t, "fascn-200", Options{Forms: []string{"joined"}}).readings[0]
	_, ok = long.Make(0, false, 1)
	assert.False(t, ok)
	_, ok = long.Largest()
	assert.False(t, ok)
}

// The same card by two forms is one card, and two cards by two forms are a doubt that names both; beyond a machine word
// too.
func TestSameCardInTwoForms(t *testing.T) {
	p := planOf(t, "uuid-128", Options{Forms: []string{"number", "decimal"}})
	s := seen(t, p, "329800735698586629295641978511506172918")
	assert.Equal(t, "number", s.Reading.Form.Name)
	p = planOf(t, "uuid-128", Options{Forms: []string{"number", "hex"}})
	var two Seen
	var e *Error
	require.ErrorAs(t, p.Read([]byte("32980073569858662929564197851150"), &two), &e,
		"as many digits as hex has, and a decimal")
	assert.Equal(t, Ambiguous, e.Kind)
	assert.Contains(t, e.Error(), "can be two cards: 32980073569858662929564197851150 of format uuid-128, written as number (50.0 %), or ")
}
