package evidence

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// TestPrintedAlike: formats that are said to be printed alike read the same of every text, and write the same again.
// The forms are the twin here: what they make of one format is compared with what they make of the other.
func TestPrintedAlike(t *testing.T) {
	m, err := New(formats.Builtin(), nil)
	require.NoError(t, err)
	texts := []string{"150,46143", "0,7", "255,65535", "256,1", "46143", "15046143", "9876543", "4294967295", "0096",
		"A1B2C3", "04A1B2C3", "123456789012"}
	first, compared := map[int]*formats.Format{}, 0
	for i := range m.formats {
		f := m.formats[i].format
		other := first[m.formats[i].alike]
		if other == nil {
			first[m.formats[i].alike] = f
			continue
		}
		for _, form := range formats.Forms() {
			for _, text := range texts {
				if form.OfRead() {
					continue
				}
				a, errA := form.Parse(f, text)
				b, errB := form.Parse(other, text)
				require.Equal(t, errA == nil, errB == nil, "%s and %s: %s of %s", f.ID, other.ID, form.Name, text)
				if errA != nil {
					continue
				}
				require.Equal(t, a.Known, b.Known)
				for field := range m.formats[i].fields {
					require.Equal(t, a.Record.Value(field), b.Record.Value(field), "%s and %s: %s", f.ID, other.ID, text)
				}
				inA, errA := form.Text(&a)
				inB, errB := form.Text(&b)
				require.Equal(t, errA == nil, errB == nil)
				require.Equal(t, inA, inB)
				compared++
			}
		}
	}
	require.Greater(t, compared, 100)
}
