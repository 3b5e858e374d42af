package formats

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// A number is one of the blocks if it is one of the numbers that the blocks are written with.
func TestRangesHaveTheirNumbers(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]uint64{
		"3": {3}, "0": {0}, "2-4": {2, 3, 4}, "5, 1-2": {1, 2, 5}, "1 - 2,3": {1, 2, 3}, "7-7,9,0": {0, 7, 9},
	} {
		all, err := ParseRanges(text)
		require.NoError(t, err, text)
		again, err := ParseRanges(FormatRanges(all))
		require.NoError(t, err, text)
		assert.Equal(t, all, again, text)
		var got []uint64
		for n := range uint64(12) {
			if (Population{Numbers: all}).HasNumber(n) {
				got = append(got, n)
			}
		}
		assert.Equal(t, want, got, text)
	}
	assert.True(t, Population{}.HasNumber(5), "nothing is known of the numbers")
}

func TestRangesThatAreNone(t *testing.T) {
	t.Parallel()
	for text, says := range map[string]string{
		"": "is no block of numbers", "x": "is no block of numbers", "1,": "is no block of numbers", "1-": "is no block",
		"5-3": "runs backwards; write 3-5", "1-5,5-9": "the blocks 1-5 and 5-9 overlap", "7,1-9": "overlap", "4,4": "overlap",
		"18446744073709551616": "is no block of numbers",
	} {
		_, err := ParseRanges(text)
		assert.ErrorContains(t, err, says, text)
		_, ours := errors.AsType[*Error](err)
		assert.True(t, ours && errors.Is(err, ErrSyntax) != errors.Is(err, wiegand.ErrRange), text)
		assert.Equal(t, strings.Contains(says, "no block"), errors.Is(err, ErrSyntax), text)
	}
}
