package learn

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

func TestSimOther(t *testing.T) {
	N := 200
	// misreads
	for _, mode := range []string{"misread", "unprinted", "sequence", "shuffled", "three"} {
		rng := rand.New(rand.NewPCG(7, 7))
		right := 0
		shown := 0
		for range N {
			w := drawWorld(rng)
			var reads []Read
			var flipped map[int]bool
			switch mode {
			case "misread":
				reads = w.cards(rng, 60)
				flipped = map[int]bool{}
				for len(flipped) < 3 {
					k := rng.IntN(60)
					if flipped[k] {
						continue
					}
					flipped[k] = true
					b := rng.IntN(reads[k].Bits.Len())
					reads[k].Bits = reads[k].Bits.WithBit(b, 1-reads[k].Bits.Bit(b))
				}
			case "unprinted":
				reads = w.cards(rng, 40)
				for i := range reads {
					reads[i].Printed = ""
				}
			case "sequence", "shuffled":
				v := rng.Uint64N(1<<w.width - 100)
				for i := range 100 {
					reads = append(reads, Read{Line: i + 1, Bits: w.read(v + uint64(i))})
				}
				if mode == "shuffled" {
					rng.Shuffle(100, func(i, j int) { reads[i], reads[j] = reads[j], reads[i] })
				}
			case "three":
				w = threeWorld(rng)
				reads = w.cards(rng, 40)
			}
			rs, err := Learn(reads, formats.Catalogue{})
			if err != nil {
				t.Fatal(err)
			}
			r := rs[0]
			ok := true
			switch mode {
			case "misread":
				for _, m := range r.Misreads {
					if !flipped[m.Line-1] {
						ok = false
					}
				}
				ok = ok && len(r.Misreads) == 3 && predicts(&w, &r, rng)
			case "three":
				ok = predicts(&w, &r, rng)
			case "unprinted":
				ok = r.Number.Bits.String() == fmt.Sprintf("%d-%d", w.from, w.from+w.width-1) && sameChecks(&w, &r)
			default:
				last := w.from + w.width - 1
				n := len(r.Number.Bits)
				ok = n == 1 && r.Number.Bits[0].To == last && r.Number.Order == wiegand.MSBFirst && r.Number.Bits[0].From >= w.from
				// every bit of the number above what is said must be open
				open := maskOf(r.Open)
				if ok {
					for i := w.from; i < r.Number.Bits[0].From; i++ {
						ok = ok && open.has(i-1)
					}
				}
			}
			if ok {
				right++
			} else if shown < 4 {
				shown++
				fmt.Println(mode, "truth", w.spec, "\n   got", r.Spec, r.Probability, "num", r.Number, "open", r.Open, "mis", r.Misreads, flipped)
			}
		}
		fmt.Println(mode, right, "of", N)
	}
}

func threeWorld(rng *rand.Rand) world {
	n := 35
	if rng.IntN(2) == 0 {
		n = 48
	}
	w := world{facility: rng.Uint64()}
	w.width = 20
	if n == 48 {
		w.width = 23
	}
	w.from = n - w.width
	w.spec = wiegand.Spec{Length: n, Fields: []wiegand.Field{
		{Name: "facility", Bits: wiegand.Spans{{From: 3, To: w.from - 1}}}, {Name: "number", Bits: wiegand.Spans{{From: w.from, To: n - 1}}}}}
	last := n - 2
	w.spec.Checks = []wiegand.Check{
		{Kind: wiegand.Even, Bit: 2, Over: wiegand.Spans{{From: 3, To: last, Step: 3}, {From: 4, To: n - 1, Step: 3}}},
		{Kind: wiegand.Odd, Bit: n, Over: wiegand.Spans{{From: 2, To: last, Step: 3}, {From: 3, To: last, Step: 3}}},
		{Kind: wiegand.Odd, Bit: 1, Over: wiegand.Spans{{From: 2, To: n}}},
	}
	w.layout = wiegand.MustCompile(w.spec)
	return w
}

func predicts(w *world, r *Result, rng *rand.Rand) bool {
	l, err := wiegand.Compile(r.Spec)
	if err != nil {
		panic(err)
	}
	k := l.Field("number")
	if k < 0 {
		return false
	}
	for range 1000 {
		v := rng.Uint64N(1 << w.width)
		rec, err := l.Blank().WithUint64(k, v)
		if err != nil || rec.Encode() != w.read(v) {
			return false
		}
	}
	return true
}

// sameChecks: learned checks equal on the bits that varied
func sameChecks(w *world, r *Result) bool {
	vary := span(w.from-1, w.from+w.width-2)
	want := map[int]mask{}
	for i, c := range w.spec.Checks {
		if m := w.coverage[i].and(vary); !m.empty() {
			want[c.Bit] = m
		}
	}
	for _, c := range r.Spec.Checks {
		if c.Kind == wiegand.Fixed {
			continue
		}
		if want[c.Bit] != maskOf(c.Over).and(vary) {
			return false
		}
		delete(want, c.Bit)
	}
	return len(want) == 0
}
