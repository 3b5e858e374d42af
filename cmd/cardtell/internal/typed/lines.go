package typed

import (
	"errors"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// Lines finds the cards in lines, one after another.
type Lines struct {
	heads  *heads
	some   bool // there was a line before
	Taken  int  // lines with more than a card, of which First says the first one
	First  string
	Passed []int // lines without a card, but for heads that name its column
}

// separators stand between the cells of a row, or words.
const separators = " \t,;|"

// Card returns the text of the card in a line; pass where there is none, as in heads and in lines about something else.
func (l *Lines) Card(line int, text string) (card string, pass bool, err error) {
	first := !l.some
	if text == "" || strings.IndexByte(separators, text[0]) >= 0 && strings.Trim(text, separators) == "" {
		return "", true, nil // a blank row of a list
	}
	if first && title(text) {
		l.Passed = append(l.Passed, line)
		return "", true, nil
	}
	l.some = true
	if l.heads != nil {
		switch card, total := l.heads.card(text); {
		case total:
			l.Passed = append(l.Passed, line)
			return "", true, nil
		case card != "":
			return card, false, nil
		}
	}
	if !strings.ContainsAny(text, separators) { // no words, and most lines of long files
		return text, first && readHead().MatchString(text), nil // that is the head of a single column
	}
	if first && !strings.ContainsAny(text, "0123456789") {
		if h, ok := headsOf(text); ok {
			l.heads = &h
			return "", true, nil
		}
		if strings.ContainsAny(text, ",;\t|") {
			l.Passed = append(l.Passed, line)
			return "", true, nil
		}
	}
	card, err = formats.FromLog(text)
	switch {
	case errors.Is(err, formats.ErrMissing):
		l.Passed = append(l.Passed, line)
		return "", true, nil
	case errors.Is(err, formats.ErrAmbiguous):
		return "", false, err
	case err != nil:
		return text, false, nil
	}
	if card != text {
		if l.Taken++; l.Taken == 1 {
			l.First = fmt.Sprintf("%s in line %d", say.Clip(card, 40), line)
		}
	}
	return card, false, nil
}

// title reports whether a line before all others is words alone, as above the heads of a list.
func title(text string) bool {
	if !strings.Contains(text, " ") || strings.ContainsAny(text, "0123456789,;\t|=:") {
		return false
	}
	_, err := formats.Spellings(text)
	return err != nil
}
