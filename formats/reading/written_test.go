package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// A facility and a number of no card of the site are not the two halves of a serial's data bits, which have five digits
// each.
func TestPairsAreNotWords(t *testing.T) {
	s := site.Site{Cards: []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{121}, Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair"},
		{Format: "34-0-32", Printed: "number10"},
	}}
	p, err := New(formats.Builtin(), s, Options{Second: []string{"words"}})
	require.NoError(t, err)
	var seen Seen
	for text, want := range map[string]string{"121,00005": "121,00005", "00121,00005": "121,00005", "00000,00190": "",
		"58,2120": "-", "75,2044": "-"} {
		err := p.Read([]byte(text), &seen)
		if want == "-" {
			assert.Error(t, err, text)
			continue
		}
		if want != "" && assert.NoError(t, err, text) {
			c := seen.Card()
			assert.Equal(t, want, Describe(&c))
		}
	}
}

// Cells that are no card: a sum with its word, a lone zero, more zeros than the form has.
func TestWhatIsNoCard(t *testing.T) {
	for _, form := range []string{"number10", "decimal10", "number", "decimal"} {
		p, err := New(formats.Builtin(), site.Site{}, Options{Format: "34-0-32", Forms: []string{form}, Any: true})
		require.NoError(t, err)
		var seen Seen
		assert.Error(t, p.Read([]byte("Total 190"), &seen), form)
		if form == "number10" || form == "decimal10" {
			assert.Error(t, p.Read([]byte("0"), &seen), form)
			assert.Error(t, p.Read([]byte("000000000000000001"), &seen), form)
		}
		assert.NoError(t, p.Read([]byte("0000000190"), &seen), form)
	}
}
