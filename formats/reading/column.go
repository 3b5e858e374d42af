package reading

import (
	"errors"
	"iter"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// Column reads the texts of one column. A column is one question: its rows share the kinds of card, the forms, and what
// was done to them. So those are settled first, on a sample, and every text is then read by them. A Column does not
// change. Settle makes one: the zero Column is of no use.
type Column struct{ plan *Plan }

// Outcome is what a text of a column turned out to be.
type Outcome uint8

// The outcomes.
const (
	IsCard Outcome = iota // one card
	Doubt                 // two cards or more are written so
	NoCard                // blank, words, damaged, or no card of the site: Err says which
)

// Cell is what one text of a column is.
type Cell struct {
	Outcome Outcome
	Cards   []Weighed // one for IsCard, two or more for Doubt, none for NoCard
	Repair  string    // what was repaired in the text, "" where nothing was
	Err     *Error    // for Doubt and NoCard: the kind and the reason
}

// Weighed is a card that a text can be.
type Weighed struct {
	Card        formats.Card
	Form        string  // in which it is written
	Probability float64 // of all cards that the text can be
}

// Settle settles how a column is read, from some of its texts and the cards that are in use. Where neither opt nor a
// population says the form, it is that of [ShownForm]. The error says what is missing, or what does not fit.
func Settle(cat formats.Catalogue, cards []formats.Population, sample iter.Seq[string], opt Options) (Column, error) {
	var texts []string
	for text := range sample {
		text, _ = strip(text)
		texts = append(texts, text)
	}
	plan, err := New(cat, site.Site{Cards: Shown(cat, cards, texts, opt)}, opt)
	if err != nil {
		return Column{}, err
	}
	return Column{plan: plan.Settled(texts)}, nil
}

// Shown returns the cards in use with the form in which some texts of a list have those of which neither they nor opt
// say it, where [ShownForm] finds one; of the format of opt alone, which need not be among them.
func Shown(cat formats.Catalogue, cards []formats.Population, texts []string, opt Options) []formats.Population {
	if len(opt.Forms) > 0 {
		return cards
	}
	cards = slices.Clone(cards)
	is := func(p formats.Population) bool { return opt.Format == "" || p.Format == opt.Format }
	if opt.Format != "" && !slices.ContainsFunc(cards, is) {
		p := formats.Population{Format: opt.Format}
		if facility, err := strconv.ParseUint(opt.Facility, 10, 64); err == nil {
			p.Facilities = []uint64{facility}
		}
		cards = append(cards, p)
	}
	for i := range cards {
		if p := &cards[i]; p.Printed == "" && is(*p) {
			p.Printed = ShownForm(cat, p, texts)
		}
	}
	return cards
}

// ShownForm returns the only form in which the samples can be cards of a population, as far as its facilities and
// blocks tell; "" where any can be two cards, or more than half are none. Of forms that give the same cards, it is the
// one in which most are written.
func ShownForm(cat formats.Catalogue, p *formats.Population, samples []string) string {
	best, most, read := "", 0, 0
	cards := make([]formats.Card, len(samples))
	for _, fm := range formats.Forms() {
		score, n := 0, 0
		for i, text := range samples {
			c, ok := cardOf(cat, p, fm, text)
			if !ok {
				continue
			}
			if b := &cards[i]; b.Format != nil && (b.Known != c.Known || b.Record.Bits() != c.Record.Bits()) {
				return ""
			}
			cards[i] = c
			score, n = score+1, n+1
			if again, err := fm.Text(&c); err == nil && again == text {
				score++
			}
		}
		if score > most {
			best, most, read = fm.Name, score, n
		}
	}
	if 2*read < len(samples) {
		return ""
	}
	return best
}

// cardOf returns the card of a population that a text is in a form.
func cardOf(cat formats.Catalogue, p *formats.Population, fm formats.Form, text string) (c formats.Card, ok bool) {
	for _, f := range cat.Find(p.Format) {
		if c, err := fm.Parse(f, text); err == nil && p.Belongs(&c) {
			return c, true
		}
	}
	return c, false
}

// Plan returns the ways in which the column is read.
func (c Column) Plan() *Plan { return c.plan }

// Read reads one text.
func (c Column) Read(text string) Cell {
	var seen Seen
	err := c.plan.Read([]byte(text), &seen)
	if err == nil {
		return Cell{Cards: []Weighed{{seen.Card(), seen.Reading.Form.Name, 1}}, Repair: seen.Repair}
	}
	cell := Cell{Outcome: NoCard}
	if !errors.As(err, &cell.Err) || cell.Err.Kind != Ambiguous {
		return cell
	}
	cell.Outcome = Doubt
	all, _ := c.plan.candidates(c.plan.whole([]byte(text)), nil)
	for i := range all {
		cell.Cards = append(cell.Cards, Weighed{all[i].seen.Card(), all[i].seen.Reading.Form.Name, all[i].share})
	}
	return cell
}

// All reads the texts of a column as they come.
func (c Column) All(texts iter.Seq[string]) iter.Seq2[string, Cell] {
	return func(yield func(string, Cell) bool) {
		for text := range texts {
			if !yield(text, c.Read(text)) {
				return
			}
		}
	}
}
