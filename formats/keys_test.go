package formats

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/wiegand"
)

// Codes of keys: 0 to 9, 10 is * and 11 is #; in 8 bits the first four inverted, as public general-purpose drivers have
// it, or the last four (from memory). That they come in one frame is common practice, no source.
func TestKeys(t *testing.T) {
	for text, want := range map[string]KeyFrame{
		"20:1234B":      {Keys: "1234#", Each: 4, Chance: 10. / 16 * 10 / 16 * 10 / 16 * 10 / 16 / 8},
		"16:1234":       {Keys: "1234", Each: 4, Chance: 10. / 16 * 10 / 16 * 10 / 16 * 10 / 16},
		"24:A1234B":     {Keys: "*1234#", Each: 4, Chance: 10. / 16 * 10 / 16 * 10 / 16 * 10 / 16 / 64},
		"40:E1D2C3B44B": {Keys: "1234#", Each: 8, Chance: 10. / 16 * 10 / 16 * 10 / 16 * 10 / 16 / 8 / (1 << 19)},
		"32:1E2D3C4B":   {Keys: "1234", Each: 8, Chance: 10. / 16 * 10 / 16 * 10 / 16 * 10 / 16 / (1 << 15)},
	} {
		f, ok := Keys(wiegand.MustParseBits(text))
		assert.True(t, ok, text)
		assert.InEpsilon(t, want.Chance, f.Chance, 1e-12, text)
		f.Chance = want.Chance
		assert.Equal(t, want, f, text)
	}
	for _, text := range []string{"4:1", "8:E1", "8:12", "26:0F241C3", "16:12C4", "16:1B34", "24:B12345", "40:E1D2C3B44C",
		"40:E1D2C3B443", "9:11"} {
		f, ok := Keys(wiegand.MustParseBits(text))
		assert.False(t, ok, text)
		assert.Zero(t, f, text)
	}
	for text, likely := range map[string]bool{"16:1234": true, "20:1234B": true, "24:123456": false, "24:12345B": false,
		"32:1234567B": false, "32:E1D2C3B4": true} {
		f, ok := Keys(wiegand.MustParseBits(text))
		assert.Equal(t, likely, ok && f.Likely(), text)
	}
}
