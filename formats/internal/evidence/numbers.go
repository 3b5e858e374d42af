package evidence

import (
	"math"
	"math/bits"
	"slices"
)

// Numbers is how the numbers of a kind of card are distributed over their field: anyhow, counted up from 1, or in boxes
// at any place and of any size. Which, and how dense, is summed over by halving the field again and again: in each part
// the numbers are spread evenly from here on, or all lie in one half of it, or some lie in each. So a box costs what it
// takes to say where it is, and numbers that are spread cost nothing more than being spread. That finds several boxes;
// one box by itself, which may lie across a border of halves, has a closed form besides. All over all lists of numbers
// adds up to 1.
type Numbers struct {
	width              int         // bits
	limit              float64     // values: 2^width, or fewer for decimal digits
	whole              bool        // limit is 2^width
	spread             float64     // share of kinds whose numbers lie anyhow
	single             [65]float64 // of one number that counts up from 1, by its length
	logLimit, harmonic float64     // of limit, and of limit+1
}

// NewNumbers makes the model of a field of so many bits (0 to 64), which holds limit values; spread is the share of
// kinds whose numbers are spread evenly over all of it.
func NewNumbers(width int, limit, spread float64) Numbers {
	n := Numbers{width: width, limit: limit, whole: limit >= math.Ldexp(1, width), spread: spread}
	n.logLimit, n.harmonic = math.Log(limit), harmonic(limit+1)
	n.fillSingle()
	return n
}

// fillSingle works out the probability of one number that counts up from 1, by halving, which depends on its length in
// bits alone.
func (n *Numbers) fillSingle() {
	left, counted := 1.0, 0.0 // the chance to get this deep on the way of zeros; the sum of what ended on it
	for r := n.width; r >= 0; r-- {
		counted += left * stops[r] * math.Ldexp(1, -r)
		n.single[r] = counted
		if r > 0 { // the highest bit is 1: off the way of zeros, where either half is as likely as the other
			n.single[r] += left * (1 - stops[r]) * (1 - staysLow) / 2 * math.Ldexp(1, -(r-1))
		}
		left *= (1 - stops[r]) * (staysLow + (1-staysLow)/2)
	}
}

// stops[r] is the chance that a part of 2^r values is spread evenly, if no larger one is: so that all usual sizes of
// boxes are as likely.
var stops = func() (s [65]float64) {
	sum := 0.0
	for r := range s {
		w := 1.0
		if r < smallBox || r > largeBox {
			w = rareBox
		}
		sum += w
		s[r] = w / sum
	}
	return s
}()

// Single returns the log probability of one number by itself.
func (n *Numbers) Single(v uint64) float64 {
	if !n.whole {
		return n.Log([]uint64{v})
	}
	counted := n.single[bits.Len64(v)]
	if n.limit > 1 {
		counted = (counted + (1/(float64(v)+1)-1/(n.limit+1))/(n.harmonic-1)) / 2
	}
	return math.Log((n.spread+(1-n.spread)*(1-fromOne))/n.limit + (1-n.spread)*fromOne*counted)
}

// Log returns the log probability of the numbers of a kind, in the order in which they are given. They must be sorted.
func (n *Numbers) Log(sorted []uint64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	if n.whole && len(sorted) == 1 {
		return n.Single(sorted[0])
	}
	if len(sorted) <= mostLinear && len(sorted)*n.width < linearBits {
		return math.Log(n.linear(sorted))
	}
	return n.halved(sorted)
}

// halved is linear in logarithms.
func (n *Numbers) halved(sorted []uint64) float64 {
	even := -float64(len(sorted)) * math.Log(n.limit)
	t := halving{limit: n.limit, whole: n.whole, different: allDifferent(sorted)}
	boxes, counted := n.boxes(len(sorted), sorted[0], sorted[len(sorted)-1], t.different, t.part(sorted, n.width, 0),
		t.low(sorted, n.width))
	return LogAdd(math.Log(n.spread)+even, math.Log(1-n.spread)+LogAdd(math.Log(1-fromOne)+boxes,
		math.Log(fromOne)+counted))
}

