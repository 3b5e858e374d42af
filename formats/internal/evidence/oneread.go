package evidence

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// One read does not say where the number of an undocumented layout is, but small numbers and facilities show in it all
// the same: they leave zeros, as those of formats do.

// oneRead returns the log probability of the data bits from..to-1 of a read: a number at their end, of any width,
// behind a facility; or anything. Places of numbers that are listed, as bits from and to, are left out; in frames of
// the catalogue, which have those, 0 is no number that a card has.
func oneRead(b wiegand.Bits, from, to int, listed [][2]int) float64 {
	w := b.Words()
	width := to - from
	low := max(from, to-64)
	head, number, n := value(&w, low, to), uint64(0), to-low
	beyond := halved(from - low) // bits before those, each as it comes
	left, anywhere := 1.0, numbersAnywhere[n]
	if width > n { // a number that long is not looked at
		anywhere += numberIsAll
	}
	sum, shares := anywhere*halved(n), &numbersAtEnd[n]
	for k := 1; k <= n; k++ { // bits of the number
		number |= head & 1 << (k - 1)
		head >>= 1
		share := shares[k]
		if k == width {
			share += numberIsAll
		}
		if slices.Contains(listed, [2]int{to - k, to}) {
			left -= share
			continue
		}
		before := 1.0
		if k < n {
			before = restFree*halved(n-k) + (1-restFree)*plainFew[n-k].base[bits.Len64(head)]
		}
		chance := plainNumbers[k].chance(number)
		switch {
		case len(listed) == 0:
		case number == 0:
			chance = halved(k)
		default:
			chance *= notZero[k]
		}
		sum += share * before * chance
	}
	return math.Log(sum / left / beyond)
}

// notZero is how much likelier a number by itself is where 0 is none, by the width of its field.
var notZero = func() (all [65]float64) {
	for width := range all {
		all[width] = (1 - halved(width)) / (1 - plainNumbers[width].chance(0))
	}
	return all
}()

// wholeRead is the log probability of a read of a layout that is in no table, with a check at each end.
func wholeRead(b wiegand.Bits) float64 {
	if b.Len() < 6 { // which has room for nothing
		return -float64(b.Len()) * math.Ln2
	}
	return oneRead(b, 1, b.Len()-1, nil) - 2*math.Ln2
}

// numberIsAll is the share of layouts whose number is all of the data, in order.
const numberIsAll = (1 - noNumber) * plainPlace * numberAlone

// numbersAtEnd is the share of layouts with so many data bits, 64 for more, which have a facility and behind it a
// number of so many bits that ends where the data does; numbersAnywhere is that of all others.
var numbersAtEnd, numbersAnywhere = func() (end [65][65]float64, rest [65]float64) {
	for width := range end {
		rest[width] = 1
		for k := 1; k <= width; k++ {
			end[width][k] = (1 - noNumber) * plainPlace * (1 - numberAlone) * numberAtEnd * widthWeights[k] / widthTotals[width]
			rest[width] -= end[width][k]
		}
		rest[width] -= numberIsAll
	}
	return end, rest
}()
