package picture

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// manyPlates is how many plates make a dense sheet: each is no more than its bits and its numbers.
const manyPlates = 6

// Sheet is what goes on one drawing: cards, each as one format reads it, or one card as several do.
type Sheet struct {
	Title  string
	Plates []Plate
	Notes  []Note // under the plates: what to look at next, what to be careful about
	Narrow bool   // for a phone: as wide as its screen, in short rows, the bits alone
}

// Note is a list under a heading.
type Note struct {
	Title string
	Lines []string
}

// Plate is one card in one reading.
type Plate struct {
	Number   int            // of the card among those asked about, from 1
	Seen     string         // how it was given
	Card     *formats.Card  // nil where no format fits
	Bits     []wiegand.Bits // without a Card: its reads, if any, as they came
	Chance   string         // how probable the reading is, such as "90.1 %"; "" where the format was named
	Fault    string         // what is wrong with the wiring, "" where nothing is
	Computed bool           // no read was seen: the bits are those of the card's number
	Repair   string         // what was wrong with this read, "" where nothing was
	Mark     int            // the bit that the repair is about, from 1; 0 for none
	Evidence []string

	narrow bool // as its sheet is
}

func (p *Plate) width() float64 {
	if p.narrow {
		return phoneWidth
	}
	return sheetWidth
}

// Caution is what every sheet says at its foot.
const Caution = "A card number is a credential: keep this sheet as you would keep keys. A read proves neither who made a card " +
	"nor who holds it. Decode only cards and systems that you are authorised to service."

// Key says what the signs of a drawing mean.
const Key = "Square: a bit of a field. Disc: a bit of a check. Filled: 1, open: 0, dashed: not known. In a check's row, a dot is " +
	"a bit that it covers and a ring the one that it computes; a tick says that it holds, a cross that it fails. Bits are " +
	"numbered from 1, the first one sent."

// Reading names the format that the plate shows.
func (p *Plate) Reading() string {
	if p.Card == nil {
		return "no known format"
	}
	return p.Card.Format.ID
}

// ComputedWords say that the bits of a plate are no read.
const ComputedWords = "No read was seen: the bits are computed from the number, as far as it tells them."

// Title names the plate in a few words: the card and its format.
func (p *Plate) Title() string { return fmt.Sprintf("Card %d as %s", p.Number, p.Reading()) }

// Subtitle says what the format is, and how sure the reading.
func (p *Plate) Subtitle() string {
	if p.Card == nil {
		return "the bits as they came"
	}
	words := Clean(p.Card.Format.Description) + ". Standing: " + p.Card.Format.Standing.String() + "."
	if p.Computed {
		words += " " + ComputedWords
	}
	return words
}

// entry is a line of a list: a name, and what it is.
type entry struct{ Name, Text string }

// Fields lists the fields with their bits and values.
func (p *Plate) Fields() (rows []entry) {
	if p.Card == nil {
		return nil
	}
	for i, field := range p.Card.Format.Layout.Spec().Fields {
		value := p.Card.Text(i)
		switch {
		case !p.Card.Known.Has(i):
			value = "not known"
		case field.Name == wiegand.FieldUnknown:
			value = p.Card.Record.Value(i).String() + ", meaning unknown"
		}
		rows = append(rows, entry{field.Name + ", bits " + short(field.Bits), value})
	}
	return rows
}

// Forms lists the card in every form that its format has, but for those that the drawing shows anyway. A read whose
// Checks fail is not given as the read that it should have been.
func (p *Plate) Forms() (rows []entry) {
	if p.Card == nil {
		return nil
	}
	for _, form := range formats.Forms() {
		if form.Name == "bits" || form.Name == "fields" || form.OfRead() && !p.Card.Record.OK() {
			continue
		}
		if text, err := form.Text(p.Card); err == nil {
			rows = append(rows, entry{form.Name, text})
		}
	}
	return rows
}

// FormsTitle is the heading of the number forms.
func (p *Plate) FormsTitle() string {
	switch {
	case p.Repair != "":
		return "As numbers, if so"
	case p.Card != nil && !p.Card.Record.OK():
		return "As numbers, if the fields are right"
	}
	return "As numbers"
}

// State is what is known of a check.
type State uint8

// The states of a check.
const (
	Open  State = iota // not enough of the read is known
	Holds              // it does
	Fails              // it does not
)

// String returns the state in a word: in capitals where somebody has to look.
func (s State) String() string { return []string{"open", "holds", "FAILS"}[min(s, Fails)] }

// stateOf returns what is known of the i-th check of a card.
func stateOf(c *formats.Card, i int) State {
	switch {
	case !c.Whole():
		return Open
	case c.Record.Failed().Has(i):
		return Fails
	}
	return Holds
}

