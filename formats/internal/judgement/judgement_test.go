package judgement

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// TestJudgementsAreDistributions: what is a distribution adds up to 1.
func TestJudgementsAreDistributions(t *testing.T) {
	sum := func(all ...float64) (s float64) {
		for _, p := range all {
			s += p
		}
		return s
	}
	assert.InDelta(t, 1, sum(WiringPrior[:]...), 1e-9)
	assert.InDelta(t, 1, sum(MisreadFlip, MisreadLost, MisreadExtra, MisreadTwo, MisreadMore), 1e-9)
	assert.InDelta(t, 1, sum(SlipDigit, SlipSwap, SlipLost, SlipExtra, SlipOther, SlipNothing), 1e-9)
	s := 0.0
	for _, c := range Concentrations {
		s += c.Share
	}
	assert.InDelta(t, 1, s, 1e-9)
	s = 0
	for _, r := range MisreadRates {
		s += r.Share
	}
	assert.InDelta(t, 1, s, 1e-9)
	s = 0
	for _, e := range EndChecks {
		s += e.Share
	}
	assert.InDelta(t, 1, s, 1e-9)
	for c, forms := range formWeights {
		s := 0.0
		for name, w := range forms {
			_, ok := formats.FormByName(name)
			assert.True(t, ok, name)
			s += w
		}
		assert.LessOrEqual(t, s, 1.0+1e-9, c)
		assert.Greater(t, s, 0.85, c)
	}
}
