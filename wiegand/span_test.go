package wiegand

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseSpans(t *testing.T) {
	for _, c := range []struct {
		text, want string
		bits       []int
	}{
		{"", "", nil},
		{"  ", "", nil},
		{"5", "5", []int{5}},
		{"2-5", "2-5", []int{2, 3, 4, 5}},
		{"25-26, 17-18", "25-26,17-18", []int{25, 26, 17, 18}},
		{"10-25/5", "10-25/5", []int{10, 15, 20, 25}},
		{" 10 - 13 / 2 ", "10-13/2", []int{10, 12}},
		{"1-3/1", "1-3", []int{1, 2, 3}},
		{"1-3/0", "1-3", []int{1, 2, 3}},
		{"256", "256", []int{256}},
		{"1-10/256", "1-10/256", []int{1}},
	} {
		got, err := ParseSpans(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got.String(), c.text)
		assert.Equal(t, c.bits, slices.Collect(got.Bits()), c.text)
		assert.Equal(t, len(c.bits), got.Len(), c.text)
	}
}

func TestParseSpansErrors(t *testing.T) {
	const example = "; write 2-9, 5, or 10-55/5 for every fifth bit"
	for _, c := range []struct {
		text    string
		kind    error
		message string
	}{
		{"a", ErrSyntax, `parse bits of a read "a": "a" is no span` + example},
		{"2-", ErrSyntax, `parse bits of a read "2-": "2-" is no span` + example},
		{"1,,2", ErrSyntax, `parse bits of a read "1,,2": "" is no span` + example},
		{"2--5", ErrSyntax, `parse bits of a read "2--5": "2--5" is no span` + example},
		{"+2-5", ErrSyntax, `parse bits of a read "+2-5": "+2-5" is no span` + example},
		{"1-9/x", ErrSyntax, `parse bits of a read "1-9/x": "1-9/x" is no span` + example},
		{"1 2", ErrSyntax, `parse bits of a read "1 2": "1 2" is no span` + example},
		{"9" + strings.Repeat("9", 99), ErrSyntax,
			`parse bits of a read "` + strings.Repeat("9", 48) + `…": "` + strings.Repeat("9", 48) + `…" is no span` + example},
		{"0", ErrRange, `parse bits of a read "0": 0: bits are numbered from 1`},
		{"257", ErrRange, `parse bits of a read "257": 257: a read has at most 256 bits`},
		{"1-9,9-2", ErrRange,
			`parse bits of a read "1-9,9-2": 9-2: ends before it begins; write 2-9; which end counts most is the field's order`},
		{"1-9/257", ErrRange, `parse bits of a read "1-9/257": 1-9/257: a step is 1 to 256`},
		{"0\n-\n5", ErrRange, `parse bits of a read "0\n-\n5": 0-5: bits are numbered from 1`},
	} {
		got, err := ParseSpans(c.text)
		assert.Nil(t, got, c.text)
		assert.ErrorIs(t, err, c.kind, c.text)
		assert.EqualError(t, err, c.message, c.text)
		assert.ErrorIs(t, got.UnmarshalText([]byte(c.text)), c.kind)
	}
}

// Spans that a program makes wrongly hold no bits, whatever their ends.
func TestSpansOutOfBounds(t *testing.T) {
	for _, s := range []Span{
		{}, {From: -1, To: 5}, {From: 1, To: 257}, {From: 5, To: 4}, {From: 1, To: 5, Step: -1},
		{From: 1, To: 5, Step: math.MaxInt}, {From: math.MinInt, To: math.MaxInt},
	} {
		assert.Empty(t, slices.Collect(Spans{s}.Bits()), s)
		assert.Zero(t, Spans{s}.Len(), s)
	}
	for bit := range (Spans{{From: 1, To: 9}}).Bits() { // and a loop may end early
		assert.Equal(t, 1, bit)
		break
	}
}

func TestSpansRoundTrip(t *testing.T) {
	one := rapid.Custom(func(t *rapid.T) Span {
		from := rapid.IntRange(1, MaxBits).Draw(t, "from")
		return Span{From: from, To: rapid.IntRange(from, MaxBits).Draw(t, "to"), Step: rapid.IntRange(0, 9).Draw(t, "step")}
	})
	rapid.Check(t, func(t *rapid.T) {
		s := Spans(rapid.SliceOf(one).Draw(t, "spans"))
		back, err := ParseSpans(s.String())
		require.NoError(t, err)
		require.Equal(t, slowBits(s), slices.Collect(s.Bits()))
		require.Equal(t, slices.Collect(s.Bits()), slices.Collect(back.Bits()))
		doc, err := json.Marshal(s)
		require.NoError(t, err)
		var again Spans
		require.NoError(t, json.Unmarshal(doc, &again))
		require.Equal(t, back, again)
		text, err := s.AppendText(nil)
		require.NoError(t, err)
		require.Equal(t, s.String(), string(text))
	})
}

// A check's bits are told as one span where they follow one another, across the words in which reads are kept as well.
func TestSpansOverWords(t *testing.T) {
	l, err := Compile(Spec{
		Length: 200,
		Fields: []Field{{Name: FieldNumber, Bits: Spans{{From: 1, To: 198}}}},
		Checks: []Check{
			{Kind: Even, Bit: 199, Over: Spans{{From: 50, To: 130}}},
			{Kind: Odd, Bit: 200, Over: Spans{{From: 1, To: 64}, {From: 128, To: 129}}},
		},
	})
	require.NoError(t, err)
	assert.Equal(t, "50-130,199", l.Checks()[0].Bits.String())
	assert.Equal(t, "1-64,128-129,200", l.Checks()[1].Bits.String())
}
