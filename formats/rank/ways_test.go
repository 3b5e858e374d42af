package rank

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// TestReadsWithoutTheirLength: loggers write the whole read as a number, in decimal or in hex, with zeros before it or
// without them, at the right of whole bytes or at the left (common practice, no source). What is printed on the cards
// tells which, on whichever side of the sign it stands. The numbers are math/big's.
func TestReadsWithoutTheirLength(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, test := range []struct {
		write    string // how the read is written
		left     bool
		id       string
		facility []uint64
		print    string
		numbers  []uint64
	}{
		{"%d", false, "34-0-32", nil, "%010d", []uint64{2065228843, 1204441012, 2927475223, 3890096125}},
		{"%d", false, "26-8-16", []uint64{5}, "%X", []uint64{878, 875, 814}}, // small facilities make small numbers
		{"0x%X", false, "26-0-24", nil, "%08d", []uint64{138, 116, 136, 40, 30, 148, 28, 143}},
		{"%018x", false, "66-0-64", nil, "%d", []uint64{890727360438182992, 9885278224986867748, 10750541312280087032}},
		{"%018X", true, "66-0-64", nil, "", []uint64{15413680006268865463, 17499740175215690972, 11675286964373989979}},
		{"%010X", true, "37-8-16", []uint64{132}, "84%04X", []uint64{24961, 1097, 1131, 8654, 8615, 8685, 1117}},
	} {
		var texts, turned []string
		for _, n := range test.numbers {
			read := readAs(t, test.id, append(slices.Clone(test.facility), n)...)
			v, ok := new(big.Int).SetString(fmt.Sprintf("%b", read), 2)
			require.True(t, ok)
			if test.left {
				v.Lsh(v, uint(-read.Len()&7))
			}
			parts := []string{fmt.Sprintf(test.write, v)}
			if test.print != "" {
				parts = append(parts, fmt.Sprintf(test.print, n))
			}
			texts = append(texts, strings.Join(parts, "="))
			slices.Reverse(parts)
			turned = append(turned, strings.Join(parts, "="))
		}
		for _, texts := range [...][]string{texts, turned} {
			ans, err := r.RankTexts(texts)
			require.NoError(t, err)
			sum := 0.0
			for _, c := range ans.Candidates {
				if c.Format.ID == test.id {
					sum += c.Probability
				}
			}
			assert.Greater(t, sum, 0.4, "%s: %s", test.id, texts)
			assert.Less(t, ans.Unknown, 0.1, "%s: %s", test.id, texts)
		}
	}
}

// TestLostBitsWhereNoLengthIsSaid: a read that lost a bit is a smaller number, and one with a bit too many a larger
// one, which no read of the others' length can be. They are misreads all the same, and the card is the one that was
// read.
func TestLostBitsWhereNoLengthIsSaid(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	const facility, first, spoilt = 207, 23616, 7 // a read that begins with 1, as its number has 4 bits 1
	for name, spoil := range map[string]func(bits string) string{
		"lost":                      func(bits string) string { return bits[:12] + bits[13:] },
		"lost, and checks hold":     func(bits string) string { return bits[:11] + bits[12:] },
		"one more":                  func(bits string) string { return bits[:18] + "1" + bits[18:] },
		"one more, and checks hold": func(bits string) string { return bits[:12] + "0" + bits[12:] },
	} {
		var texts []string
		for i := range uint64(16) {
			bits := readAs(t, "26-8-16", facility, first+i).String()
			if i == spoilt {
				bits = spoil(bits)
			}
			v, ok := new(big.Int).SetString(bits, 2)
			require.True(t, ok)
			texts = append(texts, fmt.Sprintf("%08X", v))
		}
		ans, err := r.RankTexts(texts)
		require.NoError(t, err)
		require.NotEmpty(t, ans.Candidates, name)
		c := ans.Candidates[0]
		assert.Equal(t, "26-8-16", c.Format.ID, name)
		assert.Greater(t, c.Probability, 0.8, name)
		n, _ := c.Cards[spoilt].Number()
		assert.Equal(t, uint64(first+spoilt), n, name)
		assert.Equal(t, map[string]Fault{"lost": LostBit, "one ": ExtraBit}[name[:4]], c.Repairs[spoilt].Fault, name)
	}
}

// TestLabelsOfAnyLength: a letter before numbers of one to six digits is a label, though it can be a digit in hex: of
// 12 numbers in hex, with 40 digits behind the first ones, hardly all have no other letter ((10/16)^40 is 7·10^-9).
// Beside facility and number in hex it stays one (common practice, no source). The numbers are made up.
func TestLabelsOfAnyLength(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	labelled := strings.Fields("A173 A195 A49 A4 A189 A25 A152 A9 A613980 A613974 A55350 A55348")
	inHex := strings.Fields("B1-1F46 B1-1ECE B1-1F48 B1-1F44 B1-FD46 B1-ACB4 B1-1F45 B1-1F49")
	for _, texts := range [][]string{labelled[:8], labelled, slices.Concat(labelled, inHex)} {
		ans, err := r.RankTexts(texts)
		require.NoError(t, err)
		for i := range texts {
			want := "a printed number after letters"
			if i >= len(labelled) {
				want = "a number in hex"
			}
			assert.Equal(t, want, ans.Taken[0].As[i], texts[i])
		}
	}
}

// TestDigitsInHexBesideDecimals: of numbers in hex with six digits and zeros before them, many have no letter; they are
// in hex all the same, where decimals of another kind of card have no zeros (common practice, no source). Both kinds
// are made up: odd numbers from 0x38B on, and some from 22958 and 630 on.
func TestDigitsInHexBesideDecimals(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for i := range 20 {
		texts = append(texts, fmt.Sprintf("%06X", 0x38B+2*(i*7%40)), fmt.Sprint([]int{22958, 630}[i%2]+i*3%20))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	for i, as := range ans.Taken[0].As {
		assert.Equal(t, i%2 == 0, strings.Contains(as, "in hex"), "%s is %s", texts[i], as)
	}
}
