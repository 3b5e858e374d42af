package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// What office programs leave in cells, in several languages. The cards were worked out by hand: 121 · 65536 + 17 is
// 7929873 (SIA AC-01-1996.10). That spreadsheets make dates of 5-12 is common practice, no source.
func TestCellsAsOfficesWriteThem(t *testing.T) {
	sample := []string{"121,00017", "121,00018", "121,00044"}
	p := settledOn(t, []formats.Population{kind("26-8-16", "pair", 121)}, sample, Options{})
	assert.Equal(t, []string{"26-8-16 121,00017", "26-8-16 121,00018"}, outcomes(p, "121,00017.", "121 00018."))
	for _, date := range []string{"12-Mai", "12. Dez. 2026", "3 févr. 2026", "12-Okt", "5 dic 2026", "01.12.2026"} {
		assert.Equal(t, []string{"damaged"}, outcomes(p, date), date)
	}

	// a number of ten digits is a card's as printed and as a door shows it: it is the same card
	both := []formats.Population{kind("34-0-32", "number10")}
	p = settledOn(t, both, []string{"0005000017", "0005000019"}, Options{Second: []string{"decimal10"}})
	var s Seen
	assert.NoError(t, p.Read([]byte("0005000017"), &s))
	assert.False(t, s.Reading.Second())
}
