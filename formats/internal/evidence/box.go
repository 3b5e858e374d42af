package evidence

import "math"

// A box is different numbers out of one run of them, of any size and at any place: each size M is as likely as 1/(M+1)
// has it, so that all scales are alike, and each place is as likely as another, the field's end going on at its
// beginning. Summed over all sizes this telescopes, so that it costs no more than its ends.

// boxLog returns the log probability of n different numbers with so much from the lowest to the highest, out of a box
// anywhere in a field. What lies across the field's end, as numbers at both its ends may, is left out.
func (m *Numbers) boxLog(n int, span uint64) float64 {
	return boxLog(n, span, m.limit, m.logLimit, m.harmonic)
}

func boxLog(n int, span uint64, limit, logLimit, harmonicLimit float64) float64 {
	if n == 1 {
		return -logLimit
	}
	k, s := float64(n), float64(span)
	first := -logFalling(s, n-1) - math.Log(k*(k-1))
	log := first - logLimit - math.Log(harmonicLimit-harmonic(k))
	if s*16 < limit {
		return log
	}
	// Boxes larger than the field are none.
	last := math.Exp(-logFalling(limit, n-1)-math.Log(k-1)-first) - math.Exp(math.Log(s+1)-math.Log(k)-logFalling(limit+1,
		n)-first)
	if last >= 1 {
		return never
	}
	return log + math.Log1p(-last)
}

// countedLog is boxLog for a box that begins with the lowest number of the field, where high is the highest seen.
func (m *Numbers) countedLog(n int, high uint64) float64 {
	first := -logFalling(float64(high)+1, n)
	log := first - math.Log(float64(n)) - math.Log(m.harmonic-harmonic(float64(n)))
	if float64(high)*16 < m.limit && n > 1 {
		return log
	}
	last := math.Exp(-logFalling(m.limit+1, n) - first)
	if last >= 1 {
		return never
	}
	return log + math.Log1p(-last)
}

// harmonics are the first of them.
var harmonics = func() (h [32]float64) {
	for i := 1; i < len(h); i++ {
		h[i] = h[i-1] + 1/float64(i)
	}
	return h
}()

// harmonic returns 1 + 1/2 + … + 1/x.
func harmonic(x float64) float64 {
	if x < 32 {
		return harmonics[int(x)]
	}
	const euler = 0.57721566490153286
	return math.Log(x) + euler + 1/(2*x) - 1/(12*x*x)
}

// logFalling returns the log of x(x-1)…(x-k+1).
func logFalling(x float64, k int) float64 {
	n := float64(k)
	switch {
	case k <= 8:
		p := 1.0
		for i := range k {
			p *= x - float64(i)
		}
		return math.Log(p)
	case x > 64*n*n: // the middle factor stands for all, to nine places
		return n * math.Log(x-(n-1)/2)
	case k <= 64:
		log := 0.0
		for i := range k {
			log += math.Log(x - float64(i))
		}
		return log
	}
	return lgamma(x+1) - lgamma(x-n+1)
}

// box is boxLog without logarithms, for few cards.
func (m *Numbers) box(n int, span uint64) float64 {
	return box(n, span, m.limit, m.harmonic)
}

func box(n int, span uint64, limit, harmonicLimit float64) float64 {
	if n == 1 {
		return 1 / limit
	}
	k, s := float64(n), float64(span)
	p := 1 / (falling(s, n-1) * k * (k - 1))
	if s*16 >= limit {
		p = max(0, p-1/((k-1)*falling(limit, n-1))+(s+1)/(k*falling(limit+1, n)))
	}
	return p / limit / (harmonicLimit - harmonic(k))
}

// harmonicBits are harmonic(2^r+1).
var harmonicBits = func() (h [65]float64) {
	for r := range h {
		h[r] = harmonic(math.Ldexp(1, r) + 1)
	}
	return h
}()

// counted is countedLog without logarithms, for few cards.
func (m *Numbers) counted(n int, high uint64) float64 {
	p := 1 / falling(float64(high)+1, n)
	if float64(high)*16 >= m.limit || n == 1 {
		p = max(0, p-1/falling(m.limit+1, n))
	}
	return p / float64(n) / (m.harmonic - harmonic(float64(n)))
}

// falling returns x(x-1)…(x-k+1).
func falling(x float64, k int) float64 {
	p := 1.0
	for i := range k {
		p *= x - float64(i)
	}
	return p
}

// boxes adds to what halving has of boxes and of numbers that count up what closed forms have, where all numbers are
// different.
func (m *Numbers) boxes(cards int, low, high uint64, different bool, halves, counted float64) (boxes, up float64) {
	switch {
	case float64(cards) > m.limit: // there can't be so many different ones
		return halves, counted
	case !different:
		return halves - math.Ln2, counted - math.Ln2
	}
	return LogAdd(halves, m.boxLog(cards, high-low)) - math.Ln2, LogAdd(counted, m.countedLog(cards, high)) - math.Ln2
}

// allDifferent reports whether no two of the sorted numbers are the same.
func allDifferent(sorted []uint64) bool {
	for i := 1; i < len(sorted); i++ {
		if sorted[i] == sorted[i-1] {
			return false
		}
	}
	return true
}
