package typing

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// TestStylesAreADistribution: they add up to 1 (axioms of probability).
func TestStylesAreADistribution(t *testing.T) {
	sum := 0.0
	for _, p := range StylePrior {
		sum += p
	}
	assert.InDelta(t, 1, sum, 1e-9)
}

// TestWideNumbersAreFilledUp: a number of 80 bits filled with zeros to the 25 digits that 2^80-1 has (arithmetic) is
// that number, and one with another digit is not.
func TestWideNumbersAreFilledUp(t *testing.T) {
	number := []byte("7578526393510205331891")
	right := NewSeen(formats.Sighting{Kind: formats.Printed, Text: "0007578526393510205331891"})
	wrong := NewSeen(formats.Sighting{Kind: formats.Printed, Text: "0007578526393510205331892"})
	assert.NotZero(t, right.StylesOf(number, false))
	assert.Zero(t, wrong.StylesOf(number, false))
}

// TestFacilityZero: a pair whose facility is 0, written without zeros at the start, is the card's in the style in which
// other facilities are (arithmetic).
func TestFacilityZero(t *testing.T) {
	for _, sep := range []string{",", "-"} {
		zero := NewSeen(formats.Sighting{Kind: formats.Printed, Text: "0" + sep + "20693"})
		other := NewSeen(formats.Sighting{Kind: formats.Printed, Text: "77" + sep + "20489"})
		assert.NotZero(t, zero.StylesOf([]byte("000,20693"), false)&other.StylesOf([]byte("077,20489"), false))
		assert.Zero(t, zero.StylesOf([]byte("001,20693"), false))
	}
}
