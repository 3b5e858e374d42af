package learn

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// randomSample draws reads of n bits, with a few columns that are sums of others.
func randomSample(rng *rand.Rand, n, reads int) *sample {
	var all []Read
	seen := map[uint64]bool{}
	for len(all) < reads {
		v := rng.Uint64N(1 << n)
		v = v&^1 | v>>1&1 ^ v>>3&1 // the last bit is the sum of two others
		if seen[v] {
			return randomSample(rng, n, len(all)) // as many as there are
		}
		seen[v] = true
		b, err := wiegand.BitsFromUint(v, n)
		if err != nil {
			panic(err)
		}
		all = append(all, Read{Line: len(all) + 1, Bits: b})
	}
	return newSample(all, make([]printed, len(all)))
}

// maskFrom returns the set of bits that the bits of x name.
func maskFrom(x uint64, n int) mask {
	var m mask
	for i := range n {
		if x>>uint(i)&1 == 1 {
			m.add(i)
		}
	}
	return m
}

// TestNullSpace holds elimination against trying all sets of bits.
func TestNullSpace(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 300 {
		n := 3 + rng.IntN(8)
		s := randomSample(rng, n, 1+rng.IntN(8))
		b := newBasis(s)
		holds := func(m mask) bool {
			for _, w := range s.words {
				if w.and(m).parity() != s.words[0].and(m).parity() {
					return false
				}
			}
			return true
		}
		count := 0
		for x := range uint64(1) << n {
			if holds(maskFrom(x, n)) {
				count++
			}
		}
		require.Equal(t, 1<<(n-b.rank()), count, "sets of bits with the same parity in all reads")
	}
}

// TestSolve: what elimination says a bit is the sum of, it is; and where it says there is nothing, there is not.
func TestSolve(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for range 300 {
		n := 3 + rng.IntN(7)
		s := randomSample(rng, n, 1+rng.IntN(8))
		b := newBasis(s)
		p := rng.IntN(n)
		from := maskFrom(rng.Uint64N(1<<n), n)
		from.drop(p)
		set, unique, ok := b.solve(p, from)
		solutions := 0
		for x := range uint64(1) << n {
			m := maskFrom(x, n)
			if m.without(from).empty() && sums(s, m, p) {
				solutions++
			}
		}
		require.Equal(t, ok, solutions > 0)
		if ok {
			require.True(t, sums(s, set, p))
			require.Equal(t, unique, solutions == 1)
		}
	}
}

// sums reports whether bit p is the sum of the bits of m in every read, up to a constant.
func sums(s *sample, m mask, p int) bool {
	m.add(p)
	for _, w := range s.words {
		if w.and(m).parity() != s.words[0].and(m).parity() {
			return false
		}
	}
	return true
}

// TestShares: the shares of each family of patterns add up to 1, and no pattern leaves the read.
func TestShares(t *testing.T) {
	for _, n := range []int{1, 2, 5, 26, 64, 200} {
		sum := map[family]float64{}
		for _, p := range patterns(n) {
			sum[p.family] += p.share
			require.True(t, p.over.without(span(0, n-1)).empty(), "%d bits: %v", n, p.spans)
			require.False(t, p.over.empty())
		}
		for f, s := range sum {
			require.InDelta(t, 1, s, 1e-9, "%d bits, family %d", n, f)
		}
	}
	total := 0.0
	for _, p := range familyPrior {
		total += p
	}
	require.InDelta(t, 1, total, 1e-9)
}
