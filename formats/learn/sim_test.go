package learn

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/cardtell/cardtell/wiegand"
)

// world is an invented format of one site: what the learner has to find out. It is drawn by rules of its own, not by the
// learner's prior: ends of spans are uniform, a third of all layouts each has halves, everything, and random spans, and odd
// and even are as likely at both ends.
type world struct {
	layout   *wiegand.Layout
	spec     wiegand.Spec
	width    int // of the number
	from     int // its first bit, numbered from 1
	facility uint64
	coverage [2]mask
}

// drawWorld draws a layout of 28 to 48 bits, a parity bit at each end, a number of 14 to 20 bits and a facility in the rest.
func drawWorld(rng *rand.Rand) world {
	n := 28 + rng.IntN(21)
	w := world{width: 14 + rng.IntN(7)}
	last := n - 1 // of the body, numbered from 1
	w.from = last - w.width + 1
	if rng.IntN(3) == 0 {
		w.from -= rng.IntN(w.from - 1) // the number is not at the end of the body
	}
	w.spec = wiegand.Spec{Length: n}
	add := func(name string, a, b int) {
		if a <= b {
			w.spec.Fields = append(w.spec.Fields, wiegand.Field{Name: name, Bits: wiegand.Spans{{From: a, To: b}}})
		}
	}
	add("facility", 2, w.from-1)
	add("number", w.from, w.from+w.width-1)
	add("unknown", w.from+w.width, last)
	kind := func() wiegand.CheckKind { return wiegand.CheckKind(rng.IntN(2)) }
	body := func() wiegand.Span {
		a, b := 2+rng.IntN(n-2), 2+rng.IntN(n-2)
		return wiegand.Span{From: min(a, b), To: max(a, b)}
	}
	first, second := body(), body()
	switch rng.IntN(3) {
	case 0:
		first, second = wiegand.Span{From: 2, To: n / 2}, wiegand.Span{From: n/2 + 1, To: last}
	case 1:
		if rng.IntN(2) == 0 {
			first = wiegand.Span{From: 2, To: last}
		} else {
			second = wiegand.Span{From: 2, To: last}
		}
	}
	w.spec.Checks = []wiegand.Check{
		{Kind: kind(), Bit: 1, Over: wiegand.Spans{first}},
		{Kind: kind(), Bit: n, Over: wiegand.Spans{second}},
	}
	w.coverage = [2]mask{maskOf(w.spec.Checks[0].Over), maskOf(w.spec.Checks[1].Over)}
	w.layout = wiegand.MustCompile(w.spec)
	w.facility = rng.Uint64()
	return w
}

func (w *world) read(number uint64) wiegand.Bits {
	rec := w.layout.Blank()
	for i, f := range w.spec.Fields {
		v := number
		if f.Name != "number" {
			v = w.facility & (1<<uint(f.Bits.Len()) - 1)
		}
		var err error
		if rec, err = rec.WithUint64(i, v); err != nil {
			panic(err)
		}
	}
	return rec.Encode()
}

func (w *world) cards(rng *rand.Rand, n int) []Read {
	var reads []Read
	for i := range n {
		v := rng.Uint64N(1 << w.width)
		reads = append(reads, Read{Line: i + 1, Bits: w.read(v), Printed: fmt.Sprint(v)})
	}
	return reads
}

func TestQuickSim(t *testing.T) {
	for _, n := range []int{8, 10, 12, 16} {
		rng := rand.New(rand.NewPCG(1, uint64(n)))
		right, sure, sureWrong, sum := 0, 0, 0, 0.0
		N := 300
		for range N {
			w := drawWorld(rng)
			reads := w.cards(rng, n)
			gs, _, err := sortReads(reads)
			if err != nil {
				t.Fatal(err)
			}
			p, _ := learn(gs[0], newPatternSet(gs[0].length))
			ok := len(p.classes) > 0 && p.classes[0].best.num != nil
			for range 1000 {
				if !ok {
					break
				}
				v := rng.Uint64N(1 << w.width)
				got, fits := p.predict(&p.classes[0].best, v)
				ok = fits && got == mask(w.read(v).Words())
			}
			pr := p.probability()
			sum += pr
			if ok {
				right++
			}
			if pr > 0.99 {
				sure++
				if !ok {
					sureWrong++
					t.Logf("n=%d wrong at %.4f: %+v", n, pr, w.spec)
					for _, c := range p.classes[0].best.checks {
						t.Log(c.bit+1, c.class.rep, c.class.key.spans())
					}
					t.Log(p.classes[0].best.num)
				}
			}
		}
		fmt.Printf("n=%d right %.3f stated %.3f sure %d wrong %d\n", n, float64(right)/float64(N), sum/float64(N), sure, sureWrong)
	}
}
