package evidence

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
)

// TestSecondKindAddsUp: given the first kind, the chances of all that a second one can be are no more than 1 together.
func TestSecondKindAddsUp(t *testing.T) {
	m, err := New(formats.Builtin(), nil)
	require.NoError(t, err)
	for i := range m.Catalogue.Len() {
		first := m.Catalogue.At(i)
		sum := judgement.SameFormat
		for k := range m.Catalogue.Len() {
			if second := m.Catalogue.At(k); second != first {
				sum += m.share(second) * m.another(first, second)
			}
		}
		assert.LessOrEqual(t, sum, 1+1e-9, first.ID)
		for k := range m.Catalogue.Len() {
			a, b := Reading{Format: first}, Reading{Format: m.Catalogue.At(k)}
			assert.Equal(t, m.Beside(a, b), m.Beside(b, a))
		}
	}
}
