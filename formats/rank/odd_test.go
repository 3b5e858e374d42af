package rank_test

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// TestBitsThatVaryBeforeANumber: a number without prints has something before it that is different on every card, such
// as a sum of its bytes. A format with a version there, that has no check, is not stated. The layouts are drawn, and the
// reads are worked out by arithmetic.
func TestBitsThatVaryBeforeANumber(t *testing.T) {
	r, err := rank.New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(42, 1))
	for _, read := range []func(n uint32) string{
		func(n uint32) string { // 40 bits: the sum of the bytes, then the number with each byte's last bit first
			sum, turned := n&255+n>>8&255+n>>16&255+n>>24, bits.ReverseBytes32(bits.Reverse32(n))
			return fmt.Sprintf("%08b%032b", sum&255, turned)
		},
		func(n uint32) string { // 39 bits: anything, two ones, and the number: 40 bits without the first
			return fmt.Sprintf("%05b11%032b", rng.IntN(32), n)
		},
	} {
		var cards []formats.Sightings
		for i := range 12 {
			card, err := formats.ParseSightings("bits:" + read(uint32(18200+9000*(i/4)+i)))
			require.NoError(t, err)
			cards = append(cards, card)
		}
		answer, err := r.Rank(cards)
		require.NoError(t, err)
		for _, c := range answer.Candidates {
			require.False(t, c.Format.ID == "40-8-32" && c.Probability > 0.5, "%v", c.Probability)
		}
	}
}
