package learn_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// wide is a 64-bit layout: a facility of 30 bits, a number of 32, parity at both ends.
func wide(rng *rand.Rand) world {
	w := world{width: 32, from: 32, facility: rng.Uint64(), spec: wiegand.Spec{Length: 64}}
	w.field("facility", 2, 31)
	w.field("number", 32, 63)
	w.spec.Checks = []wiegand.Check{
		{Kind: wiegand.Even, Bit: 1, Over: wiegand.Spans{{From: 2, To: 32}}},
		{Kind: wiegand.Odd, Bit: 64, Over: wiegand.Spans{{From: 33, To: 63}}},
	}
	w.layout = wiegand.MustCompile(w.spec)
	return w
}

// BenchmarkLearn learns from reads of 64 bits, with prints, without, and with one in twenty misread.
func BenchmarkLearn(b *testing.B) {
	cat := formats.Builtin()
	for _, n := range []int{16, 200, 10000} {
		for _, kind := range []string{"printed", "unprinted", "misread"} {
			b.Run(fmt.Sprintf("%d %s", n, kind), func(b *testing.B) {
				rng := rand.New(rand.NewPCG(1, 2))
				w := wide(rng)
				reads := w.cards(rng, n)
				for i := range reads {
					if kind == "unprinted" {
						reads[i].Printed = ""
					}
					if kind == "misread" && i%20 == 7 {
						bit := rng.IntN(64)
						reads[i].Bits = reads[i].Bits.WithBit(bit, 1-reads[i].Bits.Bit(bit))
					}
				}
				b.ReportAllocs()
				for b.Loop() {
					if _, err := learn.Learn(reads, cat); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
