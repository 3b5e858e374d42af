package evidence

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// data weighs what the bits of a sample that are no checks can be: a number somewhere, and what is beside it.
type data struct {
	s     *Sample
	words [][4]uint64 // the reads, in rising order
	heads map[[2]int]float64
	runs  map[[2]int]twoLogs
	kt    []float64 // by bit: the sum for all bits before it
	vals  []uint64  // scratch
}

// twoLogs is the probability of the numbers in a run of bits as boxes at any place, and as counted up from 1.
type twoLogs struct{ part, low float64 }

func newData(s *Sample) *data {
	d := &data{s: s, heads: map[[2]int]float64{}, runs: map[[2]int]twoLogs{}}
	d.words = make([][4]uint64, len(s.Reads))
	for i, b := range s.Reads {
		d.words[i] = b.Words()
	}
	slices.SortFunc(d.words, func(a, b [4]uint64) int { return slices.Compare(a[:], b[:]) })
	return d
}

// models of numbers and of values of which there are few, by width.
var (
	plainNumbers = func() (all [65]Numbers) {
		for n := range all {
			all[n] = NewNumbers(n, math.Ldexp(1, n), numbersSpread)
		}
		return all
	}()
	plainFew = func() (all [65]Few) {
		for n := range all {
			all[n] = NewFew(n, math.Ldexp(1, n))
		}
		return all
	}()
)

// beside returns the log probability of the bits beside a number: one of a few values, or different on every card.
func (d *data) beside(from, to int) float64 {
	if from >= to {
		return 0
	}
	key := [2]int{from, to}
	if log, ok := d.heads[key]; ok {
		return log
	}
	width, n := to-from, len(d.words)
	if width > 64 { // too wide for one number: the first bits have to stay the same
		log := d.beside(to-64, to)
		for i := from; i < to-64; i++ {
			if d.s.constant(i) {
				log -= math.Ln2
			} else {
				log -= float64(n) * math.Ln2
			}
		}
		d.heads[key] = log
		return log
	}
	d.vals = d.vals[:0]
	for i := range d.words {
		d.vals = append(d.vals, value(&d.words[i], from, to))
	}
	slices.Sort(d.vals)
	free := math.Log(restFree) - float64(n*width)*math.Ln2
	log := LogAdd(free, math.Log(1-restFree)+plainFew[width].Log(d.vals))
	d.heads[key] = log
	return log
}

// different returns how many values the bits have, up to a limit.
func (d *data) different(from, to, limit int) int {
	var seen [16]uint64
	all := seen[:0]
	for i := range d.words {
		v := value(&d.words[i], from, to)
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
	n, width := len(d.words), to-from
	t := d.parts(from, to)
	even := -float64(n*width) * math.Ln2
	return LogAdd(math.Log(numbersSpread)+even, math.Log(1-numbersSpread)+LogAdd(math.Log(1-fromOne)+t.part, math.Log(fromOne)+t.low))
}

// parts is the two sums over halvings. A bit that is the same in all reads adds one step to those of the bits behind it.
func (d *data) parts(from, to int) twoLogs {
	if from >= to {
		return twoLogs{}
	}
	key := [2]int{from, to}
	if t, ok := d.runs[key]; ok {
		return t
	}
	n, r := len(d.words), to-from
	var t twoLogs
	if sense := d.s.sense(from, from+1, -1); sense >= 0 {
		below := d.parts(from+1, to)
		even := logStops[r] - float64(n*r)*math.Ln2
		side := LogAdd(logHalfSide, math.Log1p(-oneSide)+logOrders(n, 0)) + logGoes[r]
		t.part = LogAdd(even, side+below.part)
		if sense == 0 {
			t.low = LogAdd(even, logGoes[r]+LogAdd(logStaysLow, logNotLow+logOrders(n, 0))+below.low)
		} else {
			t.low = LogAdd(even, logGoes[r]+logNotLow+logOrders(n, 0)+below.part)
		}
	} else {
		t = d.halve(from, to)
	}
	d.runs[key] = t
	return t
}

// halve works out the sums from the numbers themselves.
func (d *data) halve(from, to int) twoLogs {
	d.vals = d.vals[:0]
	for i := range d.words {
		d.vals = append(d.vals, value(&d.words[i], from, to))
	}
	slices.Sort(d.vals)
	width := to - from
	if len(d.vals) <= mostLinear && len(d.vals)*width < linearBits {
		l := small{whole: true}
		return twoLogs{math.Log(l.part(d.vals, width, 0)), math.Log(l.low(d.vals, width))}
	}
	h := halving{whole: true}
	return twoLogs{h.part(d.vals, width, 0), h.low(d.vals, width)}
}

// number returns the log probability of the numbers in a place; ok is false where one of them is none.
func (d *data) number(p Place) (log float64, ok bool) {
	if p.Turn == FirstHigh && p.Coding == wiegand.Binary && !p.Inverse && p.High[1] == 0 {
		return d.run(p.From, p.To), true
	}
	vals := d.vals[:0]
	for i := range d.words {
		v, ok := p.Number(&d.words[i])
		if !ok {
			return 0, false
		}
		vals = append(vals, v)
	}
	slices.Sort(vals)
	d.vals = vals
	if p.Coding != wiegand.Binary {
		limit := float64(p.Max()) + 1
		m := NewNumbers(bits.Len64(p.Max()), limit, numbersSpread)
		return m.Log(vals), true
	}
	return plainNumbers[p.Width()].Log(vals), true
}

// bitwise returns the log probability of the bits from..to-1 if each is by itself, with a share of ones of its own: the
// Krichevsky-Trofimov estimate.
func (d *data) bitwise(from, to int) float64 {
	if d.kt == nil {
		n := len(d.words)
		d.kt = make([]float64, d.s.Length+1)
		for i := range d.s.Length {
			ones := 0
			for w := range d.s.words {
				ones += bits.OnesCount64(d.s.column(i, w))
			}
			d.kt[i+1] = d.kt[i] + lgamma(float64(ones)+0.5) + lgamma(float64(n-ones)+0.5) - math.Log(math.Pi) - logFactorial(n)
		}
	}
	return d.kt[to] - d.kt[from]
}
