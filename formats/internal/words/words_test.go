package words

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
)

func TestCut(t *testing.T) {
	t.Parallel()
	whole := strings.Repeat("x", Most)
	assert.Equal(t, whole, Cut(whole))
	assert.Equal(t, whole+"…", Cut(whole+"y"))
	for n := range 8 { // a character of two bytes wherever the cut is
		s := Cut(strings.Repeat("x", n) + strings.Repeat("é", Most))
		assert.True(t, utf8.ValidString(s), s)
		assert.LessOrEqual(t, len(s), Most+len("…"))
	}
	assert.Equal(t, "…", Cut(strings.Repeat("\x80", 100)), "no character begins there")
}

func TestCount(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []string{"0 cards", "1 card", "2 cards"}, []string{Count(0, "card"), Count(1, "card"),
		Count(2, "card")})
}
