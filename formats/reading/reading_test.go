package reading

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

var twoLots = site.Site{Cards: []formats.Population{
	{Format: "26-8-16", Facilities: []uint64{121}, Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair"},
	{Format: "34-16-16", Facilities: []uint64{7}, Numbers: []formats.Range{{First: 600, Last: 700}}, Printed: "number"},
}}

// What is read fast is what is read slowly, with the same verdict: over formats, forms and texts with mistakes.
func TestFastAndSlowReadingAgree(t *testing.T) {
	rnd := rand.New(rand.NewPCG(31, 32))
	cat := formats.Builtin()
	fast := 0
	for _, id := range []string{"26-8-16", "34-16-16", "37-0-35", "26-0-24"} {
		for _, form := range []string{"pair", "number", "joined", "decimal", "decimal10", "hex"} {
			s := site.Site{Cards: []formats.Population{{Format: id, Numbers: []formats.Range{{First: 0, Last: 3000}},
				Printed: form}}}
			opt := Options{}
			if id == "26-8-16" && (form == "number" || form == "pair" || form == "decimal") {
				opt.Facility = "12"
			}
			p, err := New(cat, s, opt)
			require.NoError(t, err)
			if len(p.readings) == 0 {
				continue // the format does not have the form
			}
			for range 3000 {
				text := fmt.Sprint(rnd.Uint64() >> (30 + rnd.UintN(34)))
				switch rnd.IntN(4) {
				case 0:
					text = fmt.Sprintf("%d,%d", rnd.IntN(300), rnd.IntN(70_000))
				case 1:
					text = fmt.Sprintf("%010s", text)
				case 2:
					text = fmt.Sprintf("%X", rnd.Uint32()>>8)
				}
				var seen Seen
				err := p.Read([]byte(text), &seen)
				c, repair, slowErr := p.readings[0].card([]byte(text), p)
				require.Equal(t, p.readings[0].told([]byte(text), slowErr), err, "%s %s %q", id, form, text)
				if err == nil {
					require.Equal(t, c, seen.Card(), "%s %s %q", id, form, text)
					require.Equal(t, repair, seen.Repair, "%s %s %q", id, form, text)
					require.Equal(t, Seen{Reading: &p.readings[0], card: c}.key(), seen.Key())
				}
				if seen.quick {
					fast++
				}
			}
		}
	}
	assert.Positive(t, fast)
}

// key is Key of a value, for tests.
func (s Seen) key() Key { return s.Key() }

func TestKindsOfMistakes(t *testing.T) {
	p, err := New(formats.Builtin(), twoLots, Options{})
	require.NoError(t, err)
	for value, want := range map[string]Kind{
		"121,43": "", "650": "", " 121,43 ": "", "121-43": "",
		"":            Empty,
		"zz":          Unreadable,
		"121,600":     OutOfBlock,
		"122,43":      WrongFacility,
		"300,43":      OutOfRange,
		"70000":       OutOfRange,
		"599":         OutOfBlock,
		"12.05.2024":  Damaged,
		"1.2E+10":     Damaged,
		"121,43,5":    Unreadable,
		"121,43\x00x": Unreadable,
	} {
		var seen Seen
		err := p.Read([]byte(value), &seen)
		if want == "" {
			assert.NoError(t, err, value)
			continue
		}
		var e *Error
		require.ErrorAs(t, err, &e, value)
		assert.Equal(t, want, e.Kind, "%q: %v", value, err)
	}
}

// A facility that is given is that of all cards: a number that says another one is refused, unless others are asked
// for, and a format that has none takes none.
func TestFacilityOfAllCards(t *testing.T) {
	for _, opt := range []Options{
		{Format: "26-8-16", Forms: []string{"pair"}, Facility: "5"},
		{Format: "26-8-16", Forms: []string{"pair"}, Facility: "005", AsIs: true, Any: true},
	} {
		p, err := New(formats.Builtin(), site.Site{}, opt)
		require.NoError(t, err)
		var seen Seen
		require.NoError(t, p.Read([]byte("005,43"), &seen))
		var e *Error
		require.ErrorAs(t, p.Read([]byte("121,43"), &seen), &e)
		assert.Equal(t, WrongFacility, e.Kind)
		assert.Contains(t, e.Reason, `"121,43": facility 121, not `+opt.Facility)
		opt.Others = true
		p, err = New(formats.Builtin(), site.Site{}, opt)
		require.NoError(t, err)
		require.NoError(t, p.Read([]byte("121,43"), &seen))
		c := seen.Card()
		assert.Equal(t, "121,00043", Describe(&c))
	}
	// Of a site's cards, those of formats without a facility are not meant.
	s := site.Site{Cards: []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{122}, Numbers: []formats.Range{{First: 400, Last: 900}}, Printed: "number"},
		{Format: "34-0-32", Printed: "number"},
	}}
	p, err := New(formats.Builtin(), s, Options{Facility: "122"})
	require.NoError(t, err)
	var seen Seen
	var e *Error
	require.ErrorAs(t, p.Read([]byte("43"), &seen), &e)
	assert.Equal(t, OutOfBlock, e.Kind)
	require.NoError(t, p.Read([]byte("450"), &seen))
	_, err = New(formats.Builtin(), site.Site{}, Options{Format: "34-0-32", Forms: []string{"decimal"}, Facility: "5"})
	assert.EqualError(t, err, "facility 5: format 34-0-32 has no facility field; leave it out")
}

// A number that the site can have in two ways is one card only where both ways say the same.
func TestAmbiguousNumbers(t *testing.T) {
	s := site.Site{Cards: []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{121}, Printed: "number"}, {Format: "34-16-16", Facilities: []uint64{7},
			Printed: "number"},
	}}
	p, err := New(formats.Builtin(), s, Options{})
	require.NoError(t, err)
	var seen Seen
	var e *Error
	require.ErrorAs(t, p.Read([]byte("43"), &seen), &e)
	assert.Equal(t, Ambiguous, e.Kind)
	p, err = New(formats.Builtin(), s, Options{Format: "26-8-16", Forms: []string{"number", "number10"}})
	require.NoError(t, err)
	require.NoError(t, p.Read([]byte("0000000043"), &seen))
	c := seen.Card()
	assert.Equal(t, "121,00043", Describe(&c))
}

func BenchmarkConvert(b *testing.B) {
	p, err := New(formats.Builtin(), site.Site{}, Options{Format: "26-8-16", Forms: []string{"decimal"}})
	require.NoError(b, err)
	to, _ := formats.FormByName("pair")
	v, err := NewConverter(p, to)
	require.NoError(b, err)
	value, dst := []byte("9876543"), make([]byte, 0, 64)
	b.ReportAllocs()
	for b.Loop() {
		dst, err = v.Convert(dst[:0], value)
	}
	if err != nil || string(dst) != "150,46143" { // SIA AC-01-1996.10, the example of formats/catalogue.toml
		b.Fatal(string(dst), err)
	}
}
