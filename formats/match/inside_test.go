package match

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// A row that is not read says which card it may be, where numbers stand in it among words: whoever asks about one of
// those cards is not told that it is not on the list. A card as decimal is facility · 65536 + number (SIA
// AC-01-1996.10).
func TestNumbersAmongWords(t *testing.T) {
	var list, events []string
	for n := 4101; n < 4141; n++ {
		list, events = append(list, fmt.Sprintf("121,%05d", n)), append(events, decimals(121, n)...)
	}
	rows := map[int]string{6301: "S/N 121,06301", 6302: "121,06302 (lost)", 6303: "121,06303 / 121,06304",
		6305: "121,06299 -> 121,06305", 6306: "121,06306 Workshop"}
	for n, row := range rows {
		texts := decimals(121, n)
		m := listed26(t, "pair", []uint64{121}, append(list[:40:40], row), append(events[:30:30], texts...), "decimal10")
		u := m.Unknown(texts[0])
		require.NotNil(t, u)
		assert.Equal(t, Doubtful, u.Best.Rule, "%s %v", row, u.Best)
		require.GreaterOrEqual(t, u.Best.Holder, 0)
		assert.Equal(t, row, m.Holders()[u.Best.Holder].Number)
		other := decimals(121, n+900)
		m = listed26(t, "pair", []uint64{121}, append(list[:40:40], row), append(events[:30:30], other...), "decimal10")
		assert.NotEqual(t, Doubtful, m.Unknown(other[0]).Best.Rule, "another card than those of the row")
	}
	m := listed26(t, "number", []uint64{121}, []string{"4101", "4102", "Visitor 3", "4104"}, decimals(121, 3), "decimal10")
	assert.NotEqual(t, Doubtful, m.Unknown(decimals(121, 3)[0]).Best.Rule, "one figure among words is no number of a card")
}

// A row can be a card of either of two kinds, that a door shows alike: facility 0 and a number of 16 bits, or the same
// as one number of 24 bits. Whichever it is, it is that row's, and nobody else's.
func TestEitherCardIsShownAlike(t *testing.T) {
	two := []formats.Population{{Format: "26-8-16", Printed: "pair"}, {Format: "26-0-24", Printed: "pair24"}}
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: two}, reading.Options{}, "decimal10")
	require.NoError(t, err)
	var list []string
	for n := 39711; n < 39754; n += 2 {
		list = append(list, fmt.Sprintf("089,%05d", n))
	}
	for n := 16686; n < 16728; n++ {
		list = append(list, fmt.Sprintf("000,%05d", n))
	}
	m := New(opt)
	m.SettleList(opt.List.Settled(list))
	doubtful := 0
	for i, text := range list {
		if m.AddHolder(Row{Line: i + 1, Name: text, Value: []byte(text)}) != nil {
			doubtful++
		}
	}
	require.GreaterOrEqual(t, doubtful, 40)
	m.AddEvent(Row{Line: 1, Value: []byte("0000016709")})
	m.Weigh()
	u := m.Unknown("0000016709")
	require.NotNil(t, u)
	assert.Equal(t, Doubtful, u.Best.Rule, "%v", u.Best)
	assert.Equal(t, "000,16709", m.Holders()[max(0, u.Best.Holder)].Number)
}
