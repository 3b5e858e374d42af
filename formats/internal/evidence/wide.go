package evidence

import "math"

// wide is a probability of any size, f·2^x, so that products of thousands of small ones need no logarithms. f is 0 or
// from 2^-step to 2^step, and x a multiple of step.
type wide struct {
	f float64
	x int
}

// step is far from where a float64 ends, so that two in bounds can be multiplied.
const step = 256

var one = wide{f: 1}

// norm brings a product of two in bounds into bounds.
func (a wide) norm() wide {
	switch {
	case a.f == 0:
		return wide{}
	case a.f < 0x1p-256:
		return wide{a.f * 0x1p256, a.x - step}
	case a.f > 0x1p256:
		return wide{a.f * 0x1p-256, a.x + step}
	}
	return a
}

func (a wide) mul(b wide) wide { return wide{a.f * b.f, a.x + b.x}.norm() }

func (a wide) div(b wide) wide { return wide{a.f / b.f, a.x - b.x}.norm() }

// inverse returns 1/a.
func (a wide) inverse() wide { return one.div(a) }

// scale multiplies with a plain number in bounds.
func (a wide) scale(k float64) wide { return wide{a.f * k, a.x}.norm() }

func (a wide) add(b wide) wide {
	switch {
	case a.x == b.x:
		return wide{a.f + b.f, a.x}
	case a.f == 0 || b.f != 0 && b.x > a.x:
		a, b = b, a
	}
	for d := a.x - b.x; d > 0 && b.f != 0; d -= step {
		b.f *= 0x1p-256 // at last it is 0
	}
	return wide{a.f + b.f, a.x}
}

// sub is a less b, and not less than 0.
func (a wide) sub(b wide) wide {
	b.f = -b.f
	if d := a.add(b); d.f > 0 {
		return d.norm()
	}
	return wide{}
}

// power returns 2^-k.
func power(k int) wide { return wide{halved(k % step), -(k - k%step)} }

// halved returns 2^-k, for k from -1023 to 1022.
func halved(k int) float64 { return math.Float64frombits(uint64(1023-k) << 52) }

// wideOf returns the number that has a logarithm.
func wideOf(log float64) wide {
	k := math.Floor(log / (step * math.Ln2))
	return wide{math.Exp(log - k*step*math.Ln2), int(k) * step}
}

func (a wide) log() float64 { return math.Log(a.f) + float64(a.x)*math.Ln2 }
