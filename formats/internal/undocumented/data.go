package undocumented

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/wiegand"
)

// data weighs what the bits of a sample that are no checks can be: a number somewhere, and what is beside it. What it
// keeps is found again by how far it is from the last bit, so that it serves reads with more zeros before them, too.
type data struct {
	s     *Sample
	words [][4]uint64    // the reads, in rising order
	heads table[float64] // by first bit and end: what beside says, 0 where it was not asked
	fews  table[float64] // the same of few
	frees table[float64] // likewise, what free says, and 1
	tails table[float64] // by end and first bit: the same of behind
	runs  table[twoWays] // by end and first bit
	// by order or coding, as logTurns has them, end and first bit: what elsewhere says, 0 where it was not asked
	other [turns + 2]table[float64]
	kt    []float64 // by how many bits are the last ones: the sum for these
	vals  []uint64  // scratch
	few   *data     // of some reads of many, once made
	least *data     // of a handful of reads, likewise
	core  float64   // of these, what hopeless works out, 0 where it was not asked
}

// table has something for runs of bits, by how far one end of them is from the last bit, and then the other.
type table[T any] [][]T

// at returns what there is for a run in reads of n bits, until it is asked for longer ones.
func (t *table[T]) at(one, other, n int) *T {
	if len(*t) <= one {
		*t = append(*t, make([][]T, one+1-len(*t))...)
	}
	row := &(*t)[one]
	if have := len(*row); have <= other {
		*row = slices.Grow(*row, n+1-have)[:n+1]
		clear((*row)[have:])
	}
	return &(*row)[other]
}

// forget empties the table, and keeps its memory.
func (t table[T]) forget() {
	for i := range t {
		t[i] = t[i][:0]
	}
}

// twoWays is the probability of the numbers in a run of bits as boxes at any place, and as counted up from 1.
type twoWays struct {
	part, low   density.Wide
	least, most uint64 // of the numbers
	different   bool   // no two are the same
	steps       density.Steps
	known       bool
	log         float64 // of what run returns, once weighed
	weighed     bool
}

func newData(s *Sample) *data {
	d := new(data)
	d.take(s)
	return d
}

// take takes the reads of a sample, which are new, or differ from those before in the zeros before them alone.
func (d *data) take(s *Sample) {
	if d.s == s {
		return
	}
	d.s, d.words, d.few, d.least = s, d.words[:0], nil, nil
	for _, b := range s.Reads {
		d.words = append(d.words, b.Words())
	}
	slices.SortFunc(d.words, func(a, b [4]uint64) int { return slices.Compare(a[:], b[:]) })
}

// forget empties what is kept, and keeps the memory.
func (d *data) forget() {
	for _, t := range []table[float64]{d.heads, d.fews, d.frees, d.tails} {
		t.forget()
	}
	for _, t := range d.other {
		t.forget()
	}
	d.runs.forget()
	d.s, d.kt, d.core = nil, d.kt[:min(1, len(d.kt))], 0
}

// fewReads is how many reads of many are weighed first.
const fewReads = 100

// some returns the same of a few reads, drawn whatever they are, where there are many; else nil.
func (d *data) some() *data {
	if d.few != nil || len(d.words) < 4*fewReads {
		return d.few
	}
	rng := rand.New(rand.NewPCG(0, 0)) // of rising reads, so that their order does not count
	d.few = &data{s: d.s}
	for i := range d.words {
		if rng.IntN(len(d.words)-i) < fewReads-len(d.few.words) {
			d.few.words = append(d.few.words, d.words[i])
		}
	}
	return d.few
}

// handful is how many reads show that data is hopeless; of fewer than twice as many it takes no less to weigh them all.
const handful = 6

// spread returns the same of a handful of reads that lie far apart; nil where there are not many more.
func (d *data) spread() *data {
	if n := len(d.words); d.least == nil && n >= 2*handful {
		d.least = &data{s: d.s}
		for i := range handful {
			d.least.words = append(d.least.words, d.words[i*(n-1)/(handful-1)])
		}
	}
	return d.least
}

// logFree and logFew are the logs of the shares of bits beside a number that are different on every card, and not.
var logFree, logFew = math.Log(judgement.RestFree), math.Log(1 - judgement.RestFree)

// beside returns the log probability of the bits beside a number: one of a few values, or different on every card; or
// two fields of which each is so.
func (d *data) beside(from, to int) float64 {
	if from >= to {
		return 0
	}
	head := d.heads.at(d.s.Length-from, d.s.Length-to, d.s.Length)
	switch {
	case *head != 0:
	case to-from > 64: // too wide for one number: the first bits each by itself
		*head = d.beside(to-64, to) + d.bitwise(from, to-64)
	default:
		*head = d.oneOrTwo(from, to, func(from, to int) float64 {
			return logp.Add(d.freeLog(from, to), logFew+d.fewLog(from, to))
		})
	}
	return *head
}

