package learn_test

import (
	"fmt"
	"hash/crc32"
	"math/rand/v2"
	"strings"
	"testing"

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

// TestThousandsOfLayouts: of cards that thousands of layouts fit nothing is said that one of them alone has.
func TestThousandsOfLayouts(t *testing.T) {
	all, err := learn.Learn(thousands(t), formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.Less(t, all[0].Probability, 0.1)
}

// BenchmarkThousandsOfLayouts: they once took half a minute.
func BenchmarkThousandsOfLayouts(b *testing.B) {
	reads := thousands(b)
	for b.Loop() {
		_, err := learn.Learn(reads, formats.Builtin())
		require.NoError(b, err)
	}
}

// thousands returns cards that nearly as many layouts fit as there are.
func thousands(t testing.TB) []learn.Read {
	return given(t, strings.Fields(`11000000100101000110110111000010001 11000000110101000110110111010000000
		11000001000101000110110111011010001 11000001010101000110110111000110000 10010011010101000100001000001000000
		10010011100101000100001000010010000 10010011110101000100001000010010001 10010100000101000100001000010010000
		10001100010101000100000000010100000 10001100100101000100000000000000000 10001100110101000100000000011000001
		10001101000101000100000000011100000`))
}

// given returns reads as they are written on the command line.
func given(t testing.TB, cards []string) (reads []learn.Read) {
	for i, card := range cards {
		text, print, _ := strings.Cut(card, "=")
		read, err := wiegand.ParseBits(text)
		require.NoError(t, err)
		reads = append(reads, learn.Read{Line: i + 1, Bits: read, Printed: print})
	}
	return reads
}

// TestOneKindIsNotTwo: what is odd on some cards of a layout makes them no second kind, and a second kind is one still.
// The layouts are drawn, and their reads are worked out by arithmetic.
func TestOneKindIsNotTwo(t *testing.T) {
	for name, c := range map[string]struct {
		kinds, cards int
		card         func(rng *rand.Rand, i int) string
	}{
		"a print is mistyped so that it begins with 0": {1, 40, func(_ *rand.Rand, i int) string {
			number := 14 + i + i/15*100
			print := fmt.Sprint(number)
			if number == 27 {
				print = "07"
			}
			return fmt.Sprintf("%012b%010b%04b=%s", 0x7dc, number, (number>>6+number>>2+number<<2)&15, print)
		}},
		"two facilities, each with four issues": {1, 40, func(rng *rand.Rand, i int) string {
			facility, number := 564+21*(i%2), 700+rng.IntN(150)+rng.IntN(2)*2700
			text := fmt.Sprintf("%010b%02b%024b", facility, rng.IntN(4), number)
			text += fmt.Sprint(strings.Count(text[18:], "1") % 2)
			if i%2 == i/2%2 {
				text += fmt.Sprintf("=%d,%d", facility, number)
			}
			return text
		}},
		"one digit is misread": {1, 16, func(rng *rand.Rand, i int) string {
			number, wrong, check := rng.IntN(10_000_000), 0, rng.IntN(256)
			if i == 11 {
				number, wrong = 2590736, 4<<16 // 9 becomes 13
			}
			text := fmt.Sprintf("%010b%028b%08b", 301, hex(number)^wrong, check)
			if i%2 == 0 {
				text += fmt.Sprintf("=%d", number)
			}
			return text
		}},
		"digits, the wires swapped": {1, 30, func(_ *rand.Rand, i int) string {
			number := 15 + i%10 + i/10*84
			return fmt.Sprintf("%024b%010b=%d", 0xffffff^hex(number), 301, number)
		}},
		"two layouts": {2, 40, func(rng *rand.Rand, i int) string {
			number := rng.IntN(10_000)
			if i%2 == 0 {
				return fmt.Sprintf("%08b%028b=%d", 77, number, number)
			}
			return fmt.Sprintf("%016b1101%016b=%d", number, 0xbeef, number)
		}},
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(41, 2))
			var cards []string
			for i := range c.cards {
				cards = append(cards, c.card(rng, i))
			}
			all, err := learn.Learn(given(t, cards), formats.Builtin())
			require.NoError(t, err)
			require.Len(t, all, c.kinds)
			if c.kinds == 1 {
				require.Less(t, all[0].Several, 0.5)
			} else {
				require.Greater(t, all[0].Several, 0.99)
			}
		})
	}
}

// TestNumberBeforeCheck: a number in front of bits that are different on every card is found without a print, and not
// surely, since they can be a check.
func TestNumberBeforeCheck(t *testing.T) {
	var cards []string
	for i := range 20 {
		text := fmt.Sprintf("%08b%022b", 1+6*(0xb0d2>>i&1), 1170+i)
		text += fmt.Sprintf("%08b", crc32.ChecksumIEEE([]byte(text))&255)
		first, last := strings.Count(text[:16], "1")%2, 1-strings.Count(text[16:], "1")%2
		cards = append(cards, fmt.Sprint(first)+text+fmt.Sprint(last))
	}
	all, err := learn.Learn(given(t, cards), formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.Equal(t, 31, all[0].Number.Bits[0].To)
	require.Less(t, all[0].Probability, 0.9)
}

// hex returns the number whose digits in hex are those of another one in decimal.
func hex(number int) (code int) {
	for shift := 0; number > 0; shift += 4 {
		code |= number % 10 << shift
		number /= 10
	}
	return code
}
