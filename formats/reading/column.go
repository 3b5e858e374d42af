package reading

import (
	"errors"
	"iter"
	"slices"
	"strconv"
	"strings"

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
	for again := true; again; { // what is of one kind is none of the others
		again = false
		for i := range cards {
			p := &cards[i]
			if p.Printed != "" || !is(*p) {
				continue
			}
			if p.Printed = ShownForm(cat, p, texts); p.Printed != "" {
				texts, again = others(cat, p, texts), true
			}
		}
	}
	return cards
}

// others returns the texts that are no cards of a population as it is printed.
func others(cat formats.Catalogue, p *formats.Population, texts []string) []string {
	fm, _ := formats.FormByName(p.Printed)
	return slices.DeleteFunc(slices.Clone(texts), func(text string) bool {
		_, ok := cardOf(cat.Find(p.Format), p, fm, text)
		return ok
	})
}

// ShownForm returns the only form in which the samples can be cards of a population, as far as its facilities and
// blocks tell; "" where any can be two cards, or more than half are none. A form that reads less than three in four of
// what another one reads, as checks pass by chance, is not that of the samples, nor is hex where none has a letter. Of
// forms that give the same cards, it is the one in which most are written.
func ShownForm(cat formats.Catalogue, p *formats.Population, samples []string) string {
	return shownForm(cat.Find(p.Format), p, samples)
}

func shownForm(of []*formats.Format, p *formats.Population, samples []string) string {
	var all []shown
	most := 0
	for _, fm := range formats.Forms() {
		if s := showing(of, p, fm, samples); s.read > 0 && s.letters {
			all, most = append(all, s), max(most, s.read)
		}
	}
	if 2*most < len(samples) {
		return ""
	}
	all = slices.DeleteFunc(all, func(s shown) bool { return 4*s.read < 3*most })
	best := 0
	for i := range all {
		if slices.ContainsFunc(all[:i], func(s shown) bool { return !s.agrees(&all[i]) }) {
			return ""
		}
		if all[i].read+all[i].written > all[best].read+all[best].written {
			best = i
		}
	}
	if len(all) == 0 {
		return ""
	}
	return all[best].form
}

// shown is what samples are in a form.
type shown struct {
	form    string
	cards   []formats.Card // of each; no format where it can't be read
	read    int            // of those that can be
	written int            // that are just as the form writes them
	letters bool           // of hex: some have a letter, or they are too few to say
}

// showing reads samples in a form.
func showing(of []*formats.Format, p *formats.Population, fm formats.Form, samples []string) shown {
	s := shown{form: fm.Name, cards: make([]formats.Card, len(samples))}
	for i, text := range samples {
		c, ok := cardOf(of, p, fm, text)
		if !ok {
			continue
		}
		s.cards[i] = c
		s.read++
		if again, err := fm.Text(&c); err == nil && again == text {
			s.written++
		}
		s.letters = s.letters || strings.ContainsAny(text, "ABCDEFabcdef")
	}
	s.letters = s.letters || s.read < enoughHex || len(of) == 0 || !shapeOf(of[0], fm).Hex
	return s
}

// agrees reports whether two forms give the same cards of what both read.
func (s *shown) agrees(o *shown) bool {
	for i := range s.cards {
		a, b := &s.cards[i], &o.cards[i]
		if a.Format != nil && b.Format != nil && (a.Known != b.Known || a.Record.Bits() != b.Record.Bits()) {
			return false
		}
	}
	return true
}

// OtherForm returns a form that is none of the plan's, and in which some texts of a list can be cards of the plan, as
// [ShownForm] finds it; "" where there is none. It is for a list of which nothing can be read.
func (p *Plan) OtherForm(texts []string) string {
	texts = plain(texts)
	for i := range p.readings {
		r := &p.readings[i]
		form := shownForm([]*formats.Format{r.Format}, r.population, texts)
		if form != "" && !slices.ContainsFunc(p.readings, func(o Reading) bool { return o.Form.Name == form && !o.second }) {
			return form
		}
	}
	return ""
}

// cardOf returns the card of a population that a text is in a form.
func cardOf(all []*formats.Format, p *formats.Population, fm formats.Form, text string) (c formats.Card, ok bool) {
	for _, f := range all {
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
