// Package calibration measures what stated probabilities are worth: how often what was stated with about p came true.
// The tests of the packages that state probabilities use it; no program links it, and what it exports can change at any
// time.
//
// The scores are those of weather forecasting, where they come from:
//
//   - the Brier score is the mean squared difference between what was stated and what came (1 or 0): 0 is perfect, 0.25
//     is a coin stated as one (G. W. Brier, "Verification of forecasts expressed in terms of probability", Monthly
//     Weather Review 78, 1950);
//   - it parts into reliability, resolution and uncertainty (A. H. Murphy, "A new vector partition of the probability
//     score", Journal of Applied Meteorology 12, 1973): what was lost by stating something else than the frequency,
//     less what was gained by telling easy cases from hard ones, plus what the cases are;
//   - the log score is the mean of -log2 of what was stated for that which came: bits of surprise.
package calibration

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Bins is how many bins stated probabilities are put into, each as wide as the others.
const Bins = 10

// Forecasts collects stated probabilities and whether each came true. The zero value is empty.
type Forecasts struct {
	bins    [Bins]Bin
	n       int
	squares float64 // sum of squared differences
	log     float64 // sum of -log2 of what was stated for what came
}

// Bin is the forecasts whose stated probability lies in one tenth of 0 to 1.
type Bin struct {
	N      int     // how many
	Stated float64 // sum of what was stated
	True   int     // how many came true
	spread float64 // sum of squares of what was stated
	shared float64 // sum of what was stated, of those that came true
}

// Add adds a forecast: what was stated, 0 to 1, and whether it came true.
func (f *Forecasts) Add(stated float64, came bool) {
	b := &f.bins[min(int(stated*Bins), Bins-1)]
	b.N++
	b.Stated += stated
	b.spread += stated * stated
	f.n++
	miss := stated
	if came {
		b.True++
		b.shared += stated
		miss = 1 - stated
	}
	f.squares += miss * miss
	f.log -= math.Log2(1 - miss)
}

// N is how many forecasts there are.
func (f *Forecasts) N() int { return f.n }

// True is how many of them came true.
func (f *Forecasts) True() int {
	n := 0
	for i := range f.bins {
		n += f.bins[i].True
	}
	return n
}

// Stated is the mean of what was stated; NaN where nothing was.
func (f *Forecasts) Stated() float64 {
	sum := 0.0
	for i := range f.bins {
		sum += f.bins[i].Stated
	}
	return sum / float64(f.n)
}

// Bin returns the forecasts stated from i/Bins to (i+1)/Bins; the last bin has 1 as well.
func (f *Forecasts) Bin(i int) Bin { return f.bins[i] }

// Brier is the mean squared difference between what was stated and what came, 0 to 1.
func (f *Forecasts) Brier() float64 { return f.squares / float64(f.n) }

// Log is the mean surprise in bits: -log2 of what was stated for what came. It is +Inf where something was stated with
// certainty and did not come.
func (f *Forecasts) Log() float64 { return f.log / float64(f.n) }

// Parts is a Brier score taken apart: Brier = Reliability - Resolution + Uncertainty + Within.
type Parts struct {
	Reliability float64 // what is lost because the bins' means are not their frequencies: 0 is best
	Resolution  float64 // what is gained because the bins' frequencies differ: Uncertainty is best
	Uncertainty float64 // of what comes, if nothing told the cases apart: frequency times its complement
	// Within is what the bins hide: the variance of what was stated in each, less twice its covariance with what came. It
	// is 0 where every forecast of a bin states the same, as Murphy has it (D. B. Stephenson, C. A. S. Coelho, I. T.
	// Jolliffe, "Two extra components in the Brier score decomposition", Weather and Forecasting 23, 2008).
	Within float64
}

// Parts takes the Brier score apart.
func (f *Forecasts) Parts() Parts {
	var p Parts
	n := float64(f.n)
	all := float64(f.True()) / n
	for _, b := range f.bins {
		if b.N == 0 {
			continue
		}
		k := float64(b.N)
		said, came := b.Stated/k, float64(b.True)/k
		p.Reliability += k / n * (said - came) * (said - came)
		p.Resolution += k / n * (came - all) * (came - all)
		variance, covariance := b.spread/k-said*said, b.shared/k-said*came
		p.Within += k / n * (variance - 2*covariance)
	}
	p.Uncertainty = all * (1 - all)
	return p
}

// Band returns the bounds, at 95 %, of the probability of something that came true k times out of n: C. J. Clopper and
// E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the binomial", Biometrika 26,
// 1934. It is exact where the n are independent: at least 95 of 100 such bands have the probability in them.
func Band(k, n int) (low, high float64) { return Within(k, n, 0.025) }

// Within is Band with another probability, tail, of each of the two bounds to be wrong.
func Within(k, n int, tail float64) (low, high float64) {
	low, high = 0, 1
	if k > 0 {
		low = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(tail)
	}
	if k < n {
		high = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(1 - tail)
	}
	return low, high
}
