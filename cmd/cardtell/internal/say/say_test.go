package say

import (
	"errors"
	"io/fs"
	"strings"
	"syscall"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
)

// Lines are as wide as is asked and have all words in their order; a word that is longer stays whole.
func TestHang(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []string{"- a bb", "  ccc", "  1234567890", "  d"}, Hang("- ", "a bb ccc 1234567890 d", 7))
	assert.Equal(t, []string{"é: x\ufffd[2J y"}, Hang("é: ", "x\x1b[2J y", 40), "nothing steers the terminal")
	text := strings.Repeat("näh  und fern ", 30)
	for width := 12; width < 60; width++ {
		lines := Hang("    ", text, width)
		for _, line := range lines {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), width)
		}
		assert.Equal(t, strings.Fields(text), strings.Fields(strings.Join(lines, " ")))
	}
}

func TestWords(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []string{"0 cards", "1 card", "2 replies"},
		[]string{Count(0, "card"), Count(1, "card"), Counts(2, "reply", "replies")})
	assert.Equal(t, []string{"néé", "né…", "né…"}, []string{Clip("néé", 3), Clip("né nä", 4), Clip("nééé", 3)})
	for p, want := range map[float64]string{0: " <0.1 %", 0.0005: "  0.1 %", 0.5: " 50.0 %", 0.9995: ">99.9 %",
		0.9994: " 99.9 %", 1: ">99.9 %"} {
		assert.Equal(t, want, Percent(p), p)
	}
	missing := &fs.PathError{Op: "open", Path: "a\x1bb", Err: fs.ErrNotExist}
	assert.Equal(t, "list: a\ufffdb: file does not exist; is the name right?",
		Error(errors.Join(errors.New("list:"), missing)))
	assert.Equal(t, "none/x.csv: there is no folder none; is the name right?",
		Error(&fs.PathError{Op: "write", Path: "none/x.csv", Err: fs.ErrNotExist}))
	assert.Equal(t, "x: permission denied; ask its owner",
		Error(&fs.PathError{Op: "open", Path: "x", Err: syscall.EACCES}), "no file is read elsewhere")
	assert.Equal(t, "x: permission denied; ask its owner, or write elsewhere",
		Error(&fs.PathError{Op: "write", Path: "x", Err: syscall.EACCES}))
}

func TestPercentStaysWithItsNumber(t *testing.T) {
	assert.Equal(t, []string{"it is", "93.8 % sure"}, Wrap("it is 93.8 % sure", 11))
	assert.Equal(t, []string{"it is 93.8", "sure"}, Wrap("it is 93.8 sure", 11))
}
