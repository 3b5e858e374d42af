package worlds

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// The information limit of learning, on layouts with two parity checks over runs of bits, a parity bit at each end, and
// the number printed on every card. The observer knows the rules of [DrawPuzzle], and with what shares it draws by
// them, goes through all of them, and answers what most likely predicts every number, after Bayes. On average nobody
// predicts more of these.

// Order is the order of a number's bits in a read.
type Order uint8

// The orders.
const (
	FirstBitFirst Order = iota
	LastBitFirst
	BytesTurned // two bytes, the last one first
)

// String names the order as the table does.
func (o Order) String() string {
	return []string{"first bit first", "last bit first", "bytes turned round"}[o]
}

// Puzzle is an undocumented layout and cards of it.
type Puzzle struct {
	Sample
	number run
	order  Order
	orders []Order // of which it was drawn
}

// DrawPuzzle draws a layout of 28 to 48 bits with a number of 14 to 20 bits (16 where its bytes are turned round), in
// one of the given orders, a facility in the rest, and n cards with numbers from the whole field.
func DrawPuzzle(rng *rand.Rand, n int, orders ...Order) Puzzle {
	p := Puzzle{order: one(rng, orders...), orders: orders}
	length, width := between(rng, 28, 48), between(rng, 14, 20)
	if p.order == BytesTurned {
		width = 16
	}
	from := length - width
	if rng.IntN(3) == 0 {
		from -= rng.IntN(from - 1) // the number need not be at the end
	}
	p.number = run{from, from + width - 1}
	spec := wiegand.Spec{Length: length, Checks: drawChecks(rng, length)}
	if from > 2 {
		spec.Fields = append(spec.Fields, field("before", 2, from-1))
	}
	spec.Fields = append(spec.Fields, p.field())
	if p.number.to < length-1 {
		spec.Fields = append(spec.Fields, field("behind", p.number.to+1, length-1))
	}
	s := newSite(rng)
	s.kind(unknown(spec))
	facility := rng.Uint64()
	for len(s.Truth) < n {
		v := rng.Uint64() & ones(width)
		r := s.Kinds[0].Layout.Blank()
		for i, f := range spec.Fields {
			x := facility & ones(f.Bits.Len())
			if f.Name == wiegand.FieldNumber {
				x = v
			}
			var err error
			if r, err = r.WithUint64(i, x); err != nil {
				panic(err)
			}
		}
		if s.put(Card{Number: v, Read: r.Encode()}) {
			s.printed(plain, len(s.Truth)-1)
		}
	}
	p.Sample = s.done()
	return p
}

// field returns the number's field.
func (p *Puzzle) field() wiegand.Field {
	f := field(wiegand.FieldNumber, p.number.from, p.number.to)
	switch p.order {
	case LastBitFirst:
		f.Order = wiegand.LSBFirst
	case BytesTurned:
		f.Bits = wiegand.Spans{{From: p.number.from + 8, To: p.number.to}, {From: p.number.from, To: p.number.from + 7}}
	}
	return f
}

// drawChecks draws what the parity bits cover: a third of all layouts each has halves, one check over everything, and
// two random runs; odd and even are as likely at both ends.
func drawChecks(rng *rand.Rand, n int) []wiegand.Check {
	random := func() wiegand.Span {
		a, b := between(rng, 2, n-1), between(rng, 2, n-1)
		return wiegand.Span{From: min(a, b), To: max(a, b)}
	}
	first, second := random(), random()
	switch rng.IntN(6) {
	case 0, 1:
		first, second = wiegand.Span{From: 2, To: n / 2}, wiegand.Span{From: n/2 + 1, To: n - 1}
	case 2:
		first = wiegand.Span{From: 2, To: n - 1}
	case 3:
		second = wiegand.Span{From: 2, To: n - 1}
	}
	return []wiegand.Check{
		{Kind: wiegand.CheckKind(rng.IntN(2)), Bit: 1, Over: wiegand.Spans{first}},
		{Kind: wiegand.CheckKind(rng.IntN(2)), Bit: n, Over: wiegand.Spans{second}},
	}
}

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

func (r run) compare(o run) int { return cmp.Or(cmp.Compare(r.from, o.from), cmp.Compare(r.to, o.to)) }

// place is where a number is, and in which order.
type place struct {
	number run
	order  Order
}

// has reports whether a number here is predicted by a field there: the same, or a wider one that has the same low end.
func (p place) has(narrow place) bool {
	if p.order != narrow.order || narrow.number.within(p.number) != narrow.number {
		return false
	}
	switch p.order {
	case FirstBitFirst:
		return p.number.to == narrow.number.to
	case LastBitFirst:
		return p.number.from == narrow.number.from
	}
	return p == narrow
}

// covers is what a check can cover, as far as a sample tells, by the part of it that lies in the number: facilities
// don't change. half and all are 1 where the half beside the check, or everything, has that part; random is the share
// of runs that do.
type covers struct {
	by   map[run]covered
	runs []run // in a fixed order, so that sums come out the same to the last bit
}

type covered struct{ half, all, random float64 }

