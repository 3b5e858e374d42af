package rank

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestManyCards: many cards of a site say more than few, however dense their numbers lie.
func TestManyCards(t *testing.T) {
	sites := 1000
	if testing.Short() {
		sites = 100
	}
	share := map[int]float64{}
	for _, n := range []int{5, 50, 200} {
		s := newSimulator(simSeed)
		ranker, err := New(s.cat)
		require.NoError(t, err)
		right, none := 0, 0
		for range sites {
			st := s.site(s.format(), n)
			ans, err := ranker.Rank(st.seen)
			require.NoError(t, err)
			if len(ans.Candidates) > 0 && st.right(&ans.Candidates[0]) {
				right++
			}
			if ans.Unknown > 0.5 {
				none++
			}
		}
		share[n] = float64(right) / float64(sites)
		t.Logf("%3d cards: %.1f %% right, %.1f %% called unknown", n, 100*share[n], 100*float64(none)/float64(sites))
		assert.LessOrEqual(t, none, 2+sites/50, "%d cards: a format of the catalogue called unknown", n)
	}
	for _, n := range []int{50, 200} {
		assert.Greater(t, share[n], share[5]-0.03, fmt.Sprintf("%d cards", n))
	}
}
