package learn

import (
	"math"

	"github.com/cardtell/cardtell/wiegand"
)

// pattern is a set of bits that a parity bit may be computed over.
type pattern struct {
	over   mask
	spans  wiegand.Spans
	family family
	share  float64 // of its family: the shares of one family add up to 1
}

// family is a way of choosing the bits of a check.
type family uint8

const (
	familyAll    family = iota // every other bit of the read, or all between its ends
	familyHalf                 // the first or the second half of what lies between the ends
	familySpan                 // a run of bits with any ends
	familyBeside               // a run with one end beside an end of the read
	familySecond               // every second bit
	familyTwo                  // two bits in three
	familyThird                // every third bit
	familyAny                  // any bits at all: found by elimination, not by trying
	families
)

// familyPrior is how likely each way is for one check by itself, before a read is seen. That layouts put a parity bit at each
// end, over the half beside it, is what the published formats do; that of the interleaved ones is common practice. No count was
// found: these are judgements. What counts is their logarithm, and a dozen reads outweigh it.
var familyPrior = [families]float64{
	familyAll: 0.12, familyHalf: 0.05, familySpan: 0.71, familyBeside: 0.10, familySecond: 0.003, familyTwo: 0.009,
	familyThird: 0.003, familyAny: 0.005,
}

// kind is patterns whose checks come in pairs: where one check of a layout is computed so, another is.
type kind uint8

const (
	halves      kind = iota // each end's parity bit over the half beside it, of all bits between the two
	interleaved             // every second bit, every third, two in three
	kinds
)

// coupled is how much likelier two checks of one kind are in one layout than each by itself would have it, in bits. Of the
// catalogue's formats with a parity bit at an end, all but one have both halves, none has one alone, and that one has two
// interleaved checks. So where there is one of a kind, there is another all but always; and all in all one layout in three that
// nobody documented has both halves, one in ten an interleaved pair. Judgements: what nobody documented is more often odd.
var coupled = [kinds]float64{halves: 12, interleaved: 9}

// mostCoupled is the most that two checks gain by that.
const mostCoupled = 12

// unpaired is the weight of no pattern of any kind.
var unpaired = [kinds]float64{math.Inf(-1), math.Inf(-1)}

// kind returns the kind that the pattern is as what the parity bit at an index covers, in a read of n bits; kinds where that stands alone.
func (p *pattern) kind(bit, n int) kind {
	switch p.family {
	case familySecond, familyTwo, familyThird:
		return interleaved
	case familyHalf:
		if s := p.spans[0]; bit == 0 && s.From == 2 && s.To < n-1 || bit == n-1 && s.From > 2 && s.To == n-1 {
			return halves
		}
	}
	return kinds
}

// patterns enumerates the sets of bits of a read of n bits that checks are looked for among. Equal sets may come from two
// families; their shares add up when they are weighed.
func patterns(n int) []pattern {
	var all []pattern
	add := func(f family, weight float64, s ...wiegand.Span) {
		all = append(all, pattern{over: maskOf(s), spans: s, family: f, share: weight})
	}
	for a := 1; a <= n; a++ {
		for b := a; b <= n; b++ {
			weight := 1.0
			if a == 2 {
				weight *= 2
			}
			if b == n-1 {
				weight *= 2
			}
			add(familySpan, weight, wiegand.Span{From: a, To: b})
			if a <= 3 || b >= n-2 {
				add(familyBeside, 1, wiegand.Span{From: a, To: b})
			}
		}
	}
	// What lies between the parity bits begins at bit 2 and ends at the last but one, as a rule.
	for first := 1; first <= 3; first++ {
		for last := n - 2; last <= n; last++ {
			if last-first < 3 {
				continue
			}
			weight := []float64{0.3, 1, 0.4}[first-1] * []float64{0.03, 1, 0.3}[last-n+2]
			body(func(f family, s ...wiegand.Span) { add(f, weight, s...) }, first, last)
		}
	}
	var sum [families]float64
	for i := range all {
		sum[all[i].family] += all[i].share
	}
	for i := range all {
		all[i].share /= sum[all[i].family]
	}
	return all
}

// body adds the patterns that fill the bits from first to last.
func body(add func(family, ...wiegand.Span), first, last int) {
	add(familyAll, wiegand.Span{From: first, To: last})
	m := last - first + 1
	add(familyHalf, wiegand.Span{From: first, To: first + m/2 - 1})
	add(familyHalf, wiegand.Span{From: first + m/2, To: last})
	if m%2 == 1 {
		add(familyHalf, wiegand.Span{From: first, To: first + m/2})
		add(familyHalf, wiegand.Span{From: first + m/2 + 1, To: last})
	}
	for _, end := range []int{last, first + m/2 - 1, first + (m+1)/2 - 1} {
		add(familySecond, wiegand.Span{From: first, To: end, Step: 2})
		add(familySecond, wiegand.Span{From: first + 1, To: end, Step: 2})
	}
	third := func(k int) wiegand.Span { return wiegand.Span{From: first + k, To: last, Step: 3} }
	for k := range 3 {
		add(familyThird, third(k))
		add(familyTwo, third(k), third((k+1)%3))
	}
}

// patternSet is the patterns of one length with their shares, made once for a length.
type patternSet struct {
	length int
	all    []pattern
}

func newPatternSet(n int) *patternSet { return &patternSet{length: n, all: patterns(n)} }

// checkPrior is how likely the bit at index p of a read of n bits is a parity bit, before reads are seen: at an end of the
// read nearly always, second from an end where there are three, elsewhere hardly ever.
func checkPrior(p, n int) float64 {
	switch p {
	case 0, n - 1:
		return 0.95
	case 1, n - 2:
		return 0.2
	}
	return 0.01
}

// oddPrior is how likely a parity bit at index p is odd. That the first is even and the last odd is the published 26-bit
// standard's rule, and that of nearly every format in public texts.
func oddPrior(p, n int) float64 {
	if 2*p < n {
		return 0.36
	}
	return 0.64
}

// end reports whether index p is one of the two at each end of a read of n bits, where parity bits are at home.
func end(p, n int) bool { return p < 2 || p >= n-2 }

func log2(x float64) float64 { return math.Log2(x) }
