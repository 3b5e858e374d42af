package typed

import (
	"encoding/csv"
	"regexp"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
	"github.com/cardtell/cardtell/formats"
)

// heads are the columns of a file of cards that say something about a card, by their names in its first line; -1
// for none.
type heads struct {
	comma                           rune
	read, facility, number, printed int
}

// The names of columns.
var (
	readHead     = pattern.Lazily(`(?i)^(?:read|raw|raw data|bits|hex)$`)
	facilityHead = pattern.Lazily(`(?i)^(?:fc|fac|facility|site)(?:[ _-]?(?:code|no\.?|number))?$`)
	numberHead   = pattern.Lazily(
		`(?i)^(?:(?:card|badge|credential|tag|fob)(?:[ _-]?(?:no\.?|nr\.?|number|num|id))?|cn|uid|serial)$`)
	printedHead = pattern.Lazily(`(?i)^(?:print|printed|printed number)$`)
)

// headsOf takes a line for the heads of columns. ok is false where it names no column with a card in it, or is not
// parted.
func headsOf(line string) (h heads, ok bool) {
	for _, comma := range "\t;,|" {
		cells, err := cellsOf(line, comma)
		if err != nil || len(cells) < 2 {
			continue
		}
		at := func(name func() *regexp.Regexp) int { return slices.IndexFunc(cells, name().MatchString) }
		h = heads{comma, at(readHead), at(facilityHead), at(numberHead), at(printedHead)}
		if cards := list.CardColumns(cells); h.number < 0 && len(cards) == 1 {
			h.number = cards[0] // as the commands for lists have it
		}
		if h.read >= 0 || h.number >= 0 || h.printed >= 0 {
			return h, true
		}
	}
	return heads{}, false
}

func cellsOf(line string, comma rune) ([]string, error) {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord = comma, true, -1
	cells, err := r.Read()
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells, err
}

// card returns what a line says about its card, in the spelling of one card; "" where it is none. total tells that it is
// the total of the list.
func (h *heads) card(line string) (text string, total bool) {
	cells, err := cellsOf(line, h.comma)
	if err != nil {
		return "", false
	}
	if list.IsTotal(cells) {
		return "", true
	}
	cell := func(i int) string {
		if i < 0 || i >= len(cells) {
			return ""
		}
		return cells[i]
	}
	number := cell(h.number)
	if facility := cell(h.facility); facility != "" && number != "" {
		number = facility + "," + number
	}
	parts := []string{cell(h.read), number, cell(h.printed)}
	text = strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), "=")
	if _, err := formats.Spellings(text); err != nil {
		return "", false
	}
	return text, false
}
