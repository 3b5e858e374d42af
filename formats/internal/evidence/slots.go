package evidence

import (
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// Sightings that look alike are in one slot: they follow from their cards in the same way. So do all prints of two
// numbers, all in hex, and all serials; of prints of one number a card can have several, as a fob has a short number
// and a long one, or a badge the one and the next badge the other.

// printLengths is for each kind of sighting, and for prints of one number and of two, how many digits the prints of the
// card have that has most of them.
type printLengths [4][2][]int

func (l *printLengths) of(s *typing.Seen) *[]int { return &l[s.Kind&3][bit(s.Pair)] }

// Prints of one number are of two looks where none is between: the shorter ones have shortPrint digits or fewer, as
// card numbers do, the longer ones longPrint or more, as all data bits have, also where zeros were lost, and farLonger
// digits more than those.
const shortPrint, longPrint, farLonger = 6, 7, 3

// printLengths returns what the sightings look like.
func (q *query) printLengths() (all printLengths) {
	var lengths []int // of prints of one number
	q.eachLook(func(_ int, some []typing.Seen) {
		at := all.of(&some[0])
		if len(some) > len(*at) {
			*at = (*at)[:0]
			for k := range some {
				*at = append(*at, len(some[k].Digits))
			}
		}
		for k := range some {
			if some[k].Kind == formats.Printed && !some[k].Pair {
				lengths = append(lengths, len(some[k].Digits))
			}
		}
	})
	slices.Sort(lengths)
	one := all.of(&typing.Seen{Kind: formats.Printed})
	for i := 1; i < len(lengths); i++ {
		short, long := lengths[i-1], lengths[i]
		if short > shortPrint || long < longPrint || long-short < farLonger {
			continue
		}
		if (*one)[0] > short {
			*one = append([]int{short}, *one...)
		}
		if (*one)[len(*one)-1] < long {
			*one = append(*one, long)
		}
	}
	return all
}

// putIntoSlots fills the slots. mixed reports whether some two cards are printed in no way alike.
func (q *query) putIntoSlots() (mixed bool) {
	all := q.printLengths()
	ways := make([]uint, len(q.cards)) // in which each card is printed
	q.eachLook(func(i int, some []typing.Seen) {
		digits, at := *all.of(&some[0]), -1
		for k := range some { // each goes with those that have about as many digits
			n, last := len(some[k].Digits), len(digits)-len(some)+k
			for at++; at < last && distance(n, digits[at+1]) < distance(n, digits[at]); at++ {
			}
			q.slotFor(some[k].Kind, some[k].Pair, at).add(i, &some[k])
			switch s := &some[k]; {
			case s.Kind == formats.Hex:
				ways[i] |= 1
			case s.Kind == formats.Printed && s.Pair:
				ways[i] |= 2
			case s.Kind == formats.Printed:
				ways[i] |= 4 << min(at, 8)
			}
		}
	})
	slices.Sort(ways)
	ways = slices.Compact(ways)
	for i, a := range ways {
		for _, b := range ways[:i] {
			mixed = mixed || b > 0 && a&b == 0
		}
	}
	return mixed
}

// eachLook calls use with the sightings of each card, those of a kind by themselves, and those of one number and of
// two.
func (q *query) eachLook(use func(card int, some []typing.Seen)) {
	for i := range q.cards {
		for from, to, more := 0, 0, q.cards[i].more; from < len(more); from = to {
			for to = from; to < len(more) && more[to].Kind == more[from].Kind && more[to].Pair == more[from].Pair; to++ {
			}
			use(i, more[from:to])
		}
	}
}

func distance(a, b int) int { return max(a-b, b-a) }

func (q *query) slotFor(kind formats.SightingKind, pair bool, ordinal int) *slot {
	for i := range q.slots {
		if q.slots[i].kind == kind && q.slots[i].pair == pair {
			if ordinal == 0 {
				return &q.slots[i]
			}
			ordinal--
		}
	}
	for ; ordinal >= 0; ordinal-- { // those before it are filled later
		q.slots = append(q.slots, slot{kind: kind, pair: pair})
	}
	return &q.slots[len(q.slots)-1]
}
