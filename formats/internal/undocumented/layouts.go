package undocumented

import (
	"math"
	"sort"

	"github.com/cardtell/cardtell/formats/internal/judgement"
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
	// of the probability of it, its checks being these or others that cover the same of the bits one cares for
	Log float64
}

// choice is what the rules of one parity bit come to that cover the same of the bits one cares for.
type choice struct {
	key      [4]uint64
	weight   styled
	best     float64 // weight of the rule that is shown
	check    Check
	from, to int // its run, or where to is 0 its comb
	comb     comb
}

// Explainer works out the checks of layouts of one sample.
type Explainer struct {
	finder *Finder
	known  []Frame
	kept   map[explained][]choice
}

// explained is what the choices for one parity bit depend on.
type explained struct {
	fr    frame
	own   int
	outer bool
	care  [4]uint64
}

// NewExplainer makes an Explainer; known are the frames of the catalogue of the reads' length.
func NewExplainer(s *Sample, known []Frame) *Explainer {
	return &Explainer{NewFinder(s), known, map[explained][]choice{}}
}

// choices returns what the rules of one parity bit come to.
func (x *Explainer) choices(k explained, side int) []choice {
	all, ok := x.kept[k]
	switch {
	case ok:
	case k.outer:
		all = x.finder.outerChoices(&k.fr, k.own, k.care)
	default:
		all = x.finder.mainChoices(&k.fr, side, k.own, k.care)
	}
	x.kept[k] = all
	return all
}

// Explain calls use with every choice of checks for a layout, those that cover the same of the bits in care taken
// together. Choices whose log falls below least are left out.
func (x *Explainer) Explain(l Layout, care [4]uint64, least float64, use func(Explained)) {
	if l.Known >= 0 {
		use(Explained{l, checksOf(x.known[l.Known].Layout), l.Log})
		return
	}
	fr := frame{l.First, l.Last, l.From, l.To, l.Start, 0}
	main, outer := fr.parityBits(x.finder.s.Length)
	var sides [][]choice
	for side, own := range main {
		if own >= 0 {
			sides = append(sides, x.choices(explained{fr, own, false, care}, side))
		}
	}
	for _, own := range outer {
		sides = append(sides, x.choices(explained{fr, own, true, care}, 0))
	}
	mains := len(sides) - len(outer)
	base := l.Log - l.checks
	halves, combs := judgement.PairHalves, judgement.PairInterleaved
	if mains < 2 {
		halves, combs = 0, 0
	}
	styles := styled{halves, combs, 1 - halves - combs}
	picks := make([]*choice, len(sides))
	var pick func(k int, w styled)
	pick = func(k int, w styled) {
		log := base + math.Log(w.sum())
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
			pick(k+1, w.times(c.weight))
		}
	}
	pick(0, styles)
}

// mainChoices gathers the rules of a main parity bit.
func (f *Finder) mainChoices(fr *frame, side, own int, care [4]uint64) []choice {
	all := gathering{at: map[[4]uint64]int{}}
	f.rules(fr, side, own, false, func(from, to int, c comb, odd bool, w styled) {
		one := choice{check: Check{Bit: own, Odd: odd, Mask: MaskOf(from, to)}, from: from, to: to, comb: c}
		if to == 0 {
			c.bits(fr, own, func(i int) { one.check.Mask[i>>6] ^= 1 << (63 - uint(i)&63) })
		}
		p := senseShare(side, odd)
		one.weight = w.times(styled{p, p, p})
		all.add(one, care)
	})
	return all.heaviest(fr)
}

// outerChoices gathers the rules of a second parity bit at an end.
func (f *Finder) outerChoices(fr *frame, own int, care [4]uint64) []choice {
	all := gathering{at: map[[4]uint64]int{}}
	f.outerRules(fr, own, false, func(from, to int, odd bool, w float64) {
		check := Check{Bit: own, Odd: odd, Mask: MaskOf(from, to)}
		all.add(choice{check: check, from: from, to: to, weight: styled{w / 2, w / 2, w / 2}}, care)
	})
	return all.heaviest(fr)
}

// gathering is rules gathered by what they cover.
type gathering struct {
	choices []choice
	at      map[[4]uint64]int // by key
}

// add adds a rule to those that cover the same of the bits one cares for. Which sense it has follows from the reads
// then.
func (g *gathering) add(one choice, care [4]uint64) {
	one.key = and(one.check.Mask, care)
	one.best = judgement.PairHalves*one.weight.half*8 + judgement.PairInterleaved*one.weight.comb + one.weight.own
	at, ok := g.at[one.key]
	if !ok {
		g.at[one.key] = len(g.choices)
		g.choices = append(g.choices, one)
		return
	}
	c := &g.choices[at]
	one.weight.half += c.weight.half
	one.weight.comb += c.weight.comb
	one.weight.own += c.weight.own
	if one.best > c.best {
		*c = one
	}
	c.weight = one.weight
}

// mostChoices is how many choices of one parity bit are looked at, the heaviest ones.
const mostChoices = 64

func (g *gathering) heaviest(fr *frame) []choice {
	all := g.choices
	sort.SliceStable(all, func(i, j int) bool { return all[i].weight.sum() > all[j].weight.sum() })
	all = all[:min(len(all), mostChoices)]
	for i := range all {
		if c := &all[i]; c.to > 0 {
			c.check.Over = wiegand.Spans{{From: c.from + 1, To: c.to}}
		} else {
			c.check.Over = c.comb.spans(fr, c.check.Mask)
		}
	}
	return all
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
