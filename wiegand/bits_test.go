package wiegand

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The reference for every method is the same read as a string of the characters 0 and 1, worked on with the standard
// library's strings and math/big. rapid prints the seed of a failure and how to replay it.

// drawWord draws a word. What rapid draws is mostly small, which is good for lengths and for leading zeros; inverted
// and spread out it makes the other reads.
func drawWord(t *rapid.T, label string) uint64 {
	v := rapid.Uint64().Draw(t, label)
	switch rapid.IntRange(0, 2).Draw(t, label+" spread") {
	case 1:
		return ^v
	case 2:
		return v * 0x9E3779B97F4A7C15 // an odd number near 2^64 divided by the golden ratio
	}
	return v
}

// drawBits draws a read of 0 to 256 bits, and the same as characters. Small lengths, whole bytes and the ends of words
// come often.
func drawBits(t *rapid.T, label string) (Bits, string) {
	var n int
	switch rapid.IntRange(0, 3).Draw(t, label+" kind of length") {
	case 0:
		n = rapid.IntRange(0, MaxBits).Draw(t, label+" length")
	case 1:
		n = drawIndex(t, label+" length", MaxBits+1)
	case 2:
		n = 8 * drawIndex(t, label+" bytes", MaxBits/8+1)
	default:
		n = rapid.SampledFrom([]int{63, 64, 65, 127, 128, 129, 191, 192, 193, 255, 256}).Draw(t, label+" length")
	}
	var w [4]uint64
	for i := range w {
		w[i] = drawWord(t, label+" word")
	}
	return BitsFromWords(w, n), fmt.Sprintf("%064b%064b%064b%064b", w[0], w[1], w[2], w[3])[:n]
}

// drawIndex draws a number from 0 to n-1, all of them as often as one another.
func drawIndex(t *rapid.T, label string, n int) int {
	return int(rapid.Uint64().Draw(t, label) * 0x9E3779B97F4A7C15 >> 32 % uint64(n))
}

// value returns the number that characters spell; 0 for none.
func value(s string) *big.Int {
	v, _ := new(big.Int).SetString("0"+s, 2)
	return v
}

func reversed(s string) string {
	b := []byte(s)
	slices.Reverse(b)
	return string(b)
}

var inverter = strings.NewReplacer("0", "1", "1", "0")

func TestBitsSingle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		n := len(s)
		require.Equal(t, n, b.Len())
		require.Equal(t, s, b.String())
		require.Equal(t, strings.Count(s, "1"), b.OnesCount())
		require.Equal(t, len(s)-len(strings.TrimLeft(s, "0")), b.LeadingZeros())
		require.Equal(t, len(s)-len(strings.TrimRight(s, "0")), b.TrailingZeros())
		for i, c := range s {
			require.Equal(t, uint(c-'0'), b.Bit(i), i)
		}
		require.Zero(t, b.Bit(-1))
		require.Zero(t, b.Bit(n))
		require.Equal(t, b, BitsFromWords(b.Words(), n), "words are the bits from the left, and back")
		require.Equal(t, b, MustParseBits(s), "equal reads are == however they were made")

		v, ok := b.Uint64()
		require.Equal(t, value(s).IsUint64(), ok)
		if ok {
			require.Equal(t, value(s).Uint64(), v)
			back, err := BitsFromUint(v, n)
			require.NoError(t, err)
			require.Equal(t, b, back)
		}
	})
}

func TestBitsChangedCopies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		n := len(s)
		i := drawIndex(t, "i", n+5) - 2
		v := rapid.UintRange(0, 3).Draw(t, "v") // only the lowest bit counts
		c := string(rune('0' + v&1))

		within := i >= 0 && i < n
		want := s
		if within {
			want = s[:i] + c + s[i+1:]
		}
		require.Equal(t, MustParseBits(want), b.WithBit(i, v)) // == sees a bit behind the end, which String does not

		got, ok := b.Delete(i)
		require.Equal(t, within, ok)
		want = s
		if within {
			want = s[:i] + s[i+1:]
		}
		require.Equal(t, MustParseBits(want), got)

		got, ok = b.Insert(i, v)
		want = s
		if fits := i >= 0 && i <= n && n < MaxBits; fits {
			require.True(t, ok)
			want = s[:i] + c + s[i:]
		} else {
			require.False(t, ok)
		}
		require.Equal(t, MustParseBits(want), got)

		got, ok = b.Append(v)
		require.Equal(t, n < MaxBits, ok)
		want = s
		if ok {
			want += c
		}
		require.Equal(t, MustParseBits(want), got)
		require.Equal(t, s, b.String(), "the read itself never changes")
	})
}

