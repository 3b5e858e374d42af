package roster_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats/roster"
)

// A lone card that the site file lacks is not said to be typed wrong as if nobody ever ordered more: the next facility,
// and the numbers behind the block, are likelier a new order. What else one slip makes of a card of the site is named,
// and never beyond doubt. Judgement, no source: how new orders go on.
func TestLoneCardsCanBeRight(t *testing.T) {
	for number, most := range map[string]float64{"122,00014": 0.5, "121,00616": 0.5, "112,00014": 0.99} {
		r, err := list("121,00015", "121,00017", "121,00031", number)
		require.NoError(t, err)
		stated := 0.0
		for _, f := range r.Check() {
			if f.Kind == roster.Mistyped {
				stated = f.Probability
			}
		}
		assert.LessOrEqual(t, stated, most, number)
		assert.Equal(t, most > 0.5, stated > 0.5, number)
	}
}
