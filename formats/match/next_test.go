package match

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// TestNextOfTheBox: cards are handed out in order, mostly, so that a card just behind those of the list is the next one
// of the box, which nobody put there, and no misread of one of theirs, though it is a bit from several. Common
// practice, no source. The list is made here.
func TestNextOfTheBox(t *testing.T) {
	cards := []formats.Population{{Format: "26-8-16", Printed: "pair", Facilities: []uint64{121}}}
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: cards}, reading.Options{}, "pair")
	require.NoError(t, err)
	m := New(opt)
	for i := range 100 {
		number := fmt.Sprintf("121,%05d", 1000+i)
		require.NoError(t, m.AddHolder(Row{Line: i + 1, Name: number, Value: []byte(number)}))
		if i%2 == 0 {
			m.AddEvent(Row{Line: i + 1, Value: []byte(number)})
		}
	}
	for _, next := range []int{1100, 1101, 1105} {
		m.AddEvent(Row{Line: 200 + next, Value: fmt.Appendf(nil, "121,%05d", next)})
	}
	for _, u := range m.Weigh() {
		require.Equal(t, Stranger, u.Best.Rule, u.Value)
		require.Greater(t, u.Best.Probability, 0.9, u.Value)
	}
}
