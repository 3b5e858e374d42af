package evidence

import (
	"math"
	"slices"
)

// The same as in halving, without logarithms, for few cards: this is what nearly all of the time goes into.

// linear returns the probability of sorted numbers.
func (n *Numbers) linear(sorted []uint64) float64 {
	even := 1.0
	if n.whole {
		even = power(len(sorted) * n.width)
	} else {
		for range sorted {
			even /= n.limit
		}
	}
	l := small{limit: n.limit, whole: n.whole, different: allDifferent(sorted)}
	boxes, counted := l.part(sorted, n.width, 0), l.low(sorted, n.width)
	if float64(len(sorted)) <= n.limit {
		boxes, counted = boxes/2, counted/2
		if l.different {
			boxes += n.box(len(sorted), sorted[len(sorted)-1]-sorted[0]) / 2
			counted += n.counted(len(sorted), sorted[len(sorted)-1]) / 2
		}
	}
	return n.spread*even + (1-n.spread)*((1-fromOne)*boxes+fromOne*counted)
}

// power returns 2^-k, 0 <= k < 1022.
func power(k int) float64 { return math.Float64frombits(uint64(1023-k) << 52) }

// orders[a][b] is a!b!/(a+b+1)!, as logOrders has it.
var orders = func() (t [mostLinear + 1][mostLinear + 1]float64) {
	for a := range t {
		for b := range t {
			if a+b <= mostLinear {
				t[a][b] = math.Exp(logOrders(a, b))
			}
		}
	}
	return t
}()

type small struct {
	limit     float64
	whole     bool
	different bool
}

func (l *small) evenly(n, r int, base uint64) float64 {
	if l.whole {
		return power(n * r)
	}
	p, values := 1.0, min(math.Ldexp(1, r), l.limit-float64(base))
	for range n {
		p /= values
	}
	return p
}

// part is halving.part.
func (l *small) part(sorted []uint64, r int, base uint64) float64 {
	n := len(sorted)
	switch {
	case n == 0 || r == 0:
		return 1
	case n == 1 && l.whole:
		return power(r)
	}
	high := base + 1<<(r-1)
	if !l.whole && float64(high) >= l.limit {
		return l.part(sorted, r-1, base)
	}
	var rest float64
	switch {
	case sorted[n-1] < high:
		rest = (oneSide/2 + (1-oneSide)*orders[n][0]) * l.part(sorted, r-1, base)
	case sorted[0] >= high:
		rest = (oneSide/2 + (1-oneSide)*orders[n][0]) * l.part(sorted, r-1, high)
	default:
		cut := place(sorted, high)
		rest = (1 - oneSide) * orders[cut][n-cut] * l.piece(sorted[:cut], r-1, base) * l.piece(sorted[cut:], r-1, high)
	}
	return stops[r]*l.evenly(n, r, base) + (1-stops[r])*rest
}

// piece is halving.piece.
func (l *small) piece(sorted []uint64, r int, base uint64) float64 {
	n := len(sorted)
	p := l.part(sorted, r, base)
	if n < 2 {
		return p
	}
	values, harmonicLimit := math.Ldexp(1, r), harmonicBits[r]
	if !l.whole {
		values = min(values, l.limit-float64(base))
		harmonicLimit = harmonic(values + 1)
	}
	switch {
	case float64(n) > values:
		return p
	case !l.different:
		return p / 2
	}
	return (p + box(n, sorted[n-1]-sorted[0], values, harmonicLimit)) / 2
}

// low is halving.low.
func (l *small) low(sorted []uint64, r int) float64 {
	n := len(sorted)
	if n == 0 || r == 0 {
		return 1
	}
	high := uint64(1) << (r - 1)
	if !l.whole && float64(high) >= l.limit {
		return l.low(sorted, r-1)
	}
	var rest float64
	if sorted[n-1] < high {
		rest = (staysLow + (1-staysLow)*orders[n][0]) * l.low(sorted, r-1)
	} else {
		cut := place(sorted, high)
		rest = (1 - staysLow) * orders[cut][n-cut] * l.low(sorted[:cut], r-1) * l.piece(sorted[cut:], r-1, high)
	}
	return stops[r]*l.evenly(n, r, 0) + (1-stops[r])*rest
}

// place returns how many of the sorted numbers are below v.
func place(sorted []uint64, v uint64) int {
	at, _ := slices.BinarySearch(sorted, v)
	return at
}
