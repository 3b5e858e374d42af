package reading_test

import (
	"fmt"
	"math/rand/v2"
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

// One number in four is a good read of 37 bits by chance, which has two parities, and is no such read for that: the
// numbers of two boxes can be cards of either kind, whatever the seed.
func TestNumbersAreNoWholeReadsByChance(t *testing.T) {
	for seed := range uint64(12) {
		rnd := rand.New(rand.NewPCG(seed, 44))
		var texts []string
		for i := range 200 {
			first := 288_650
			if i%5 == 0 {
				first = 6_000
			}
			texts = append(texts, fmt.Sprint(first+rnd.IntN(1000)))
		}
		cards := []formats.Population{{Format: "26-0-24", Printed: "decimal"}, {Format: "37-0-35"}}
		assert.Empty(t, reading.Shown(formats.Builtin(), cards, texts, reading.Options{})[1].Printed, "seed %d", seed)
	}
}
