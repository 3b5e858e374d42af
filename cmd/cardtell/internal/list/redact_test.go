package list

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestMasks(t *testing.T) {
	a, b := NewMasker(), NewMasker()
	assert.Equal(t, a.Mask("150,46143"), a.Mask("150,46143"), "the same number, the same mask")
	assert.NotEqual(t, a.Mask("150,46143"), a.Mask("150,46144"))
	assert.NotEqual(t, a.Mask("150,46143"), b.Mask("150,46143"), "another run, another mask")
	assert.NotContains(t, a.Mask("150,46143"), "46143")
}
