package typing

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestStylesAreADistribution: they add up to 1 (axioms of probability).
func TestStylesAreADistribution(t *testing.T) {
	sum := 0.0
	for _, p := range StylePrior {
		sum += p
	}
	assert.InDelta(t, 1, sum, 1e-9)
}
