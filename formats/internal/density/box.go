package density

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/logp"
)

// A box is different numbers out of one run of them, of any size and at any place: each size M is as likely as 1/(M+1)
// has it, so that all scales are alike, and each place is as likely as another, the field's end going on at its
// beginning. Summed over all sizes this telescopes, so that it costs no more than its ends.

// box returns the probability of n different numbers with so much from the lowest to the highest, out of a box anywhere
// in a field of so many values; harmonicLimit is harmonic(limit+1). What lies across the field's end, as numbers at
// both its ends may, is left out.
func box(n int, span uint64, limit, harmonicLimit float64) Wide {
	if n == 1 {
		return Wide{f: 1 / limit}
	}
	k, s := float64(n), float64(span)
	p := One.Scale(1 / (k * (k - 1))).div(falling(s, n-1))
	if s*16 >= limit { // boxes larger than the field are none
		p = p.Add(falling(limit+1, n).inverse().Scale((s + 1) / k)).sub(falling(limit, n-1).inverse().Scale(1 / (k - 1)))
	}
	return p.Scale(1 / limit / (harmonicLimit - harmonic(k)))
}

// counted is box for a box that begins with the lowest of so many values, where high is the highest seen.
func counted(n int, high uint64, limit, harmonicLimit float64) Wide {
	p := falling(float64(high)+1, n).inverse()
	if float64(high)*16 >= limit || n == 1 {
		p = p.sub(falling(limit+1, n).inverse())
	}
	k := float64(n)
	return p.Scale(1 / k / (harmonicLimit - harmonic(k)))
}

// HarmonicBits are harmonic(2^r+1).
var HarmonicBits = func() (h [65]float64) {
	for r := range h {
		h[r] = harmonic(math.Ldexp(1, r) + 1)
	}
	return h
}()

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

// falling returns x(x-1)…(x-k+1).
func falling(x float64, k int) Wide {
	n := float64(k)
	switch {
	case k <= 64:
		p := One
		for i := range k {
			if p.f *= x - float64(i); p.f > 0x1p256 {
				p = p.norm()
			}
		}
		return p
	case x > 64*n*n: // the middle factor stands for all, to nine places
		return wideOf(n * math.Log(x-(n-1)/2))
	}
	return wideOf(logp.Gamma(x+1) - logp.Gamma(x-n+1))
}

// AllDifferent reports whether no two of the sorted numbers are the same.
func AllDifferent(sorted []uint64) bool {
	for i := 1; i < len(sorted); i++ {
		if sorted[i] == sorted[i-1] {
			return false
		}
	}
	return true
}
