package match_test

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// Good cards in a form that nobody has named are no fault of a line: over formats, forms of the list and forms of the
// door, where those have the whole card, each is said to be in another form: none is misread, has lost a bit, or is
// another card's.
func TestGoodCardsBlameNoLine(t *testing.T) {
	cat := formats.Builtin()
	rnd := rand.New(rand.NewPCG(81, 82))
	whole := []string{"pair", "joined", "decimal", "decimal10", "hex", "words", "bits-hex"}
	asked := 0
	for _, id := range []string{"26-8-16", "26-0-24", "34-16-16", "34-0-32", "37-16-19", "35-12-20"} {
		for _, listed := range whole {
			for _, shown := range whole {
				if listed == shown {
					continue
				}
				for _, u := range unnamedForm(t, cat, rnd, id, listed, shown) {
					asked++
					assert.Equal(t, match.Form, u.Best.Rule, "%s listed as %s, shown as %s: %s", id, listed, shown, u.Value)
					assert.Greater(t, u.Best.Probability, 0.9)
				}
			}
		}
	}
	assert.Greater(t, asked, 1000)
}

// unnamedForm lists thirty cards of a format in one form, and shows each in another.
func unnamedForm(t *testing.T, cat formats.Catalogue, rnd *rand.Rand, id, listed, shown string) []*match.Unknown {
	f := cat.Find(id)[0]
	from, _ := formats.FormByName(listed)
	to, _ := formats.FormByName(shown)
	if ok, _ := from.Fits(f); !ok {
		return nil
	}
	if ok, _ := to.Fits(f); !ok {
		return nil
	}
	s := site.Site{Cards: []formats.Population{{Format: id, Printed: listed}}}
	opt, err := match.ForSite(cat, s, reading.Options{})
	require.NoError(t, err)
	m := match.New(opt)
	first := 1000 + rnd.IntN(20_000)
	var events []string
	for i := range 30 {
		card, err := f.Blank().With(f.Number(), strconv.Itoa(first+7*i))
		require.NoError(t, err)
		if f.Facility() >= 0 {
			card, err = card.WithFacility("121")
			require.NoError(t, err)
		}
		text, err := from.Text(&card)
		require.NoError(t, err)
		require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Name: fmt.Sprint(i), Value: []byte(text)}), text)
		if text, err = to.Text(&card); err == nil {
			events = append(events, text)
		}
	}
	for i, e := range events {
		m.AddEvent(match.Row{Line: i + 2, Value: []byte(e)})
	}
	return m.Weigh()
}

// A card of the site's block that nobody on the list has stays nobody's where the door writes cards in another form
// than was thought: that it is one bit away from somebody's says nothing, since in a block most are.
func TestAStrangerInAnotherForm(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "26-0-24", Printed: "pair24",
		Numbers: []formats.Range{{First: 1032, Last: 1231}}}}, Doors: []site.Door{{Name: "A", Enter: "bits-hex"}}}
	opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, "bits-hex")
	require.NoError(t, err)
	m := match.New(opt)
	var events []string
	for i := range 20 {
		number := 1032 + 10*i
		require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Name: fmt.Sprint(i), Value: fmt.Appendf(nil, "000,%05d",
			number)}))
		events = append(events, fmt.Sprint(number))
	}
	events = append(events, "1036", "1058", "1088") // a bit away from 1032, 1042 and 1092; not on the list
	for i, e := range events {
		m.AddEvent(match.Row{Line: i + 2, Value: []byte(e)})
	}
	m.Weigh()
	for i, e := range events {
		best := m.Unknown(e).Best
		if i < 20 {
			assert.Equal(t, i, best.Holder, e)
			assert.Greater(t, best.Probability, 0.9, e)
		} else if best.Holder >= 0 {
			assert.Less(t, best.Probability, 0.6, e)
		}
	}
}

