package roster_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
	"github.com/cardtell/cardtell/formats/site"
)

// A number whose row could not be read is not free, also where it is written without its beginning. By hand: 269478640
// is 100FEAF0 in hex, whose last three bytes are 0F (15) and EAF0 (60144).
func TestNumbersOfRowsInDoubtAreNotFree(t *testing.T) {
	tags := site.Site{Cards: []formats.Population{{Format: "34-0-32", Printed: "pair24",
		Numbers: []formats.Range{{First: 269_478_630, Last: 269_478_645}}}}}
	plan, err := reading.New(formats.Builtin(), tags, reading.Options{})
	require.NoError(t, err)
	r, err := roster.New(tags, plan, false)
	require.NoError(t, err)
	for i, number := range []string{"015,60134", "015,60143 015,60144", "015,60145 (lost)"} {
		r.Add(roster.Row{Line: i + 2, Number: []byte(number)})
	}
	r.Check()
	blocks, short := r.Free(12)
	require.Empty(t, short)
	require.Len(t, blocks, 2)
	for _, b := range blocks {
		for _, taken := range []uint64{269_478_630, 269_478_639, 269_478_640, 269_478_641} {
			assert.False(t, b.First <= taken && taken <= b.Last, "%d is offered: %d to %d", taken, b.First, b.Last)
		}
	}
}

// Nor is a number free that a row in doubt has in full-width digits or with signs between thousands.
func TestNumbersInDoubtAreReadInEveryWay(t *testing.T) {
	plan, err := reading.New(formats.Builtin(), site.Site{}, reading.Options{Format: "34-0-32", Forms: []string{"number10"}})
	require.NoError(t, err)
	r, err := roster.New(site.Site{}, plan, false)
	require.NoError(t, err)
	r.Add(roster.Row{Line: 2, Number: []byte("0001234560")})
	r.AddUnread(3, reading.Unreadable, "", "\uff11\uff12\uff13\uff14\uff15\uff16\uff12")
	r.AddUnread(4, reading.Unreadable, "", "Bo 1.234.564 lost")
	r.Check()
	blocks, _ := r.Free(3)
	for _, b := range blocks {
		for _, taken := range []uint64{1_234_562, 1_234_564} {
			assert.False(t, b.First <= taken && taken <= b.Last, "%d is offered: %d to %d", taken, b.First, b.Last)
		}
	}
	assert.NotEmpty(t, blocks)
}

// Nor is a number free of which one slip makes a row that could not be read: by hand, 121,022069 is 02069 with a 2
// typed twice, 131,02075 has a wrong digit in its facility, and 121,20980 is 02980 with two digits swapped.
func TestNumbersBeforeASlipAreNotFree(t *testing.T) {
	cards := site.Site{Cards: []formats.Population{{Format: "26-8-16", Printed: "pair", Facilities: []uint64{121},
		Numbers: []formats.Range{{First: 2_060, Last: 2_080}, {First: 2_980, Last: 2_981}}}}}
	plan, err := reading.New(formats.Builtin(), cards, reading.Options{})
	require.NoError(t, err)
	r, err := roster.New(cards, plan, false)
	require.NoError(t, err)
	for i, number := range []string{"121,02060", "121,022069", "131,02075", "121,20980"} {
		r.Add(roster.Row{Line: i + 2, Number: []byte(number)})
	}
	r.Check()
	blocks, _ := r.Free(15)
	require.NotEmpty(t, blocks)
	for _, b := range blocks {
		for _, taken := range []uint64{2_060, 2_069, 2_075, 2_980} {
			assert.False(t, b.First <= taken && taken <= b.Last, "%d is offered: %d to %d", taken, b.First, b.Last)
		}
	}
}

// Two kinds of cards with the same numbers are not offered what a door shows alike. By hand: the door shows the number
// alone of either format.
func TestNewNumbersOfTwoKindsAreApart(t *testing.T) {
	ranges := []formats.Range{{First: 1, Last: 40}}
	two := site.Site{Cards: []formats.Population{{Format: "26-0-24", Printed: "number", Numbers: ranges},
		{Format: "34-0-32", Printed: "hex", Numbers: ranges}}, Doors: []site.Door{{Name: "Gate", Enter: "number"}}}
	plan, err := reading.New(formats.Builtin(), two, reading.Options{})
	require.NoError(t, err)
	r, err := roster.New(two, plan, false)
	require.NoError(t, err)
	r.Add(roster.Row{Line: 2, Number: []byte("3")})
	r.Check()
	blocks, short := r.Free(10)
	require.Empty(t, short)
	shown := map[string]bool{"3": true}
	for _, b := range blocks {
		for card := range r.New(b) {
			assert.False(t, shown[card.Doors[0]], "%s %d", b.Format, card.Number)
			shown[card.Doors[0]] = true
		}
	}
	assert.Len(t, shown, 21)
}

// What a row can be of a kind whose form nothing tells, so that any text is one, is no reason to take it as it stands:
// by hand, 199,24189 is 24819 with two digits swapped, and 199,2483 may have lost a digit of 24830 to 24839.
func TestAGuessedFormDoesNotSayThatARowHasNoSlip(t *testing.T) {
	cards := []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{199}, Numbers: []formats.Range{{First: 24799, Last: 24848}}, Printed: "pair"},
		{Format: "32-0-32"}, {Format: "32-0-32", Printed: "words"},
	}
	plan, err := reading.New(formats.Builtin(), site.Site{Cards: cards}, reading.Options{})
	require.NoError(t, err)
	r, err := roster.New(site.Site{Cards: cards}, plan, false)
	require.NoError(t, err)
	r.Add(roster.Row{Line: 2, Number: []byte("199,24818")})
	r.AddUnread(3, reading.Ambiguous, "", "199,24189")
	r.AddUnread(4, reading.Ambiguous, "", "199,2483")
	r.Check()
	blocks, _ := r.Free(8)
	require.NotEmpty(t, blocks)
	for _, b := range blocks {
		for _, taken := range []uint64{24819, 24830, 24839} {
			assert.False(t, b.First <= taken && taken <= b.Last, "%d is offered: %d to %d", taken, b.First, b.Last)
		}
	}
}
