package learn_test

import (
	"cmp"
	"math"
	"strconv"

	"github.com/cardtell/cardtell/formats/learn"
)

// The observer is the limit to which learning can be held on layouts that drawWorld draws: it knows its rules, and with
// what shares it draws by them, goes through all of them, and answers what most likely predicts every number, after
// Bayes. On average nobody predicts more of these worlds. Learning knows none of this: it looks for the number in every
// order and coding, and for checks at every bit, so that it falls short of the observer by what there is to be ruled
// out besides.

// run is a run of bits numbered from 1; the zero value is none.
type run struct{ from, to int }

// within returns the part of a run that lies in another.
func (r run) within(o run) run {
	r = run{max(r.from, o.from), min(r.to, o.to)}
	if r.from > r.to {
		return run{}
	}
	return r
}

// covers is what a check can cover, as far as a sample tells, by the part of it that lies in the number: facilities
// don't change. half and all are 1 where the half beside the check, or everything, has that part; random is the share
// of runs that do.
type covers struct {
	by   map[run]covered
	runs []run // in a fixed order, so that sums come out the same to the last bit
}

type covered struct{ half, all, random float64 }

// field is a place for the number that a sample leaves open, how likely it is, and what the checks can cover.
type field struct {
	number        run
	weight        float64
	first, second covers
}

// pair is how likely the two checks cover this much of the number, by the shares of drawSpans, if the sample allows it.
func (f *field) pair(a, b run) float64 {
	x, y := f.first.by[a], f.second.by[b]
	return f.weight * (x.half*y.half/3 + x.all*y.random/6 + x.random*y.all/6 + x.random*y.random/3)
}

// observer is what a sample leaves possible of all that drawWorld draws.
type observer struct {
	n      int // bits of a read
	reads  []learn.Read
	sums   []uint64 // by bit: which reads differ from the first one in the sum of all bits up to it
	fields []field
}

func observe(reads []learn.Read) *observer {
	o := &observer{n: reads[0].Bits.Len(), reads: reads}
	o.sums = make([]uint64, o.n+1)
	for i := range o.n {
		o.sums[i+1] = o.sums[i] ^ o.differs(i)
	}
	for width := 14; width <= 20; width++ {
		for from := 2; from <= o.n-width; from++ {
			f := field{number: run{from, from + width - 1}}
			if f.weight = o.place(f.number); f.weight > 0 {
				f.first, f.second = o.covers(f.number, 1, run{2, o.n / 2}), o.covers(f.number, o.n, run{o.n/2 + 1, o.n - 1})
				o.fields = append(o.fields, f)
			}
		}
	}
	return o
}

// differs returns which of up to 64 reads differ from the first one in the bit at index i.
func (o *observer) differs(i int) uint64 {
	var d uint64
	for r := range o.reads {
		d |= uint64(o.reads[r].Bits.Bit(i)^o.reads[0].Bits.Bit(i)) << uint(r)
	}
	return d
}

// place is how likely the number is drawn there and the reads are what they are, their checks left out.
func (o *observer) place(number run) float64 {
	width, base := number.to-number.from+1, o.n-(number.to-number.from+1)
	p := 1.0 / 3 / float64(base-1)
	if number.from == base {
		p += 2.0 / 3
	}
	for _, r := range o.reads {
		if v, _ := r.Bits.Slice(number.from-1, number.to).Uint64(); v != printedNumber(r.Printed) {
			return 0
		}
		p *= math.Exp2(-float64(width))
	}
	return p * o.facility(number)
}

func printedNumber(text string) uint64 {
	v, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		panic(err)
	}
	return v
}

// facility is how likely the bits beside the number are what they are: one number of 64 bits fills both sides from its
// low end.
func (o *observer) facility(number run) float64 {
	before, behind := number.from-2, o.n-1-number.to
	for i := 1; i < o.n-1; i++ {
		if (i < number.from-1 || i >= number.to) && o.differs(i) != 0 {
			return 0
		}
	}
	first := o.reads[0].Bits
	for k := range min(before, behind) {
		if first.Bit(number.from-2-k) != first.Bit(o.n-2-k) {
			return 0
		}
	}
	return math.Exp2(-float64(max(before, behind)))
}

// covers returns the runs of bits that a check at a bit can cover.
func (o *observer) covers(number run, bit int, half run) covers {
	all, m := covers{by: map[run]covered{}}, float64(o.n-2)
	for from := 2; from < o.n; from++ {
		for to := from; to < o.n; to++ {
			if o.sums[to]^o.sums[from-1] != o.differs(bit-1) {
				continue
			}
			r := run{from, to}
			c, there := all.by[r.within(number)]
			if !there {
				all.runs = append(all.runs, r.within(number))
			}
			if c.random += 2 / m / m; from == to {
				c.random -= 1 / m / m
			}
			if r == half {
				c.half = 1
			}
			if r == (run{2, o.n - 1}) {
				c.all = 1
			}
			all.by[r.within(number)] = c
		}
	}
	return all
}

// answer is where the number is and what the two checks cover of it.
type answer struct{ number, first, second run }

// best returns the answer that most likely predicts every number, and how likely it does. A field that is wider than
// the number predicts it as well, where the checks cover the same of it: so the widest fields that end at one bit are
// the answers.
func (o *observer) best() (best answer, probability float64) {
	total := 0.0
	for i := range o.fields {
		f := &o.fields[i]
		for _, a := range f.first.runs {
			for _, b := range f.second.runs {
				total += f.pair(a, b)
			}
		}
	}
	for i := range o.fields {
		f := &o.fields[i]
		for _, a := range f.first.runs {
			for _, b := range f.second.runs {
				p := 0.0
				for k := range o.fields {
					if g := &o.fields[k]; g.number.within(f.number) == g.number && g.number.to == f.number.to {
						p += g.pair(a.within(g.number), b.within(g.number))
					}
				}
				if p > probability || p == probability && (answer{f.number, a, b}).before(best) {
					best, probability = answer{f.number, a, b}, p
				}
			}
		}
	}
	return best, probability / total
}

// before puts answers that are as likely into an order, so that one is given every time.
func (a answer) before(b answer) bool {
	return cmp.Or(a.number.compare(b.number), a.first.compare(b.first), a.second.compare(b.second)) < 0
}

func (r run) compare(o run) int { return cmp.Or(cmp.Compare(r.from, o.from), cmp.Compare(r.to, o.to)) }

// predicts reports whether an answer predicts every number of a world.
func (a answer) predicts(w *world) bool {
	number := run{w.from, w.from + w.width - 1}
	over := func(i int) run {
		s := w.spec.Checks[i].Over[0]
		return run{s.From, s.To}.within(number)
	}
	return number.within(a.number) == number && number.to == a.number.to &&
		a.first.within(number) == over(0) && a.second.within(number) == over(1)
}

// settled reports whether no other checks than the world's own fit the sample, of all that drawWorld draws, if the
// place of the number is known.
func (o *observer) settled(w *world) bool {
	for i := range o.fields {
		f := &o.fields[i]
		if f.number == (run{w.from, w.from + w.width - 1}) {
			return len(f.first.runs) == 1 && len(f.second.runs) == 1
		}
	}
	return false
}
