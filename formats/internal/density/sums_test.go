package density

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats/internal/judgement"
)

// lists calls use with every list of n values from 0 to limit-1, sorted, once for each order.
func lists(limit, n int, use func(sorted []uint64)) {
	list, sorted := make([]uint64, n), make([]uint64, n)
	var fill func(i int)
	fill = func(i int) {
		if i == n {
			copy(sorted, list)
			slices.Sort(sorted)
			use(sorted)
			return
		}
		for v := range limit {
			list[i] = uint64(v)
			fill(i + 1)
		}
	}
	fill(0)
}

// TestAddsUp: the probabilities of all lists of values add up to 1 (axioms of probability).
func TestAddsUp(t *testing.T) {
	for _, c := range []struct{ width, limit, n int }{{3, 8, 1}, {3, 8, 3}, {4, 16, 3}, {4, 10, 3}, {5, 32, 2}, {2, 4, 5},
		{1, 2, 6}, {4, 10, 1}, {0, 1, 2}} {
		numbers, fews := NewNumbers(c.width, float64(c.limit), judgement.NumbersSpread), NewFew(c.width, float64(c.limit))
		sum, sumFew, sumShort, sumMany := 0.0, 0.0, 0.0, 0.0
		lists(c.limit, c.n, func(sorted []uint64) {
			log := numbers.Log(sorted)
			sum += math.Exp(log)
			long := numbers.log(&Halving{Limit: numbers.limit, Whole: numbers.whole, Different: AllDifferent(sorted),
				Sorted: sorted})
			assert.InDelta(t, long, log, 1e-9, "%v of %+v by halving, as one number is not", sorted, c)
			sumFew += math.Exp(fews.Log(sorted))
			sumShort += math.Exp(FewLog(sorted, fews.Base))
			sumMany += math.Exp(fewMany(sorted, fews.Base))
		})
		// What lies across the field's end is lost of one box: some percent where there are three cards in a field of
		// 8, nothing to speak of in fields that cards have.
		assert.LessOrEqual(t, sum, 1+1e-9, "numbers %+v", c)
		assert.Greater(t, sum, 0.91, "numbers %+v", c)
		assert.InDelta(t, sumMany, sumShort, 1e-9, "few %+v, in two ways", c)
		assert.LessOrEqual(t, sumFew, 1+1e-9, "few %+v", c)
		assert.Greater(t, sumFew, 0.9, "few %+v", c) // neighbours beyond the field's end are lost
	}
}

func BenchmarkNumbers(b *testing.B) {
	n, f := NewNumbers(16, 65536, judgement.NumbersSpread), NewFew(8, 256)
	five := []uint64{17, 43, 212, 318, 402}
	b.Run("numbers-5", func(b *testing.B) {
		for b.Loop() {
			n.Log(five)
		}
	})
	fac := []uint64{121, 121, 121, 121, 121}
	b.Run("few-5", func(b *testing.B) {
		for b.Loop() {
			f.Log(fac)
		}
	})
}

// TestOneMore: one more number given others is what all of them come to, less the others (law of conditional
// probability), whether it is one of them or new, in a field of bits or of decimal digits.
func TestOneMore(t *testing.T) {
	rng := rand.New(rand.NewPCG(20261127, 2))
	bits, digits := NewNumbers(24, 1<<24, judgement.NumbersSpread), NewNumbers(20, 1e6, judgement.NumbersSpread)
	for _, n := range []Numbers{bits, digits} {
		var o Others
		for range 200 {
			o.Sorted = append(o.Sorted, 7000+rng.Uint64N(600)+rng.Uint64N(2)*400_000)
		}
		slices.Sort(o.Sorted)
		for range 2 {
			for range 100 {
				v := rng.Uint64N(1e6)
				if rng.IntN(2) == 0 {
					v = o.Sorted[rng.IntN(len(o.Sorted))]
				}
				all := slices.Sorted(slices.Values(append(slices.Clone(o.Sorted), v)))
				assert.InDelta(t, n.Log(all)-n.Log(o.Sorted), n.Next(v, &o), 1e-9, "%d after %v", v, o.Sorted)
			}
			sorted := slices.Compact(slices.Clone(o.Sorted)) // now all different
			o.Reset()
			o.Sorted = append(o.Sorted, sorted...)
		}
	}
}

// TestSteps: numbers in equal steps are likelier than numbers next to those, and over all lists of five they add up to
// no more than 1 (axioms of probability).
func TestSteps(t *testing.T) {
	n := NewNumbers(16, 1<<16, judgement.NumbersSpread)
	log := func(sorted ...uint64) float64 { return n.OrSteps(n.Log(sorted), StepsOf(sorted)) }
	assert.Greater(t, log(2003, 2010, 2017, 2024, 2031, 2038, 2045), log(2003, 2010, 2018, 2023, 2031, 2038, 2045)+1)
	assert.Greater(t, log(2003, 2010, 2017, 2024, 2031, 2038, 50000), log(2003, 2010, 2017, 2025, 2030, 2038, 50000))
	// By tens, of which every second was given out or so: each costs what it does among ten times fewer values.
	some := []uint64{40540, 40560, 40570, 40610, 40640, 40650, 40690, 40720, 40730, 40780}
	assert.InDelta(t, 10*math.Log(10), log(some...)-n.Log(some), 10)
	o := Others{Sorted: some}
	assert.Greater(t, n.NextOrSteps(40600, &o)-n.NextOrSteps(40601, &o), math.Log(10))
	assert.InDelta(t, log(append(slices.Clone(some), 40790)...)-log(some...), n.NextOrSteps(40790, &o), 1e-9)
	o.Take(40600)
	assert.InDelta(t, log(append(slices.Clone(o.Sorted), 40790)...)-log(o.Sorted...), n.NextOrSteps(40790, &o), 1e-9)
	small, sum := NewNumbers(3, 8, judgement.NumbersSpread), 0.0
	lists(8, 5, func(sorted []uint64) { sum += math.Exp(small.OrSteps(small.Log(sorted), StepsOf(sorted))) })
	assert.LessOrEqual(t, sum, 1+1e-9)
}
