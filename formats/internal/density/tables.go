package density

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/judgement"
)

// PlainNumbers and PlainFew are the usual models of numbers, and of values of which there are few, by the width in bits
// of their field, which is full.
var (
	PlainNumbers = func() (all [65]Numbers) {
		for n := range all {
			all[n] = NewNumbers(n, math.Ldexp(1, n), judgement.NumbersSpread)
		}
		return all
	}()
	PlainFew = func() (all [65]Few) {
		for n := range all {
			all[n] = NewFew(n, math.Ldexp(1, n))
		}
		return all
	}()
)

// NumbersOf is newNumbers, of which the usual ones are there.
func NumbersOf(width int, limit, spread, up float64) *Numbers {
	if spread == judgement.NumbersSpread && limit == Halved(-width) {
		return &PlainNumbers[width]
	}
	n := newNumbers(width, limit, spread, up)
	return &n
}

// FewOf is NewFew, of which the usual ones are there.
func FewOf(width int, limit float64) *Few {
	if limit == Halved(-width) {
		return &PlainFew[width]
	}
	f := NewFew(width, limit)
	return &f
}
