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

// TestKindsOfTextsThatCanBeMeantOtherwise: two texts of seven digits and one of nine, without their lengths, are reads
// of 26 and of 34 bits or all of 34, so that what is said of two kinds is no surer than that they are meant so. The
// reads are facility 122 with 1865 and 1866, and 3974465139, in the frames of the published formats, worked out by
// hand.
func TestKindsOfTextsThatCanBeMeantOtherwise(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{"2F40E93", "2F40E95", "1D9CB0CE7"})
	require.NoError(t, err)
	meant := ans.Taken[0].Probability
	require.Less(t, meant, 0.95)
	k, answers, err := r.Divide(ans.Taken[0].Cards, &ans.Answer)
	require.NoError(t, err)
	require.Len(t, k.Groups, 2)
	assert.LessOrEqual(t, k.Probability, meant+1e-9)
	for i := range answers {
		a := &answers[i]
		assert.LessOrEqual(t, a.Candidates[0].Probability, meant+1e-9)
		assert.InDelta(t, 1, total(a), 1e-6)
	}
}
