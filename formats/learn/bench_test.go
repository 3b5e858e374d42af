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

func BenchmarkRelate(b *testing.B) {
	cat := formats.Builtin()
	for _, pairs := range [][]learn.Pair{
		{{Line: 1, A: "0009876543", B: "150,46143"}},
		{{Line: 1, A: "0009876543", B: "15046143"}, {Line: 2, A: "0007625328", B: "11623152"}},
		{{Line: 1, A: "26:32D687E", B: "46143"}, {Line: 2, A: "26:3A83702", B: "7041"}},
	} {
		b.Run(pairs[0].A+"="+pairs[0].B, func(b *testing.B) {
			for b.Loop() {
				if _, err := learn.Relate(pairs, cat); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkRule converts one number; a list has a million of them.
func BenchmarkRule(b *testing.B) {
	rel, err := learn.Relate([]learn.Pair{{Line: 1, A: "3974465139", B: "1938220524"}, {Line: 2, A: "70892138", B: "1790589188"}}, formats.Catalogue{})
	if err != nil {
		b.Fatal(err)
	}
	rule, buf := rel.Rules[0].Rule, make([]byte, 0, 32)
	b.ReportAllocs()
	for b.Loop() {
		if buf, err = rule.Append(buf[:0], "144814787"); err != nil {
			b.Fatal(err)
		}
	}
}