func TestBitsSliceAndConcat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		c, u := drawBits(t, "c")
		from := rapid.IntRange(-3, MaxBits+3).Draw(t, "from")
		to := rapid.IntRange(-3, MaxBits+3).Draw(t, "to")
		lo := max(0, min(from, len(s)))
		hi := max(lo, min(to, len(s)))
		require.Equal(t, MustParseBits(s[lo:hi]), b.Slice(from, to))

		got, err := b.Concat(c)
		if len(s)+len(u) > MaxBits {
			require.ErrorIs(t, err, ErrRange)
			require.Zero(t, got)
			return
		}
		require.NoError(t, err)
		require.Equal(t, MustParseBits(s+u), got)
		require.Equal(t, b, got.Slice(0, len(s)))
		require.Equal(t, c, got.Slice(len(s), len(s)+len(u)))
	})
}

func TestBitsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		require.Equal(t, MustParseBits(inverter.Replace(s)), b.Invert())
		require.Equal(t, b, b.Invert().Invert())
		require.Equal(t, MustParseBits(reversed(s)), b.Reverse())
		require.Equal(t, b, b.Reverse().Reverse())

		got, err := b.ReverseBytes()
		if len(s)%8 != 0 {
			require.ErrorIs(t, err, ErrLength)
			return
		}
		require.NoError(t, err)
		want := ""
		for i := 0; i < len(s); i += 8 {
			want = s[i:i+8] + want
		}
		require.Equal(t, MustParseBits(want), got)
	})
}

// One bit at every place of the longest read, and its neighbours: nothing is lost or found where words meet. There is
// no bit before the first, nor after the last.
func TestBitsAtEveryPlace(t *testing.T) {
	zeros := strings.Repeat("0", MaxBits)
	stripes := MustParseBits("bits:" + strings.Repeat("10", MaxBits/2))
	for i := range MaxBits {
		s := zeros[:i] + "1" + zeros[i+1:]
		b := MustParseBits("bits:" + s)
		require.Equal(t, i, b.LeadingZeros())
		require.Equal(t, i, BitsFromWords([4]uint64{}, i).LeadingZeros(), "where all are 0")
		require.Equal(t, uint(1), b.Bit(i))
		require.Zero(t, b.Bit(i-1))
		require.Zero(t, b.Bit(i+1))
		_, ok := b.Uint64()
		require.Equal(t, i >= MaxBits-64, ok, "a number of %d bits", MaxBits-i)
		back, err := b.ReverseBytes()
		require.NoError(t, err)
		require.Equal(t, uint(1), back.Bit(MaxBits-8-i/8*8+i%8))
		require.Equal(t, MustParseBits(b.Hex()), b)
		require.Equal(t, MustParseBits(fmt.Sprintf("left:256:%X", b.AppendBytesLeft(nil))), b)

		less, ok := b.Delete(i)
		require.True(t, ok)
		require.Equal(t, MustParseBits("bits:"+zeros[1:]), less)
		more, ok := less.Insert(i, 1)
		require.True(t, ok)
		require.Equal(t, b, more)
		less, _ = stripes.Delete(i)
		more, _ = less.Insert(i, stripes.Bit(i))
		require.Equal(t, stripes, more, i)
	}
	full := MustParseBits("bits:" + inverter.Replace(zeros))
	for _, i := range []int{math.MinInt, -1, MaxBits, math.MaxInt} {
		require.Zero(t, full.Bit(i), i)
		require.Equal(t, full, full.WithBit(i, 0), i)
		got, ok := full.Delete(i)
		require.False(t, ok)
		require.Equal(t, full, got, i)
		short := full.Slice(0, 100)
		got, ok = short.Insert(i, 0)
		require.False(t, ok)
		require.Equal(t, short, got, i)
	}
	got, ok := full.Append(0)
	require.False(t, ok)
	require.Equal(t, full, got)
	got, err := full.Slice(0, 56).Concat(full.Slice(0, 200))
	require.NoError(t, err)
	require.Equal(t, full, got)
}

func TestBitsCompare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		c, u := drawBits(t, "c")
		if rapid.Bool().Draw(t, "same length") {
			n := min(len(s), len(u))
			b, s, c, u = b.Slice(0, n), s[:n], c.Slice(0, n), u[:n]
		}
		want := 0
		switch {
		case len(s) < len(u):
			want = -1
		case len(s) > len(u):
			want = 1
		default:
			want = value(s).Cmp(value(u))
		}
		require.Equal(t, want, b.Compare(c))
		require.Equal(t, -want, c.Compare(b))
		require.Equal(t, want == 0, b == c)
	})
}

func TestBitsBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		n := len(s)
		size := (n + 7) / 8
		right := value(s).FillBytes(make([]byte, size))
		left := value(s + strings.Repeat("0", 8*size-n)).FillBytes(make([]byte, size))
		require.Equal(t, right, b.AppendBytesRight([]byte{}))
		require.Equal(t, left, b.AppendBytesLeft([]byte{}))

		got, err := BitsFromRight(append(make([]byte, 40), right...), n) // zeros before do not matter
		require.NoError(t, err)
		require.Equal(t, b, got)
		got, err = BitsFromLeft(append(left, make([]byte, 40)...), n) // nor after
		require.NoError(t, err)
		require.Equal(t, b, got)

		if n > 0 {
			_, err = BitsFromRight(right[:size-1], n)
			require.ErrorIs(t, err, ErrLength)
			_, err = BitsFromLeft(left[:size-1], n)
			require.ErrorIs(t, err, ErrLength)
		}
		if n > 0 && s[0] == '1' {
			_, err = BitsFromRight(right, n-1)
			require.ErrorIs(t, err, ErrRange)
		}
		if n > 0 && s[n-1] == '1' {
			_, err = BitsFromLeft(left, n-1)
			require.ErrorIs(t, err, ErrRange)
		}
	})
}

func TestBitsFromOutOfRange(t *testing.T) {
	for _, n := range []int{-1, 257, 1 << 20} {
		_, err := BitsFromUint(0, n)
		assert.ErrorIs(t, err, ErrRange)
		_, err = BitsFromLeft(make([]byte, 64), n)
		assert.ErrorIs(t, err, ErrRange)
		_, err = BitsFromRight(make([]byte, 64), n)
		assert.ErrorIs(t, err, ErrRange)
	}
	_, err := BitsFromUint(256, 8)
	assert.EqualError(t, err, `bits from number "256": needs 9 bits, has room for 8`)
	ones := [4]uint64{^uint64(0), ^uint64(0), ^uint64(0), ^uint64(0)}
	assert.Equal(t, Bits{}, BitsFromWords(ones, -5))
	assert.Equal(t, 256, BitsFromWords(ones, 1000).OnesCount())
	for _, n := range []int{0, MaxBits} { // these are in range
		b, err := BitsFromUint(0, n)
		require.NoError(t, err)
		require.Equal(t, n, b.Len())
	}
	for n := range MaxBits { // one bit too many, at every length
		far := MustParseBits("bits:1" + strings.Repeat("0", n))
		_, err := BitsFromRight(far.AppendBytesRight(nil), n)
		assert.ErrorIs(t, err, ErrRange, n)
		left := far.Reverse().AppendBytesLeft(nil)
		_, err = BitsFromLeft(left, n)
		assert.ErrorIs(t, err, ErrRange, n)
		_, err = ParseBits(fmt.Sprintf("left:%d:%X", n, left))
		assert.ErrorIs(t, err, ErrRange, n)
	}
	// A bit far behind what a read can hold is not overlooked.
	far := make([]byte, 100)
	far[99] = 1
	_, err = BitsFromLeft(far, 26)
	assert.EqualError(t, err, `bits from left-justified bytes: a bit after the first 26 is set in byte 100`)
	slices.Reverse(far)
	_, err = BitsFromRight(far, 26)
	assert.EqualError(t, err, `bits from right-justified bytes: a bit before the last 26 is set in byte 1`)
}

// Every way of writing bits reads back as the same bits.
func TestBitsTexts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, s := drawBits(t, "b")
		n := len(s)
		hex := fmt.Sprintf("%d:%0*X", n, max((n+3)/4, 1), value(s))
		require.Equal(t, hex, b.Hex())
		require.Equal(t, strings.TrimPrefix(hex, fmt.Sprint(n, ":"))[:(n+3)/4], string(b.AppendHex(nil)))
		left := fmt.Sprintf("left:%d:%02x", n, b.AppendBytesLeft(nil))
		if n == 0 {
			left = "left:0:00"
		}
		spaced := strings.Join(strings.Split(s, ""), rapid.SampledFrom([]string{" ", "_", ".", " . "}).Draw(t, "between"))
		for _, text := range []string{
			s, "bits:" + s, spaced, "bits:" + spaced + " ",
			hex, strings.ToLower(hex), fmt.Sprintf("%d:000%X", n, value(s)), left, "left:" +
				strings.ToUpper(left[len("left:"):]),
		} {
			got, err := ParseBits(text)
			require.NoError(t, err, text)
			require.Equal(t, b, got, text)
		}

		text, err := b.MarshalText()
		require.NoError(t, err)
		require.Equal(t, s, string(text))
		text, err = b.AppendText([]byte("x"))
		require.NoError(t, err)
		require.Equal(t, "x"+s, string(text))
		doc, err := json.Marshal(map[string]Bits{"read": b})
		require.NoError(t, err)
		require.JSONEq(t, `{"read":"`+s+`"}`, string(doc))
		var back map[string]Bits
		require.NoError(t, json.Unmarshal(doc, &back))
		require.Equal(t, b, back["read"])
	})
}