// oneOrTwo returns the log probability of bits that are one field, or two of any widths, as field has that of each. A
// field that is the same on all cards is none by itself. Of a few reads it hardly makes a difference, and is one.
func (d *data) oneOrTwo(from, to int, field func(from, to int) float64) float64 {
	one := field(from, to)
	if len(d.words) < leastTurning {
		return one
	}
	first, last := from, to-1 // that vary
	for first < to && d.s.constant(first) {
		first++
	}
	for last > first && d.s.constant(last) {
		last--
	}
	if first >= last {
		return one
	}
	two := logp.NewMix()
	two.Add(one + math.Log(float64(to-from-1-(last-first))))
	for cut := first + 1; cut <= last; cut++ {
		two.Add(field(from, cut) + field(cut, to))
	}
	return logp.Add(logOneField+one, logTwoFields+two.Log()-logCounts[to-from-1])
}

var logOneField, logTwoFields = math.Log1p(-judgement.RestTwoFields), math.Log(judgement.RestTwoFields)

// fewLog is beside for bits that are one of a few values.
func (d *data) fewLog(from, to int) float64 {
	few := d.fews.at(d.s.Length-from, d.s.Length-to, d.s.Length)
	if *few == 0 {
		d.read(from, to)
		*few = density.PlainFew[to-from].Log(d.vals)
	}
	return *few
}

// free returns how likely such bits are to be different on every card, or some of them, if each of them varies.
func (d *data) free(from, to int) float64 {
	free := d.frees.at(d.s.Length-from, d.s.Length-to, d.s.Length)
	switch {
	case *free != 0:
	case to-from > 64:
		*free = 1 + min(1, math.Exp(d.freeLog(from, to)-d.beside(from, to)))
	default:
		few := d.oneOrTwo(from, to, func(from, to int) float64 { return logFew + d.fewLog(from, to) })
		*free = 1 - math.Expm1(min(0, few-d.beside(from, to)))
	}
	return *free - 1
}

// freeLog is beside for bits that are different on every card: all of them, or each by itself.
func (d *data) freeLog(from, to int) float64 {
	return logFree - math.Ln2 + logp.Add(-float64(len(d.words)*(to-from))*math.Ln2, d.bitwise(from, to))
}

// behind is beside for the bits behind a number, which can be there to fill up a layout and say nothing.
func (d *data) behind(from, to int) float64 {
	if from >= to {
		return 0
	}
	tail := d.tails.at(d.s.Length-to, d.s.Length-from, d.s.Length)
	if *tail != 0 {
		return *tail
	}
	*tail = math.Log1p(-judgement.BehindFixed) + d.beside(from, to)
	share := judgement.FixedZero
	switch v := Value(&d.words[0], from, to); {
	case to-from > 64 || v != 0 && v != 1<<(to-from)-1 || d.different(from, to, 2) > 1:
		return *tail
	case v != 0:
		share = 1 - judgement.FixedZero
	}
	*tail = logp.Add(*tail, math.Log(judgement.BehindFixed*share))
	return *tail
}

// allDifferent reports whether all reads differ in some bits, of which there are 64 at most.
func (d *data) allDifferent(from, to int) bool {
	if to-from > 64 {
		return false
	}
	d.read(from, to)
	return density.AllDifferent(d.vals)
}

// fewValues reports whether bits beside a number that no print shows have no more values than a facility can have.
func (d *data) fewValues(from, to int) bool {
	most := min(8, 2+len(d.words)/4)
	return d.different(from, to, most+1) <= most
}

// different returns how many values the bits have, up to a limit.
func (d *data) different(from, to, limit int) int {
	var seen [16]uint64
	all := seen[:0]
	for i := range d.words {
		v := Value(&d.words[i], from, to)
		if !slices.Contains(all, v) {
			if all = append(all, v); len(all) >= limit {
				return limit
			}
		}
	}
	return len(all)
}

// run returns the log probability of the numbers in the bits from..to-1, first bit highest.
func (d *data) run(from, to int) float64 {
	t := d.ways(from, to)
	if !t.weighed {
		mix := density.PlainNumbers[to-from].Mix(len(d.words), t.least, t.most, t.different, t.part, t.low)
		t.log, t.weighed = density.PlainNumbers[to-from].OrSteps(mix.Log(), t.steps), true
	}
	return t.log
}

// read puts the numbers in a run of bits into vals, sorted.
func (d *data) read(from, to int) {
	d.vals = d.vals[:0]
	for i := range d.words {
		d.vals = append(d.vals, Value(&d.words[i], from, to))
	}
	slices.Sort(d.vals)
}

