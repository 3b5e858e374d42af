package match_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// A reader sends the bytes of the cards in the other order: 121,00014 is 79000E in hex, and 0E0079 is 917625.
func ExampleMatcher_Weigh() {
	cat := formats.Builtin()
	plan := func(form string) *reading.Plan {
		p, err := reading.New(cat, site.Site{}, reading.Options{Format: "26-8-16", Forms: []string{form}, Any: true})
		if err != nil {
			panic(err)
		}
		return p
	}
	m := match.New(match.Options{Catalogue: cat, List: plan("pair"), Shown: plan("decimal10")})
	for i, number := range []string{"121,00014", "121,00017", "121,00300"} {
		if err := m.AddHolder(match.Row{Line: i + 2, Name: fmt.Sprint("holder ", i+1), Value: []byte(number)}); err != nil {
			panic(err)
		}
	}
	for i, number := range []string{"0000917625", "0007929873"} {
		m.AddEvent(match.Row{Line: i + 2, Value: []byte(number)})
	}
	fmt.Println("known:", m.Known())
	for _, u := range m.Weigh() {
		fmt.Println(u.Value, m.Holders()[u.Best.Holder].Name, u.Best.Rule == match.ByteOrder, u.Best.Probability > 0.9)
	}
	// Output:
	// known: 1
	// 0000917625 holder 1 true true
}

// A site of two kinds of card, at whose door 121,00318 and the serial 7930174 are shown alike: 121 times 65536 and 318.
func twoKinds(t *testing.T, listed []string, shown ...string) (*match.Matcher, []*match.Unknown) {
	s := site.Site{Cards: []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{121}, Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair"},
		{Format: "34-0-32", Printed: "number10"},
	}}
	cat := formats.Builtin()
	list, err := reading.New(cat, s, reading.Options{Any: true, Others: true, Second: []string{"decimal10"}})
	require.NoError(t, err)
	door, err := reading.New(cat, s, reading.Options{Any: true, Others: true, Forms: []string{"decimal10"}})
	require.NoError(t, err)
	m := match.New(match.Options{Catalogue: cat, Site: s, List: list, Shown: door})
	for i, number := range listed {
		// one that is in doubt is an error as well
		_ = m.AddHolder(match.Row{Line: i + 2, Name: fmt.Sprint("holder ", i), Value: []byte(number)})
	}
	for i, number := range shown {
		m.AddEvent(match.Row{Line: i + 2, Value: []byte(number)})
	}
	return m, m.Weigh()
}

// What the door shows for two holders is neither's for sure; a card that two rows have names both; a row whose number
// can be two cards is looked for.
func TestNobodyIsNamedForAnother(t *testing.T) {
	m, unknown := twoKinds(t, []string{"121,00318", "121,00001", "7930174"}, "0007930174")
	assert.Equal(t, 0, m.Find([]byte("0007930174")), "the serial is in doubt, 121,00318 is on the list")
	assert.Empty(t, unknown)

	m, unknown = twoKinds(t, []string{"121,00001", "121,00002", "7930174"}, "0007930174")
	require.Len(t, unknown, 1)
	assert.Equal(t, match.Doubtful, unknown[0].Best.Rule)
	assert.Equal(t, 2, unknown[0].Best.Holder)
	assert.Equal(t, 2, m.Holders()[2].Doubt)
	assert.Greater(t, unknown[0].Best.Probability, 0.9)

	// listed with no doubt: the one by its pair, the other by its serial in a form that says so
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Printed: "pair"}, {Format: "34-0-32", Printed: "hex"}}}
	cat := formats.Builtin()
	list, err := reading.New(cat, s, reading.Options{Any: true})
	require.NoError(t, err)
	door, err := reading.New(cat, s, reading.Options{Any: true, Forms: []string{"decimal10"}})
	require.NoError(t, err)
	m = match.New(match.Options{Catalogue: cat, Site: s, List: list, Shown: door})
	for i, number := range []string{"121,00318", "0079013E", "121,00001", "121,00001"} { // 0x79013E is 7930174
		require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Value: []byte(number)}))
	}
	assert.Equal(t, -1, m.Find([]byte("0007930174")))
	m.AddEvent(match.Row{Line: 2, Value: []byte("0007930174")})
	unknown = m.Weigh()
	require.Len(t, unknown, 1)
	assert.Equal(t, match.Alike, unknown[0].Best.Rule)
	assert.InDelta(t, 0.5, unknown[0].Best.Probability, 0.01)
	assert.InDelta(t, 0.5, unknown[0].Second.Probability, 0.01)
	assert.ElementsMatch(t, []int{0, 1}, []int{unknown[0].Best.Holder, unknown[0].Second.Holder})
	assert.Equal(t, []int{3}, m.Holders()[2].Same)
}

// A list that leaves the facility out has the site's: another facility is no slip in the number beside it. By hand:
// 15663254 is 239 · 65536 + 150, and 150 is 105 with two digits swapped.
func TestAnotherFacilityIsNoSlip(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{117}, Printed: "number",
		Numbers: []formats.Range{{First: 1, Last: 1000}}}}}
	list, err := reading.New(formats.Builtin(), s, reading.Options{Any: true})
	require.NoError(t, err)
	door, err := reading.New(formats.Builtin(), s, reading.Options{Any: true, Forms: []string{"decimal10"}})
	require.NoError(t, err)
	for shown, rule := range map[string]match.Rule{"0015663254": match.Stranger, "0007667862": match.Typed} {
		m := match.New(match.Options{Catalogue: formats.Builtin(), Site: s, List: list, Shown: door})
		for i := range 60 {
			_ = m.AddHolder(match.Row{Line: i + 2, Value: fmt.Appendf(nil, "%d", 105+7*i)})
		}
		m.AddEvent(match.Row{Line: 2, Value: []byte(shown)})
		unknown := m.Weigh()
		require.Len(t, unknown, 1)
		ways := []match.Rule{unknown[0].Best.Rule, unknown[0].Second.Rule}
		assert.Contains(t, ways, rule, shown)
		if rule == match.Stranger {
			assert.Equal(t, rule, unknown[0].Best.Rule)
			assert.Greater(t, unknown[0].Best.Probability, 0.9)
		}
	}
}

