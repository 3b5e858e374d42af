package evidence

import "math"

// All probabilities of this package are natural logarithms unless a name says otherwise.

var never = math.Inf(-1)

// LogAdd returns log(e^a + e^b).
func LogAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) || a-b > 40 {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// LogSum returns the log of the sum of the numbers whose logs are given.
func LogSum(logs []float64) float64 {
	top := never
	for _, l := range logs {
		top = max(top, l)
	}
	if math.IsInf(top, -1) {
		return never
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return top + math.Log(sum)
}

// LogMix adds up as many terms as come, each a log.
type logMix struct{ top, sum float64 }

func newMix() logMix { return logMix{top: never} }

func (m *logMix) add(l float64) {
	switch {
	case l < m.top-cutOff || math.IsInf(l, -1):
	case l <= m.top:
		m.sum += math.Exp(l - m.top)
	default:
		m.sum = m.sum*math.Exp(m.top-l) + 1
		m.top = l
	}
}

func (m *logMix) log() float64 {
	if m.sum == 0 {
		return never
	}
	return m.top + math.Log(m.sum)
}

// tabled is how many factorials are kept: of more cards, math.Lgamma says it.
const tabled = 1024

var logFactorials = func() (t [tabled]float64) {
	for i := 2; i < tabled; i++ {
		t[i] = t[i-1] + math.Log(float64(i))
	}
	return t
}()

func logFactorial(n int) float64 {
	if n < tabled {
		return logFactorials[n]
	}
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}

// logChoose returns the log of the number of ways to take k of n.
func logChoose(n, k int) float64 { return logFactorial(n) - logFactorial(k) - logFactorial(n-k) }

// logOrders returns the log of a!b!/(a+b+1)!: the probability of a certain order of a things and b others, where each
// share of them is as likely as another. It is Beta(a+1, b+1) in closed form.
func logOrders(a, b int) float64 { return logFactorial(a) + logFactorial(b) - logFactorial(a+b+1) }

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// cutOff is how much less likely, as a log, something is that need not be added.
const cutOff = 40

// bitsLog returns the log probability of one bit of n reads, so many of which have a 1, if its share of ones is
// unknown: the Krichevsky-Trofimov estimate.
func bitsLog(ones, n int) float64 {
	return lgamma(float64(ones)+0.5) + lgamma(float64(n-ones)+0.5) - math.Log(math.Pi) - logFactorial(n)
}
