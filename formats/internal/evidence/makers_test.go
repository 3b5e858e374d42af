package evidence

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestMakerCodes: the codes of 8 bits add up to 1 (axioms of probability), and one that is given out early is likelier
// than one that is not given out yet.
func TestMakerCodes(t *testing.T) {
	sum := 0.0
	for code := range uint64(256) {
		sum += makerCode(code)
	}
	assert.InDelta(t, 1, sum, 1e-12)
	assert.Greater(t, makerCode(0x04), 50*makerCode(0xFB))
}
