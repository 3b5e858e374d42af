package learn

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Misread is a read that the learned layout does not explain.
type Misread struct {
	Line   int
	Read   wiegand.Bits
	Reason string
}

// misreadBits is what it costs to call a read a misread, in bits: about one read in a hundred is one, and it can be wrong in
// any bit.
const misreadBits = 12.0

// flipBits is what each further wrong bit of the same read costs.
const flipBits = 5.0

// Bounds of the search for misreads.
const (
	fewestReads = 12 // below, a misread can't be told from a layout that is not understood yet
	slackPart   = 10 // one read in so many may be a misread
)

// learn weighs the layouts of a sample, with misreads left out where that explains more than it costs. It returns the
// posterior and the reads left out, by position in s.
func learn(s *sample, set *patternSet) (posterior, []int) {
	plain := infer(s, set)
	out := suspects(s, &plain, set)
	if len(out) == 0 {
		return plain, nil
	}
	clean := infer(without(s, out), set)
	if clean.total-clean.price(s, out) < plain.total {
		return plain, nil
	}
	back := forgive(s, out, &clean)
	if len(back) == 0 {
		return clean, out
	}
	fewer := slices.DeleteFunc(slices.Clone(out), func(r int) bool { return slices.Contains(back, r) })
	again := infer(without(s, fewer), set)
	if again.total < clean.total-clean.price(s, back) {
		return clean, out
	}
	return again, fewer
}

// price returns what it costs to call reads misreads: more where several bits differ that are the same in all good reads.
func (p *posterior) price(s *sample, out []int) float64 {
	fixed := span(0, s.length-1).without(p.s.varying)
	cost := 0.0
	for _, r := range out {
		off := s.words[r].xor(p.s.words[0]).and(fixed).count()
		cost += misreadBits + flipBits*float64(max(off-1, 0))
	}
	return cost
}

func without(s *sample, out []int) *sample {
	drop := make(map[int]bool, len(out))
	for _, r := range out {
		drop[r] = true
	}
	return s.only(func(r int) bool { return !drop[r] })
}

// suspects returns reads without which the others would agree: those whose printed number does not fit where all others'
// does, those that differ in a bit that is the same everywhere else, and those that break a check which all others keep.
func suspects(s *sample, plain *posterior, set *patternSet) []int {
	if s.n < fewestReads || plain.explained() {
		return nil
	}
	slack := max(1, s.n/slackPart)
	bad := map[int]bool{}
	num := missed(s, slack)
	if num != nil {
		for _, r := range num.misses {
			bad[r] = true
		}
	}
	odd := map[int]bool{}
	for r := range bad {
		odd[r] = true
	}
	for _, i := range s.varying.list() {
		if num == nil || !num.cols.has(i) {
			rare(s, i, odd)
		}
	}
	if len(odd) <= slack+slack/4 {
		bad = odd
	}
	left := s.only(func(r int) bool { return !bad[r] })
	at := positions(s, bad)
	for _, r := range breakers(left, set, num, slack) {
		bad[at[r]] = true
	}
	if len(bad) > slack+slack/4 {
		return nil
	}
	out := make([]int, 0, len(bad))
	for r := range bad {
		out = append(out, r)
	}
	slices.Sort(out)
	return out
}

// explained reports whether the likeliest layout leaves nothing open: every bit that varies is number, check or facility.
func (p *posterior) explained() bool {
	if len(p.classes) == 0 {
		return true
	}
	l := &p.classes[0].best
	return l.num != nil && l.num.Print != PrintNone && l.num.Print != PrintSequence && l.rest.cols.empty()
}

// missed returns the hypothesis about the number that fits best when a few reads may disagree, or nil.
func missed(s *sample, slack int) *number {
	var best *number
	bestScore := 0.0
	for _, h := range numbers(s, slack) {
		score := float64(s.prints()*h.cols.and(s.varying).count()) - h.cost - misreadBits*float64(len(h.misses))
		if score > bestScore {
			best, bestScore = &h, score
		}
	}
	return best
}

// holds reports whether all reads but slack agree with the hypothesis, and notes those that do not: its number is what is
// printed, and where nothing is printed it is a number all the same, of digits that are digits.
func (h *number) holds(s *sample, slack int) bool {
	h.misses = nil
	for r, w := range s.words {
		if p := s.printed[r]; p.known {
			if h.prints(w, p) {
				continue
			}
		} else if _, ok := h.valueOK(w); ok {
			continue
		}
		if h.misses = append(h.misses, r); len(h.misses) > slack {
			return false
		}
	}
	return true
}

// prints reports whether a read with the hypothesis' number in it would have that print.
func (h *number) prints(w mask, p printed) bool {
	v, ok := h.valueOK(w)
	if !ok {
		return false
	}
	mod := uint64(1)
	for range h.Digits {
		mod *= 10
	}
	switch h.Print {
	case PrintPair:
		return v == p.tail
	case PrintJoined:
		return v == p.value%mod
	case PrintLast:
		return v%mod == p.value
	case PrintOffset:
		return v+uint64(h.Offset) == p.value
	}
	return v == p.value
}

