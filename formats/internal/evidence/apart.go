package evidence

import (
	"math"
	"math/bits"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
)

// unrelated returns the log probability of prints that follow from no field of the card: the whole reads, or nothing
// that has to do with them, whose log is given.
func unrelated(none, whole float64) float64 {
	return LogAdd(math.Log(printUnrelated)+none, math.Log(printedRead)+whole)
}

// nothing returns the log probability of prints that have to do with nothing: each by itself, or as often numbers of a
// list of their own, which lie in boxes or are counted up. A list writes all of them with as many digits, or none with
// zeros before it.
func nothing(seen []*Seen) float64 {
	apart, values, width, alike, zeros := 0.0, make([]uint64, 0, len(seen)), 0, true, false
	for _, s := range seen {
		apart += math.Log(s.floor)
		if n := len(s.digits); s.Kind == formats.Printed && n == len(s.Text) && n < len(listNumbers) {
			values = append(values, number(s.digits))
			width, alike = max(width, n), alike && n == len(seen[0].digits)
			zeros = zeros || n > 1 && s.digits[0] == '0'
		}
	}
	if len(values) < max(2, len(seen)) || !alike && zeros {
		return apart
	}
	slices.Sort(values)
	return LogAdd(apart, math.Log((1-hexShare)*widthShare)+listNumbers[width].Log(values)) - math.Ln2
}

// listNumbers are the numbers of lists, by digits.
var listNumbers = func() (all [19]Numbers) {
	for digits := range all {
		limit := math.Pow10(digits)
		all[digits] = NewNumbers(bits.Len64(uint64(limit)-1), limit, numbersSpread)
	}
	return all
}()

func number(digits string) uint64 {
	v, _ := strconv.ParseUint(digits, 10, 64) // 0 for none
	return v
}

// hopeless is after how many prints, none of which fits, a place is given up: one that is right has no more than one
// wrong in three.
const hopeless = 12

// allowed is how many of n prints may be wrong for a place to be looked at.
func allowed(n int) int {
	if n == 2 {
		return 1
	}
	return n / 3
}
