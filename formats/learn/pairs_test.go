package learn_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// What the prior says of parities that come in pairs is taken from the catalogue, whose rows name their sources: of the formats
// with a parity bit at an end of the read, all but one have both halves, each beside its bit, and that one is interleaved.
func TestHalvesComeInPairs(t *testing.T) {
	pairs, others := 0, []string(nil)
	cat := formats.Builtin()
	for i := range cat.Len() {
		f := cat.At(i)
		n, at := f.Layout.Len(), map[int]wiegand.Spans{}
		for _, c := range f.Layout.Spec().Checks {
			if (c.Kind == wiegand.Even || c.Kind == wiegand.Odd) && c.Repeat <= 1 && (c.Bit == 1 || c.Bit == n) {
				at[c.Bit] = c.Over
			}
		}
		if len(at) == 0 || f.Layout.Spec().Checks[0].Kind == wiegand.Fixed {
			continue // no parity at an end, or a frame that counts already with zeros before it
		}
		first, last := at[1], at[n]
		if len(first) == 1 && len(last) == 1 && first[0].From == 2 && last[0].To == n-1 && first.Len() == last.Len() {
			require.Equal(t, (n-1)/2, first.Len(), f.ID)
			pairs++
		} else {
			others = append(others, f.ID)
		}
	}
	require.GreaterOrEqual(t, pairs, 14)
	require.Equal(t, []string{"35-12-20"}, slices.Compact(others))
}
