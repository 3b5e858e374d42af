package worlds_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/calibration/worlds"
)

// TestColumnsAreWhatTheySay: cells that are not damaged can be read back in their form, and are then the card.
func TestColumnsAreWhatTheySay(t *testing.T) {
	cat := formats.Builtin()
	for _, w := range worlds.Columns() {
		damaged, rows := 0, 0
		for i := range 20 {
			c := w.Draw(rand.New(rand.NewPCG(11, uint64(i))))
			require.Len(t, c.Texts, len(c.Rows), w.Name)
			require.GreaterOrEqual(t, len(c.Texts), 20, w.Name)
			for k, r := range c.Rows {
				if rows++; r.Damaged {
					damaged++
					continue
				}
				form, ok := formats.FormByName(c.Forms[r.Form])
				require.True(t, ok)
				card, err := form.Parse(cat.Find(c.Kinds[r.Kind].Format)[0], c.Texts[k])
				require.NoError(t, err, w.Name)
				v, ok := card.Record.Uint64(card.Format.Number())
				require.True(t, ok)
				assert.Equal(t, r.Number, v, "%s, column %d of seed 11, row %d", w.Name, i, k)
			}
		}
		assert.Equal(t, strings.Contains(w.Name, "damaged"), damaged > 0, "%s: %d of %d cells are damaged", w.Name, damaged,
			rows)
	}
}