// ways is the two sums over halvings. A bit that is the same in all reads adds one step to those of the bits behind it.
func (d *data) ways(from, to int) *twoWays {
	t := d.runs.at(d.s.Length-to, d.s.Length-min(from, to), d.s.Length)
	switch {
	case t.known:
		return t
	case from >= to:
		*t = twoWays{part: density.One, low: density.One, different: len(d.words) < 2}
	default:
		if sense := d.s.sense(from, from+1, -1); sense < 0 {
			*t = d.halve(from, to)
		} else {
			below := d.ways(from+1, to)
			*t = d.step(below, to-from, sense)
			top := uint64(sense) << (to - from - 1)
			t.least, t.most, t.different, t.steps = below.least|top, below.most|top, below.different, below.steps
		}
	}
	t.known = true
	return t
}

// step adds a bit of r that is the same in all reads, 0 or 1.
func (d *data) step(below *twoWays, r, bit int) (t twoWays) {
	n := len(d.words)
	even, span, low := density.Power(n*r), below.most-below.least, below.low
	t.part = density.StopOrGo(r, even, density.OneHalf(n, below.part))
	if bit == 1 {
		low = density.OrBox(below.part, n, span, below.different, density.Halved(1-r), density.HarmonicBits[r-1])
	}
	rest := density.OrBox(low.Scale(1/float64(n+1)), n, span, below.different, density.Halved(-r), density.HarmonicBits[r])
	rest = rest.Scale(1 - judgement.StaysLow)
	if bit == 0 {
		rest = rest.Add(low.Scale(judgement.StaysLow))
	}
	t.low = density.StopOrGo(r, even, rest)
	return t
}

// halve works out the sums from the numbers themselves.
func (d *data) halve(from, to int) twoWays {
	d.read(from, to)
	t := twoWays{least: d.vals[0], most: d.vals[len(d.vals)-1], different: density.AllDifferent(d.vals)}
	h := density.Halving{Limit: density.Halved(from - to), Whole: true, Different: t.different, Sorted: d.vals}
	t.steps = density.StepsOf(d.vals)
	t.part, t.low = h.First(0, len(d.vals), to-from)
	return t
}

// number returns the log probability of the numbers in a place; ok is false where one of them is none.
func (d *data) number(p Place) (log float64, ok bool) {
	if p.Turn == FirstHigh && p.Coding == wiegand.Binary && !p.Inverse && p.High[1] == 0 {
		return d.run(p.From, p.To), true
	}
	if p.Inverse || p.High[1] > 0 { // which are asked about once
		log = d.elsewhere(p)
		return log, !math.IsInf(log, -1)
	}
	n := d.s.Length
	kept := d.other[p.order()].at(n-p.To, n-p.From, n)
	if *kept == 0 {
		*kept = d.elsewhere(p)
	}
	return *kept, !math.IsInf(*kept, -1)
}

// placed returns the log probability of the data bits from..to-1, and of the place, if a number is there; ok is false
// where one of them is none.
func (d *data) placed(p Place, from, to int) (log float64, ok bool) {
	log, ok = d.number(p)
	if !ok {
		return logp.Never, false
	}
	log += p.prior(from, to) + d.behind(p.To, to)
	if !d.fewValues(from, p.From) {
		return log + d.freeLog(from, p.From), true
	}
	return log + d.beside(from, p.From), true
}

// elsewhere is number for a place in another order or coding, worked out.
func (d *data) elsewhere(p Place) float64 {
	vals := d.vals[:0]
	for i := range d.words {
		v, ok := p.Number(&d.words[i])
		if !ok {
			return logp.Never
		}
		vals = append(vals, v)
	}
	slices.Sort(vals)
	d.vals = vals
	if p.Coding != wiegand.Binary {
		const spread, up = judgement.NumbersSpread, (1 - judgement.NumbersSpread) * judgement.FromOne
		return density.NumbersOf(bits.Len64(p.Max()), float64(p.Max())+1, spread, up).Log(vals)
	}
	return density.PlainNumbers[p.Width()].Log(vals)
}

// bitwise returns the log probability of the bits from..to-1 if each is by itself.
func (d *data) bitwise(from, to int) float64 {
	n := d.s.Length
	if d.kt == nil {
		d.kt = make([]float64, 1, n+1)
	}
	for last := len(d.kt); last <= n; last++ {
		d.kt = append(d.kt, d.kt[last-1]+logp.Bits(d.ones(n-last), len(d.words)))
	}
	return d.kt[n-from] - d.kt[n-to]
}

// ones returns in how many of the reads a bit is 1.
func (d *data) ones(i int) (n int) {
	if len(d.words) < len(d.s.Reads) { // some of the sample's
		for k := range d.words {
			n += int(d.words[k][i/64] >> (63 - i%64) & 1)
		}
		return n
	}
	for w := range d.s.words {
		n += bits.OnesCount64(d.s.column(i, w))
	}
	return n
}