// linearBits is how many bits numbers have together at most for whose probability no logarithms are needed: a float64
// holds 2^-1022.
const linearBits = 900

// Next returns the log probability of one more number, given others (sorted).
func (n *Numbers) Next(v uint64, sorted []uint64, scratch []uint64) float64 {
	if len(sorted) == 0 {
		return n.Single(v)
	}
	scratch = insert(scratch, sorted, v)
	return n.Log(scratch) - n.Log(sorted)
}

// halving works out parts of a field.
type halving struct {
	limit     float64
	whole     bool
	different bool // all numbers are, so that they can be boxes in closed form
}

// evenly is the log of n numbers spread over the 2^r values from base on, as far as the field has them.
func (t *halving) evenly(n, r int, base uint64) float64 {
	if t.whole {
		return -float64(n*r) * math.Ln2
	}
	return -float64(n) * math.Log(t.values(r, base))
}

// values returns how many values of the field lie in a part.
func (t *halving) values(r int, base uint64) float64 {
	return min(math.Ldexp(1, r), t.limit-float64(base))
}

// part returns the log probability of sorted numbers, all of which lie in the 2^r values from base on, once it is known
// that they do.
func (t *halving) part(sorted []uint64, r int, base uint64) float64 {
	switch {
	case len(sorted) == 0 || r == 0:
		return 0
	case len(sorted) == 1 && t.whole:
		return -float64(r) * math.Ln2
	}
	high := base + 1<<(r-1)
	if !t.whole && float64(high) >= t.limit { // there is no upper half
		return t.part(sorted, r-1, base)
	}
	n := len(sorted)
	cut := n
	if sorted[n-1] >= high {
		cut = 0
		if sorted[0] < high {
			cut, _ = slices.BinarySearch(sorted, high)
		}
	}
	split := math.Log1p(-oneSide) + logOrders(cut, n-cut)
	var below float64
	switch cut {
	case n:
		below = t.part(sorted, r-1, base)
		split = LogAdd(split, logHalfSide)
	case 0:
		below = t.part(sorted, r-1, high)
		split = LogAdd(split, logHalfSide)
	default:
		below = t.piece(sorted[:cut], r-1, base) + t.piece(sorted[cut:], r-1, high)
	}
	return LogAdd(logStops[r]+t.evenly(n, r, base), logGoes[r]+split+below)
}

// piece is part for numbers that lie apart from others: as often they are one box, in closed form, so that several
// boxes cost what each would alone.
func (t *halving) piece(sorted []uint64, r int, base uint64) float64 {
	n := len(sorted)
	log := t.part(sorted, r, base)
	values := t.values(r, base)
	if n < 2 || float64(n) > values {
		return log
	}
	log -= math.Ln2
	if !t.different {
		return log
	}
	harmonicLimit := harmonicBits[r]
	if !t.whole {
		harmonicLimit = harmonic(values + 1)
	}
	return LogAdd(log, boxLog(n, sorted[n-1]-sorted[0], values, math.Log(values), harmonicLimit)-math.Ln2)
}

// low is part for numbers that count up from 1: those of the lower half are likelier to be all.
func (t *halving) low(sorted []uint64, r int) float64 {
	if len(sorted) == 0 || r == 0 {
		return 0
	}
	high := uint64(1) << (r - 1)
	if !t.whole && float64(high) >= t.limit {
		return t.low(sorted, r-1)
	}
	n := len(sorted)
	cut, _ := slices.BinarySearch(sorted, high)
	split := logNotLow + logOrders(cut, n-cut)
	if cut == n {
		split = LogAdd(split, logStaysLow)
	}
	below := t.low(sorted[:cut], r-1) + t.piece(sorted[cut:], r-1, high)
	return LogAdd(logStops[r]+t.evenly(n, r, 0), logGoes[r]+split+below)
}

var (
	logStops, logGoes = func() (stop, go_ [65]float64) {
		for r, s := range stops {
			stop[r], go_[r] = math.Log(s), math.Log1p(-s)
		}
		return stop, go_
	}()
	logHalfSide = math.Log(oneSide / 2)
	logStaysLow = math.Log(staysLow)
	logNotLow   = math.Log1p(-staysLow)
)