// A door may show a part of a card alone: whose part it is on the list, it is. By hand: 2802652793 is A70D1679 in hex,
// whose last three bytes are 0D (13) and 1679 (5753).
func TestDoorThatShowsAPart(t *testing.T) {
	for _, tt := range []struct {
		card         formats.Population
		form, number string
		shown        string
	}{
		{formats.Population{Format: "32-0-32", Printed: "hex"}, "pair24", "A70D1679", "013,05753"},
		{formats.Population{Format: "34-16-16", Printed: "pair"}, "number10", "48778,02102", "0000002102"},
	} {
		s := site.Site{Cards: []formats.Population{tt.card}}
		opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, tt.form)
		require.NoError(t, err)
		m := match.New(opt)
		require.NoError(t, m.AddHolder(match.Row{Line: 2, Value: []byte(tt.number)}))
		assert.Equal(t, 0, m.Find([]byte(tt.shown)))
		assert.Equal(t, -1, m.Find([]byte("0000005754")))
	}
}

// Where a door shows a part that many pairs of holders share, these are named, and no strangers are made of them.
func TestPartThatHoldersShare(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{37, 232}, Printed: "pair"}}}
	opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, "number")
	require.NoError(t, err)
	m := match.New(opt)
	for i := range 60 {
		number := fmt.Sprintf("%03d,%05d", []int{37, 232}[i%2], 9390+i/2)
		require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Value: []byte(number)}))
	}
	for i := range 24 {
		m.AddEvent(match.Row{Line: i + 2, Value: fmt.Append(nil, 9391+i)})
	}
	for _, u := range m.Weigh() {
		assert.Equal(t, match.Alike, u.Best.Rule, u.Value)
		assert.InDelta(t, 0.5, u.Best.Probability, 0.02, u.Value)
	}
}

// A number of the list that was typed wrong can have lost a digit, or have one too many, and be none that can be read:
// the card is that holder's all the same. By hand: 121 · 65536 + 10463 = 7940319; 10463 without its 6; with its 4
// twice, which no field of 16 bits holds; with 63 swapped.
func TestTypedWrongByLength(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}, Printed: "number"}}}
	for _, typed := range []string{"1043", "104463", "10436"} {
		opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, "decimal10")
		require.NoError(t, err)
		m := match.New(opt)
		for i := range 20 {
			require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Value: fmt.Appendf(nil, "%d", 40005+7*i)}))
		}
		_ = m.AddHolder(match.Row{Line: 40, Name: "Fay", Value: []byte(typed)})
		m.AddEvent(match.Row{Line: 2, Value: []byte("0007940319")})
		best := m.Weigh()[0].Best
		require.GreaterOrEqual(t, best.Holder, 0, typed)
		assert.Equal(t, "Fay", m.Holders()[best.Holder].Name)
		assert.Equal(t, match.Typed, best.Rule, typed)
	}
}

// A door that shows numbers alone shows a part of what is wrong with a card. By hand: 121,10463 is 7928DF in hex, whose
// bytes turned round are DF2879, and 2879 is 10361; 10463 with the bit of 16 wrong is 10447.
func TestNumbersAloneByRules(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}, Printed: "pair"}}}
	for shown, rule := range map[string]match.Rule{"10361": match.ByteOrder, "10447": match.Misread} {
		opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, "number")
		require.NoError(t, err)
		m := match.New(opt)
		require.NoError(t, m.AddHolder(match.Row{Line: 2, Value: []byte("121,10463")}))
		m.AddEvent(match.Row{Line: 2, Value: []byte(shown)})
		best := m.Weigh()[0].Best
		assert.Equal(t, 0, best.Holder, shown)
		assert.Equal(t, rule, best.Rule, shown)
	}
}

// Of a list whose rows could mostly not be read, a number of the same lot can well be on one of them: with every
// further row that is not read the likelier, and nobody's the less likely.
func TestRowsThatWereNotRead(t *testing.T) {
	cat := formats.Builtin()
	plan, err := reading.New(cat, site.Site{}, reading.Options{Format: "26-8-16", Forms: []string{"pair"}, Any: true})
	require.NoError(t, err)
	nobodys := 1.0
	for _, unread := range []int{0, 3, 10, 40} {
		m := match.New(match.Options{Catalogue: cat, List: plan, Shown: plan})
		for i := range 10 + unread {
			row := match.Row{Line: i + 2, Value: []byte("see the other file")}
			if i < 10 {
				row.Value = fmt.Appendf(nil, "121,%05d", 10+3*i)
			}
			assert.Equal(t, i >= 10, m.AddHolder(row) != nil)
		}
		m.AddEvent(match.Row{Line: 2, Value: []byte("121,00017")})
		u := m.Weigh()[0]
		for _, v := range []match.Verdict{u.Best, u.Second} {
			switch v.Rule {
			case match.Stranger:
				assert.Less(t, v.Probability, nobodys)
				nobodys = v.Probability
			case match.Unread:
				assert.Equal(t, -1, v.Holder)
				assert.Positive(t, unread)
			}
		}
		if unread == 40 {
			assert.Equal(t, match.Unread, u.Best.Rule)
			assert.Greater(t, u.Best.Probability, 0.7)
		}
	}
}
