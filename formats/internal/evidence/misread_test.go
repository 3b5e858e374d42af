package evidence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// However many reads there are, a share of them that goes bad is no reason to give a format up.
func TestManyMisreadsAreWeighed(t *testing.T) {
	for _, n := range []int{100, 10_000, 1_000_000} {
		log := misreads(n*19/20, n/20)
		assert.False(t, math.IsInf(log, 0))
		assert.Greater(t, log, -0.25*float64(n)) // the entropy of one in twenty is 0.198 a read
	}
}
