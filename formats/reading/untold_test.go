package reading_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// A number that is in a block of the site's is never taken for a card of another kind, though nothing tells how the
// cards of that block are written: here one of them with a zero too many leaves that open. Numbers by hand.
func TestABlockWhoseFormIsNotToldThrowsDoubt(t *testing.T) {
	cards := []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{61}, Printed: "number"},
		{Format: "34-16-16", Facilities: []uint64{3615}, Numbers: []formats.Range{{First: 5484, Last: 5508}}, Printed: "pair"},
		{Format: "26-0-24", Numbers: []formats.Range{{First: 227, Last: 762}}},
	}
	texts := []string{"000228", "#43679", "#8737", "00230", "#37829", "03615,05485", "03615,05486", "00231", "00232",
		"#37899", "00233", "#43598", "03615,05488", "03615,05489", "#8727"}
	column, err := reading.Settle(formats.Builtin(), cards, slices.Values(texts), reading.Options{})
	require.NoError(t, err)
	for _, text := range []string{"00230", "00231", "00232", "00233"} {
		assert.NotEqual(t, reading.IsCard, column.Read(text).Outcome, text)
	}
	for _, text := range []string{"#43679", "03615,05485"} {
		assert.Equal(t, reading.IsCard, column.Read(text).Outcome, "%s: %v", text, column.Read(text).Err)
	}
}
