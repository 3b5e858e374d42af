package density

import "math"

// Wide is a probability of any size, f·2^x, so that products of thousands of small ones need no logarithms. f is 0 or
// from 2^-step to 2^step, and x a multiple of step.
type Wide struct {
	f float64
	x int
}

// step is far from where a float64 ends, so that two in bounds can be multiplied.
const step = 256

// One is 1.
var One = Wide{f: 1}

// norm brings a product of two in bounds into bounds.
func (a Wide) norm() Wide {
	switch {
	case a.f == 0:
		return Wide{}
	case a.f < 0x1p-256:
		return Wide{a.f * 0x1p256, a.x - step}
	case a.f > 0x1p256:
		return Wide{a.f * 0x1p-256, a.x + step}
	}
	return a
}

func (a Wide) mul(b Wide) Wide { return Wide{a.f * b.f, a.x + b.x}.norm() }

func (a Wide) div(b Wide) Wide { return Wide{a.f / b.f, a.x - b.x}.norm() }

// inverse returns 1/a.
func (a Wide) inverse() Wide { return One.div(a) }

// Scale multiplies with a plain number in bounds.
func (a Wide) Scale(k float64) Wide { return Wide{a.f * k, a.x}.norm() }

// Add returns a+b.
func (a Wide) Add(b Wide) Wide {
	switch {
	case a.x == b.x:
		return Wide{a.f + b.f, a.x}
	case a.f == 0 || b.f != 0 && b.x > a.x:
		a, b = b, a
	}
	for d := a.x - b.x; d > 0 && b.f != 0; d -= step {
		b.f *= 0x1p-256 // at last it is 0
	}
	return Wide{a.f + b.f, a.x}
}

// sub is a less b, and not less than 0.
func (a Wide) sub(b Wide) Wide {
	b.f = -b.f
	if d := a.Add(b); d.f > 0 {
		return d.norm()
	}
	return Wide{}
}

// Power returns 2^-k.
func Power(k int) Wide { return Wide{Halved(k % step), -(k - k%step)} }

// Halved returns 2^-k, for k from -1023 to 1022.
func Halved(k int) float64 { return math.Float64frombits(uint64(1023-k) << 52) }

// wideOf returns the number that has a logarithm.
func wideOf(log float64) Wide {
	k := math.Floor(log / (step * math.Ln2))
	return Wide{math.Exp(log - k*step*math.Ln2), int(k) * step}
}

// Log returns the natural logarithm.
func (a Wide) Log() float64 { return math.Log(a.f) + float64(a.x)*math.Ln2 }
