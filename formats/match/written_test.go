package match

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// A row that was typed wrong is found however the list writes its numbers: bytes with signs between or without, a word
// before a number. The cards were worked out by hand: the bytes B1 17 8F A9 last one first are A98F17B1, which is
// 2844727217; 121 · 65536 + 318 is 7930174.
func TestTypedWrongHoweverWritten(t *testing.T) {
	for _, one := range []struct {
		cards formats.Population
		rows  []string // the first is typed wrong
		shown string
	}{
		{formats.Population{Format: "34-0-32", Printed: "uid-reversed"}, []string{"B11788A9", "29787AD4", "7C3E789E"}, "2844727217"},
		{formats.Population{Format: "34-0-32", Printed: "uid-reversed"}, []string{"B1:17:88:A9", "29:78:7A:D4", "7C:3E:78:9E"},
			"2844727217"},
		{formats.Population{Format: "26-8-16", Printed: "decimal", Facilities: []uint64{121}}, []string{"No. 7930147", "No. 7929873",
			"No. 7929874"}, "7930174"},
	} {
		opt, err := ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{one.cards}}, reading.Options{}, "decimal")
		require.NoError(t, err)
		m := New(opt)
		for i, text := range one.rows {
			require.NoError(t, m.AddHolder(Row{Line: i + 1, Name: text, Value: []byte(text)}), text)
		}
		m.AddEvent(Row{Line: 1, Value: []byte(one.shown)})
		unknown := m.Weigh()
		require.Len(t, unknown, 1, one.rows[0])
		assert.Equal(t, Typed, unknown[0].Best.Rule, one.rows[0])
		assert.Equal(t, 0, unknown[0].Best.Holder, one.rows[0])
	}
}
