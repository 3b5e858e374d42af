// Package found says what batch, check and match have found in lists: findings in, text for people or JSON out.
package found

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
)

// Problem is something wrong with a row.
type Problem struct {
	Line    int    `json:"line,omitempty"`
	Other   int    `json:"other_line,omitempty"` // of the other party
	Kind    string `json:"kind"`
	Door    string `json:"door,omitempty"`
	Message string `json:"message"`
}

// sort is what a problem has in common with others of other numbers: all but what is quoted, numbers of cards, and how
// probable they are. Ids of formats, which have dashes, and names of forms stay.
func (p *Problem) sort() string {
	parts := strings.Split(p.Message, `"`)
	for i := 1; i < len(parts); i += 2 {
		parts[i] = ""
	}
	words := strings.Fields(strings.Join(parts, `"`))
	for i, word := range words {
		if digits := strings.TrimLeft(word, "(<>"); digits != "" && digits[0] >= '0' && digits[0] <= '9' && !strings.Contains(word, "-") {
			words[i] = ""
		}
	}
	return p.Kind + "\n" + p.Door + "\n" + strings.Join(words, " ")
}

// Ragged is a row with too many or too few cells, and RaggedWords says so.
const (
	Ragged      reading.Kind = "ragged"
	RaggedWords string       = "the row has too many or too few cells"
)

// said is what people are told of each kind of problem: above all of a kind, and of one number without naming it.
var said = map[reading.Kind]struct{ heading, words string }{
	"duplicate":  {heading: "the same card twice"},
	"collision":  {heading: "cards that a door can't tell apart"},
	"typing":     {heading: "probably typed wrong"},
	"no-name":    {heading: "no name"},
	"other-form": {heading: "not written as printed"},
	"capacity":   {heading: "more cardholders than a controller holds"},

	reading.Empty:         {"no number", "the cell is empty"},
	reading.Damaged:       {"changed by a spreadsheet", "a spreadsheet has changed the number; write it there again as text"},
	reading.Unreadable:    {"can't be read", "it can't be read as the list writes its numbers"},
	reading.OutOfRange:    {"do not fit", "a number does not fit its field"},
	reading.WrongFacility: {"of another facility", "the facility is another one than these cards have"},
	reading.OutOfBlock:    {"numbers in none of the site's blocks", "the number is in none of this site's blocks"},
	reading.Ambiguous:     {"can be two cards", "it can be two cards; give --from or --format"},
	reading.Several: {"several numbers in one cell",
		"there are several numbers in the cell; give each card a row of its own"},
	reading.Impossible: {"can't be entered at a door", "the card can't be written as is asked for"},
	Ragged:             {"too many or too few cells", RaggedWords},
}

// Words says what a kind of problem is without naming a number.
func Words(kind reading.Kind) string { return said[kind].words }

// Proposal is a block of new numbers.
type Proposal struct {
	Format   string  `json:"format"`
	Facility *string `json:"facility,omitempty"`
	First    string  `json:"first"`
	Last     string  `json:"last"`
	Form     string  `json:"form"`
	From     string  `json:"from_card"` // the first and last card in that form
	To       string  `json:"to_card"`
}

// ShortageWords says why there are no new numbers.
func ShortageWords(s *roster.Shortage) string {
	switch s.Reason {
	case roster.NoNumbers:
		return fmt.Sprintf("format %s: no card number of 64 bits or less to count on from", s.Format)
	case roster.ForeignFacility:
		return fmt.Sprintf("format %s: facility %d is not one of the site's; give another --facility, or none", s.Format,
			s.Facility)
	case roster.NoFacility:
		return fmt.Sprintf("format %s: the facility of new cards is not known; give --facility, or facility = in the site file", s.Format)
	case roster.NoneRead:
		return fmt.Sprintf("no row of %d has a card that can be read, so that every number may be somebody's; is it the right sheet and column?", s.Rows)
	case roster.TooManyUnread:
		return fmt.Sprintf("%d rows or more could not be read, so that too many numbers may be somebody's; correct the list first", s.Rows)
	}
	return fmt.Sprintf("format %s: no %d numbers are free in %s; ask for fewer, or order cards of another block",
		s.Format, s.Wanted, say.Clip(formats.FormatRanges(s.Numbers), 40))
}
