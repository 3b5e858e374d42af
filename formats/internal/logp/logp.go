// Package logp adds up probabilities that are kept as natural logarithms, and has the logs of what is counted.
package logp

import "math"

// Never is the log of a probability of 0.
var Never = math.Inf(-1)

// Add returns log(e^a + e^b).
func Add(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) || a-b > 40 {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// Sum returns the log of the sum of the numbers whose logs are given.
func Sum(logs []float64) float64 {
	top := Never
	for _, l := range logs {
		top = max(top, l)
	}
	if math.IsInf(top, -1) {
		return Never
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return top + math.Log(sum)
}

// CutOff is how much less likely, as a log, something is that need not be added.
const CutOff = 40

// Mix adds up as many terms as come, each a log; Top is the largest of them.
type Mix struct{ Top, sum float64 }

// NewMix returns a sum without terms.
func NewMix() Mix { return Mix{Top: Never} }

// Add adds a term.
func (m *Mix) Add(l float64) {
	switch {
	case l < m.Top-CutOff || math.IsInf(l, -1):
	case l <= m.Top:
		m.sum += math.Exp(l - m.Top)
	default:
		m.sum = m.sum*math.Exp(m.Top-l) + 1
		m.Top = l
	}
}

// Log returns the log of the sum, [Never] of none.
func (m *Mix) Log() float64 {
	if m.sum == 0 {
		return Never
	}
	return m.Top + math.Log(m.sum)
}

// tabled is how many factorials are kept: of more cards, math.Lgamma says it.
const tabled = 1024

var logFactorials = func() (t [tabled]float64) {
	for i := 2; i < tabled; i++ {
		t[i] = t[i-1] + math.Log(float64(i))
	}
	return t
}()

// Factorial returns log(n!).
func Factorial(n int) float64 {
	if n < tabled {
		return logFactorials[n]
	}
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}

// Choose returns the log of the number of ways to take k of n.
func Choose(n, k int) float64 { return Factorial(n) - Factorial(k) - Factorial(n-k) }

// Orders returns the log of a!b!/(a+b+1)!: the probability of a certain order of a things and b others, where each
// share of them is as likely as another. It is Beta(a+1, b+1) in closed form.
func Orders(a, b int) float64 { return Factorial(a) + Factorial(b) - Factorial(a+b+1) }

// Gamma returns the log of the gamma function at x, which is more than 0.
func Gamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// Bits returns the log probability of one bit of n reads, so many of which have a 1, if its share of ones is unknown:
// the Krichevsky-Trofimov estimate.
func Bits(ones, n int) float64 {
	return Gamma(float64(ones)+0.5) + Gamma(float64(n-ones)+0.5) - math.Log(math.Pi) - Factorial(n)
}
