package learn_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// TestSumIsNotTakenForData: where bits behind the number are different on every card they can be a check that is not
// looked for, such as a sum of bytes, and what the layout makes of another number is not known. Cards without them are
// learned. The layouts are drawn, and their reads are worked out by arithmetic.
func TestSumIsNotTakenForData(t *testing.T) {
	for _, summed := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(41, 1))
		var reads []learn.Read
		for i := range 20 {
			number := rng.Uint64N(1 << 24)
			text := fmt.Sprintf("%024b", number)
			if summed {
				text += fmt.Sprintf("%08b", (number>>16+number>>8+number)&255)
			} else {
				text += "01101001"
			}
			text = fmt.Sprint(strings.Count(text[:16], "1")%2) + text + fmt.Sprint(1-strings.Count(text[16:], "1")%2)
			read, err := wiegand.ParseBits(text)
			require.NoError(t, err)
			reads = append(reads, learn.Read{Line: i + 1, Bits: read, Printed: fmt.Sprint(number)})
		}
		all, err := learn.Learn(reads, formats.Builtin())
		require.NoError(t, err)
		require.Len(t, all, 1)
		require.Equal(t, "2-25", all[0].Number.Bits.String())
		if summed {
			require.Less(t, all[0].Probability, 0.9)
		} else {
			require.Greater(t, all[0].Probability, 0.99)
		}
	}
}

// TestThousandsOfLayouts: cards that nearly as many layouts fit as there are take no longer than others.
func TestThousandsOfLayouts(t *testing.T) {
	var reads []learn.Read
	for i, text := range strings.Fields(`11000000100101000110110111000010001 11000000110101000110110111010000000
		11000001000101000110110111011010001 11000001010101000110110111000110000 10010011010101000100001000001000000
		10010011100101000100001000010010000 10010011110101000100001000010010001 10010100000101000100001000010010000
		10001100010101000100000000010100000 10001100100101000100000000000000000 10001100110101000100000000011000001
		10001101000101000100000000011100000`) {
		read, err := wiegand.ParseBits(text)
		require.NoError(t, err)
		reads = append(reads, learn.Read{Line: i + 1, Bits: read})
	}
	begin := time.Now()
	all, err := learn.Learn(reads, formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.Less(t, all[0].Probability, 0.1)
	require.Less(t, time.Since(begin), 5*time.Second, "it took half a minute")
}
