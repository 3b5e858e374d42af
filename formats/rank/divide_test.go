package rank

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
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

// TestOneKindForAll: where cards are of two kinds, what is said of all of them holds if they are of one kind, or if it
// is right of both (the law of total probability).
func TestOneKindForAll(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []formats.Sightings
	for _, text := range []string{"0003737671", "0003738012", "0003731144", "0003799121", "hex:3A98B", "hex:3AF74D",
		"hex:3AE57E", "hex:3A0F07", "hex:3A80D5"} {
		s, err := formats.ParseSightings(text)
		require.NoError(t, err)
		cards = append(cards, s)
	}
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	before := chanceOf(&ans, "26-8-16")
	k, answers, err := r.Divide(cards, &ans)
	require.NoError(t, err)
	require.Len(t, answers, 2)
	p := k.Probability
	assert.Greater(t, p, 0.9)
	assert.InDelta(t, (1-p)*before+p*chanceOf(&answers[0], "26-8-16")*chanceOf(&answers[1], "26-8-16"),
		chanceOf(&ans, "26-8-16"), 0.01) // candidates of one format that have different cards are not right of both
	assert.InDelta(t, 1, total(&ans), 1e-9)
}

// chanceOf is the probability of one format on sound lines.
func chanceOf(ans *Answer, id string) (p float64) {
	for i := range ans.Candidates {
		if c := &ans.Candidates[i]; c.Format.ID == id && c.Fault == None {
			p += c.Probability
		}
	}
	return p
}

// divided answers for each kind of card.
func divided(t *testing.T, ranker *Ranker, cards []formats.Sightings) (Kinds, []Answer) {
	ans, err := ranker.Rank(cards)
	require.NoError(t, err)
	k, answers, err := ranker.Divide(cards, &ans)
	require.NoError(t, err)
	assert.InDelta(t, 1, total(&ans), 1e-9)
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

// TestAnswersOfWhichNothingIsLeft: where all that an answer says is impossible beside another kind, it stays as it is.
func TestAnswersOfWhichNothingIsLeft(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.Rank([]formats.Sightings{{{Kind: formats.Read, Bits: readAs(t, "26-8-16", 7, 900)}}})
	require.NoError(t, err)
	before := ans.Candidates[0].Probability
	ans.each(func(evidence.Reading) float64 { return 0 })
	assert.Equal(t, before, ans.Candidates[0].Probability)
	ans.each(func(evidence.Reading) float64 { return 0.5 })
	assert.InDelta(t, 1, total(&ans), 1e-9)
}
