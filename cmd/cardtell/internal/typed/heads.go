package typed

import (
	"encoding/csv"
	"regexp"
	"strings"
	"sync"

	"github.com/cardtell/cardtell/formats"
)

// heads are the columns of a file of cards that say something about a card, by their names in its first line; -1
// for none.
type heads struct {
	comma                           rune
	read, facility, number, printed int
}

// columnNames are the names of columns, the surest first.
type columnNames struct{ read, facility, number, printed *regexp.Regexp }

var theColumnNames = sync.OnceValue(func() columnNames {
	return columnNames{
		regexp.MustCompile(`(?i)^(?:read|raw|raw data|bits|hex)$`),
		regexp.MustCompile(`(?i)^(?:fc|fac|facility|site)(?:[ _-]?(?:code|no\.?|number))?$`),
		regexp.MustCompile(`(?i)^(?:(?:card|badge|credential|tag|fob)(?:[ _-]?(?:no\.?|nr\.?|number|num|id))?|cn|uid|serial)$`),
		regexp.MustCompile(`(?i)^(?:print|printed|printed number)$`),
	}
})

// headsOf takes a line for the heads of columns. ok is false where it names no column with a card in it, or is not
// parted.
func headsOf(line string) (h heads, ok bool) {
	for _, comma := range "\t;,|" {
		cells, err := cellsOf(line, comma)
		if err != nil || len(cells) < 2 {
			continue
		}
		at := func(name *regexp.Regexp) int {
			for i, cell := range cells {
				if name.MatchString(cell) {
					return i
				}
			}
			return -1
		}
		names := theColumnNames()
		h = heads{comma, at(names.read), at(names.facility), at(names.number), at(names.printed)}
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

// card returns what a line says about its card, in the spelling of one card; "" where it is none.
func (h *heads) card(line string) string {
	cells, err := cellsOf(line, h.comma)
	if err != nil {
		return ""
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
	var parts []string
	for _, text := range []string{cell(h.read), number, cell(h.printed)} {
		if text != "" {
			parts = append(parts, text)
		}
	}
	text := strings.Join(parts, "=")
	if _, err := formats.Spellings(text); err != nil {
		return ""
	}
	return text
}
