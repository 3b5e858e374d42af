package worlds_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats/calibration/worlds"
)

// TestIdentifyAndLearnAgree: on reads of formats of the catalogue without prints, the two never say different things
// and both state above 0.9.
func TestIdentifyAndLearnAgree(t *testing.T) {
	n := 500
	if testing.Short() {
		n = 60
	}
	e := engine(t)
	compared, differ := 0, 0
	for i := range n {
		rng := newRand(i)
		s := worlds.Unprinted(rng)
		groups, err := e.Identify(s.Cards)
		require.NoError(t, err)
		learned, err := e.Learn(s.Cards)
		require.NoError(t, err)
		if len(groups) != 1 || len(learned) != 1 || groups[0].Top() <= 0.9 || learned[0].Stated <= 0.9 {
			continue
		}
		if compared++; !s.Agree(&groups[0], &learned[0], rng) {
			differ++
			t.Logf("sample %d of seed %d: %s\n  cardtell identify %s", i, seed(), s.Describe(), s.Arguments())
		}
	}
	t.Logf("%d of %d samples differ of those that both state above 0.9; %d were drawn", differ, compared, n)
	require.Greater(t, compared, n/5, "there is something to compare")
	switch {
	case !owedAgreement:
		assert.Zero(t, differ)
	case !testing.Short():
		assert.NotZero(t, differ, "they agree: owedAgreement can go")
	}
}
