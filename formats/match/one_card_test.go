package match

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A holder has one card: of two numbers at the door that are a slip from a row, each is that row's half as likely as it
// alone would be, and a row whose number was at the door, as the list has it, was not typed wrong. The numbers are
// worked out by hand: 4159 and 4179 are a digit from 4169.
func TestOneCardOfAHolder(t *testing.T) {
	var list []string
	var numbers []int
	for n := 4101; n < 4141; n++ {
		list, numbers = append(list, fmt.Sprintf("121,%05d", n)), append(numbers, n)
	}
	seen := decimals(121, numbers...)
	list = append(list, "121,74269")
	alone := listed26(t, "pair", []uint64{121}, list, append(seen, decimals(121, 4269)...), "decimal10")
	one := alone.Unknown(decimals(121, 4269)[0])
	require.NotNil(t, one)
	assert.Equal(t, len(list)-1, alone.best(one), "a row that can't be read, with a digit too many")

	list[len(list)-1] = "121,04169"
	events := append(seen, decimals(121, 4159, 4179)...)
	m := listed26(t, "pair", []uint64{121}, list, events[:len(seen)+1], "decimal10")
	assert.Equal(t, len(list)-1, m.best(m.Unknown(decimals(121, 4159)[0])), "alone")
	m = listed26(t, "pair", []uint64{121}, list, events, "decimal10")
	sum := 0.0
	for _, n := range []int{4159, 4179} {
		for _, v := range []Verdict{m.Unknown(decimals(121, n)[0]).Best, m.Unknown(decimals(121, n)[0]).Second} {
			if v.Holder == len(list)-1 {
				sum += v.Probability
			}
		}
	}
	assert.InDelta(t, 0.85, sum, 0.16, "both together are that row's at most once")
	m = listed26(t, "pair", []uint64{121}, list, append(events[:len(seen)+1], decimals(121, 4169)...), "decimal10")
	assert.Equal(t, Stranger, m.Unknown(decimals(121, 4159)[0]).Best.Rule, "the row's own card was seen")
}

// best returns the place of the holder that a card most likely is of, -1 where it is nobody's.
func (m *Matcher) best(u *Unknown) int { return u.Best.Holder }

// A digit lost of a card that is not on the list is nobody's either, and one lost of a card whose facility the list
// leaves out is that holder's. By hand: 121 · 65536 + 4139 = 7933995, without its second 9 793395.
func TestDigitLostOfAnotherOfTheEvents(t *testing.T) {
	var list []string
	var numbers []int
	for n := 4101; n < 4161; n += 2 {
		list, numbers = append(list, fmt.Sprint(n)), append(numbers, n)
	}
	events := append(decimals(121, numbers...), "000793395", "0003333333", "000333333")
	m := listed26(t, "number", nil, list, events, "decimal10")
	u := m.Unknown("000793395")
	require.NotNil(t, u)
	require.GreaterOrEqual(t, u.Best.Holder, 0)
	assert.Equal(t, "4139", m.Holders()[u.Best.Holder].Number)
	assert.Equal(t, Digit, u.Best.Rule)
	u = m.Unknown("000333333")
	assert.Equal(t, Stranger, u.Best.Rule, "of a card that is nobody's")
}

// Where two rows have the same number one of them is typed wrong: a card at the door that is a slip from it is theirs,
// though the number itself was seen, too.
func TestTypedAsAnothersNumber(t *testing.T) {
	var list []string
	var numbers []int
	for n := 4101; n < 4151; n++ {
		list, numbers = append(list, fmt.Sprintf("121,%05d", n)), append(numbers, n)
	}
	list[33] = list[34] // 4134 typed as 4135
	m := listed26(t, "pair", []uint64{121}, list, decimals(121, numbers...), "decimal10")
	u := m.Unknown(decimals(121, 4134)[0])
	require.NotNil(t, u)
	assert.Equal(t, Typed, u.Best.Rule)
	assert.Equal(t, 33, u.Best.Holder)
}

// The door shows the number alone, and the list has the facility before it: a row that was typed wrong is found all
// the same. 4111 typed 4711, which is none of the block.
func TestTypedWrongWhereTheDoorLeavesTheFacilityOut(t *testing.T) {
	var list, events []string
	for n := 4101; n < 4151; n++ {
		list, events = append(list, fmt.Sprintf("121,%05d", n)), append(events, fmt.Sprint(n))
	}
	list[10] = "121,04711"
	u := listed26(t, "pair", []uint64{121}, list, events, "number").Unknown("4111")
	require.NotNil(t, u)
	assert.Equal(t, Typed, u.Best.Rule)
	assert.Equal(t, 10, u.Best.Holder)
}

// Cards of a neighbour's site have numbers as those of the list, by chance: where the holders' own cards were at the
// door, those of another facility are not surely theirs.
func TestNumbersOfANeighbour(t *testing.T) {
	var list []string
	var numbers []int
	for n := 4101; n < 4151; n++ {
		list, numbers = append(list, fmt.Sprintf("121,%05d", n)), append(numbers, n)
	}
	theirs := decimals(87, 4090, 4104, 4110, 4125, 4133, 4160)
	m := listed26(t, "pair", []uint64{121}, list, append(decimals(121, numbers...), theirs...), "decimal10")
	for _, text := range theirs {
		if u := m.Unknown(text); u.Best.Rule != Stranger {
			assert.Less(t, u.Best.Probability, 0.9, "%s: a door can show another facility, too", text)
		}
	}
	m = listed26(t, "pair", []uint64{121}, list, decimals(87, numbers...), "decimal10")
	for i, text := range decimals(87, numbers...) {
		assert.Equal(t, i, m.Unknown(text).Best.Holder, "%s, where all cards of the list have another facility", text)
	}
}

// The card that a row says can be somebody else's, the row being typed wrong: here the card of a row and one a digit
// from it are at the door, and the only row that is left is a slip from the first and can't be read. In hex, where ten
// digits were thought, by hand: 121 is 79.
func TestTypedAsSomebodyElses(t *testing.T) {
	var list, events []string
	for n := 4100; n < 4200; n += 2 {
		if n != 4188 {
			list, events = append(list, fmt.Sprintf("121,%05d", n)), append(events, fmt.Sprintf("79%04X", n))
		}
	}
	row := len(list)
	list, events = append(list, "121,04181"), append(events, fmt.Sprintf("79%04X", 4181))
	alone := listed26(t, "pair", []uint64{121}, list, events, "decimal10").Unknown(events[row])
	assert.Equal(t, row, alone.Best.Holder)
	assert.Greater(t, alone.Best.Probability, 0.99)

	list, events = append(list, "121,94181"), append(events, fmt.Sprintf("79%04X", 4188))
	u := listed26(t, "pair", []uint64{121}, list, events, "decimal10").Unknown(events[row])
	assert.Equal(t, []int{row, row + 1}, []int{u.Best.Holder, u.Second.Holder}, "%v %v", u.Best, u.Second)
	assert.Less(t, u.Best.Probability, 0.99)
}
