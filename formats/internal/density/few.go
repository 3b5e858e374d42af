package density

import (
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Few is how the values of a field are distributed of which a kind of card has one, or few: a facility, an agency, a
// version. Which cards share one follows a Chinese restaurant process of unknown strength; the different ones are drawn
// by themselves, or lie next to one another. Some kinds have strays among them, each with any value. All over all lists
// of values adds up to 1, but for ways to share them out between strays and others that are not looked at.
type Few struct {
	width    int
	even     float64     // probability of one value where each is as likely
	ByLength [65]float64 // probability of one value by its length in bits, which is all that it depends on
	logs     [65]float64 // of base
}

// NewFew makes the model of a field of so many bits (0 to 64) that holds limit values.
func NewFew(width int, limit float64) Few {
	f := Few{width: width, even: 1 / limit}
	sum := 0.0
	for n := range width + 1 {
		count := 1.0
		if n > 0 {
			count = max(0, min(Halved(-n), limit)-Halved(1-n))
		}
		p := judgement.FacilityZero
		if n > 0 || width < 2 {
			p = judgement.FacilityAny/limit + (1-judgement.FacilityByte-judgement.FacilityAny)*byScale(n, width)
			if n <= 8 {
				p += judgement.FacilityByte / max(1, min(255, limit-1))
			}
		}
		f.ByLength[n] = p
		sum += p * count
	}
	for n := range width + 1 {
		f.ByLength[n] /= sum
		f.logs[n] = math.Log(f.ByLength[n])
	}
	return f
}

// byScale is the probability of one value of n bits under a distribution over w bits that gives each length the same
// weight.
func byScale(n, w int) float64 { return Halved(max(n-1, 0)) / float64(w+1) }

// Base returns the probability of one value by itself.
func (f *Few) Base(v uint64) float64 { return f.ByLength[bits.Len64(v)] }

// Log returns the log probability of the values of a kind's cards. They must be sorted.
func (f *Few) Log(sorted []uint64) float64 {
	if len(sorted) == 1 {
		return f.logs[bits.Len64(sorted[0])]
	}
	most := 0
	for i, j := 0, 0; i < len(sorted); i = j {
		j = runEnd(sorted, i)
		most = max(most, j-i)
	}
	if most == len(sorted) { // as nearly all kinds are: there are no strays, or none came
		return noStrays(len(sorted)) + FewLog(sorted, f.Base)
	}
	mix := logp.NewMix()
	mix.Add(math.Log1p(-judgement.Strays) + FewLog(sorted, f.Base))
	thresholds := [...]int{2, 3, most, most + 1} // that all are strays comes last
	strays, log := 0, 0.0
	for _, times := range thresholds {
		if n := rarer(sorted, times); n != strays || strays == 0 { // else it is the same as before
			strays, log = n, f.straysLog(sorted, times, mix.Top-logp.CutOff)
		}
		mix.Add(log - math.Log(float64(len(thresholds))))
	}
	return mix.Log()
}

// noStrays is the log of the probability that none of n cards is a stray.
func noStrays(n int) float64 {
	if n < len(fewNoStrays) {
		return fewNoStrays[n]
	}
	return math.Log1p(-judgement.Strays * (1 - straysShare(0, n)))
}

var fewNoStrays = func() (t [MostLinear + 1]float64) {
	for n := 1; n < len(t); n++ {
		t[n] = math.Log1p(-judgement.Strays * (1 - straysShare(0, n)))
	}
	return t
}()

// rarer returns how many of sorted values are there less than so many times.
func rarer(sorted []uint64, times int) (n int) {
	for i, j := 0, 0; i < len(sorted); i = j {
		if j = runEnd(sorted, i); j-i < times {
			n += j - i
		}
	}
	return n
}

// runEnd returns the index behind those of the values that are the i-th one.
func runEnd(sorted []uint64, i int) int {
	j := i + 1
	for j < len(sorted) && sorted[j] == sorted[i] {
		j++
	}
	return j
}

// straysLog is the log probability of values, if those are strays' that are there less than so many times; what is far
// below least is not worked out.
func (f *Few) straysLog(sorted []uint64, times int, least float64) float64 {
	var few [MostLinear]uint64
	others, log := few[:0], 0.0
	for i, j := 0, 0; i < len(sorted); i = j {
		if j = runEnd(sorted, i); j-i < times {
			log += float64(j-i) * math.Log((f.Base(sorted[i])+f.even)/2)
		} else {
			others = append(others, sorted[i:j]...)
		}
	}
	log += math.Log(judgement.Strays * straysShare(len(sorted)-len(others), len(sorted)))
	if log < least {
		return logp.Never
	}
	return log + FewLog(others, f.Base)
}

// straysShare is the probability that just these k of n cards are strays, where there are any.
func straysShare(k, n int) float64 {
	const rate = judgement.StraysRate
	p := (1 - judgement.StraysAll) * rate * math.Exp(logp.Factorial(k)+logp.Factorial(n-k+rate-1)-logp.Factorial(n+rate))
	if k == n {
		p += judgement.StraysAll
	}
	return p
}

// FewLog returns the log probability of the values of a kind's cards, sorted, of which each is drawn from base.
func FewLog(sorted []uint64, base func(uint64) float64) float64 {
	n := len(sorted)
	switch {
	case n == 0:
		return 0
	case n == 1:
		return math.Log(base(sorted[0]))
	case n > MostLinear:
		return fewMany(sorted, base)
	}
	// With few cards no product is too small for a float64, so that one logarithm does.
	sum := 0.0
	for _, c := range judgement.Concentrations {
		apart, groups, orders := c.Share, c.Share, 1.0
		near, last := 1.0, uint64(0)
		for i, k := 0, 0; i < n; k++ {
			v, j := sorted[i], i
			p := base(v)
			for x := 0.0; j < n && sorted[j] == v; j, x = j+1, x+1 {
				apart *= (c.Strength*p + x) / (c.Strength + float64(j))
				groups *= max(x, 1) / (c.Strength + float64(j))
			}
			groups *= c.Strength
			if k == 0 {
				near = p
			} else {
				near *= neighbourStep(v - last)
			}
			orders *= float64(k + 1)
			last, i = v, j
		}
		sum += (1-judgement.Neighbours)*apart + judgement.Neighbours*groups*near/orders
	}
	return math.Log(sum)
}

// MostLinear is how many cards there are at most for whose probability no logarithms are needed.
const MostLinear = 24

// neighbourStep is the probability that the next facility of an order is d higher: mostly 1.
func neighbourStep(d uint64) float64 {
	if d > 1022 {
		return 0
	}
	return Halved(int(d))
}

// fewMany is few in logarithms.
func fewMany(sorted []uint64, base func(uint64) float64) float64 {
	n := len(sorted)
	mix := logp.NewMix()
	for _, c := range judgement.Concentrations {
		all := LogRising(c.Strength, n)
		apart, groups, near, last, k := -all, -all, 0.0, uint64(0), 0
		for i := 0; i < n; k++ {
			v, j := sorted[i], runEnd(sorted, i)
			p := base(v)
			apart += LogRising(c.Strength*p, j-i)
			groups += math.Log(c.Strength) + logp.Factorial(j-i-1)
			if k == 0 {
				near = math.Log(p)
			} else {
				near += math.Log(neighbourStep(v - last))
			}
			last, i = v, j
		}
		mix.Add(math.Log(c.Share*(1-judgement.Neighbours)) + apart)
		mix.Add(math.Log(c.Share*judgement.Neighbours) + groups + near - logp.Factorial(k))
	}
	return mix.Log()
}

// LogRising returns the log of x(x+1)…(x+n-1).
func LogRising(x float64, n int) float64 {
	if n == 1 {
		return math.Log(x)
	}
	return logp.Gamma(x+float64(n)) - logp.Gamma(x)
}

// Next returns the log probability of one more value, given others.
func (f *Few) Next(v uint64, o *Others) float64 {
	if len(o.Sorted) == 0 {
		return f.logs[bits.Len64(v)]
	}
	log, ok := o.next[v]
	if !ok {
		log = f.Log(o.With(v)) - o.Given(f.Log)
		if o.next == nil {
			o.next = map[uint64]float64{}
		}
		o.next[v] = log
	}
	return log
}
