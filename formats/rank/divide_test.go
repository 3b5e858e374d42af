package rank

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// total is what an answer's probabilities add up to.
func total(ans *Answer) float64 {
	p := ans.none() + ans.Several
	for i := range ans.Candidates {
		p += ans.Candidates[i].Probability
	}
	return p
}

// TestDivided: however cards are dealt out, the probabilities of each answer add up to 1, the likeliest first, and the
// order of the cards changes nothing.
func TestDivided(t *testing.T) {
	s := newSimulator(simSeed)
	ranker, err := New(s.cat)
	require.NoError(t, err)
	several, unsure := 0, 0
	for range 60 {
		cards, _ := s.mixed(6, 0.5)
		k, answers := divided(t, ranker, cards)
		for i := range answers {
			ans := &answers[i]
			assert.InDelta(t, 1, total(ans), 1e-9)
			assert.True(t, slices.IsSortedFunc(ans.Candidates, func(a, b Candidate) int {
				return int(math.Copysign(1, b.Probability-a.Probability))
			}))
			if len(ans.Warnings) > 0 {
				unsure++
			}
		}
		if len(k.Groups) > 1 {
			several++
		}
		slices.Reverse(cards)
		back, others := divided(t, ranker, cards)
		require.Len(t, others, len(answers))
		for i, g := range k.Groups {
			at := slices.IndexFunc(back.Groups, func(h []int) bool { return slices.Contains(h, len(cards)-1-g[0]) })
			assert.InDelta(t, answers[i].Several, others[at].Several, 1e-9)
		}
	}
	assert.Greater(t, several, 5)
	assert.Greater(t, unsure, 5)
}

// divided answers for each kind of card.
func divided(t *testing.T, ranker *Ranker, cards []formats.Sightings) (Kinds, []Answer) {
	ans, err := ranker.Rank(cards)
	require.NoError(t, err)
	k, answers, err := ranker.Divide(cards, &ans)
	require.NoError(t, err)
	if answers == nil {
		answers = []Answer{ans}
	}
	require.Len(t, answers, len(k.Groups))
	return k, answers
}
