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

// TestRowTypedWrongBehindAHabit: a door whose lines are swapped shows every card inverted: also the one whose row was
// typed wrong, and that of a stranger. What it shows is worked out here: all bits of 24 are 16777215.
func TestRowTypedWrongBehindAHabit(t *testing.T) {
	const all = 1<<24 - 1
	var numbers []int
	for i := range 40 {
		numbers = append(numbers, 20_411+7*i)
	}
	list := decimals(131, numbers...)
	var events []string
	for _, n := range numbers {
		events = append(events, fmt.Sprintf("%010d", all-(131<<16+n)))
	}
	list[8] = fmt.Sprintf("%010d", 131<<16+20_411+7*8+300) // of eight digits, one of which is 3 more
	stranger := fmt.Sprintf("%010d", all-(131<<16+61_007))
	m := listed26(t, "decimal10", []uint64{131}, list, append(events, stranger), "decimal10")
	for i, shown := range events {
		u := m.Unknown(shown)
		require.NotNil(t, u, shown)
		assert.Equal(t, i, u.Best.Holder, shown)
		assert.Equal(t, map[bool]Rule{true: Typed, false: Swapped}[i == 8], u.Best.Rule, shown)
		assert.Greater(t, u.Best.Probability, 0.9, shown)
	}
	assert.Equal(t, Stranger, m.Unknown(stranger).Best.Rule)
}

// TestFacilityLeftOut: a door shows the 19 bits of the number and zeros for the facility.
func TestFacilityLeftOut(t *testing.T) {
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{
		{Format: "37-16-19", Printed: "pair", Facilities: []uint64{4711}},
	}}, reading.Options{}, "pair")
	require.NoError(t, err)
	m := New(opt)
	for i := range 30 {
		number := 203_118 + 11*i
		require.NoError(t, m.AddHolder(Row{Line: i + 1, Value: fmt.Appendf(nil, "04711,%06d", number)}))
		m.AddEvent(Row{Line: i + 1, Value: fmt.Appendf(nil, "00000,%06d", number)})
	}
	for i, u := range m.Weigh() {
		assert.Equal(t, i, u.Best.Holder, u.Value)
		assert.Equal(t, Cut, u.Best.Rule, u.Value)
		assert.Greater(t, u.Best.Probability, 0.99, u.Value)
	}
}

// TestTwoFormsAtOneDoor: a door shows some cards as the number alone, and some with the facility, just as the list has
// them. That none of these was typed wrong is far likelier than that all were.
func TestTwoFormsAtOneDoor(t *testing.T) {
	var list, events []string
	for i := range 30 {
		number := 22_545 + 3*i
		list = append(list, fmt.Sprintf("201,%05d", number))
		if events = append(events, fmt.Sprint(number)); i%2 == 0 {
			events = append(events, list[i])
		}
	}
	m := listed26(t, "pair", []uint64{201}, list, events, "number")
	for i := 0; i < 30; i += 2 {
		u := m.Unknown(list[i])
		require.NotNil(t, u, list[i])
		assert.Equal(t, i, u.Best.Holder, list[i])
		assert.Equal(t, Form, u.Best.Rule, list[i])
		assert.Greater(t, u.Best.Probability, 0.99, list[i])
	}
}
