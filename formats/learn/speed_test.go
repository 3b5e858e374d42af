package learn_test

import (
	"math/rand/v2"
	"testing"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
)

func BenchmarkSixteen(b *testing.B) {
	w := drawWorld(newRandB())
	reads := w.cards(newRandB(), 16)
	cat := formats.Builtin()
	for b.Loop() {
		learn.Learn(reads, cat)
	}
}
func newRandB() *rand.Rand { return rand.New(rand.NewPCG(1, 2)) }
