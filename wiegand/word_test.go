package wiegand

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Reads of up to 64 bits have ways of their own. At every length around one word they are held to the same on strings
// of 0s and 1s, which is the slow twin's way, and their hex to math/big.
func TestBitsAroundOneWord(t *testing.T) {
	rng := rand.New(rand.NewPCG(64, 1))
	for length := range 70 {
		for range 12 {
			s := randomRead(rng, length)
			b := bitsOf(s)
			from := rng.IntN(length + 1)
			to := from + rng.IntN(length+1-from)
			assert.Equal(t, bitsOf(s[from:to]), b.Slice(from, to), "%s from %d to %d", s, from, to)
			assert.Equal(t, Bits{}, b.Slice(0, 0))
			assert.Equal(t, bitsOf(strings.NewReplacer("0", "1", "1", "0").Replace(s)), b.Invert())
			turned := []byte(s)
			slices.Reverse(turned)
			assert.Equal(t, bitsOf(string(turned)), b.Reverse())
			assert.Equal(t, strings.Count(s, "1"), b.OnesCount())
			end := randomRead(rng, rng.IntN(70))
			both, err := b.Concat(bitsOf(end))
			require.NoError(t, err)
			assert.Equal(t, bitsOf(s+end), both)
			longer, _ := b.Insert(from, 1)
			assert.Equal(t, bitsOf(s[:from]+"1"+s[from:]), longer)
			shorter, _ := longer.Delete(from)
			assert.Equal(t, b, shorter, "%s without what was put in at %d", s, from)
			hexAgrees(t, b, s)
		}
	}
}

// hexAgrees writes a read in hex and reads it back, and what needs a bit more.
func hexAgrees(t *testing.T, b Bits, s string) {
	v, _ := new(big.Int).SetString("0"+s, 2)
	digits := fmt.Sprintf("%0*X", (len(s)+3)/4, v)
	if s == "" {
		digits = ""
	}
	assert.Equal(t, digits, string(b.AppendHex(nil)))
	back, err := ParseBits(fmt.Sprintf("%d:00%s", len(s), digits))
	require.NoError(t, err)
	assert.Equal(t, b, back)
	over := new(big.Int).SetBit(v, len(s), 1)
	_, err = ParseBits(fmt.Sprintf("%d:%X", len(s), over))
	assert.ErrorIs(t, err, ErrRange, "%X in %d bits", over, len(s))
}

func bitsOf(text string) Bits { return MustParseBits("bits:" + text) }
