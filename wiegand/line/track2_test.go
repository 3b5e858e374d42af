package line_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// messages are worked examples of ISO/IEC 7811 track 2: the first three are published with their check character in a
// manual of stripe readers, the others were computed outside of this project by the same rules.
var messages = []struct{ text, bits string }{
	{";0?", "11010 00001 11111 00100"},
	{";01?", "11010 00001 10000 11111 10101"},
	{";0123?", "11010 00001 10000 01000 11001 11111 00100"},
	{";1234567890?", "11010 10000 01000 11001 00100 10101 01101 11100 00010 10011 00001 11111 10101"},
	{";0000123456=7?", "11010 00001 00001 00001 00001 10000 01000 11001 00100 10101 01101 10110 11100 11111 10011"},
	{";0105200966271?", "11010 00001 10000 00001 10101 01000 00001 00001 10011 01101 01101 01000 11100 10000 11111 11111"},
}

func TestTrack2(t *testing.T) {
	t.Parallel()
	for _, m := range messages {
		b := wiegand.MustParseBits(m.bits)
		made, err := line.Track2Bits(m.text)
		require.NoError(t, err)
		require.Equal(t, b, made, m.text)

		padded := wiegand.MustParseBits("bits:" + strings.Repeat("0", 16) + b.String() + strings.Repeat("0", 9))
		got, err := line.ParseTrack2(padded)
		require.NoError(t, err)
		require.Equal(t, line.Track2{Text: m.text, From: 16, To: 16 + b.Len()}, got)
		got, err = line.ParseTrack2(padded.Reverse())
		require.NoError(t, err)
		require.Equal(t, line.Track2{Text: m.text, From: 9, To: 9 + b.Len(), Backward: true}, got)

		for i := range b.Len() {
			_, err := line.ParseTrack2(b.WithBit(i, 1-b.Bit(i)))
			require.ErrorIs(t, err, line.ErrSyntax, "%s with bit %d wrong", m.text, i+1)
			short, _ := b.Delete(i)
			if got, err := line.ParseTrack2(short); err == nil {
				require.NotEqual(t, m.text, got.Text)
			}
		}
	}
	for _, bad := range []string{"", ";", "0?", ";0", ";0;?", ";0?1?", ";;0?", ";?0?", ";A?", ";" +
		strings.Repeat("0", 38) + "?", ";0\x00?"} {
		_, err := line.Track2Bits(bad)
		require.ErrorIs(t, err, line.ErrSyntax, "%q", bad)
	}
	for text, says := range map[string]string{
		";A?": "sign 2 is none of the digits", ";0;?": "sign 3 is none of the digits",
		"0": "begins with ; and ends with ?", ";" + strings.Repeat("0", 38) + "?": "at most 39 signs",
	} {
		_, err := line.Track2Bits(text)
		require.ErrorContains(t, err, says)
	}
	shortest, err := line.Track2Bits(";?")
	require.NoError(t, err)
	require.Equal(t, wiegand.MustParseBits("11010 11111 00100"), shortest) // B xor F is 4 (own arithmetic)
	longest, err := line.Track2Bits(";" + strings.Repeat("0", 37) + "?")
	require.NoError(t, err)
	require.Equal(t, 200, longest.Len())
	got, err := line.ParseTrack2(longest)
	require.NoError(t, err)
	require.Len(t, got.Text, 39)
	for bits, says := range map[string]string{
		"00 11011 00001":                      "the first 1, at bit 3, does not begin a start sentinel",
		"11010 00000 11111":                   "the parity of character 2, at bit 6, is wrong",
		"11010 00001 11111 00010":             "the check character at bit 16 does not match the message",
		"11010 00001 1111":                    "the bits end before the message does, after character 2",
		"11010" + strings.Repeat("00001", 45): "more than 40 characters",
	} {
		_, err := line.ParseTrack2(wiegand.MustParseBits("bits:" + bits))
		require.ErrorContains(t, err, says, bits)
	}
	for _, bad := range []string{"", "0000", "1", strings.Repeat("1", 256), "11010" + strings.Repeat("00001", 45)} {
		_, err := line.ParseTrack2(wiegand.MustParseBits("bits:" + bad))
		require.ErrorIs(t, err, line.ErrSyntax, bad)
	}
}