// checkRow is a check, or several of one kind that hold.
type checkRow struct {
	Words string
	State State
}

// Checks lists the checks: each by itself where there are few, else those that fail, and how many of each kind hold.
func (p *Plate) Checks() (rows []checkRow) {
	if p.Card == nil {
		return nil
	}
	all := p.Card.Format.Layout.Checks()
	few := len(all) <= manyChecks
	for i, info := range all {
		if state := stateOf(p.Card, i); few || state == Fails {
			rows = append(rows, checkRow{CheckWords(info), state})
		}
	}
	if few {
		return rows
	}
	state := Holds
	if !p.Card.Whole() {
		state = Open
	}
	for _, s := range sumsOf(p.Card) {
		if n := s.all - s.failed; n > 0 {
			rows = append(rows, checkRow{fmt.Sprintf("%d × %s", n, strings.TrimSuffix(kindWords[s.kind], " in bits")), state})
		}
	}
	return rows
}

// checkSum is how many checks of a kind a format has, and how many of them fail.
type checkSum struct {
	kind        wiegand.CheckKind
	all, failed int
}

// sumsOf counts the checks of a card by kind, in the order of the first of each.
func sumsOf(c *formats.Card) (sums []checkSum) {
	for i, info := range c.Format.Layout.Checks() {
		at := slices.IndexFunc(sums, func(s checkSum) bool { return s.kind == info.Kind })
		if at < 0 {
			at, sums = len(sums), append(sums, checkSum{kind: info.Kind})
		}
		sums[at].all++
		if stateOf(c, i) == Fails {
			sums[at].failed++
		}
	}
	return sums
}

// rowsOf returns the checks of a format that are drawn as a row of marks.
func rowsOf(f *formats.Format) (rows []int) {
	for i, info := range f.Layout.Checks() {
		if info.Kind != wiegand.Fixed && info.Kind != wiegand.Digit {
			rows = append(rows, i)
		}
	}
	return rows
}

// manyChecks is how many checks are listed or drawn one by one.
const manyChecks = 6

// verdict says in a few words whether the checks hold.
func (p *Plate) verdict() (string, State) {
	if p.Card == nil {
		return "", Open
	}
	if p.Computed {
		return "computed, not read", Open
	}
	n := len(p.Card.Format.Layout.Checks())
	failed := p.Card.Record.Failed().Len()
	switch {
	case n == 0:
		return "no checks", Open
	case !p.Card.Whole():
		return "checks open", Open
	case failed > 0:
		return fmt.Sprintf("%d of %d checks FAIL", failed, n), Fails
	case n == 1:
		return "the check holds", Holds
	case n == 2:
		return "both checks hold", Holds
	}
	return fmt.Sprintf("all %d checks hold", n), Holds
}

// describe says in words what the drawing shows, for those who hear it.
func (p *Plate) describe() string {
	var parts []string
	if p.Card == nil {
		for _, b := range p.Bits {
			parts = append(parts, fmt.Sprintf("%d bits, %v, of no known format.", b.Len(), b))
		}
		return strings.Join(parts, " ")
	}
	parts = append(parts, fmt.Sprintf("%d bits, %s.", p.Card.Format.Layout.Len(), p.Read()))
	for _, r := range p.Fields() {
		parts = append(parts, fmt.Sprintf("%s: %s.", r.Name, r.Text))
	}
	for _, c := range p.Checks() {
		parts = append(parts, fmt.Sprintf("%s: %v.", c.Words, c.State))
	}
	return strings.Join(append(parts, p.Alarms()...), " ")
}

// Alarms says what is wrong with the wiring and with the read, if anything.
func (p *Plate) Alarms() []string {
	return slices.DeleteFunc([]string{p.Fault, p.Repair}, func(text string) bool { return text == "" })
}

// reads are those to be drawn: that of the card, or the bits as they came.
func (p *Plate) reads() []wiegand.Bits {
	if p.Card == nil {
		return p.Bits
	}
	return []wiegand.Bits{p.Card.Record.Bits()}
}

// Read returns the read as 0s and 1s, with a question mark for each bit that is not known.
func (p *Plate) Read() string {
	c := p.Card
	b := []byte(c.Record.Bits().String())
	if c.Whole() {
		return string(b)
	}
	checks := c.Format.Layout.Checks()
	for _, s := range Segments(c) {
		if c.Known.Has(s.Field) || s.Check >= 0 && checks[s.Check].Kind == wiegand.Fixed {
			continue
		}
		for bit := s.First; bit <= s.Last; bit++ {
			b[bit-1] = '?'
		}
	}
	return string(b)
}
