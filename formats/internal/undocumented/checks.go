package undocumented

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// Rule is a set of bits that a parity bit of an undocumented layout may be computed over.
type Rule struct {
	Over wiegand.Spans // counted from 1
	Mask [4]uint64     // the same as bits of a read, not counting the parity bit itself
	Odd  bool          // the ones are odd in number, the parity bit counted
	// The weights of the rule in the three ways to compute the two main parity bits: each over its half, both over
	// every so many bits, each by itself.
	Half, Comb, Own float64
}

// run is a run of bits whose check holds with one parity bit, in all reads.
type run struct {
	from, to uint16
	odd      bool
}

// comb is every so many bits of the data whose check holds with one parity bit.
type comb struct {
	step, skip int // first bit less the data's first; of every three bits the two beginning there where step is -3
	short      int // how many bits before the data's end it ends
	odd        bool
}

// frame is a number of parity bits at the beginning and the end of an undocumented layout.
type frame struct {
	first, last int // how many
	from, to    int // the data between them
	start       int // bits before all that, which are the same on every card: a 1 to say that a read begins
	share       float64
}

// Finder looks for the checks of undocumented layouts in one sample.
type Finder struct {
	s     *Sample
	runs  map[int][]run  // by parity bit: all runs that hold with it
	touch map[int]atEnds // the same, of most no more than how many
	// by parity bit: the combs that hold with it, of the data beside it as far as another one at the other end
	beside map[int][]comb
	// by step, 2 and 3, and bit: the sum over GF(2) of its column and of every so many columns before it
	every [4][]uint64
}

// NewFinder makes one.
func NewFinder(s *Sample) *Finder {
	f := &Finder{runs: map[int][]run{}, touch: map[int]atEnds{}, beside: map[int][]comb{}}
	f.reset(s)
	return f
}

// reset makes a new one in its memory.
func (f *Finder) reset(s *Sample) {
	f.s = s
	clear(f.runs)
	clear(f.touch)
	clear(f.beside)
	for step := 2; step < len(f.every); step++ {
		n := (step + s.Length) * s.words
		sums := slices.Grow(f.every[step][:0], n)[:n]
		clear(sums[:step*s.words])
		for i := range s.Length {
			for w := range s.words {
				sums[(i+step)*s.words+w] = sums[i*s.words+w] ^ s.column(i, w)
			}
		}
		f.every[step] = sums
	}
}

// eachRun calls use with the runs that hold with the parity bit at an index and do not cover it.
func (f *Finder) eachRun(own int, use func(run)) {
	s := f.s
	lo, hi, all := 0, own, s.ofWord(0)
	if own < s.Length/2 {
		lo, hi = own+1, s.Length
	}
	var last []run // those that begin with the bit before
	for from := lo; from < hi; from++ {
		if from > lo && s.sense(from-1, from, -1) == 0 { // that is 0 in all reads: the same hold without it
			for i := range last {
				if last[i].from++; last[i].from < last[i].to {
					use(last[i])
				}
			}
			continue
		}
		last = last[:0]
		sum := s.sums[from*s.words] ^ s.column(own, 0)
		for to := from + 1; to <= hi; to++ {
			if some := (sum ^ s.sums[to*s.words]) & all; some != 0 && some != all { // as of most
				continue
			}
			if sense := s.sense(from, to, own); sense >= 0 {
				last = append(last, run{uint16(from), uint16(to), sense == 1})
				use(last[len(last)-1])
			}
		}
	}
}

// holding returns those runs.
func (f *Finder) holding(own int) []run {
	all, ok := f.runs[own]
	if !ok {
		f.eachRun(own, func(r run) { all = append(all, r) })
		f.runs[own] = all
	}
	return all
}

// atEnds is the runs that hold with a parity bit and touch an end of the data of some frame, or reach beyond it; and
// how many others there are, by their sense: one is as good as another.
type atEnds struct {
	runs   []run
	inside [2]int
}

// mostBefore and mostBehind are how many bits there are before the data, and behind it, at most.
const mostBefore, mostBehind = 3, 2

