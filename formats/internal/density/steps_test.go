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

// TestMostInLargerSteps: one number in smaller steps than the others does not hide theirs, so that the others are no
// likelier with one more that is in none (axioms of probability: more that is seen is no likelier).
func TestMostInLargerSteps(t *testing.T) {
	const seed = 20261201
	rng := rand.New(rand.NewPCG(seed, 0))
	n := &PlainNumbers[32]
	log := func(values ...uint64) float64 {
		slices.Sort(values)
		return n.OrSteps(n.Log(values), StepsOf(values))
	}
	values := []uint64{32 * 1000001}
	for range 46 {
		values = append(values, 256*rng.Uint64N(1<<24))
	}
	assert.Less(t, log(append(slices.Clone(values), 62720001)...), log(slices.Clone(values)...), "seed %d", seed)
}
