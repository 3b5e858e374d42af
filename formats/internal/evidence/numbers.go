package evidence

import (
	"math"
	"math/bits"
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
	switch {
	case len(sorted) == 0:
		return 0
	case n.whole && len(sorted) == 1:
		return n.Single(sorted[0])
	case n.small(len(sorted)):
		return math.Log(n.linear(sorted))
	}
	return n.halved(&halving{limit: n.limit, whole: n.whole, different: allDifferent(sorted), sorted: sorted})
}

// linearBits is how many bits numbers have together at most for whose probability no logarithms are needed: a float64
// holds 2^-1022.
const linearBits = 900

// small reports whether the probability of so many numbers needs no logarithms.
func (n *Numbers) small(count int) bool { return count <= mostLinear && count*n.width < linearBits }

// halved is linear in logarithms.
func (n *Numbers) halved(t *halving) float64 {
	count := t.count(0, len(t.sorted), n.width, 0)
	even := -float64(count) * math.Log(n.limit)
	low, high := t.ends(0, len(t.sorted), n.width, 0)
	boxes, counted := n.boxes(count, low, high, t.different, t.part(0, len(t.sorted), n.width, 0),
		t.low(0, len(t.sorted), n.width))
	return LogAdd(math.Log(n.spread)+even, math.Log(1-n.spread)+LogAdd(math.Log(1-fromOne)+boxes,
		math.Log(fromOne)+counted))
}

// Next returns the log probability of one more number, given others.
func (n *Numbers) Next(v uint64, o *others) float64 {
	if len(o.sorted) == 0 {
		return n.Single(v)
	}
	given := o.given(n.Log)
	if n.small(len(o.sorted) + 1) {
		return n.Log(o.with(v)) - given
	}
	return n.halved(o.halving(n, v)) - given
}

// halving works out parts of a field. The numbers of a part are those of sorted from lo to hi-1, and one more where it
// lies there.
type halving struct {
	limit     float64
	whole     bool
	different bool // all numbers are, so that they can be boxes in closed form
	sorted    []uint64
	more      uint64 // one more number, where another is
	another   bool
	kept      map[stretch]float64 // what parts come to in which the one more is not; nil where nothing is kept
}

// stretch is a part whose value is kept.
type stretch struct {
	lo, hi, r int
	different bool
	low       bool
}

// holds reports whether the one more number lies in the 2^r values from base on.
func (t *halving) holds(r int, base uint64) bool {
	return t.another && t.more >= base && (t.more-base)>>r == 0
}

// count returns how many numbers a part has.
func (t *halving) count(lo, hi, r int, base uint64) int {
	if t.holds(r, base) {
		return hi - lo + 1
	}
	return hi - lo
}

// ends returns the lowest and the highest number of a part that has some.
func (t *halving) ends(lo, hi, r int, base uint64) (least, most uint64) {
	if !t.holds(r, base) {
		return t.sorted[lo], t.sorted[hi-1]
	}
	if least, most = t.more, t.more; lo < hi {
		least, most = min(least, t.sorted[lo]), max(most, t.sorted[hi-1])
	}
	return least, most
}

// cut returns where the numbers of a part from high on begin.
func (t *halving) cut(lo, hi int, high uint64) int {
	switch {
	case lo == hi || t.sorted[hi-1] < high:
		return hi
	case t.sorted[lo] >= high:
		return lo
	}
	return lo + place(t.sorted[lo:hi], high)
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

// once works out a part, or returns what it came to before.
func (t *halving) once(key stretch, base uint64, work func() float64) float64 {
	if t.kept == nil || t.holds(key.r, base) {
		return work()
	}
	log, ok := t.kept[key]
	if !ok {
		log = work()
		t.kept[key] = log
	}
	return log
}

// part returns the log probability of the numbers in the 2^r values from base on, once it is known that they are there.
func (t *halving) part(lo, hi, r int, base uint64) float64 {
	switch n := t.count(lo, hi, r, base); {
	case n == 0 || r == 0:
		return 0
	case n == 1 && t.whole:
		return -float64(r) * math.Ln2
	}
	return t.once(stretch{lo, hi, r, t.different, false}, base, func() float64 {
		high := base + 1<<(r-1)
		if !t.whole && float64(high) >= t.limit { // there is no upper half
			return t.part(lo, hi, r-1, base)
		}
		at := t.cut(lo, hi, high)
		below, above := t.count(lo, at, r-1, base), t.count(at, hi, r-1, high)
		split := math.Log1p(-oneSide) + logOrders(below, above)
		switch 0 {
		case above:
			split = LogAdd(split, logHalfSide) + t.part(lo, at, r-1, base)
		case below:
			split = LogAdd(split, logHalfSide) + t.part(at, hi, r-1, high)
		default:
			split += t.piece(lo, at, r-1, base) + t.piece(at, hi, r-1, high)
		}
		return LogAdd(logStops[r]+t.evenly(below+above, r, base), logGoes[r]+split)
	})
}

// piece is part for numbers that lie apart from others: as often they are one box, in closed form, so that several
// boxes cost what each would alone.
func (t *halving) piece(lo, hi, r int, base uint64) float64 {
	n := t.count(lo, hi, r, base)
	log := t.part(lo, hi, r, base)
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
	least, most := t.ends(lo, hi, r, base)
	return LogAdd(log, boxLog(n, most-least, values, math.Log(values), harmonicLimit)-math.Ln2)
}

// low is part for numbers that count up from 1: those of the lower half are likelier to be all.
func (t *halving) low(lo, hi, r int) float64 {
	n := t.count(lo, hi, r, 0)
	if n == 0 || r == 0 {
		return 0
	}
	return t.once(stretch{lo, hi, r, t.different, true}, 0, func() float64 {
		high := uint64(1) << (r - 1)
		if !t.whole && float64(high) >= t.limit {
			return t.low(lo, hi, r-1)
		}
		at := t.cut(lo, hi, high)
		below := t.count(lo, at, r-1, 0)
		split := logNotLow + logOrders(below, n-below)
		if below == n {
			split = LogAdd(split, logStaysLow)
		}
		split += t.low(lo, at, r-1) + t.piece(at, hi, r-1, high)
		return LogAdd(logStops[r]+t.evenly(n, r, 0), logGoes[r]+split)
	})
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
