package roster

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// A number that can be two cards is no problem where every door wants the same for both, and is not free. That the ten
// digits are the number of either format follows from the fields; a whole read differs by its length.
func TestTwoCardsThatAllDoorsWantAlike(t *testing.T) {
	s := site.Site{Cards: []formats.Population{{Format: "26-0-24", Printed: "number10"}, {Format: "34-0-32",
		Printed: "number10"}}}
	for form, problems := range map[string]int{"number": 1, "bits-hex": 5} {
		s.Doors = []site.Door{{Name: "A", Enter: "decimal10"}, {Name: "B", Enter: form}}
		plan, err := reading.New(formats.Builtin(), s, reading.Options{})
		require.NoError(t, err)
		c, err := New(s, plan, false)
		require.NoError(t, err)
		for i, n := range []int{15_657_897, 15_658_898, 15_659_899, 15_661_001, 15_661_001} {
			c.Add(Row{Line: i + 2, Number: fmt.Appendf(nil, "%010d", n)})
		}
		all := c.Check()
		require.Len(t, all, problems, form)
		if problems == 1 {
			assert.Equal(t, SameCard, all[0].Kind)
			assert.Equal(t, "15661001", c.ShownAs(1, "0015661001"))
			assert.NoError(t, c.WhyNot(0, "0015661001"))
		}
	}
}
