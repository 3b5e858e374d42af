package rank

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats/calibration"
	"github.com/cardtell/cardtell/formats/calibration/keep"
)

// reach is what a ranking and the observer, who knows how sites are drawn, make of the same sites.
type reach struct{ rank, limit calibration.Forecasts }

// TestIdentifyReachesTheLimit: the more cards, the more first candidates are right, up to where nothing that the cards
// show could tell formats apart. What the observer states is exact, so that its own mean and its share of right answers
// must agree: that is the check of the observer.
func TestIdentifyReachesTheLimit(t *testing.T) {
	sites := 3000
	if testing.Short() {
		sites = 40
	}
	table := calibration.Table{{"series", "cards", "n", "stated", "right", "low", "high", "limit", "limit_stated", "brier",
		"limit_brier"}}
	for _, printed := range []bool{true, false} {
		name := "no print"
		if printed {
			name = "one print"
		}
		for _, n := range []int{1, 2, 3, 5, 8, 12, 20} {
			r := measureReach(t, sites, n, printed)
			low, high := calibration.Band(r.rank.True(), sites)
			right, limit := float64(r.rank.True())/float64(sites), float64(r.limit.True())/float64(sites)
			table = append(table, append([]string{name}, calibration.Cells(n, sites, r.rank.Stated(), right, low, high, limit,
				r.limit.Stated(),
				r.rank.Brier(), r.limit.Brier())...))
			t.Logf("%s, %d cards: right %.3f, stated %.3f; the most that can be %.3f", name, n, right, r.rank.Stated(), limit)
			expected := r.limit.Stated()
			noise := 3.3 * math.Sqrt(expected*(1-expected)/float64(sites)) // one chance in a thousand
			assert.InDelta(t, expected, limit, noise, "the observer, %s, %d cards", name, n)
			// the same sites, so that most of the noise is too
			assert.GreaterOrEqual(t, right, limit-0.02-noise/2, "%s, %d cards", name, n)
		}
	}
	if !testing.Short() {
		keep.Table(t, "../..", "identify-cards.csv", table)
	}
}

func measureReach(t *testing.T, sites, n int, printed bool) *reach {
	s := newSimulator(simSeed + uint64(n))
	ranker, err := New(s.cat)
	require.NoError(t, err)
	r := &reach{}
	for range sites {
		st := s.site(s.format(), n)
		if printed {
			s.print(&st, s.rng.IntN(n))
		}
		ans, err := ranker.Rank(st.seen)
		require.NoError(t, err)
		if len(ans.Candidates) > 0 {
			first := &ans.Candidates[0]
			r.rank.Add(ans.listed(first), st.right(first))
		} else {
			r.rank.Add(ans.Unknown, false) // none of these, and it is one of these
		}
		best, p := s.observe(&st)
		r.limit.Add(p, best.ID == st.format.ID)
	}
	return r
}
