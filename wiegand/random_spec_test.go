package wiegand

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
)

// randomSpec makes a layout that holds together but need not make sense: any length, fields over several spans in any
// order and with steps, both orders and all codings, constants, fixed bits, parities over anything that is known by
// then, repeated rows and columns, check characters. What it makes must compile.
func randomSpec(r *rand.Rand) Spec {
	longest := []int{12, 40, 80, MaxBits}[r.IntN(4)]
	g := specMaker{Rand: r, spec: Spec{Length: 1 + r.IntN(longest)}, next: 1, pieces: map[Coding][]Span{}}
	g.data(1 + g.IntN(min(g.room(), 20)))
	for g.room() > 0 {
		g.block()
	}
	g.fields()
	g.checks()
	return g.spec
}

// specMaker lays blocks of bits one behind the other.
type specMaker struct {
	*rand.Rand
	spec    Spec
	next    int               // the first bit that nothing claims yet
	pieces  map[Coding][]Span // what fields will be made of
	unknown []Span
	chars   int     // characters so far: each may bring a check
	todo    []Check // parities and check characters; Over is filled in last
	ready   []int   // bits whose value is known, in rising order once sorted
}

func (g *specMaker) room() int { return g.spec.Length - g.next + 1 }

// take returns the next n bits.
func (g *specMaker) take(n int) Span {
	s := Span{From: g.next, To: g.next + n - 1}
	g.next += n
	return s
}

func (g *specMaker) block() {
	n := 1 + g.IntN(min(g.room(), 20))
	switch g.IntN(10) {
	case 0, 1:
		g.data(n)
	case 2:
		g.lanes(n)
	case 3:
		g.characters(BCD, n)
	case 4:
		g.characters([]Coding{Digits5, Signs5}[g.IntN(2)], n)
	case 5:
		g.fixed(n)
	case 6:
		g.unknown = append(g.unknown, g.take(n))
	case 7:
		g.rows(n)
	case 8:
		g.todo = append(g.todo, Check{Kind: LRC, Bits: Spans{g.take(min(5, g.room()))}})
	default:
		g.todo = append(g.todo, Check{Kind: CheckKind(g.IntN(2)), Bit: g.take(1).From})
	}
}

func (g *specMaker) data(n int) { g.pieces[Binary] = append(g.pieces[Binary], g.take(n)) }

// lanes deals bits out in turn, as every second or third bit.
func (g *specMaker) lanes(n int) {
	s := g.take(n)
	step := 1 + g.IntN(4)
	for k := range min(step, n) {
		g.pieces[Binary] = append(g.pieces[Binary], Span{From: s.From + k, To: s.To, Step: step})
	}
}

func (g *specMaker) characters(c Coding, n int) {
	size := c.charBits()
	if n = n / size * size; n == 0 || g.chars+n/size > 30 {
		g.data(1)
		return
	}
	g.chars += n / size
	g.pieces[c] = append(g.pieces[c], g.take(n))
}

func (g *specMaker) fixed(n int) {
	s := Spans{g.take(n)}
	if n > 4 { // the second half first
		s = Spans{{From: s[0].From + n/2, To: s[0].To}, {From: s[0].From, To: s[0].From + n/2 - 1}}
	}
	g.spec.Checks = append(g.spec.Checks, Check{Kind: Fixed, Bits: s, Value: MustParseBits("bits:" +
		randomRead(g.Rand, n))})
	g.ready = append(g.ready, slowBits(s)...)
}

// rows lays rows of n bits and a parity bit, and sometimes a column parity to each bit of a row.
func (g *specMaker) rows(n int) {
	n = min(n, 6)
	rows := 2 + g.IntN(6)
	columns := g.IntN(2) * n
	if (n+1)*rows+columns > g.room() {
		g.data(1)
		return
	}
	first := g.next
	for range rows {
		g.data(n)
		g.take(1)
	}
	over := Spans{{From: first, To: first + n - 1}}
	g.todo = append(g.todo, Check{Kind: CheckKind(g.IntN(2)), Bit: first + n, Over: over, Repeat: rows, Step: n + 1})
	if columns > 0 {
		over := Span{From: first, To: first + (n+1)*(rows-1), Step: n + 1}
		g.todo = append(g.todo, Check{Kind: Even, Bit: g.take(columns).From, Over: Spans{over}, Repeat: columns, Step: 1})
	}
}

