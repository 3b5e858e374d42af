package learn

import (
	"bytes"
	"cmp"
	"math"
	"slices"
)

// layout is one joint hypothesis: where the number is, which bits are checks over which others, and what is left.
type layout struct {
	num      *number
	checks   []choice // in rising order of their bit
	rest     rest     // varying bits that are neither number nor check
	logw     float64
	resolved []mask // for each check, the bits that it is a sum of in the end, other checks put in
}

// choice is a bit and the class of patterns that it is a check of. A bit that is constant, whatever for, has an empty class.
type choice struct {
	bit   int
	class *class
}

// rest is the bits that vary and follow from nothing.
type rest struct {
	cols     mask
	facility bool // a run that takes few values, as a facility does
	values   int  // how many
	bits     float64
}

// Bounds of the enumeration. What is dropped is less likely than the best by the given power of two, so that it can't
// change a stated probability in the fourth place.
const (
	maxDoubtful = 10 // bits of which both is tried: a check, or none
	maxClasses  = 48 // classes kept for each bit
	maxPartial  = 200
	maxWork     = 60_000      // choices looked at under one hypothesis about the number
	allWork     = 4 * maxWork // under all of them, the cheapest first: few reads of many bits fit nearly everything
	dropBits    = 18.0
)

// weigher computes the weights of layouts under one hypothesis about the number.
type weigher struct {
	f       *finder
	num     *number
	given   int // reads whose number is known, so that its bits cost nothing
	seen    map[int][]class
	sums    map[int]float64 // log2 of the weights of all classes of a bit
	kept    map[int]float64 // how much of that the classes in seen have
	best    float64         // log2 of the weight of the likeliest layout so far
	floor   float64         // the same under the hypotheses before
	missed  float64         // log2 of the weight, at most, of what there was no room for
	work    int             // choices looked at
	univ    mask
	layouts []layout
}

// weigh returns the layouts under one hypothesis about the number, with their weights. Bits of the number cost nothing in
// reads whose number is known and one bit in others; a bit that varies and is a check costs nothing; one that is neither
// costs what it takes to write it down. The number may be nil: then whatever is left when the checks are taken out is it.
//
// Layouts much less likely than floor are left out; missed is the weight of what there was no room for, at most.
func (f *finder) weigh(num *number, given int, floor float64) (layouts []layout, missed float64) {
	w := weigher{
		f: f, num: num, given: given, seen: map[int][]class{}, sums: map[int]float64{}, kept: map[int]float64{},
		best: math.Inf(-1), floor: floor, missed: math.Inf(-1),
	}
	n := f.s.length
	doubt := f.s.varying
	for i := range n {
		if end(i, n) {
			doubt.add(i)
		}
	}
	w.univ = doubt
	base := 0.0
	if num != nil {
		doubt = doubt.without(num.cols)
		w.univ = w.univ.or(num.cols)
		base = -num.cost - float64((f.s.n-given)*num.cols.and(f.s.varying).count())
	}
	if base < floor-dropBits || num != nil && f.work > allWork {
		return nil, base // whatever its checks are, they only cost more
	}
	var sure, maybe []int
	for _, p := range doubt.list() {
		all := w.classes(p)
		w.seen[p] = all[:min(len(all), maxClasses)]
		part := weightOf(w.seen[p])
		w.sums[p] = logAdd(part, weightOf(all[len(w.seen[p]):]))
		w.kept[p] = math.Exp2(part - w.sums[p])
		if f.s.varying.has(p) && len(w.seen[p]) > 0 {
			maybe = append(maybe, p)
		} else if !f.s.varying.has(p) {
			sure = append(sure, p) // constant: nothing to choose but its class
		}
	}
	maybe = w.likeliest(maybe)
	w.subsets(base, sure, maybe)
	return w.layouts, w.missed
}

// classes returns what the bit p can be a check of. For a constant bit that includes not being one.
func (w *weigher) classes(p int) []class {
	all := w.f.classes(p, w.univ)
	prior := checkPrior(p, w.f.s.length)
	for i := range all {
		all[i].logw += log2(prior)
		all[i].best += log2(prior)
		for k := range all[i].paired {
			all[i].paired[k] += log2(prior)
		}
	}
	if w.f.s.varying.has(p) {
		return all
	}
	none := class{logw: log2(1 - prior), best: log2(1 - prior), paired: unpaired, order: len(all)}
	var r []class
	for _, c := range all {
		if c.key.empty() {
			none.logw = logAdd(none.logw, c.logw)
			for k := range none.paired {
				none.paired[k] = logAdd(none.paired[k], c.paired[k])
			}
		} else {
			r = append(r, c)
		}
	}
	r = append(r, none)
	sortClasses(r)
	return r
}

// weightOf returns log2 of the weights of classes together.
func weightOf(all []class) float64 {
	w := math.Inf(-1)
	for i := range all {
		w = logAdd(w, all[i].logw)
	}
	return w
}

// likeliest keeps the bits that are most likely checks, those at the ends of the read above all, in rising order. Where one
// check is over everything, every bit of the number is a check over everything as far as the reads tell.
func (w *weigher) likeliest(maybe []int) []int {
	score := func(p int) float64 {
		if end(p, w.f.s.length) {
			return math.Inf(1)
		}
		return w.seen[p][0].logw
	}
	slices.SortStableFunc(maybe, func(a, b int) int { return cmp.Compare(score(b), score(a)) })
	maybe = maybe[:min(len(maybe), maxDoubtful)]
	slices.Sort(maybe)
	return maybe
}

