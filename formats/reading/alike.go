package reading

import (
	"math"
	"slices"
	"strconv"
)

// likeSlips are slips that somebody, or a machine, makes again and again: the first digit of a number typed twice, or
// the last, or the last left out. Each undoes its slip; from so many numbers one such was made.
var likeSlips = [...]struct {
	undo func(digits string) (whole string, ok bool)
	from float64
}{
	{func(s string) (string, bool) { return s[1:], len(s) > 1 && s[0] == s[1] }, 1},
	{func(s string) (string, bool) { return s[:len(s)-1], len(s) > 1 && s[len(s)-1] == s[len(s)-2] }, 1},
	{func(s string) (string, bool) { return s + "5", true }, 10}, // the one in the middle of those that there are
}

// apartFromSlips returns the cards of a list without those whose numbers are by themselves, and would lie among the
// others without a slip that is the same in all of them: unless it is far likelier that these are another order of
// cards.
func (r *Reading) apartFromSlips(cards []Seen) []Seen {
	all := numbersOf(cards)
	if len(all) < fewest {
		return cards
	}
	reach := (all[len(all)*9/10]-all[len(all)/10])/4 + 1 // a quarter of where most of them are
	around := func(n uint64) int {
		from, _ := slices.BinarySearch(all, n-min(n, reach))
		to, _ := slices.BinarySearch(all, n+min(^n, reach))
		return to - from
	}
	for i := range likeSlips {
		slip := &likeSlips[i]
		var others, undone []Seen
		for k := range cards {
			n, _ := cards[k].Number()
			if s, ok := r.without(slip.undo, &cards[k]); ok {
				if was, _ := s.Number(); around(was) > 2*around(n) {
					undone = append(undone, s)
					continue
				}
			}
			others = append(others, cards[k])
		}
		if len(undone) < fewShown {
			continue
		}
		k, n := float64(len(undone)), float64(len(cards))
		log := r.inList(slices.Concat(others, undone)) + k*math.Log(slip.from) + oddly(typedWrong, k, n, 0, 0) -
			math.Log(float64(len(likeSlips)))
		if log-r.inList(cards) > math.Log(mistyped) {
			cards = others
		}
	}
	return cards
}

// without returns a card with the number that it has where a slip is undone; ok is false where there is none.
func (r *Reading) without(undo func(string) (string, bool), s *Seen) (card Seen, ok bool) {
	n, known := s.Number()
	digits, ok := undo(strconv.FormatUint(n, 10))
	n, err := strconv.ParseUint(digits, 10, 64)
	if !known || !ok || err != nil {
		return card, false
	}
	f, has := s.Facility()
	return r.Make(f, has, n)
}
