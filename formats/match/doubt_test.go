package match

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// TestListOfBareNumbersThatAreAllInDoubt: where every number of a list can be several cards, no card is known to
// have been at the door, and the cards at the door are those of the list all the same. The cards are worked out
// here: 26-8-16 has facility · 65536 + number, and a bare number can be of 37-16-19, too.
func TestListOfBareNumbersThatAreAllInDoubt(t *testing.T) {
	two := []formats.Population{
		{Format: "26-8-16", Printed: "number", Facilities: []uint64{121, 122}},
		{Format: "37-16-19", Printed: "number", Facilities: []uint64{9428}},
	}
	for _, cards := range [][]formats.Population{two, two[:1]} {
		opt, err := ForSite(formats.Builtin(), site.Site{Cards: cards}, reading.Options{}, "decimal")
		require.NoError(t, err)
		m := New(opt)
		for i := range 60 {
			_ = m.AddHolder(Row{Line: i + 1, Name: fmt.Sprint(i), Value: fmt.Append(nil, 2000+3*i)})
		}
		for i := range 60 {
			m.AddEvent(Row{Line: i + 1, Value: fmt.Append(nil, (121+i%2)<<16+2000+3*i)})
		}
		for _, u := range m.Weigh() {
			assert.Equal(t, u.First-1, u.Best.Holder, "%s with %d kinds", u.Value, len(cards))
			assert.Greater(t, u.Best.Probability, 0.7, "%s with %d kinds", u.Value, len(cards))
		}
	}
}

// TestEndsOnTheList: a list has the low 24 bits of chip serials, and the door shows all 32 of them, or the low 24 bits
// otherwise. The numbers are random, and cut here.
func TestEndsOnTheList(t *testing.T) {
	pair := func(serial uint32) string { return fmt.Sprintf("%03d,%05d", serial>>16&0xFF, serial&0xFFFF) }
	for shown, write := range map[string]func(serial uint32) string{
		"number": func(serial uint32) string { return fmt.Sprint(serial) }, "pair24": pair,
		"joined24": func(serial uint32) string { return strings.ReplaceAll(pair(serial), ",", "") },
	} {
		rnd := rand.New(rand.NewPCG(35, 36))
		tags := []formats.Population{{Format: "34-0-32", Printed: "number24"}}
		opt, err := ForSite(formats.Builtin(), site.Site{Cards: tags}, reading.Options{}, shown)
		require.NoError(t, err)
		m, serials := New(opt), make([]uint32, 40)
		for i := range serials {
			serials[i] = rnd.Uint32()
			require.Error(t, m.AddHolder(Row{Line: i + 1, Name: fmt.Sprint(i), Value: fmt.Append(nil, serials[i]&0xFFFFFF)}))
		}
		for i, serial := range append(serials, rnd.Uint32()) {
			m.AddEvent(Row{Line: i + 1, Value: []byte(write(serial))})
		}
		for _, u := range m.Weigh() {
			assert.Greater(t, u.Best.Probability, 0.9, u.Value)
			if u.First > len(serials) {
				assert.Equal(t, Stranger, u.Best.Rule, u.Value)
				continue
			}
			assert.Equal(t, u.First-1, u.Best.Holder, u.Value)
		}
	}
}

// TestNumbersThatMayBeTypedWrong: numbers of 35 bits lie apart among serials of 32 bits, and each may be one of those
// with a digit too many. A door that shows just such a number shows that holder's card.
func TestNumbersThatMayBeTypedWrong(t *testing.T) {
	rnd := rand.New(rand.NewPCG(37, 38))
	s := site.Site{Cards: []formats.Population{{Format: "37-0-35", Printed: "decimal"}, {Format: "32-0-32", Printed: "number"}}}
	opt, err := ForSite(formats.Builtin(), s, reading.Options{}, "number10")
	require.NoError(t, err)
	var list []string
	for i := range 30 {
		list = append(list, fmt.Sprint(1<<31|rnd.Uint32()))
		if i%10 == 9 {
			list = append(list, fmt.Sprint(1<<34|rnd.Uint64N(1<<34)))
		}
	}
	m := New(opt)
	m.SettleList(opt.List.Settled(list))
	for i, number := range list {
		_ = m.AddHolder(Row{Line: i + 1, Name: number, Value: []byte(number)})
		m.AddEvent(Row{Line: i + 1, Value: []byte(number)})
	}
	for _, u := range m.Weigh() {
		if assert.Equal(t, u.First-1, u.Best.Holder, u.Value) {
			assert.Greater(t, u.Best.Probability, 0.9, u.Value)
		}
	}
}

// TestDenseNumbersInDoubt: half of the cards of a box were at the door, all of them numbers of the list. That each is
// that row's, and none is another row's typed wrong, is far likelier than that all are.
func TestDenseNumbersInDoubt(t *testing.T) {
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{
		{Format: "26-8-16", Printed: "number", Facilities: []uint64{210}},
		{Format: "37-16-19", Printed: "number", Facilities: []uint64{20651}},
	}}, reading.Options{}, "decimal")
	require.NoError(t, err)
	m := New(opt)
	for i := range 180 {
		_ = m.AddHolder(Row{Line: i + 1, Name: fmt.Sprint(i), Value: fmt.Append(nil, 36_725+i)})
		if i%2 == i/3%2 {
			m.AddEvent(Row{Line: i + 1, Value: fmt.Append(nil, 210<<16+36_725+i)})
		}
	}
	for _, u := range m.Weigh() {
		assert.Equal(t, u.First-1, u.Best.Holder, u.Value)
		assert.Equal(t, Doubtful, u.Best.Rule, u.Value)
		assert.Greater(t, u.Best.Probability, 0.9, u.Value)
	}
}