// held returns the same runs as holding, those inside the data together where that is set.
func (f *Finder) held(own int, together bool) atEnds {
	if !together {
		return atEnds{runs: f.holding(own)}
	}
	all, ok := f.touch[own]
	if !ok {
		f.eachRun(own, func(r run) {
			if int(r.from) <= mostBefore || int(r.to) >= f.s.Length-mostBehind {
				all.runs = append(all.runs, r)
			} else {
				all.inside[bit(r.odd)]++
			}
		})
		f.touch[own] = all
	}
	return all
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// dataBeside is the data that a parity bit at an index covers some of, if there is one at the other end too.
func (f *Finder) dataBeside(own int) frame {
	if own < f.s.Length/2 {
		return frame{from: own + 1, to: f.s.Length - 1}
	}
	return frame{from: 1, to: own}
}

// holdingCombs is holding for combs of the data beside the bit.
func (f *Finder) holdingCombs(own int) []comb {
	all, ok := f.beside[own]
	if !ok {
		fr := f.dataBeside(own)
		f.combs(&fr, own, func(c comb) { all = append(all, c) })
		f.beside[own] = all
	}
	return all
}

// frames returns the ways to have parity bits at the ends of a read, with a bit before them where that is the same in
// all reads.
func (f *Finder) frames() []frame {
	all := make([]frame, 0, 2*len(judgement.EndChecks))
	n, total := f.s.Length, 0.0
	for start := range 2 {
		begins := 1 - judgement.StartBit
		if start > 0 {
			if !f.s.constant(0) {
				break
			}
			begins = judgement.StartBit * startIs(f.s.Reads[0].Bit(0))
		}
		for _, e := range judgement.EndChecks {
			if n-start-e.First-e.Last < min(4, n) { // of a read that short no bit is a check's
				continue
			}
			all = append(all, frame{e.First, e.Last, start + e.First, n - e.Last, start, e.Share * begins})
			if start == 0 {
				total += e.Share
			}
		}
	}
	for i := range all {
		all[i].share /= total
	}
	return all
}

// startIs is the chance that a bit which says that a read begins has a value.
func startIs(bit uint) float64 {
	if bit == 1 {
		return judgement.StartOne
	}
	return 1 - judgement.StartOne
}

// StartsWith is the log of how much likelier a read of an undocumented layout is to begin with a bit than if all bits
// are alike.
func StartsWith(bit uint) float64 {
	return math.Log(1 - judgement.StartBit + judgement.StartBit*2*startIs(bit))
}

// parityBits returns the indices of a frame's parity bits: the main ones at the beginning and the end, -1 where there
// is none, and those outside of them, in the order in which they are computed: a first bit can cover the last one.
func (fr *frame) parityBits(n int) (main [2]int, outer []int) {
	main = [2]int{-1, -1}
	if fr.first > 0 {
		main[0] = fr.start + fr.first - 1
	}
	if fr.last > 0 {
		main[1] = n - fr.last
	}
	if fr.last == 2 {
		outer = append(outer, n-1)
	}
	if fr.first == 2 {
		outer = append(outer, fr.start)
	}
	return main, outer
}

// evidence is the probability of a frame's parity bits, given the data: that of all rules that hold.
func (f *Finder) evidence(fr *frame) float64 {
	n := f.s.Length
	main, outer := fr.parityBits(n)
	if len(f.s.Reads) == 1 { // every rule holds with one sense or the other
		p := 1.0
		for range fr.first + fr.last {
			p /= 2
		}
		return p
	}
	sum := styled{1, 1, 1}
	for side, own := range main {
		if own < 0 {
			continue
		}
		var here styled
		f.rules(fr, side, own, true, func(_, _ int, _ comb, odd bool, w styled) {
			p := senseShare(side, odd)
			here.half += w.half * p
			here.comb += w.comb * p
			here.own += w.own * p
		})
		sum = sum.times(here)
	}
	p := mixStyles(main, sum)
	for _, own := range outer {
		here := 0.0
		f.outerRules(fr, own, true, func(_, _ int, _ bool, w float64) { here += w / 2 })
		p *= here
	}
	return p
}

// styled is a weight by the way in which the main parity bits are computed: each over its half, both over every so many
// bits, each by itself.
type styled struct{ half, comb, own float64 }

func (a styled) times(b styled) styled {
	return styled{a.half * b.half, a.comb * b.comb, a.own * b.own}
}

func (a styled) sum() float64 { return a.half + a.comb + a.own }

// mixStyles adds up the ways to compute the main parity bits.
func mixStyles(main [2]int, sum styled) float64 {
	if main[0] < 0 && main[1] < 0 {
		return 1
	}
	halves, combs := judgement.PairHalves, judgement.PairInterleaved
	if main[0] < 0 || main[1] < 0 { // one alone has nothing to go with
		halves, combs = 0, 0
	}
	return halves*sum.half + combs*sum.comb + (1-halves-combs)*sum.own
}

// senseShare is the chance that the main parity bit of a side is odd, or even.
func senseShare(side int, odd bool) float64 {
	if odd == (side == 0) {
		return judgement.OddPrior
	}
	return 1 - judgement.OddPrior
}

// rules calls use with every rule of a main parity bit that holds in all reads, and its weights by style. It is a run
// from..to-1, or a comb where to is 0. Runs that touch neither end of the data, of which there are most, weigh all the
// same: where together is set, those of one sense come as one.
func (f *Finder) rules(fr *frame, side, own int, together bool, use func(from, to int, c comb, odd bool, w styled)) {
	lo, hi := fr.from, fr.to
	width := float64(hi - lo)
	each, beside := judgement.RuleRun/(width*(width+1)/2+2*width+1), judgement.RuleBeside/(2*width-1)
	runs := f.held(own, together)
	for _, r := range runs.runs {
		from, to := int(r.from), int(r.to)
		if together && from > lo && to < hi {
			runs.inside[bit(r.odd)]++
			continue
		}
		if from < lo || to > hi {
			if side == 1 && from == fr.start && to == own && fr.first == 1 { // everything before it, the first parity bit too
				use(from, to, comb{}, r.odd, styled{own: judgement.RuleAll * coversAll})
			}
			continue
		}
		w := styled{own: each}
		atLow, atHigh := from == lo, to == hi
		if atLow {
			w.own *= 2
		}
		if atHigh {
			w.own *= 2
		}
		if atLow || atHigh {
			w.own += beside
			w.half = halfShare(side, from-lo, to-lo, hi-lo)
		}
		if atLow && atHigh {
			w.own += judgement.RuleAll * (1 - coversAll)
		}
		w.own += judgement.RuleHalf * w.half
		use(from, to, comb{}, r.odd, w)
	}
	if together {
		use(lo+1, hi-1, comb{}, true, styled{own: float64(runs.inside[1]) * each})
		use(lo+1, hi-1, comb{}, false, styled{own: float64(runs.inside[0]) * each})
	}
	f.combs(fr, own, func(c comb) { use(0, 0, c, c.odd, styled{comb: combShare, own: judgement.RuleComb * combShare}) })
}

// coversAll is the share of parity bits over everything that cover the other parity bit too.
const coversAll = 0.2

// halfShare is the weight of a run as the half beside a parity bit: in data of an odd width the bit in the middle can
// be in either half, or in both.
func halfShare(side, from, to, n int) float64 {
	share := 0.0
	for _, half := range [2]int{n / 2, (n + 1) / 2} {
		if side == 0 && from == 0 && to == half || side == 1 && from == half && to == n {
			share += 0.5
		}
	}
	return share
}

// combShare is the weight of one comb: of two offsets of every second bit, three of every third, three of two in three,
// each from the data's first bit or the one before it, to the last or the one before that.
const combShare = 1.0 / 32

// combs calls use with every comb that holds with the parity bit at an index.
func (f *Finder) combs(fr *frame, own int, use func(comb)) {
	eachComb(fr, own, func(c comb) {
		if sense := f.combSense(fr, c, own); sense >= 0 {
			c.odd = sense == 1
			use(c)
		}
	})
}

// eachComb calls use with every comb that the parity bit at an index may cover.
func eachComb(fr *frame, own int, use func(comb)) {
	for start := fr.from; start >= max(0, fr.from-1); start-- {
		if start == own {
			continue
		}
		for short := range 2 {
			for _, c := range [...]comb{{step: 2}, {step: 2, skip: 1}, {step: 3}, {step: 3, skip: 1}, {step: 3, skip: 2},
				{step: -3}, {step: -3, skip: 1}, {step: -3, skip: 2}} {
				c.skip += start - fr.from
				c.short = short
				use(c)
			}
		}
	}
}

// bits calls use with the indices of a comb's bits.
func (c comb) bits(fr *frame, own int, use func(i int)) {
	step, pair := max(c.step, -c.step), c.step < 0
	for i := fr.from + c.skip; i < fr.to-c.short; i += step {
		if i != own {
			use(i)
		}
		if pair && i+1 < fr.to-c.short && i+1 != own {
			use(i + 1)
		}
	}
}

// combSense is Sample.sense for a comb and the bit at own.
func (f *Finder) combSense(fr *frame, c comb, own int) int {
	sense := -1
	for w := range f.s.words {
		got := f.s.wordSense(f.combSum(fr, c, own, w), w)
		if got < 0 || sense >= 0 && got != sense {
			return -1
		}
		sense = got
	}
	return sense
}

// combSum returns word w of the sum over GF(2) of a comb's columns and that at own.
func (f *Finder) combSum(fr *frame, c comb, own, w int) uint64 {
	step, teeth := max(c.step, -c.step), 1
	if c.step < 0 {
		teeth = 2
	}
	first, end := fr.from+c.skip, fr.to-c.short
	sum := f.s.column(own, w)
	for at := first; at < first+teeth && at < end; at++ {
		last := end - 1 - (end-1-at)%step
		sum ^= f.every[step][(last+step)*f.s.words+w] ^ f.every[step][at*f.s.words+w]
		if own >= at && own < end && (own-at)%step == 0 {
			sum ^= f.s.column(own, w)
		}
	}
	return sum
}

// outerRules calls use with every rule of a second parity bit at an end that holds: everything further in, or a run of
// the data. Where together is set, runs inside the data come as one.
func (f *Finder) outerRules(fr *frame, own int, together bool, use func(from, to int, odd bool, w float64)) {
	width := float64(fr.to - fr.from)
	each := (1 - judgement.OuterAll) / (width * (width + 1) / 2)
	start := fr.start + fr.first/2 // two of them can't cover one another
	runs := f.held(own, together)
	if n := runs.inside[0] + runs.inside[1]; n > 0 {
		use(0, 0, false, float64(n)*each)
	}
	for _, r := range runs.runs {
		from, to := int(r.from), int(r.to)
		w := 0.0
		if own == fr.start && from == own+1 && to == f.s.Length || own > fr.start && from == start && to == own {
			w += judgement.OuterAll
		}
		if from >= fr.from && to <= fr.to {
			w += each
		}
		if w > 0 {
			use(from, to, r.odd, w)
		}
	}
}
