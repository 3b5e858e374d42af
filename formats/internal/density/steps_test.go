package density

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestNoNumberMakesTheOthersLikelier: one number that is not where the others are can't make all of them likelier than
// numbers that are, whatever they are multiples of (arithmetic).
func TestNoNumberMakesTheOthersLikelier(t *testing.T) {
	const seed = 20261130
	rng := rand.New(rand.NewPCG(seed, 0))
	n := &PlainNumbers[23]
	log := func(values []uint64) float64 {
		slices.Sort(values)
		return n.OrSteps(n.Log(values), StepsOf(values))
	}
	for step := uint64(2); step <= 4096; step *= 2 {
		var values []uint64
		for range 50 {
			values = append(values, step*rng.Uint64N(1<<22/step)+3)
		}
		all := log(slices.Clone(values))
		for one := uint64(1); one < step; one *= 2 {
			apart := slices.Clone(values)
			apart[7] += one
			assert.Greater(t, all, log(apart), "steps of %d, one off by %d; seed %d", step, one, seed)
		}
	}
}
