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
