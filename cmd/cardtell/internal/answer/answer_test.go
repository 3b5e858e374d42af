package answer

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// Sentences about the cards of one kind have the numbers of the question.
func TestNumbered(t *testing.T) {
	k := Kind{Given: []int{2, 4, 9}}
	assert.Equal(t, []string{"card 4: x, as card 2; 5 cards; cards 2, 4, 9 and 3 more"},
		k.Numbered([]string{"card 2: x, as card 1; 5 cards; cards 1, 2, 3 and 3 more"}))
	assert.Equal(t, []string{"card 2"}, (&Kind{}).Numbered([]string{"card 2"}))
}

// A card that is asked about by itself has the same answer as one of many, however its text can be meant: 00 30 A2 4D
// is a read in hex or a chip's serial, and no part of a serial is a facility.
func TestEachSaysTheSame(t *testing.T) {
	ranker, err := rank.New(formats.Builtin())
	require.NoError(t, err)
	type document struct {
		Taken      []map[string]any
		Candidates []map[string]any
	}
	for _, text := range []string{"00 30 A2 4D", "0x1670DD97C0", "150,46143"} {
		ans, err := ranker.RankTexts([]string{text})
		require.NoError(t, err)
		alone, err := OfTexts(ranker, formats.Builtin(), []string{text}, &ans)
		require.NoError(t, err)
		each := Each{Ranker: ranker, Catalogue: formats.Builtin(), JSON: true, Top: 5, Known: new(Memory)}
		line, _, err := each.Append(nil, 1, text)
		require.NoError(t, err)
		var one, many document
		require.NoError(t, json.Unmarshal(alone.JSON(5), &one))
		require.NoError(t, json.Unmarshal(line, &many))
		assert.Equal(t, one, many, text)
		assert.NotEmpty(t, one.Candidates)
	}
}
