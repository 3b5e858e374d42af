package learn

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// describe returns what it costs to write down bits that follow from nothing: each by itself, or, where together they take
// few values, as facilities do, a list of those and which one each read has.
func (f *finder) describe(left mask) rest {
	r := rest{cols: left}
	if left.empty() {
		return r
	}
	for _, i := range left.list() {
		r.bits += ktBits(f.s.count(i), f.s.n) + strayBits
	}
	counts := map[mask]int{}
	for _, w := range f.s.words {
		if counts[w.and(left)]++; len(counts) > 1+f.s.n/3 {
			return r
		}
	}
	r.values = len(counts)
	at := left.list()
	few := 3 + float64((len(counts)-1)*max(leastFacility, at[len(at)-1]-at[0]+1))
	lg, _ := math.Lgamma(float64(f.s.n) + 1)
	few += lg / math.Ln2
	for _, c := range sortedCounts(counts) {
		lg, _ := math.Lgamma(float64(c))
		few -= lg / math.Ln2
	}
	if few < r.bits {
		r.bits, r.facility = few, true
	}
	return r
}

// strayBits is what it costs to believe in a bit that varies by itself, being neither number, check nor facility.
const strayBits = 6

// leastFacility is how many bits it takes to write a facility down, at the least, however few of them vary.
const leastFacility = 8

// sortedCounts returns the counts in a fixed order, so that sums of them come out the same to the last bit.
func sortedCounts(m map[mask]int) []int {
	var counts []int
	for _, c := range m {
		counts = append(counts, c)
	}
	slices.Sort(counts)
	return counts
}

// ktBits is what it costs to write down n bits of which k are 1 when nothing is known about how common that is: the
// Krichevsky-Trofimov code.
func ktBits(k, n int) float64 {
	a, _ := math.Lgamma(float64(k) + 0.5)
	b, _ := math.Lgamma(float64(n-k) + 0.5)
	c, _ := math.Lgamma(float64(n) + 1)
	return (c + math.Log(math.Pi) - a - b) / math.Ln2
}

// unsplit is how many bits of doubt it takes to believe that the bits which vary are a facility and a number.
const unsplit = 6

// residual takes the bits that are left when the checks are taken out for the number, without a print to confirm it: the run
// from the first to the last of them, or, where the first few take few values, a facility and then the number.
func (f *finder) residual(left mask) (*number, rest) {
	at := left.list()
	if len(at) == 0 {
		return nil, rest{}
	}
	best, r := f.window(at[0], at[len(at)-1], left), rest{}
	bestCost := best.cost
	for k := 1; k < len(at); k++ {
		few := f.describe(left.and(span(at[0], at[k-1])))
		if !few.facility {
			break
		}
		num := f.window(at[k], at[len(at)-1], left)
		if cost := num.cost + few.bits + unsplit; cost < bestCost {
			best, r, bestCost = num, few, cost
		}
	}
	return best, r
}

// window is the hypothesis that the bits from a to b, checks apart, hold the number and nothing is known about that but what
// the reads show: numbers spread over the field, or near one another, or each one more than the last.
func (f *finder) window(a, b int, left mask) *number {
	h := &number{}
	for i := a; i <= b; i++ {
		if left.has(i) || !f.s.varying.has(i) {
			h.at = append(h.at, i)
			h.cols.add(i)
		}
	}
	holes := 0
	for i := 1; i < len(h.at); i++ {
		if h.at[i] != h.at[i-1]+1 {
			holes++
		}
	}
	w := len(h.at)
	h.cost = float64(f.s.n*w) + float64(costSplit*holes)
	h.Bits, h.Order = spansInOrder(h.at, wiegand.Binary, wiegand.MSBFirst)
	if w > 63 {
		return h
	}
	for _, order := range []wiegand.Order{wiegand.MSBFirst, wiegand.LSBFirst} {
		g := number{at: slices.Clone(h.at)}
		cost := float64(2*w + costSplit*holes)
		if order == wiegand.LSBFirst {
			slices.Reverse(g.at)
			cost += costLSB
		}
		lo, hi := uint64(math.MaxUint64), uint64(0)
		for _, word := range f.s.words {
			v := g.value(word)
			lo, hi = min(lo, v), max(hi, v)
		}
		if cost += float64(f.s.n) * log2(float64(hi-lo)+1); cost < h.cost {
			h.cost, h.at = cost, g.at
			h.Bits, h.Order = spansInOrder(g.at, wiegand.Binary, order)
			h.near = true
		}
	}
	return h
}
