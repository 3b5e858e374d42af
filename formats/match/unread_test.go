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

// Half of the rows have numbers of a form that is not known: no list has so many typed wrong, so that cards of the door
// that nobody else has can well be theirs. Here they are all of one other facility, as a neighbour's would be.
func TestManyRowsOfAnUnknownForm(t *testing.T) {
	var list, events, theirs []string
	for n := 4101; n < 4141; n++ {
		list, events = append(list, fmt.Sprintf("121,%05d", n)), append(events, decimals(121, n)...)
	}
	for n := 1801; n < 1841; n++ {
		list, theirs = append(list, fmt.Sprintf("770012%09d", n*37)), append(theirs, decimals(26, n)...)
	}
	m := listed26(t, "pair", []uint64{121}, list, append(events, theirs...), "decimal10")
	for _, text := range theirs {
		u := m.Unknown(text)
		require.NotNil(t, u)
		assert.False(t, u.Best.Rule == Stranger && u.Best.Probability > 0.9, "%s %v", text, u.Best)
	}
	few := append(slices.Clone(list[:40]), list[40])
	u := listed26(t, "pair", []uint64{121}, few, append(events, theirs...), "decimal10").Unknown(theirs[20])
	require.NotNil(t, u)
	assert.Equal(t, Stranger, u.Best.Rule, "one row can't be forty cards")
}

// weighForm agrees with the sum over shares of typing, worked out by the midpoint rule (arithmetic of the test's own),
// for 3 of 100 and 38 of 97 rows.
func TestManyNumbersNotReadAreAForm(t *testing.T) {
	for _, tt := range []struct{ unread, all int }{{3, 100}, {38, 97}} {
		m := New(Options{List: &reading.Plan{}})
		m.unread = make([]Holder, tt.unread)
		for i := range m.unread {
			m.unread[i].Number = "12"
		}
		m.holders = make([]Holder, tt.all)
		m.weighForm()
		const steps = 20000
		typed, form := 0.0, 0.0
		for i := range steps {
			x := (float64(i) + 0.5) / steps
			p := 1.0
			for k := range tt.all {
				if k < tt.unread {
					p *= x * float64(tt.all-k) / float64(k+1)
				} else {
					p *= 1 - x
				}
			}
			density := float64(typedBadly)
			for range typedBadly - 1 {
				density *= 1 - x
			}
			typed += (1 - unknownForms) * p * density
			form += unknownForms * p
		}
		assert.InDelta(t, form/(form+typed), m.unknownForm, 1e-3, "%d of %d", tt.unread, tt.all)
	}
}

// A digit of a number that was copied by hand can be another one, or there too many. By hand: 121 · 65536 + 4251 =
// 7934107.
func TestCopiedWrongInTheEvents(t *testing.T) {
	numbers := []int{4117, 4139, 4202, 4251, 4288, 4310, 4377, 4391, 4402, 4466}
	var list []string
	for _, n := range numbers {
		list = append(list, fmt.Sprintf("121,%05d", n))
	}
	events := slices.Delete(decimals(121, numbers...), 3, 4)
	for _, wrong := range []string{"0007634107", "00079344107", "0009734107"} {
		u := listed26(t, "pair", []uint64{121}, list, append(slices.Clone(events), wrong), "decimal10").Unknown(wrong)
		require.NotNil(t, u, wrong)
		assert.Equal(t, Digit, u.Best.Rule, "%s %v", wrong, u.Best)
		assert.Equal(t, 3, u.Best.Holder, wrong)
	}
}

// A row that was not read, of a list whose numbers have a label, is known by its number all the same. By hand:
// 121 · 65536 + 9251 = 7939107; 92251 does not fit 16 bits.
func TestLabelOfARowThatWasNotRead(t *testing.T) {
	list := []string{"N-92251"}
	for n := 4201; n < 4241; n++ {
		list = append(list, fmt.Sprintf("N-%d", n))
	}
	cards := formats.Population{Format: "26-8-16", Facilities: []uint64{121}, Printed: "number",
		Numbers: []formats.Range{{First: 4201, Last: 4300}}}
	opt, err := ForSite(formats.Builtin(), site.Site{Cards: []formats.Population{cards}}, reading.Options{}, "decimal10")
	require.NoError(t, err)
	opt.List = opt.List.Settled(list)
	require.Equal(t, "N-", opt.List.Label())
	m := New(opt)
	for i, text := range list {
		_ = m.AddHolder(Row{Line: i + 2, Value: []byte(text)})
	}
	for i, text := range decimals(121, 9251, 4201, 4202, 4203, 4204, 4205) {
		m.AddEvent(Row{Line: i + 2, Value: []byte(text)})
	}
	m.Weigh()
	u := m.Unknown("0007939107")
	require.NotNil(t, u)
	assert.Equal(t, "N-92251", m.Holders()[max(0, u.Best.Holder)].Number, "%v", u.Best)
	assert.GreaterOrEqual(t, u.Best.Holder, 0)
}
