package evidence

import "math"

// models of numbers and of values of which there are few, by width.
var (
	plainNumbers = func() (all [65]Numbers) {
		for n := range all {
			all[n] = NewNumbers(n, math.Ldexp(1, n), numbersSpread)
		}
		return all
	}()
	plainFew = func() (all [65]Few) {
		for n := range all {
			all[n] = NewFew(n, math.Ldexp(1, n))
		}
		return all
	}()
)

// numbersOf is newNumbers, of which the usual ones are there.
func numbersOf(width int, limit, spread, up float64) *Numbers {
	if spread == numbersSpread && limit == halved(-width) {
		return &plainNumbers[width]
	}
	n := newNumbers(width, limit, spread, up)
	return &n
}

// fewOf is NewFew, of which the usual ones are there.
func fewOf(width int, limit float64) *Few {
	if limit == halved(-width) {
		return &plainFew[width]
	}
	f := NewFew(width, limit)
	return &f
}
