package evidence

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// logShared is the log probability of the numbers of facilities that go on with one another's, of which each has so
// many, given that of the numbers together. Where two facilities have the same number, those are no different numbers
// of one box: each has its own out of one range. That matters where a facility has so many in it that it would hardly
// have none twice by chance.
func (m *fieldModel) logShared(log float64, values []uint64, counts []int) float64 {
	pairs := 0.0
	for _, k := range counts {
		pairs += float64(k) * float64(k-1)
	}
	low, high := values[0], values[len(values)-1]
	if m.wide || m.usual != nil || len(counts) < 2 || pairs < float64(high-low) || density.AllDifferent(values) {
		return log
	}
	return logp.Add(log, m.numbers.Shared(low, high, counts)-math.Ln2)
}
