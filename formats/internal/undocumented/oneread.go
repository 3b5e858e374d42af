package undocumented

import (
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// One read does not say where the number of an undocumented layout is, but small numbers and facilities show in it all
// the same: they leave zeros, as those of formats do.

// oneRead returns the log probability of the data bits from..to-1 of a read: a number at their end, of any width,
// behind a facility; or anything. Places of numbers that are listed, as bits from and to, are left out; in frames of
// the catalogue, which have those, 0 is no number that a card has.
func oneRead(b wiegand.Bits, from, to int, listed [][2]int) float64 {
	var e Ends
	e.Take(b, from, to)
	return e.Log(listed)
}

// Ends are the data bits from..to-1 of a read as a number at their end, by its width from 1 to n: what is the same
// whichever places are listed.
type Ends struct {
	From, To, n int
	before      [65]float64 // the share of layouts with such a number, times the probability of the bits before it
	chance      [65]float64 // of the number; negative where it is 0
}

// Take notes the ends of a read, which has not changed where they are noted of the same bits already.
func (e *Ends) Take(b wiegand.Bits, from, to int) {
	w := b.Words()
	low := max(from, to-64)
	head, number := Value(&w, low, to), uint64(0)
	e.From, e.To, e.n = from, to, to-low
	shares := &numbersAtEnd[e.n]
	for k := 1; k <= e.n; k++ { // bits of the number
		number |= head & 1 << (k - 1)
		head >>= 1
		before := 1.0
		if k < e.n {
			few := density.PlainFew[e.n-k].ByLength[bits.Len64(head)]
			before = judgement.RestFree*density.Halved(e.n-k) + (1-judgement.RestFree)*few
		}
		e.before[k] = e.share(k, shares) * before
		if e.chance[k] = density.PlainNumbers[k].Chance(number); number == 0 {
			e.chance[k] = -e.chance[k]
		}
	}
}

// share is that of layouts with a number of k bits.
func (e *Ends) share(k int, shares *[65]float64) float64 {
	if k == e.To-e.From {
		return shares[k] + numberIsAll
	}
	return shares[k]
}

// Log is what oneRead returns.
func (e *Ends) Log(listed [][2]int) float64 {
	width, shares := e.To-e.From, &numbersAtEnd[e.n]
	left, anywhere := 1.0, numbersAnywhere[e.n]
	if width > e.n { // a number that long is not looked at
		anywhere += numberIsAll
	}
	known := uint64(0) // widths of those listed that end here
	for _, p := range listed {
		if p[1] == e.To && p[0] < e.To {
			known |= 1 << (e.To - p[0] - 1)
		}
	}
	sum := anywhere * density.Halved(e.n)
	for k := 1; k <= e.n; k++ {
		chance := e.chance[k]
		switch {
		case known>>(k-1)&1 == 1:
			left -= e.share(k, shares)
			continue
		case len(listed) == 0:
			chance = math.Abs(chance)
		case chance < 0:
			chance = density.Halved(k)
		default:
			chance *= notZero[k]
		}
		sum += e.before[k] * chance
	}
	return math.Log(sum / left / density.Halved(e.n-width)) // bits before those, each as it comes
}

// notZero is how much likelier a number by itself is where 0 is none, by the width of its field.
var notZero = func() (all [65]float64) {
	for width := range all {
		all[width] = (1 - density.Halved(width)) / (1 - density.PlainNumbers[width].Chance(0))
	}
	return all
}()

// wholeRead is the log probability of a read of a layout that is in no table, with a check at each end.
func wholeRead(b wiegand.Bits) float64 {
	var e Ends
	return e.Whole(b)
}

// Whole is wholeRead, of which it keeps the ends.
func (e *Ends) Whole(b wiegand.Bits) float64 {
	if b.Len() < 6 { // which has room for nothing
		return -float64(b.Len()) * math.Ln2
	}
	e.Take(b, 1, b.Len()-1)
	return e.Log(nil) - 2*math.Ln2
}

// numberIsAll is the share of layouts whose number is all of the data, in order.
const numberIsAll = (1 - judgement.NoNumber) * plainPlace * judgement.NumberAlone

// numbersAtEnd is the share of layouts with so many data bits, 64 for more, which have a facility and behind it a
// number of so many bits that ends where the data does; numbersAnywhere is that of all others.
var numbersAtEnd, numbersAnywhere = func() (end [65][65]float64, rest [65]float64) {
	for width := range end {
		rest[width] = 1
		for k := 1; k <= width; k++ {
			share := widthWeights[k] / widthTotals[width]
			end[width][k] = (1 - judgement.NoNumber) * plainPlace * (1 - judgement.NumberAlone) * judgement.NumberAtEnd * share
			rest[width] -= end[width][k]
		}
		rest[width] -= numberIsAll
	}
	return end, rest
}()
