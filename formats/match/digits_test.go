package match

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// The numbers here are worked out by arithmetic of the test's own: 26-8-16 has facility · 65536 + number.

// listed26 matches the events of a door with a list of cards 26-8-16, whose texts are written as printed.
func listed26(t *testing.T, printed string, facilities []uint64, list, events []string, shown ...string) *Matcher {
	t.Helper()
	cards := formats.Population{Format: "26-8-16", Facilities: facilities, Printed: printed}
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{cards}}, reading.Options{}, shown...)
	require.NoError(t, err)
	m := New(opt)
	for i, text := range list {
		_ = m.AddHolder(Row{Name: fmt.Sprint(text, " of row ", i), Line: i + 2, Value: []byte(text)})
	}
	for i, text := range events {
		m.AddEvent(Row{Line: i + 2, Value: []byte(text)})
	}
	m.Weigh()
	return m
}

// decimals returns the cards of a facility as the ten digits of all their bits.
func decimals(facility int, numbers ...int) (texts []string) {
	for _, n := range numbers {
		texts = append(texts, fmt.Sprintf("%010d", facility*65536+n))
	}
	return texts
}

func TestDigitLostInTheEvents(t *testing.T) {
	numbers := []int{4117, 4139, 4202, 4251, 4288, 4310, 4377, 4391, 4402, 4466}
	var list []string
	for _, n := range numbers {
		list = append(list, fmt.Sprintf("121,%05d", n))
	}
	for _, shown := range [][]string{{"decimal10"}, nil} { // as is known, and as most events say
		events := decimals(121, numbers...)
		whole := events[3] // 0007934107
		lost := whole[:7] + whole[8:]
		events = append(slices.Delete(events, 3, 4), lost)
		u := listed26(t, "pair", []uint64{121}, list, events, shown...).Unknown(lost)
		require.NotNil(t, u, "%v", shown)
		assert.Equal(t, Digit, u.Best.Rule, "%v", shown)
		assert.Equal(t, 3, u.Best.Holder, "%v", shown)
	}
}

func TestCardOfRowNotRead(t *testing.T) {
	var list []string
	var numbers []int
	for n := 4101; n < 4151; n++ {
		list, numbers = append(list, fmt.Sprintf("121,%05d", n)), append(numbers, n)
	}
	for i := 4; i < 50; i += 5 {
		list[i] = "see desk"
	}
	u := listed26(t, "pair", []uint64{121}, list, decimals(121, numbers...), "decimal10").Unknown(decimals(121, 4145)[0])
	require.NotNil(t, u)
	assert.Equal(t, Unread, u.Best.Rule, "as many cards of the block are unknown as rows were not read")
	assert.Less(t, u.Best.Probability, 1.0)
}

func TestListWithoutFacilities(t *testing.T) {
	numbers := []int{4117, 4139, 4202, 4251, 4288, 4310}
	var list []string
	for _, n := range numbers {
		list = append(list, fmt.Sprint(n))
	}
	events := append(decimals(121, 4117, 4139, 4202), decimals(122, 4251, 4288, 4310)...)
	for _, shown := range [][]string{{"decimal10"}, nil} {
		m := listed26(t, "number", []uint64{121, 122}, list, events, shown...)
		for i, text := range events {
			u := m.Unknown(text)
			require.NotNil(t, u, "the card of the other facility may be a stranger's")
			assert.Equal(t, i, u.Best.Holder, "%s %v", text, shown)
		}
	}
}
