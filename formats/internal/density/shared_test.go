package density

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// TestSharedAddsUp: the probabilities of all lists of which one facility has two numbers and another one, out of one
// range, add up to no more than 1 (axioms of probability). In so narrow a field much of what lies across its end is
// left out.
func TestSharedAddsUp(t *testing.T) {
	n, sum := NewNumbers(6, 64, judgement.NumbersSpread), 0.0
	for a := range uint64(64) {
		for b := range uint64(64) {
			for c := range uint64(64) {
				if a != b { // of one facility
					sum += math.Exp(n.Shared(min(a, b, c), max(a, b, c), []int{2, 1}))
				}
			}
		}
	}
	assert.LessOrEqual(t, sum, 1+1e-9)
	assert.Greater(t, sum, 0.7)
}

// TestRanges: the sum over sizes is that of all sizes, one after the other, also where some are left out because there
// are many (arithmetic in another order).
func TestRanges(t *testing.T) {
	n := NewNumbers(16, 65536, judgement.NumbersSpread)
	for _, c := range []struct {
		span   float64
		counts []int
	}{{11, []int{6, 7}}, {300, []int{100, 90, 5}}, {4000, []int{20, 30}}, {40000, []int{300, 200}}} {
		mix := logp.NewMix()
		for size := c.span + 1; size <= n.limit; size++ {
			log := math.Log((size - c.span) / (size + 1))
			for _, k := range c.counts {
				for i := range k {
					log -= math.Log(size - float64(i))
				}
			}
			mix.Add(log)
		}
		assert.InDelta(t, mix.Log(), n.ranges(c.span, c.counts), 0.03, "%+v", c)
	}
}

// TestLowBoxAcrossHalves: numbers in one low box are no more likely to be in a narrow field than in a wide one by more
// for having many of them, wherever the box lies between powers of two (the bits before them are 0, and say the same
// however many cards there are).
func TestLowBoxAcrossHalves(t *testing.T) {
	for _, from := range []uint64{1500, 1000, 3900, 2100} {
		few, many := spaced(from, 5, 200), spaced(from, 100, 10)
		narrow, wide := NewNumbers(19, 1<<19, judgement.NumbersSpread), NewNumbers(35, 1<<35, judgement.NumbersSpread)
		assert.InDelta(t, narrow.Log(few)-wide.Log(few), narrow.Log(many)-wide.Log(many), 1.5, "from %d", from)
	}
}

// spaced returns n numbers that are about so far apart.
func spaced(from uint64, n int, step uint64) (v []uint64) {
	for i := range uint64(n) {
		v = append(v, from+i*step+i*i%step)
	}
	return v
}
