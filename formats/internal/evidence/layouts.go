package evidence

import (
	"cmp"
	"math"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// Check is a parity bit of an undocumented layout, and what it is computed over.
type Check struct {
	Bit  int // index
	Over wiegand.Spans
	Mask [4]uint64 // the bits it covers, its own not counted
	Odd  bool
}

// Explained is a layout with its checks.
type Explained struct {
	Layout
	Checks []Check
	Log    float64 // of the probability of it, its checks being these or others that cover the same of the bits one cares for
}

// choice is what the rules of one parity bit come to that cover the same of the bits one cares for.
type choice struct {
	key    [4]uint64
	weight [3]float64 // by style: halves, combs, own
	best   float64    // weight of the rule that is shown
	check  Check
}

// Explain calls use with every choice of checks for a layout, those that cover the same of the bits in care taken together. Choices
// whose log falls below least are left out.
func Explain(s *Sample, l Layout, known []Frame, care [4]uint64, least float64, use func(Explained)) {
	if l.Known >= 0 {
		use(Explained{l, checksOf(known[l.Known].Layout), l.Log})
		return
	}
	f := newFinder(s)
	fr := frame{l.First, l.Last, l.From, l.To, l.Start, 0}
	main, outer := fr.parityBits(s.Length)
	var sides [][]choice
	for side, own := range main {
		if own >= 0 {
			sides = append(sides, f.mainChoices(&fr, side, own, care))
		}
	}
	for _, own := range outer {
		sides = append(sides, f.outerChoices(&fr, own, care))
	}
	mains := len(sides) - len(outer)
	base := l.Log - l.checks
	halves, combs := pairHalves, pairInterleaved
	if mains < 2 {
		halves, combs = 0, 0
	}
	styles := [3]float64{halves, combs, 1 - halves - combs}
	picks := make([]*choice, len(sides))
	var pick func(k int, w [3]float64)
	pick = func(k int, w [3]float64) {
		total := w[0] + w[1] + w[2]
		log := base + math.Log(total)
		if log < least {
			return
		}
		if k == len(sides) {
			e := Explained{Layout: l, Log: log}
			for _, c := range picks {
				e.Checks = append(e.Checks, c.check)
			}
			use(e)
			return
		}
		for i := range sides[k] {
			c := &sides[k][i]
			picks[k] = c
			pick(k+1, [3]float64{w[0] * c.weight[0], w[1] * c.weight[1], w[2] * c.weight[2]})
		}
	}
	pick(0, styles)
}

// mainChoices gathers the rules of a main parity bit.
func (f *finder) mainChoices(fr *frame, side, own int, care [4]uint64) []choice {
	var all []choice
	f.rules(fr, side, own, func(from, to int, c comb, odd bool, w [3]float64) {
		check := Check{Bit: own, Odd: odd}
		if to > 0 {
			check.Over = wiegand.Spans{{From: from + 1, To: to}}
			check.Mask = MaskOf(from, to)
		} else {
			c.bits(fr, own, func(i int) { check.Mask[i>>6] ^= 1 << (63 - uint(i)&63) })
			check.Over = c.spans(fr, check.Mask)
		}
		p := senseShare(side, odd)
		all = gather(all, check, care, [3]float64{w[0] * p, w[1] * p, w[2] * p})
	})
	return heaviest(all)
}

// outerChoices gathers the rules of a second parity bit at an end.
func (f *finder) outerChoices(fr *frame, own int, care [4]uint64) []choice {
	var all []choice
	f.outerRules(fr, own, func(from, to int, odd bool, w float64) {
		check := Check{Bit: own, Odd: odd, Over: wiegand.Spans{{From: from + 1, To: to}}, Mask: MaskOf(from, to)}
		all = gather(all, check, care, [3]float64{w / 2, w / 2, w / 2})
	})
	return heaviest(all)
}

// gather adds a rule to those that cover the same of the bits one cares for. Which sense it has follows from the reads then.
func gather(all []choice, check Check, care [4]uint64, w [3]float64) []choice {
	key := and(check.Mask, care)
	at := slices.IndexFunc(all, func(c choice) bool { return c.key == key })
	if at < 0 {
		at = len(all)
		all = append(all, choice{key: key})
	}
	c := &all[at]
	one := pairHalves*w[0]*8 + pairInterleaved*w[1] + w[2]
	if one > c.best {
		c.best, c.check = one, check
	}
	for i := range w {
		c.weight[i] += w[i]
	}
	return all
}

// mostChoices is how many choices of one parity bit are looked at, the heaviest ones.
const mostChoices = 64

func heaviest(all []choice) []choice {
	slices.SortStableFunc(all, func(a, b choice) int {
		return cmp.Compare(b.weight[0]+b.weight[1]+b.weight[2], a.weight[0]+a.weight[1]+a.weight[2])
	})
	return all[:min(len(all), mostChoices)]
}

// spans writes a comb out, each run of every so many bits by itself.
func (c comb) spans(fr *frame, m [4]uint64) wiegand.Spans {
	step := max(c.step, -c.step)
	first, last := fr.from+c.skip+1, fr.to-c.short
	all := wiegand.Spans{{From: first, To: last, Step: step}}
	if c.step < 0 && first+1 <= last {
		all = append(all, wiegand.Span{From: first + 1, To: last, Step: step})
	}
	var got [4]uint64
	for b := range all.Bits() {
		got[(b-1)>>6] |= 1 << (63 - uint(b-1)&63)
	}
	if got == m {
		return all
	}
	return SpansOf(m)
}

// SpansOf writes a set of bits as runs, counted from 1.
func SpansOf(m [4]uint64) wiegand.Spans {
	var all wiegand.Spans
	for i := range 256 {
		if m[i>>6]>>(63-uint(i)&63)&1 == 0 {
			continue
		}
		if k := len(all) - 1; k >= 0 && all[k].To == i {
			all[k].To = i + 1
			continue
		}
		all = append(all, wiegand.Span{From: i + 1, To: i + 1})
	}
	return all
}

// checksOf returns the parity checks of a layout.
func checksOf(l *wiegand.Layout) []Check {
	var all []Check
	for _, c := range l.Spec().Checks {
		if c.Kind != wiegand.Even && c.Kind != wiegand.Odd {
			continue
		}
		check := Check{Bit: c.Bit - 1, Over: c.Over, Odd: c.Kind == wiegand.Odd}
		for b := range c.Over.Bits() {
			if b != c.Bit {
				check.Mask[(b-1)>>6] |= 1 << (63 - uint(b-1)&63)
			}
		}
		all = append(all, check)
	}
	return all
}

func and(a, b [4]uint64) [4]uint64 {
	return [4]uint64{a[0] & b[0], a[1] & b[1], a[2] & b[2], a[3] & b[3]}
}

// MaskOf returns the bits from..to-1.
func MaskOf(from, to int) (m [4]uint64) {
	for i := from; i < to; i++ {
		m[i>>6] |= 1 << (63 - uint(i)&63)
	}
	return m
}