// TestNumbersOfAFacilityThatNobodySays: neither the list nor the site says the facility that the door shows. Of a dense
// box all cards are the list's.
func TestNumbersOfAFacilityThatNobodySays(t *testing.T) {
	var list []string
	var numbers []int
	for n := 3301; n < 3501; n++ {
		list, numbers = append(list, fmt.Sprint(n)), append(numbers, n)
	}
	m := listed26(t, "number", nil, list, decimals(17, numbers...), "decimal10")
	for i, text := range decimals(17, numbers...) {
		best := m.Unknown(text).Best
		assert.Equal(t, i, best.Holder, "%s %v", text, best)
		assert.Greater(t, best.Probability, 0.99, text)
	}
}

// Rows of a kind of which neither the site file nor the list tells how it is written are in doubt: their cards at the
// door are theirs, and those of no other row, typed wrong. By hand: 61421 · 524288 + 80676 is 32202373924, and its
// read of 37 bits, with an even parity bit before it and an odd one behind it, 133124224585 (common practice, no
// source).
func TestRowsInAFormThatNothingTells(t *testing.T) {
	cards := []formats.Population{{Format: "34-0-32", Printed: "uid-reversed"}, {Format: "37-16-19"}}
	texts := []string{"32202374059", "32202374057", "32202374062", "32202373955", "32202373924", "32202373969",
		"32202373974", "32202373952", "32202374015"}
	for i := range uint32(30) {
		serial := 0x9AC38000 + 2654435769*(i+1) // far apart
		texts = append(texts, fmt.Sprintf("%02X:%02X:%02X:%02X", serial&0xFF, serial>>8&0xFF, serial>>16&0xFF, serial>>24))
	}
	cat := formats.Builtin()
	cards = reading.Shown(cat, cards, texts, reading.Options{})
	opt, err := ForSite(cat, site.Site{Cards: cards}, reading.Options{}, "read-decimal")
	require.NoError(t, err)
	m := New(opt)
	m.SettleList(opt.List.Settled(texts))
	for i, text := range texts {
		_ = m.AddHolder(Row{Line: i + 1, Name: text, Value: []byte(text)})
	}
	m.AddEvent(Row{Line: 1, Value: []byte("133124224585")})
	for _, u := range m.Weigh() {
		require.GreaterOrEqual(t, u.Best.Holder, 0, u.Best)
		assert.Equal(t, "32202373924", m.Holders()[u.Best.Holder].Name, u.Best)
		assert.Equal(t, Doubtful, u.Best.Rule)
	}
}

// TestEndsOfNumbersOnTheList: a list has the last digits of long numbers, or their low 16 bits, as people copy them off
// a card, and the door shows the numbers. A list of whole numbers has no ends: a stranger's card that happens to end as
// one of them is nobody's. The numbers are random, and cut here.
func TestEndsOfNumbersOnTheList(t *testing.T) {
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{{Format: "34-0-32", Printed: "number"}}},
		reading.Options{}, "number")
	require.NoError(t, err)
	for name, write := range map[string]func(serial uint32) string{
		"five digits": func(serial uint32) string { return fmt.Sprintf("%05d", serial%100_000) },
		"four digits": func(serial uint32) string { return fmt.Sprintf("%04d", serial%10_000) },
		"16 bits":     func(serial uint32) string { return fmt.Sprint(serial & 0xFFFF) },
		"whole":       func(serial uint32) string { return fmt.Sprint(serial) },
	} {
		rnd := rand.New(rand.NewPCG(37, 38))
		m, serials := New(opt), make([]uint32, 30)
		for i := range serials {
			serials[i] = 1<<31 | rnd.Uint32()
			_ = m.AddHolder(Row{Line: i + 1, Name: fmt.Sprint(i), Value: []byte(write(serials[i]))})
		}
		for i, serial := range append(serials[:10:10], rnd.Uint32(), 1_000_000_000+serials[20]%100_000) {
			m.AddEvent(Row{Line: i + 1, Value: fmt.Append(nil, serial)})
		}
		for _, u := range m.Weigh() {
			switch {
			case u.First <= 10:
				assert.Equal(t, fmt.Sprint(u.First-1), m.Holders()[max(0, u.Best.Holder)].Name, "%s: %s", name, u.Value)
				assert.Equal(t, Ending, u.Best.Rule, "%s: %s", name, u.Value)
				assert.Greater(t, u.Best.Probability, 0.95, "%s: %s", name, u.Value)
			case u.First == 11 || name == "whole":
				assert.Equal(t, Stranger, u.Best.Rule, "%s: %s %v", name, u.Value, u.Best)
			}
		}
	}
}
