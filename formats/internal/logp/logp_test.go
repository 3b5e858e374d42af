package logp

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestSums: sums of logarithms are those of the numbers (arithmetic), also where one is 0 or far below the others.
func TestSums(t *testing.T) {
	for _, c := range [][]float64{{}, {0}, {0.5}, {0.25, 0.5, 0}, {1e-30, 1}, {3e-200, 5e-200, 1e-200}} {
		sum, logs, mix, pairs := 0.0, []float64(nil), NewMix(), Never
		for _, p := range c {
			sum += p
			logs = append(logs, math.Log(p))
			mix.Add(math.Log(p))
			pairs = Add(pairs, math.Log(p))
		}
		for name, got := range map[string]float64{"Sum": Sum(logs), "Mix": mix.Log(), "Add": pairs} {
			if sum == 0 {
				assert.True(t, math.IsInf(got, -1), "%s of %v", name, c)
			} else {
				assert.InDelta(t, math.Log(sum), got, 1e-12, "%s of %v", name, c)
			}
		}
	}
}

// TestCounts: against math/big, also where the table of factorials ends.
func TestCounts(t *testing.T) {
	log := func(x *big.Int) float64 {
		exp := x.BitLen()
		f, _ := new(big.Float).SetMantExp(new(big.Float).SetInt(x), -exp).Float64()
		return math.Log(f) + float64(exp)*math.Ln2
	}
	for _, n := range []int{0, 1, 2, 20, tabled - 1, tabled, 3000} {
		factorial := new(big.Int).MulRange(1, int64(n))
		assert.InDelta(t, log(factorial), Factorial(n), 1e-7, "%d!", n)
		for _, k := range []int{0, n / 3, n} {
			assert.InDelta(t, log(new(big.Int).Binomial(int64(n), int64(k))), Choose(n, k), 1e-7, "%d of %d", k, n)
		}
	}
}

// TestOrders: all orders of n things of two sorts add up to 1 (axioms of probability), and so do all columns of bits.
func TestOrders(t *testing.T) {
	for _, n := range []int{1, 2, 7, 40} {
		orders, columns := 0.0, 0.0
		for k := range n + 1 {
			orders += math.Exp(Choose(n, k) + Orders(k, n-k))
			columns += math.Exp(Choose(n, k) + Bits(k, n))
		}
		assert.InDelta(t, 1, orders, 1e-9, "%d", n)
		assert.InDelta(t, 1, columns, 1e-9, "%d", n)
	}
}
