package words

import (
	"fmt"
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

func TestUngrouped(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"7,938,273": "7938273 3 commas", "938.273": "938273 2 full stops", "0 007 938 273": "0007938273 4 spaces",
		"7\u202f938\u202f273": "7938273 3 narrow no-break spaces", "7938273": "7938273 0 ", "7,938.273": "7,938.273 0 ",
		"7,93,273": "7,93,273 0 ", "7938,273,000": "7938,273,000 0 ", ",938,273": ",938,273 0 ", "7,938,": "7,938, 0 ",
		"": " 0 ",
	} {
		digits, groups, signs := Ungrouped(text)
		assert.Equal(t, want, fmt.Sprintf("%s %d %s", digits, groups, signs))
	}
}