// fields makes fields of the pieces, some of them of several.
func (g *specMaker) fields() {
	for c := Binary; c <= Signs5; c++ {
		pieces := g.pieces[c]
		g.Shuffle(len(pieces), func(i, j int) { pieces[i], pieces[j] = pieces[j], pieces[i] })
		most := 3
		if len(pieces) > 9 {
			most = len(pieces)/3 + 1 // few enough fields in the end
		}
		for len(pieces) > 0 {
			n := min(len(pieces), max(1+g.IntN(most), len(pieces)/3))
			g.field(c, pieces[:n])
			pieces = pieces[n:]
		}
	}
	if len(g.unknown) > 0 {
		g.spec.Fields = append(g.spec.Fields, Field{Name: FieldUnknown, Bits: g.unknown})
		g.ready = append(g.ready, slowBits(g.unknown)...)
	}
	g.Shuffle(len(g.spec.Fields), func(i, j int) {
		g.spec.Fields[i], g.spec.Fields[j] = g.spec.Fields[j],
			g.spec.Fields[i]
	})
}

func (g *specMaker) field(c Coding, pieces []Span) {
	f := Field{Name: fmt.Sprintf("f%d", len(g.spec.Fields)), Bits: slices.Clone(pieces), Coding: c}
	if c == Binary || c == BCD {
		f.Order = Order(g.IntN(2))
	}
	if g.IntN(6) == 0 {
		f.Constant = g.value(f)
	}
	g.spec.Fields = append(g.spec.Fields, f)
	g.ready = append(g.ready, slowBits(f.Bits)...)
}

// value makes up a value that fits a field.
func (g *specMaker) value(f Field) string {
	n := slowWidth(f)
	if f.Coding == Binary {
		v, _ := new(big.Int).SetString(randomRead(g.Rand, n), 2)
		return v.String()
	}
	var b strings.Builder
	for range n / f.Coding.charBits() {
		signs := "0123456789"
		if f.Coding == Signs5 {
			signs += ":;<=>?"
		}
		b.WriteByte(signs[g.IntN(len(signs))])
	}
	return b.String()
}

// checks decides what the parities cover, in a random order of computing.
func (g *specMaker) checks() {
	g.Shuffle(len(g.todo), func(i, j int) { g.todo[i], g.todo[j] = g.todo[j], g.todo[i] })
	for _, c := range g.todo {
		slices.Sort(g.ready)
		var computed []int
		switch {
		case c.Repeat > 1: // covers data, which is known
			for k := range c.Repeat {
				computed = append(computed, c.Bit+k*c.Step)
			}
		case c.Kind != LRC:
			c.Over = g.some(1)
			computed = []int{c.Bit}
		default:
			computed = slowBits(c.Bits)
			if c.Over = g.some(5); len(computed) < 5 || len(c.Over) == 0 {
				c = Check{Kind: Fixed, Bits: c.Bits, Value: MustParseBits("bits:" + randomRead(g.Rand, len(computed)))}
			}
		}
		g.spec.Checks = append(g.spec.Checks, c)
		g.ready = append(g.ready, computed...)
	}
}

// some returns some of the bits that are known, as spans in any order; their number is a multiple of n, perhaps 0.
func (g *specMaker) some(n int) Spans {
	from := g.IntN(len(g.ready))
	bits := g.ready[from : from+1+g.IntN(len(g.ready)-from)]
	bits = bits[:len(bits)/n*n]
	var all Spans
	if step := 1 + g.IntN(3); n == 1 && step > 1 {
		var every []int
		for i := 0; i < len(bits); i += step {
			every = append(every, bits[i])
		}
		bits = every
	}
	for _, bit := range bits {
		if last := len(all) - 1; last >= 0 && all[last].To == bit-1 && g.IntN(8) > 0 {
			all[last].To = bit
		} else {
			all = append(all, Span{From: bit, To: bit})
		}
	}
	g.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	return all
}
