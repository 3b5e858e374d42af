package typing

import (
	"math"
	"math/bits"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// UnrelatedLog returns the log probability of prints that follow from no field of the card: the whole reads, or nothing
// that has to do with them, whose log is given.
func UnrelatedLog(none, whole float64) float64 {
	return logp.Add(math.Log(judgement.PrintUnrelated)+none, math.Log(judgement.PrintedRead)+whole)
}

// NothingLog returns the log probability of prints that have to do with nothing: each by itself, or as often numbers of
// a list of their own, which lie in boxes or are counted up. A list writes all of them with as many digits, or none
// with zeros before it.
func NothingLog(seen []*Seen) float64 {
	apart, values, width, alike, zeros := 0.0, make([]uint64, 0, len(seen)), 0, true, false
	for _, s := range seen {
		apart += math.Log(s.Floor)
		if n := len(s.Digits); s.Kind == formats.Printed && n == len(s.Text) && n < len(listNumbers) {
			values = append(values, Number(s.Digits))
			width, alike = max(width, n), alike && n == len(seen[0].Digits)
			zeros = zeros || n > 1 && s.Digits[0] == '0'
		}
	}
	if len(values) < max(2, len(seen)) || !alike && zeros {
		return apart
	}
	slices.Sort(values)
	return logp.Add(apart, math.Log((1-judgement.HexShare)*judgement.WidthShare)+listNumbers[width].Log(values)) - math.Ln2
}

// listNumbers are the numbers of lists, by digits.
var listNumbers = func() (all [19]density.Numbers) {
	for digits := range all {
		limit := math.Pow10(digits)
		all[digits] = density.NewNumbers(bits.Len64(uint64(limit)-1), limit, judgement.NumbersSpread)
	}
	return all
}()

// Number returns what decimal digits come to, 0 of none.
func Number(digits string) uint64 {
	v, _ := strconv.ParseUint(digits, 10, 64)
	return v
}

// OneWord reports whether decimal digits are a number of up to 64 bits: all of 19 are.
func OneWord(digits string) bool {
	if len(digits) <= 19 {
		return true
	}
	_, err := strconv.ParseUint(digits, 10, 64)
	return err == nil && len(digits) == 20
}

// Hopeless is after how many prints, none of which fits, a place is given up: one that is right has no more than one
// wrong in three.
const Hopeless = 12

// Allowed is how many of n prints may be wrong for a place to be looked at.
func Allowed(n int) int { return (n + 1) / 3 }
