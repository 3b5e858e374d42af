package rank

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// An answer whose memory is used again is the one that a new answer would be, whatever was in it before.
func TestAnswerUsedAgain(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	var ans Answer
	for _, texts := range [][]string{{"26:32D687E", "26:32D6882=46145", "26:32D6884"}, {"26:2F20023=99999"},
		{"26:32D687E", "26:2F20057"}, {"46143"}, {"34:1D9CB0CE7"}} {
		require.NoError(t, r.RankInto(&ans, parse(t, texts...)))
		fresh := ask(t, r, texts...)
		require.Len(t, ans.Candidates, len(fresh.Candidates), texts)
		for i := range fresh.Candidates {
			got, want := &ans.Candidates[i], &fresh.Candidates[i]
			assert.Equal(t, want.Format.ID, got.Format.ID)
			assert.Equal(t, want.Probability, got.Probability)
			assert.Equal(t, len(texts), len(got.Cards))
			assert.Equal(t, want.Repairs, got.Repairs, texts)
			assert.Equal(t, len(want.Printed), len(got.Printed))
			for k := range want.Cards {
				assert.True(t, sameCard(want.Cards[k], got.Cards[k]), texts)
			}
		}
	}
	assert.Error(t, r.RankInto(&ans, nil))
	assert.Empty(t, ans.Candidates)
	assert.Zero(t, ans.Unknown)
}

// Where one format has the number, there is no error beside it.
func TestOneReadingIsNoError(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	form, _ := formats.FormByName("pair")
	out := r.RankForm(form, "150,46143", "", nil)
	require.Len(t, out.Cards, 1)
	assert.NoError(t, out.Err)
	assert.Equal(t, []float64{1}, out.Probability)
}