// possible is a place that a sample leaves open, how likely it is, and what the checks can cover.
type possible struct {
	place
	weight        float64
	first, second covers
}

// pair is how likely the two checks cover this much of the number, by the shares of drawChecks, if the sample allows
// it.
func (f *possible) pair(a, b run) float64 {
	x, y := f.first.by[a], f.second.by[b]
	return f.weight * (x.half*y.half/3 + x.all*y.random/6 + x.random*y.all/6 + x.random*y.random/3)
}

// observer is what a sample leaves possible of all that DrawPuzzle draws.
type observer struct {
	n      int // bits of a read
	cards  []formats.Sightings
	prints []uint64
	sums   []uint64 // by bit: which reads differ from the first one in the sum of all bits up to it
	fields []possible
}

// Observed is what the observer says.
type Observed struct {
	Verdict
	Settled bool // no other checks than the puzzle's fit the sample, if the place of the number is known
}

// Observe answers a puzzle of up to 64 cards as well as it can be answered.
func (p *Puzzle) Observe() Observed {
	o := observer{n: p.Kinds[0].Layout.Len(), cards: p.Cards}
	for i := range p.Truth {
		o.prints = append(o.prints, p.Truth[i].Number) // plain is what is printed
	}
	o.sums = make([]uint64, o.n+1)
	for i := range o.n {
		o.sums[i+1] = o.sums[i] ^ o.differs(i)
	}
	for _, order := range p.orders {
		o.look(order, 1/float64(len(p.orders)))
	}
	best, stated := o.best()
	v := Verdict{Stated: min(stated, 1), True: best.predicts(p), What: fmt.Sprint(best)}
	return Observed{Verdict: v, Settled: o.settled(p)}
}

// look goes through all places of a number in an order.
func (o *observer) look(order Order, share float64) {
	least, most := 14, 20
	if order == BytesTurned {
		least, most = 16, 16
	}
	for width := least; width <= most; width++ {
		for from := 2; from <= o.n-width; from++ {
			f := possible{place: place{run{from, from + width - 1}, order}}
			if f.weight = share / float64(most-least+1) * o.weigh(f.place); f.weight > 0 {
				f.first, f.second = o.covers(f.number, 1, run{2, o.n / 2}), o.covers(f.number, o.n, run{o.n/2 + 1, o.n - 1})
				o.fields = append(o.fields, f)
			}
		}
	}
}

func (o *observer) read(i int) wiegand.Bits { return o.cards[i][0].Bits }

// differs returns which of up to 64 reads differ from the first one in the bit at index i.
func (o *observer) differs(i int) uint64 {
	var d uint64
	for r := range o.cards {
		d |= uint64(o.read(r).Bit(i)^o.read(0).Bit(i)) << uint(r)
	}
	return d
}

// value reads the number at a place.
func (p place) value(b wiegand.Bits) uint64 {
	bits := b.Slice(p.number.from-1, p.number.to)
	switch p.order {
	case LastBitFirst:
		bits = bits.Reverse()
	case BytesTurned:
		bits, _ = bits.ReverseBytes() // whole bytes
	}
	v, _ := bits.Uint64()
	return v
}

// weigh is how likely the number is drawn there and the reads are what they are, their checks left out.
func (o *observer) weigh(at place) float64 {
	width, base := at.number.to-at.number.from+1, o.n-(at.number.to-at.number.from+1)
	p := 1.0 / 3 / float64(base-1)
	if at.number.from == base {
		p += 2.0 / 3
	}
	for i := range o.cards {
		if at.value(o.read(i)) != o.prints[i] {
			return 0
		}
		p *= math.Exp2(-float64(width))
	}
	return p * o.facility(at.number)
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
	first := o.read(0)
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
type answer struct {
	place
	first, second run
}

// best returns the answer that most likely predicts every number, and how likely it does. A field that is wider than
// the number predicts it as well, where the checks cover the same of it.
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
					if g := &o.fields[k]; f.has(g.place) {
						p += g.pair(a.within(g.number), b.within(g.number))
					}
				}
				if x := (answer{f.place, a, b}); p > probability || p == probability && x.before(best) {
					best, probability = x, p
				}
			}
		}
	}
	return best, probability / total
}

// before puts answers that are as likely into an order, so that one is given every time.
func (a answer) before(b answer) bool {
	return cmp.Or(a.number.compare(b.number), cmp.Compare(a.order, b.order), a.first.compare(b.first),
		a.second.compare(b.second)) < 0
}

func (p *Puzzle) covers(i int) run {
	s := p.Kinds[0].Layout.Spec().Checks[i].Over[0]
	return run{s.From, s.To}.within(p.number)
}

// predicts reports whether an answer predicts every number of a puzzle.
func (a answer) predicts(p *Puzzle) bool {
	return a.has(place{p.number, p.order}) && a.first.within(p.number) == p.covers(0) &&
		a.second.within(p.number) == p.covers(1)
}

func (o *observer) settled(p *Puzzle) bool {
	for i := range o.fields {
		if f := &o.fields[i]; f.place == (place{p.number, p.order}) {
			return len(f.first.runs) == 1 && len(f.second.runs) == 1
		}
	}
	return false
}
