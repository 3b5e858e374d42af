package rank

import (
	"fmt"
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

// TestConstantBesideMisreads: badges show a number with a constant added, and of some reads a bit was lost, so that
// their numbers are not known. The constant shows on the others, wherever they stand. The reads are arithmetic.
func TestConstantBesideMisreads(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []formats.Sightings
	for i := range 12 {
		n := uint64(163443 + 7919*i)
		read := readAs(t, "37-16-19", 8318, n)
		if i < 4 {
			read, _ = read.Delete(9 + 5*i)
		}
		cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: read},
			{Kind: formats.Printed, Text: fmt.Sprint(n + 1000)}})
	}
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	require.NotEmpty(t, ans.Candidates)
	assert.Equal(t, "37-16-19", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.95)
	for i, c := range ans.Candidates[0].Cards {
		got, ok := c.Number()
		assert.True(t, ok && got == uint64(163443+7919*i), "card %d", i+1)
	}
}

// TestMisreadBesideItsOwnPrint: numbers in hex without zeros before them, and a read of which a high bit is wrong: as
// it was read it ends in the digits of its print, too, but it is put right as the others are printed. The reads are
// arithmetic.
func TestMisreadBesideItsOwnPrint(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []formats.Sightings
	for _, n := range []uint64{0x77, 0x125, 0x4C, 0x7F, 0x11F, 0x190} {
		read := readAs(t, "26-0-24", n)
		if n == 0x190 {
			read = read.WithBit(8, 1)
		}
		cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: read},
			{Kind: formats.Hex, Text: fmt.Sprintf("%X", n)}})
	}
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	assert.Equal(t, "26-0-24", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.9)
	got, _ := ans.Candidates[0].Cards[5].Number()
	assert.Equal(t, uint64(0x190), got)
}
