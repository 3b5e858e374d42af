package wiegand

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A hex digit is one of the 22 characters that are meant, and no neighbour of theirs in ASCII. An error cuts its input
// short before 49 bytes, and never within a character.
func TestHexDigitsAndQuotes(t *testing.T) {
	for c := range 256 {
		_, err := ParseBits("8:0" + string([]byte{byte(c)}))
		assert.Equal(t, strings.ContainsRune("0123456789abcdefABCDEF", rune(c)), err == nil, "%q", byte(c))
	}
	for text, want := range map[string]string{
		strings.Repeat("x", 48):                    strings.Repeat("x", 48),
		strings.Repeat("x", 49):                    strings.Repeat("x", 48) + "…",
		strings.Repeat("x", 47) + "éx":             strings.Repeat("x", 47) + "…",
		strings.Repeat("\x80", 60):                 "…", // no beginning of a character anywhere
		strings.Repeat("x", 46) + "é" + "éxxxxxxx": strings.Repeat("x", 46) + "é…",
	} {
		_, err := ParseBits(text)
		var e *Error
		require.ErrorAs(t, err, &e)
		assert.Equal(t, want, e.Input)
	}
	b, err := ParseBits("left:256:" + strings.Repeat("F", 64) + "00")
	require.NoError(t, err, "as many zeros as one likes may follow")
	assert.Equal(t, 256, b.OnesCount())
}

// Every spelling error says which character and why, quotes the input cut short, and names what would do.
func TestParseBitsErrors(t *testing.T) {
	long := strings.Repeat("01", 128)
	for _, c := range []struct {
		name, text string
		kind       error
		message    string
	}{
		{"letter", "1001x", ErrSyntax,
			`parse bits "1001x": character 5 is 'x'; write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},
		{"digit 2", "bits:102", ErrSyntax,
			`parse bits "bits:102": character 8 is '2'; write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},
		{"no ASCII", "10é", ErrSyntax,
			`parse bits "10é": character 3 is 'é'; write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},
		{"no UTF-8", "1\xff", ErrSyntax,
			`parse bits "1\xff": character 2 is '�'; write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},
		{"257 bits", long + "1", ErrRange,
			`parse bits "` + long[:48] + `…": more than 256 bits; no card format is that long`},
		{"257 bits in hex", "257:0", ErrRange, `parse bits "257:0": 257 bits; a read has at most 256`},
		{"too much for 64-bit numbers", "99999999999999999999:0", ErrSyntax,
			`parse bits "99999999999999999999:0": the length "99999999999999999999" before the colon is no number; ` +
				`write LENGTH:HEX such as 26:32D687E`},
		{"no length", ":32D687E", ErrSyntax,
			`parse bits ":32D687E": the length "" before the colon is no number; write LENGTH:HEX such as 26:32D687E`},
		{"length with a sign", "+26:0", ErrSyntax,
			`parse bits "+26:0": the length "+26" before the colon is no number; write LENGTH:HEX such as 26:32D687E`},
		{"no hex", "26:", ErrSyntax, `parse bits "26:": no hex digits after the length`},
		{"bad hex", "26:32G687E", ErrSyntax,
			`parse bits "26:32G687E": 'G' is no hex digit; write 0-9 and A-F`},
		{"bad hex on the left", "left:26:CB5A1F8x", ErrSyntax,
			`parse bits "left:26:CB5A1F8x": 'x' is no hex digit; write 0-9 and A-F`},
		{"left without a length", "left:CB5A1F80", ErrSyntax,
			`parse bits "left:CB5A1F80": no length; write left:LENGTH:HEX such as left:26:CB5A1F80`},
		{"does not fit", "26:4000000", ErrRange,
			`parse bits "26:4000000": 4000000 needs more than 26 bits; give the number of bits the reader sent`},
		{"left-justified by mistake", "26:CB5A1F80", ErrRange,
			`parse bits "26:CB5A1F80": CB5A1F80 needs more than 26 bits; if it is left-justified in whole bytes, ` +
				`write left:26:CB5A1F80`},
		{"more than 256 bits of hex", "256:1" + strings.Repeat("0", 64), ErrRange,
			`parse bits "256:1` + strings.Repeat("0", 43) + `…": 1` + strings.Repeat("0", 47) + `… needs more than 256 bits; ` +
				`give the number of bits the reader sent`},
		{"odd hex", "left:26:CB5A1F8", ErrSyntax, `parse bits "left:26:CB5A1F8": 7 hex digits are not whole bytes`},
		{"spare bit", "left:26:CB5A1F81", ErrRange,
			`parse bits "left:26:CB5A1F81": a bit after the first 26 is set; it must be 0`},
		{"too little hex", "left:26:CB5A1F", ErrRange,
			`parse bits "left:26:CB5A1F": 6 hex digits hold fewer than 26 bits`},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := ParseBits(c.text)
			assert.Zero(t, b)
			assert.ErrorIs(t, err, c.kind)
			assert.EqualError(t, err, c.message)
			assert.ErrorIs(t, b.UnmarshalText([]byte(c.text)), c.kind)
			assert.Panics(t, func() { MustParseBits(c.text) })
		})
	}
}
