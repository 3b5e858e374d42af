package undocumented

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// TestNumbersEitherWay: the numbers in a run of bits weigh the same where learn adds them up bit by bit and where a
// format has them (algebra).
func TestNumbersEitherWay(t *testing.T) {
	rng := rand.New(rand.NewPCG(20261127, 1))
	for _, n := range []int{2, 5, 24, 60} {
		for range 50 {
			var reads []wiegand.Bits
			for i := range n {
				box := uint64(i%2) * (rng.Uint64N(1<<20) << 10)
				b, err := wiegand.BitsFromUint(5<<34|3<<31|(box+rng.Uint64N(64*uint64(n)))<<1&(1<<31-1), 37)
				require.NoError(t, err)
				if !slices.Contains(reads, b) {
					reads = append(reads, b)
				}
			}
			d := newData(NewSample(reads, make([][]typing.Seen, len(reads))))
			from := 1 + rng.IntN(20)
			d.read(from, 36)
			numbers := &density.PlainNumbers[36-from]
			want := numbers.OrSteps(numbers.Log(slices.Clone(d.vals)), density.StepsOf(d.vals))
			assert.InDelta(t, want, d.run(from, 36), 1e-6, "bits %d to 36 of %v", from, reads)
		}
	}
}

// TestSomeReadsByBit: of some reads of many, each bit by itself weighs what it does in a sample of these alone.
func TestSomeReadsByBit(t *testing.T) {
	rng := rand.New(rand.NewPCG(20261130, 1))
	var reads []wiegand.Bits
	for range 600 {
		high, err := wiegand.BitsFromUint(rng.Uint64N(1<<36), 36)
		require.NoError(t, err)
		low, err := wiegand.BitsFromUint(rng.Uint64(), 64)
		require.NoError(t, err)
		b, err := high.Concat(low)
		require.NoError(t, err)
		reads = append(reads, b)
	}
	some := newData(NewSample(reads, make([][]typing.Seen, len(reads)))).some()
	require.NotNil(t, some)
	var chosen []wiegand.Bits
	for _, b := range reads {
		if slices.Contains(some.words, b.Words()) {
			chosen = append(chosen, b)
		}
	}
	alone := newData(NewSample(chosen, make([][]typing.Seen, len(chosen))))
	assert.InDelta(t, alone.bitwise(0, 100), some.bitwise(0, 100), 1e-9)
	assert.InDelta(t, alone.bitwise(7, 71), some.bitwise(7, 71), 1e-9)
}
