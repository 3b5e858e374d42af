package worlds

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Row is the truth about one cell of a column.
type Row struct {
	Card
	Form    int    // its place among the forms of the column
	Intact  string // what the cell held before it was damaged
	Damaged bool
}

// Column is the card numbers of a list, as they stand in its cells, and the truth about them. Read is the card's for
// all rows.
type Column struct {
	Texts []string
	Rows  []Row // for each text
	Kinds []Kind
	Forms []string // names of formats.Form, of those that the rows are written in
}

// ColumnWorld draws columns of lists that share one habit.
type ColumnWorld struct {
	Name string
	Draw func(rng *rand.Rand) Column
}

// Columns returns all worlds of columns.
func Columns() []ColumnWorld {
	return []ColumnWorld{
		{"one kind, one form", column(1, 1, 0)},
		{"two kinds, one form", column(2, 1, 0)},
		{"three kinds, one form", column(3, 1, 0)},
		{"one kind, two forms", column(1, 2, 0)},
		{"two kinds, two forms", column(2, 2, 0)},
		{"one kind, damaged cells", column(1, 1, 0.05)},
		{"two kinds, damaged cells", column(2, 1, 0.05)},
	}
}

// columnForms are the forms of lists, by how many of a hundred are written so. Invented.
var columnForms = []struct {
	name  string
	lists int
}{
	{"number", 35}, {"pair", 20}, {"joined", 10}, {"decimal", 10}, {"decimal10", 12}, {"number10", 5}, {"hex", 8},
}

// column returns what draws a column of 20 to 200 cards of some kinds, in some forms that all of them have; some of the
// cells are damaged.
func column(kinds, forms int, damaged float64) func(*rand.Rand) Column {
	return func(rng *rand.Rand) Column {
		s := newSite(rng)
		n := between(rng, 20, 200)
		for i := range kinds {
			k := s.kind(known(drawFormat(rng, s.unlike(withFacility))))
			s.usual(k, max(3, n*(i+1)/kinds-n*i/kinds))
		}
		s.shuffle()
		c := Column{Kinds: s.Kinds}
		for len(c.Forms) < forms {
			if f := drawColumnForm(rng); !slices.Contains(c.Forms, f) {
				c.Forms = append(c.Forms, f)
			}
		}
		for _, card := range s.Truth {
			r := Row{Card: card}
			if chance(rng, 0.3) {
				r.Form = rng.IntN(forms)
			}
			r.Intact = written(&s.Kinds[card.Kind], card.Read, c.Forms[r.Form])
			c.Rows = append(c.Rows, r)
			c.Texts = append(c.Texts, r.Intact)
		}
		for i := range c.Rows {
			if chance(rng, damaged) {
				c.Texts[i] = damage(rng, c.Texts[i], c.Texts)
				c.Rows[i].Damaged = c.Texts[i] != c.Rows[i].Intact
			}
		}
		return c
	}
}

// unlike returns those of the wanted formats that the site does not have.
func (s *site) unlike(wanted func(*formats.Format) bool) func(*formats.Format) bool {
	return func(f *formats.Format) bool {
		for _, k := range s.Kinds {
			if k.Format == f.ID {
				return false
			}
		}
		return wanted(f)
	}
}

func drawColumnForm(rng *rand.Rand) string {
	x := rng.IntN(100)
	for _, f := range columnForms {
		if x -= f.lists; x < 0 {
			return f.name
		}
	}
	return columnForms[0].name
}

// written writes a card in a form.
func written(k *Kind, read wiegand.Bits, name string) string {
	form, ok := formats.FormByName(name)
	if !ok {
		panic("no form " + name)
	}
	c, err := format(k.Format).Read(read)
	if err != nil {
		panic(err)
	}
	text, err := form.Text(&c)
	if err != nil {
		panic(err) // formats with a facility have all these forms
	}
	return text
}

// damage does to a cell what spreadsheets and people do: zeros lost before it, a number in powers of ten, a tail, signs
// between the thousands, an empty cell, a slip.
func damage(rng *rand.Rand, text string, others []string) string {
	switch rng.IntN(6) {
	case 0:
		if t := strings.TrimLeft(text, "0"); t != "" {
			return t
		}
	case 1:
		if v, err := strconv.ParseFloat(text, 64); err == nil && len(text) > 7 {
			return strconv.FormatFloat(v, 'E', 5, 64)
		}
	case 2:
		return text + ".0"
	case 3:
		if len(text) > 3 && strings.Trim(text, "0123456789") == "" {
			return text[:len(text)-3] + " " + text[len(text)-3:]
		}
	case 4:
		return ""
	}
	return mistake(rng, text, others)
}
