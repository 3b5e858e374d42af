package rank_test

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// TestBitsThatVaryBeforeANumber: a number without prints has something before it that differs on every card, such
// as a sum of its bytes. A format with a version there, that has no check, is not stated. The layouts are drawn; their
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

// TestOneKindAllTheSame: cards of one kind that no simple layout explains are not said to be of two. The first have a
// number of 18 bits, four zeros, and a parity at each end; one print is mistyped, and one read has a bit that is
// wrong. The others have a facility that is the same on all, and a CRC of 8 bits behind it; every bit
// is changed. Both were drawn, and put together by arithmetic.
func TestOneKindAllTheSame(t *testing.T) {
	r, err := rank.New(formats.Builtin())
	require.NoError(t, err)
	for _, site := range []string{
		`bits:0110110011000111111000001=222783 bits:1001010110110001101000000=044229
			bits:1101001101010110010000000=170674 bits:1111111010101101000000000=259432
			bits:1011010001100110101000000=101317`,
		`bits:0000011101000111000100111101010000101011011=0378721
			bits:1000000100011001000011011001010000110001100
			bits:0000011001010000111011001101010000111111010=0882841
			bits:0000010101000000011000110111010000111000110 bits:0000001111111100010100001011010000110110011
			bits:0000011001011001111010110011010000100010111
			bits:0000000001100001011010100101010000100011001=3994797
			bits:0000001000101111100010110101010000110001011
			bits:0000001011110011101111110011010000101111101=2646534
			bits:1000001101110000101111110101010000101011001=2390533
			bits:1000001100001110010101010101010000100010101 bits:0000010111010011010110001101010000101011110`,
	} {
		var cards []formats.Sightings
		for _, text := range strings.Fields(site) {
			card, err := formats.ParseSightings(text)
			require.NoError(t, err)
			cards = append(cards, card)
		}
		kinds, err := r.Kinds(cards)
		require.NoError(t, err)
		require.Less(t, kinds.Probability, 0.9)
	}
}
