package reading

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// Where most pairs of a column have letters, all are in hex, also those whose digits are decimal by chance; one with a
// letter is a slip, and throws no doubt on others.
func TestPairsOfDigitsAmongPairsInHex(t *testing.T) {
	var hex, decimal []string
	for n := range 60 {
		hex = append(hex, fmt.Sprintf("30-%04X", 0x2700+7*n))
		decimal = append(decimal, fmt.Sprintf("30-%04d", 2700+7*n))
	}
	cards := []formats.Population{kind("26-8-16", "pair", 30, 48)}
	p := settledOn(t, cards, hex, Options{})
	assert.Equal(t, []string{"damaged", "unreadable"}, outcomes(p, "30-2707", "30-27C4"))
	p = settledOn(t, cards, append(decimal, "30-27O8", "30-27B8"), Options{})
	assert.Equal(t, []string{"26-8-16 030,02707"}, outcomes(p, "30-2707"))
	var site = []formats.Population{kind("26-8-16", "pair", 30), kind("34-16-16", "hex", 30)}
	p = settledOn(t, site, append(decimal, "001E0A93"), Options{})
	assert.Equal(t, []string{"26-8-16 030,02707"}, outcomes(p, "30-2707"))
}