// rare adds the reads that differ from nearly all others in bit i.
func rare(s *sample, i int, bad map[int]bool) {
	ones := s.count(i)
	few, value := ones, true
	if s.n-ones < ones {
		few, value = s.n-ones, false
	}
	if few > max(1, s.n/20) {
		return
	}
	for r, w := range s.words {
		if w.has(i) == value {
			bad[r] = true
		}
	}
}

// positions returns, for each read that is left when bad ones are taken out, where it was.
func positions(s *sample, bad map[int]bool) []int {
	var at []int
	for r := range s.n {
		if !bad[r] {
			at = append(at, r)
		}
	}
	return at
}

// breakers returns the reads that break a check which the others keep, for bits of which no check holds throughout.
func breakers(s *sample, set *patternSet, num *number, slack int) []int {
	f := newFinder(s, set)
	bad := map[int]bool{}
	for _, p := range s.varying.list() {
		if num != nil && num.cols.has(p) || num == nil && !end(p, s.length) {
			continue
		}
		if len(f.classes(p, s.varying)) > 0 {
			continue
		}
		for _, r := range f.almost(p, slack) {
			bad[r] = true
		}
	}
	var out []int
	for r := range s.n {
		if bad[r] {
			out = append(out, r)
		}
	}
	return out
}

// almost returns the reads that break the check which the bit p would be if they did not, or none: it must explain more bits
// than it costs to name it and the reads that break it.
func (f *finder) almost(p, slack int) []int {
	best, bestGain, flip := -1, 6.0, false
	for k := range f.set.all {
		if f.set.all[k].over.has(p) && f.set.all[k].family != familyAll {
			continue
		}
		breaks := differ(f.sums[k], f.s.cols[p])
		if f.set.all[k].over.has(p) {
			breaks = differ(f.sums[k], newVec(f.s.n))
		}
		odd := 2*breaks > f.s.n
		if odd {
			breaks = f.s.n - breaks
		}
		if breaks > slack {
			continue
		}
		pat := &f.set.all[k]
		gain := float64(f.s.n) - misreadBits*float64(breaks) + log2(familyPrior[pat.family]*pat.share*checkPrior(p, f.s.length))
		if gain > bestGain {
			best, bestGain, flip = k, gain, odd
		}
	}
	if best < 0 {
		return nil
	}
	return f.broken(best, p, flip)
}

// broken returns the reads in which pattern k and the bit p do not come out as in the others.
func (f *finder) broken(k, p int, odd bool) []int {
	own := newVec(f.s.n)
	xorInto(own, f.sums[k], f.s.cols[p])
	if f.set.all[k].over.has(p) {
		copy(own, f.sums[k])
	}
	var out []int
	for r := range f.s.n {
		if (own.get(r) == 1) != odd {
			out = append(out, r)
		}
	}
	return out
}

// forgive returns the suspects that are most likely good reads after all: those that the layout explains, and cards of another
// facility, which differ from the rest in several bits that are the same on all the others.
func forgive(s *sample, out []int, clean *posterior) []int {
	if len(clean.classes) == 0 {
		return nil
	}
	l := &clean.classes[0].best
	fixed := span(0, s.length-1).without(clean.s.varying)
	alike := map[mask]int{}
	for _, r := range out {
		alike[s.words[r].xor(clean.s.words[0]).and(fixed)]++
	}
	var back []int
	for _, r := range out {
		if l.num != nil && s.printed[r].known && !l.num.prints(s.words[r], s.printed[r]) {
			continue
		}
		off := s.words[r].xor(clean.s.words[0]).and(fixed)
		holds := clean.broken(l, s.words[r]) == nil
		if holds && (off.empty() || off.count() > 1 || alike[off] > 2) || off.count() > 1 && alike[off] > 1 {
			back = append(back, r)
		}
	}
	return back
}

// broken returns the checks of a layout, as written out, that a read breaks.
func (p *posterior) broken(l *layout, w mask) []choice {
	var bad []choice
	for _, c := range l.checks {
		if c.class.rep == nil {
			continue
		}
		m := maskOf(c.class.rep)
		m.add(c.bit)
		if (w.and(m).parity() == 1) != c.class.odd {
			bad = append(bad, c)
		}
	}
	return bad
}

// misread says in what a read differs from the layout.
func (p *posterior) misread(r Read, pr printed) Misread {
	w := mask(r.Bits.Words())
	l := &p.classes[0].best
	var why []string
	if l.num != nil && pr.known && l.num.Print != PrintNone && l.num.Print != PrintSequence && !l.num.prints(w, pr) {
		v, _ := l.num.valueOK(w)
		why = append(why, fmt.Sprintf("the read says %d, the card %s", l.num.shown(v), cutShort(r.Printed)))
	}
	for _, c := range p.broken(l, w) {
		why = append(why, fmt.Sprintf("the %s parity of bit %d fails", parityName(c.class.odd), c.bit+1))
	}
	fixed := span(0, p.s.length-1).without(p.s.varying)
	if off := w.xor(p.s.words[0]).and(fixed); !off.empty() {
		why = append(why, bitsAre(off, "is", "are")+" otherwise in all other reads")
	}
	if why == nil {
		why = []string{"it fits, but fewer others do with it"}
	}
	return Misread{Line: r.Line, Read: r.Bits, Reason: strings.Join(why, "; ")}
}

func parityName(odd bool) string {
	if odd {
		return "odd"
	}
	return "even"
}
