package learn_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// world is an invented format of one site: what the learner has to find out. It is drawn by rules of its own, not by
// the learner's prior: ends of spans are uniform, a third of all layouts each has halves, one check over everything,
// and two random spans, and odd and even are as likely at both ends.
type world struct {
	layout   *wiegand.Layout
	spec     wiegand.Spec
	width    int // of the number
	from     int // its first bit, numbered from 1
	facility uint64
}

// drawWorld draws a layout of 28 to 48 bits, a parity bit at each end, a number of 14 to 20 bits and a facility in the
// rest.
func drawWorld(rng *rand.Rand) world {
	n := 28 + rng.IntN(21)
	w := world{width: 14 + rng.IntN(7), facility: rng.Uint64()}
	last := n - 1 // of what lies between the parity bits, numbered from 1
	w.from = last - w.width + 1
	if rng.IntN(3) == 0 {
		w.from -= rng.IntN(w.from - 1) // the number need not end there
	}
	w.spec = wiegand.Spec{Length: n}
	w.field("facility", 2, w.from-1)
	w.field("number", w.from, w.from+w.width-1)
	w.field("unknown", w.from+w.width, last)
	first, second := drawSpans(rng, n)
	w.spec.Checks = []wiegand.Check{
		{Kind: wiegand.CheckKind(rng.IntN(2)), Bit: 1, Over: wiegand.Spans{first}},
		{Kind: wiegand.CheckKind(rng.IntN(2)), Bit: n, Over: wiegand.Spans{second}},
	}
	w.layout = wiegand.MustCompile(w.spec)
	return w
}

func drawSpans(rng *rand.Rand, n int) (first, second wiegand.Span) {
	random := func() wiegand.Span {
		a, b := 2+rng.IntN(n-2), 2+rng.IntN(n-2)
		return wiegand.Span{From: min(a, b), To: max(a, b)}
	}
	first, second = random(), random()
	switch rng.IntN(6) {
	case 0, 1:
		first, second = wiegand.Span{From: 2, To: n / 2}, wiegand.Span{From: n/2 + 1, To: n - 1}
	case 2:
		first = wiegand.Span{From: 2, To: n - 1}
	case 3:
		second = wiegand.Span{From: 2, To: n - 1}
	}
	return first, second
}

func (w *world) field(name string, from, to int) {
	if from <= to {
		w.spec.Fields = append(w.spec.Fields, wiegand.Field{Name: name, Bits: wiegand.Spans{{From: from, To: to}}})
	}
}

// drawInterleaved draws a layout with three parity bits over two bits in three and over everything, as the 35-bit one
// that is remembered in the trade has them (from memory, no source), of 35 or 48 bits.
func drawInterleaved(rng *rand.Rand) world {
	n, width := 35, 20
	if rng.IntN(2) == 0 {
		n, width = 48, 23
	}
	w := world{width: width, from: n - width, facility: rng.Uint64(), spec: wiegand.Spec{Length: n}}
	w.field("facility", 3, w.from-1)
	w.field("number", w.from, n-1)
	w.spec.Checks = []wiegand.Check{
		{Kind: wiegand.Even, Bit: 2, Over: wiegand.Spans{{From: 3, To: n - 2, Step: 3}, {From: 4, To: n - 1, Step: 3}}},
		{Kind: wiegand.Odd, Bit: n, Over: wiegand.Spans{{From: 2, To: n - 2, Step: 3}, {From: 3, To: n - 2, Step: 3}}},
		{Kind: wiegand.Odd, Bit: 1, Over: wiegand.Spans{{From: 2, To: n}}},
	}
	w.layout = wiegand.MustCompile(w.spec)
	return w
}

// read returns the read of a number.
func (w *world) read(number uint64) wiegand.Bits {
	values := make([]uint64, 0, 3)
	for _, f := range w.spec.Fields {
		v := w.facility & (1<<uint(f.Bits.Len()) - 1)
		if f.Name == "number" {
			v = number
		}
		values = append(values, v)
	}
	b, err := w.layout.Encode(values...)
	if err != nil {
		panic(err)
	}
	return b
}

// cards returns reads of n cards with numbers spread over the field, and what is printed on them.
func (w *world) cards(rng *rand.Rand, n int) []learn.Read {
	reads := make([]learn.Read, n)
	for i := range reads {
		v := rng.Uint64N(1 << w.width)
		reads[i] = learn.Read{Line: i + 1, Bits: w.read(v), Printed: fmt.Sprint(v)}
	}
	return reads
}

// unseen is how many numbers a layout has to get right: every one of them.
const unseen = 1000

// predicts reports whether a learned layout gives the right read for numbers that it has not seen.
func (w *world) predicts(t *testing.T, r *learn.Result, rng *rand.Rand) bool {
	t.Helper()
	l, err := wiegand.Compile(r.Spec)
	require.NoError(t, err)
	number := l.Field(wiegand.FieldNumber)
	if number < 0 || r.Probability == 0 {
		return false
	}
	for range unseen {
		v := rng.Uint64N(1 << w.width)
		rec, err := l.Blank().WithUint64(number, v)
		if err != nil || rec.Encode() != w.read(v) {
			return false
		}
	}
	return true
}

// explains reports whether a layout that was learned without prints has the number's span and both parities right:
// reads that it has not seen keep its checks, and a wrong parity bit breaks them.
func (w *world) explains(t *testing.T, r *learn.Result, rng *rand.Rand) bool {
	t.Helper()
	l, err := wiegand.Compile(r.Spec)
	require.NoError(t, err)
	if r.Number.Bits.String() != (wiegand.Spans{{From: w.from, To: w.from + w.width - 1}}).String() {
		return false
	}
	for range unseen {
		b := w.read(rng.Uint64N(1 << w.width))
		rec, err := l.Decode(b)
		if err != nil || !rec.OK() {
			return false
		}
		for _, c := range w.spec.Checks {
			wrong, err := l.Decode(b.WithBit(c.Bit-1, 1-b.Bit(c.Bit-1)))
			if err != nil || wrong.OK() {
				return false
			}
		}
	}
	return true
}
