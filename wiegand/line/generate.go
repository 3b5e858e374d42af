package line

import (
	"math/rand/v2"
	"slices"
	"sort"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// Range is a span of times, both ends included.
type Range struct{ Min, Max time.Duration }

// Profile says what generated pulses are like. The zero value is a healthy two-wire reader: 50 µs wide, 2 ms apart, as
// is usual for SIA AC-01-1996.10.
type Profile struct {
	Coding   Coding
	Inverted bool
	Width    Range // of a pulse; zero is 50 µs
	Interval Range // between the starts of pulses; zero is 2 ms
	// SpikeEvery puts a spike on every n-th bit: by turns on its wire in the pause before it, as a dip inside its pulse,
	// and on the other wire during it. A spike lasts less than a tenth of the pulse. 0 is none.
	SpikeEvery int
}

// Flaw is something that goes wrong with one bit of a generated read.
type Flaw struct {
	Bit  int // counted from 0
	Kind FlawKind
}

// FlawKind is what goes wrong.
type FlawKind uint8

const (
	Lose   FlawKind = iota // the pulse does not come
	Double                 // the pulse comes twice
)

// Generator makes the edges of reads, to try and to test with. The same seed makes the same edges. It must not be used
// by several goroutines at once.
type Generator struct {
	p    Profile
	rng  *rand.Rand
	slot []Edge // of one bit
}

// NewGenerator returns a generator.
func NewGenerator(p Profile, seed uint64) *Generator {
	if p.Width == (Range{}) {
		p.Width = Range{50 * time.Microsecond, 50 * time.Microsecond}
	}
	if p.Interval == (Range{}) {
		p.Interval = Range{2 * time.Millisecond, 2 * time.Millisecond}
	}
	return &Generator{p: p, rng: rand.New(rand.NewPCG(seed, 0))}
}

// pick returns a time within r.
func (g *Generator) pick(r Range) time.Duration {
	if r.Max <= r.Min {
		return r.Min
	}
	return r.Min + time.Duration(g.rng.Int64N(int64(r.Max-r.Min)+1))
}

// AppendIdle appends the edges of a recording that begins at the time at: both wires at their idle level.
func (g *Generator) AppendIdle(dst []Edge, at time.Duration) []Edge {
	level := High
	if g.p.Inverted {
		level = Low
	}
	return append(dst, Edge{at, 0, level}, Edge{at, 1, level})
}

// AppendRead appends the edges of a read whose first pulse is at the time at. It returns them and the time at which the
// last pulse was over; the next read must begin more than a gap later.
func (g *Generator) AppendRead(dst []Edge, at time.Duration, b wiegand.Bits, flaws ...Flaw) ([]Edge, time.Duration) {
	last, end := time.Duration(-maxTime), at
	for i := range b.Len() {
		width, interval := g.pick(g.p.Width), g.pick(g.p.Interval)
		g.slot = g.slot[:0]
		if !slices.Contains(flaws, Flaw{i, Lose}) {
			g.pulse(b.Bit(i), at, width, min(interval/4, at-last))
			end = at + width
		}
		if g.p.SpikeEvery > 0 && i%g.p.SpikeEvery == 0 {
			g.spike(i/g.p.SpikeEvery, b.Bit(i), at, width, last)
		}
		if slices.Contains(flaws, Flaw{i, Double}) {
			echo := at + max(interval/2, width+3*DefaultGlitch)
			g.pulse(b.Bit(i), echo, width, DefaultGlitch)
			end = echo + width
		}
		dst = g.flush(dst)
		last = end
		at = max(at+interval, end+3*DefaultGlitch)
	}
	return dst, end
}

// flush appends the edges of one bit in order of time.
func (g *Generator) flush(dst []Edge) []Edge {
	sort.SliceStable(g.slot, func(i, j int) bool { return g.slot[i].At < g.slot[j].At })
	for _, e := range g.slot {
		if g.p.Inverted {
			e.Level = e.Level.invert()
		}
		dst = append(dst, e)
	}
	return dst
}

func (g *Generator) low(w Wire, at, width time.Duration) {
	g.slot = append(g.slot, Edge{at, w, Low}, Edge{at + width, w, High})
}

// pulse makes the pulse of a bit. With a clock, DATA is set up ahead of it by lead, and let go when it is over.
func (g *Generator) pulse(bit uint, at, width, lead time.Duration) {
	if g.p.Coding == TwoWire {
		g.low(Wire(bit), at, width)
		return
	}
	if bit == 1 {
		g.low(Data, at-max(0, lead), width+max(0, lead))
	}
	g.low(Clock, at, width)
}

// spike makes a spike that lasts less than a tenth of the pulse, in one of three places by turns.
func (g *Generator) spike(turn int, bit uint, at, width, last time.Duration) {
	d := g.pick(Range{width / 100, width/10 - 1})
	inside := at + width/4 + time.Duration(g.rng.Int64N(int64(width/2)))
	own, other := Wire(bit), Wire(1-bit)
	if g.p.Coding == ClockAndData {
		own, other = Clock, Data
	}
	switch room := min(at-last, 5*time.Millisecond); {
	case turn%3 == 0 && room > 4*d:
		g.low(own, at-room/5, d)
	case turn%3 == 1, g.p.Coding == ClockAndData && bit == 1:
		g.slot = append(g.slot, Edge{inside, own, High}, Edge{inside + d, own, Low})
	default:
		g.low(other, inside, d)
	}
}
