package rank

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
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

// TestManyBoxes: cards of one number that came in a dozen boxes are not taken for cards of as many facilities, and what
// can be either is not surely one of them.
func TestManyBoxes(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(seed, 11))
	t.Logf("seed %d, 11", seed)
	probable := func(id string, card func() []uint64) (p map[string]float64) {
		var cards []formats.Sightings
		for range 12 {
			values := card()
			for range 6 {
				cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: readAs(t, id, values...)}})
				values[len(values)-1]++
			}
		}
		ans, err := r.Rank(cards)
		require.NoError(t, err)
		p = map[string]float64{}
		for _, c := range ans.Candidates {
			p[c.Format.ID] += c.Probability
		}
		return p
	}
	oneNumber := [...]string{"26-0-24", "34-0-32"}
	var mean [len(oneNumber)]float64
	for range 5 {
		for k, id := range oneNumber {
			p := probable(id, func() []uint64 { return []uint64{10_000 + rng.Uint64N(10_000_000)} })[id]
			assert.Greater(t, p, 0.05, id)
			mean[k] += p / 5
		}
		p := probable("26-8-16", func() []uint64 { return []uint64{77, rng.Uint64N(60_000)} })
		assert.Greater(t, p["26-8-16"], 0.85)
	}
	for k, id := range oneNumber {
		assert.Greater(t, mean[k], 0.6, id)
	}
}