// subset is a choice of which doubtful bits are checks.
type subset struct {
	bits  []int
	rest  rest
	num   *number
	logw  float64 // of everything but the classes
	bound float64 // with all classes of each bit
}

// subsets tries every choice of checks among the doubtful bits. Checks follow from the bits that are none: what the reads
// say is all there without them, so that choices which lose some of it are left out.
func (w *weigher) subsets(base float64, sure, maybe []int) {
	var all []subset
	for pick := range 1 << len(maybe) {
		others := w.f.s.varying
		for k, p := range maybe {
			if pick>>k&1 == 1 {
				others.drop(p)
			}
		}
		if w.f.basis.rankWithin(others) < w.f.basis.rank() {
			continue
		}
		s := subset{bits: slices.Clone(sure), logw: base, num: w.num}
		left := w.f.s.varying
		if w.num != nil {
			left = left.without(w.num.cols)
		}
		for k, p := range maybe {
			if pick>>k&1 == 1 {
				s.bits = append(s.bits, p)
				left.drop(p)
			}
		}
		w.finish(&s, left)
		s.bound = s.logw
		for _, p := range s.bits {
			s.bound += w.sums[p]
		}
		all = append(all, s)
	}
	slices.SortStableFunc(all, func(a, b subset) int { return cmp.Compare(b.bound, a.bound) })
	for i := range all {
		if all[i].bound+mostCoupled < max(w.best, w.floor)-dropBits {
			break
		}
		if w.work > maxWork || w.f.work > allWork {
			w.missed = logAdd(w.missed, all[i].bound)
			continue
		}
		w.expand(&all[i])
	}
}

// finish adds to a subset what the bits cost that are not checks.
func (w *weigher) finish(s *subset, left mask) {
	if w.num == nil {
		s.num, s.rest = w.f.residual(left)
	} else {
		s.rest = w.f.describe(left)
	}
	s.logw -= s.rest.bits
	if s.num != nil && w.num == nil {
		s.logw -= s.num.cost
	}
	for _, p := range left.list() {
		s.logw += log2(1 - checkPrior(p, w.f.s.length))
	}
}

// partial is a choice of classes for the first bits of a subset.
type partial struct {
	logw  float64
	picks [maxDoubtful + 4]uint8
}

// expand tries every class of each check of a subset. What can't come near the best layout so far is dropped on the way, and
// what there is no room for is added to what was missed.
func (w *weigher) expand(s *subset) {
	slices.Sort(s.bits)
	all := []partial{{logw: s.logw}}
	ahead := s.bound - s.logw + mostCoupled // what the bits to come can add at most
	part := 1.0
	for _, p := range s.bits {
		part *= w.kept[p]
	}
	w.missed = logAdd(w.missed, s.bound+log2(max(1-part, 0)))
	for k, p := range s.bits {
		ahead -= w.sums[p]
		var next []partial
		least := max(w.best, w.floor) - dropBits - ahead
		for _, l := range all {
			for i := range w.seen[p] {
				m := l
				if m.logw += w.seen[p][i].logw; m.logw < least {
					break
				}
				m.picks[k] = uint8(i)
				least = max(least, m.logw-dropBits-mostCoupled)
				next = append(next, m)
			}
		}
		w.work, w.f.work = w.work+len(next), w.f.work+len(next)
		all = w.prune(next, ahead-mostCoupled) // checks that come in pairs are usual ones, and kept
	}
	for i := range all {
		w.finished(s, &all[i])
	}
}

// finished makes a layout of a choice of classes, if there is one.
func (w *weigher) finished(s *subset, c *partial) {
	l := layout{num: s.num, rest: s.rest, logw: c.logw}
	for k, p := range s.bits {
		l.checks = append(l.checks, choice{p, &w.seen[p][c.picks[k]]})
	}
	if !l.resolve() {
		return
	}
	l.logw += l.coupling()
	w.layouts = append(w.layouts, l)
	w.best = max(w.best, l.logw)
}

// prune keeps the likeliest choices.
func (w *weigher) prune(all []partial, ahead float64) []partial {
	if len(all) <= maxPartial {
		return all
	}
	slices.SortFunc(all, func(a, b partial) int {
		if c := cmp.Compare(b.logw, a.logw); c != 0 {
			return c
		}
		return bytes.Compare(a.picks[:], b.picks[:])
	})
	for _, l := range all[maxPartial:] {
		w.missed = logAdd(w.missed, l.logw+ahead)
	}
	return all[:maxPartial]
}

// coupling returns the weight that checks have together, in bits, beyond what each has by itself.
func (l *layout) coupling() float64 {
	extra := 0.0
	for i, a := range l.checks {
		for _, b := range l.checks[:i] {
			for k := range kinds {
				extra += (math.Exp2(coupled[k]) - 1) * math.Exp2(a.class.paired[k]-a.class.logw+b.class.paired[k]-b.class.logw)
			}
		}
	}
	return log2(1 + extra)
}

// resolve puts checks that others cover into these, until every check is a sum of bits that are none. It is false where two
// cover each other: no encoder could compute them.
func (l *layout) resolve() bool {
	var own mask
	for _, c := range l.checks {
		own.add(c.bit)
	}
	l.resolved = make([]mask, len(l.checks))
	done := make([]bool, len(l.checks))
	for range l.checks {
		for i, c := range l.checks {
			if done[i] {
				continue
			}
			m, ready := c.class.key, true
			for k, d := range l.checks {
				if c.class.key.has(d.bit) {
					m.drop(d.bit)
					m = m.xor(l.resolved[k])
					ready = ready && done[k]
				}
			}
			if ready {
				l.resolved[i], done[i] = m, true
			}
		}
	}
	return !slices.Contains(done, false)
}