// A row of the list that can be two cards is looked for as each of them by every rule, here the bytes turned round.
func TestRowsInDoubtByRules(t *testing.T) {
	cards := []formats.Population{{Format: "26-0-24", Printed: "number10"}, {Format: "34-0-32", Printed: "number10"}}
	opt, err := match.ForSite(formats.Builtin(), site.Site{Cards: cards}, reading.Options{}, "hex")
	require.NoError(t, err)
	m := match.New(opt)
	for i := range 12 {
		number := 15_657_897 + 1_001*i
		err := m.AddHolder(match.Row{Line: i + 2, Name: fmt.Sprint(i), Value: fmt.Appendf(nil, "%010d", number)})
		require.Error(t, err, "it can be two cards")
		m.AddEvent(match.Row{Line: i + 2, Value: fmt.Appendf(nil, "%06X", bits.ReverseBytes32(uint32(number))>>8)})
	}
	for _, u := range m.Weigh() {
		assert.Equal(t, match.ByteOrder, u.Best.Rule, u.Value)
		assert.Greater(t, u.Best.Probability, 0.9, u.Value)
	}
}

// What a door shows of a card with more zeros before it than its form has, or without the facility.
func TestNumbersShownOtherwise(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "35-12-20", Printed: "pair"}}}
	for _, name := range []string{"joined", "pair"} {
		opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, name)
		require.NoError(t, err)
		m := match.New(opt)
		for i := range 12 {
			number := 281 + 7*i
			require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Value: fmt.Appendf(nil, "0151,%07d", number)}))
			shown := fmt.Sprintf("%05d%07d", 151, number)
			if name == "pair" {
				shown = fmt.Sprint(number)
			}
			m.AddEvent(match.Row{Line: i + 2, Value: []byte(shown)})
		}
		for _, u := range m.Weigh() {
			assert.GreaterOrEqual(t, u.Best.Holder, 0, "%s: %s", name, u.Value)
			assert.Greater(t, u.Best.Probability, 0.9, "%s: %s", name, u.Value)
		}
		assert.Equal(t, name == "joined", m.Known() == 12, name)
	}
}

// TestWholeReads: a panel that logs the whole read, checks and all, in decimal, in hex with or without full bytes, or
// in hex from the left. The reads are put together by arithmetic here: bit 1 makes bits 1 to 13 even, bit 26 makes bits
// 14 to 26 odd (the published 26-bit standard).
func TestWholeReads(t *testing.T) {
	for name, show := range map[string]func(read uint64) string{
		"decimal":    func(read uint64) string { return strconv.FormatUint(read, 10) },
		"hex":        func(read uint64) string { return fmt.Sprintf("%X", read) },
		"hex, bytes": func(read uint64) string { return fmt.Sprintf("%08X", read) },
		"hex, left":  func(read uint64) string { return fmt.Sprintf("%08X", read<<6) },
	} {
		opt, err := match.ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{{Format: "26-8-16",
			Printed: "pair"}}}, reading.Options{})
		require.NoError(t, err)
		m := match.New(opt)
		var events []string
		for i := range 30 {
			number := uint64(8000 + 31*i)
			data := 121<<16 | number
			read := uint64(bits.OnesCount64(data>>12)%2)<<25 | data<<1 | uint64(1-bits.OnesCount64(data&0xFFF)%2)
			require.NoError(t, m.AddHolder(match.Row{Line: i + 2, Name: fmt.Sprint(i), Value: fmt.Appendf(nil, "121,%05d",
				number)}))
			events = append(events, show(read))
		}
		for i, e := range events {
			m.AddEvent(match.Row{Line: i + 2, Value: []byte(e)})
		}
		for i, e := range events {
			m.Weigh()
			best := m.Unknown(e).Best
			assert.Equal(t, match.Form, best.Rule, "%s: %s", name, e)
			assert.Contains(t, best.Form, "read-", "%s: %s", name, e)
			assert.Equal(t, i, best.Holder, "%s: %s", name, e)
			assert.Greater(t, best.Probability, 0.99, "%s: %s", name, e)
		}
	}
}
