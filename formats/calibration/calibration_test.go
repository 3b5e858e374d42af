package calibration

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Worked by hand after the definitions of Murphy (1973): ten forecasts of 0.85 of which nine came, and ten of 0.25 of
// which two came. Of all, 11/20 came.
//
//	reliability  1/2 (0.85-0.9)² + 1/2 (0.25-0.2)²   = 0.0025
//	resolution   1/2 (0.9-0.55)² + 1/2 (0.2-0.55)²   = 0.1225
//	uncertainty  0.55 · 0.45                         = 0.2475
//	Brier        9/20·0.15² + 1/20·0.85² + 2/20·0.75² + 8/20·0.25² = 0.1275
func TestPartsWorkedExample(t *testing.T) {
	var f Forecasts
	for i := range 10 {
		f.Add(0.85, i < 9)
		f.Add(0.25, i < 2)
	}
	p := f.Parts()
	assert.InDelta(t, 0.0025, p.Reliability, 1e-15)
	assert.InDelta(t, 0.1225, p.Resolution, 1e-15)
	assert.InDelta(t, 0.2475, p.Uncertainty, 1e-15)
	assert.InDelta(t, 0, p.Within, 1e-15, "every forecast of a bin states the same")
	assert.InDelta(t, 0.1275, f.Brier(), 1e-15)
	assert.InDelta(t, 0.55, f.Stated(), 1e-15)
	assert.Equal(t, [2]int{20, 11}, [2]int{f.N(), f.True()})
}

// On forecasts at random the parts add up to the Brier score, and that to what the moments of a general-purpose library
// give: E(f-o)² = Var f + Var o - 2 Cov(f, o) + (mean f - mean o)².
func TestPartsAddUp(t *testing.T) {
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 1))
		var f Forecasts
		var said, came []float64
		for range 500 {
			p := math.Pow(rng.Float64(), 0.3)
			true := rng.Float64() < p*p
			f.Add(p, true)
			said, came = append(said, p), append(came, 0)
			if true {
				came[len(came)-1] = 1
			}
		}
		p := f.Parts()
		assert.InDelta(t, f.Brier(), p.Reliability-p.Resolution+p.Uncertainty+p.Within, 1e-12, "%d", seed)
		gap := stat.Mean(said, nil) - stat.Mean(came, nil)
		moments := stat.PopVariance(said, nil) + stat.PopVariance(came, nil) - 2*stat.Covariance(said, came, nil)*499/500 +
			gap*gap
		assert.InDelta(t, moments, f.Brier(), 1e-12, "%d", seed)
	}
}

// Where each forecast states its bin's mean, Murphy's three parts alone are the Brier score.
func TestBinnedIdentity(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var f Forecasts
	for range 1000 {
		p := (float64(rng.IntN(Bins)) + 0.5) / Bins
		f.Add(p, rng.Float64() < p)
	}
	p := f.Parts()
	assert.InDelta(t, f.Brier(), p.Reliability-p.Resolution+p.Uncertainty, 1e-12)
}

// The log score of a fair coin stated as one is 1 bit; of what was stated with certainty, 0 or without bound.
func TestLog(t *testing.T) {
	var f Forecasts
	f.Add(0.5, true)
	f.Add(0.5, false)
	assert.InDelta(t, 1, f.Log(), 1e-15)
	f.Add(1, true)
	f.Add(0, false)
	assert.InDelta(t, 0.5, f.Log(), 1e-15)
	f.Add(1, false)
	assert.True(t, math.IsInf(f.Log(), 1))
}

// A bound of Clopper and Pearson is where the tail of the binomial distribution is 2.5 %: held against the distribution
// itself, which a general-purpose library sums. With none of n there is a closed form, 1 - 0.025^(1/n).
func TestBand(t *testing.T) {
	for _, c := range []struct{ k, n int }{{1, 10}, {5, 10}, {9, 10}, {47, 220}, {332, 401}} {
		low, high := Band(c.k, c.n)
		name := fmt.Sprintf("%d of %d", c.k, c.n)
		assert.InDelta(t, 0.025, 1-distuv.Binomial{N: float64(c.n), P: low}.CDF(float64(c.k-1)), 1e-9, name)
		assert.InDelta(t, 0.025, distuv.Binomial{N: float64(c.n), P: high}.CDF(float64(c.k)), 1e-9, name)
	}
	low, high := Band(0, 30)
	assert.Zero(t, low)
	assert.InDelta(t, 1-math.Pow(0.025, 1.0/30), high, 1e-12)
	low, high = Band(30, 30)
	assert.InDelta(t, math.Pow(0.025, 1.0/30), low, 1e-12)
	assert.Equal(t, 1.0, high)
}
