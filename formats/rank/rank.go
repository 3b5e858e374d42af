package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Range is a block of card numbers, both ends included.
type Range struct{ From, To uint64 }

// Population is a set of cards that a site is known to use.
type Population struct {
	Format     string   // id in the catalogue
	Facilities []uint64 // none: not said
	Numbers    []Range  // none: not said
	Printed    string   // the form printed on the cards, "" where it is not said
}

// Ranker ranks readings of cards over a catalogue. It is immutable; share it freely.
type Ranker struct {
	models []formatModel // in the catalogue's order
	cat    formats.Catalogue
}

// New makes a Ranker of a catalogue and of what a site is known to use, if anything. The error says which population names a
// format that the catalogue does not have.
func New(cat formats.Catalogue, site ...Population) (*Ranker, error) {
	r := &Ranker{cat: cat, models: make([]formatModel, cat.Len())}
	total := 0.0
	for i := range r.models {
		f := cat.At(i)
		r.models[i] = formatModel{format: f, log: f.Weight, fields: modelFields(f), forms: options(f)}
		total += f.Weight
	}
	for i := range r.models {
		r.models[i].log /= total
	}
	if err := r.expect(site); err != nil {
		return nil, err
	}
	for i := range r.models {
		r.models[i].log = math.Log((1 - unknownPrior) * r.models[i].log)
	}
	return r, nil
}

// expect moves weight to the formats that a site uses.
func (r *Ranker) expect(site []Population) error {
	if len(site) == 0 {
		return nil
	}
	for i := range r.models {
		r.models[i].log *= 1 - sitePrior
	}
	for p := range site {
		found := r.cat.Find(site[p].Format)
		if len(found) == 0 {
			return fmt.Errorf("site: no format %q in the catalogue", site[p].Format)
		}
		for i := range r.models {
			if m := &r.models[i]; m.format.ID == site[p].Format {
				m.log += sitePrior / float64(len(site)*len(found))
				m.expect(&site[p])
			}
		}
	}
	return nil
}

// expect gives the model the values and the print that a population has. Where a site has several populations of one format,
// their values come together.
func (m *formatModel) expect(p *Population) {
	for i := range m.fields {
		switch i {
		case m.format.Facility():
			for _, v := range p.Facilities {
				m.fields[i].usual = append(m.fields[i].usual, Range{v, v})
			}
		case m.format.Number():
			m.fields[i].usual = append(m.fields[i].usual, p.Numbers...)
		}
	}
	for i := range m.forms {
		if m.forms[i].part == nil && m.forms[i].form.Name == p.Printed {
			m.forms[i].log = logAdd(m.forms[i].log, math.Log(sitePrior/(1-sitePrior)))
		}
	}
}

// Answer is the posterior over every reading of the cards.
type Answer struct {
	Candidates []Candidate // most probable first
	Unknown    float64     // probability that no format of the catalogue is right; with the candidates' it adds up to 1
	Warnings   []string    // what to be careful about, whatever the format
}

// Candidate is one reading: a format, a fault, and what the cards are then.
type Candidate struct {
	Format      *formats.Format
	Fault       Fault
	Probability float64
	Cards       []formats.Card // one for each card asked about; without a format where the card tells nothing
	Repairs     []Repair       // one for each card: what is wrong with its read
	Printed     []string       // for each kind of sighting beside the reads, how it follows from the cards; "" where it does not
}

// Rank answers for cards of one site. The error says which card is at fault: one with no sighting, or with two different
// reads.
func (r *Ranker) Rank(cards []formats.Sightings) (Answer, error) {
	q, err := r.digest(cards)
	if err != nil {
		return Answer{}, err
	}
	w := work{ranker: r, q: q}
	w.all()
	return w.answer(), nil
}

// query is the cards asked about, each different one once, in an order of their own.
type query struct {
	cards  []card
	input  []int // for each card asked about, its place in cards
	slots  []slot
	reads  int // cards with a read
	lens   []int
	source []formats.Sightings
	trim   bool // clocking zeros were taken off a read
}

type card struct {
	read wiegand.Bits // empty where there is none
	more []seen
}

// slot is the same kind of sighting on several cards, such as the first printed number: it has one form for all of them.
type slot struct {
	kind    formats.SightingKind
	entries []slotEntry
}

type slotEntry struct {
	card int
	seen *seen
}

func (r *Ranker) digest(cards []formats.Sightings) (*query, error) {
	if len(cards) == 0 {
		return nil, fmt.Errorf("identify: no cards")
	}
	q := &query{source: cards, input: make([]int, len(cards)), cards: make([]card, 0, len(cards))}
	byRead := map[wiegand.Bits]int{}
	byText := map[string]int{}
	for i, sightings := range cards {
		c, key, err := r.card(i, sightings, q)
		if err != nil {
			return nil, err
		}
		at, ok := byText[key]
		if c.read.Len() > 0 {
			at, ok = byRead[c.read]
		}
		if !ok {
			at = len(q.cards)
			q.cards = append(q.cards, card{read: c.read})
			if c.read.Len() > 0 {
				byRead[c.read] = at
			} else {
				byText[key] = at
			}
		}
		q.cards[at].merge(c.more)
		q.input[i] = at
	}
	q.sort()
	q.fill()
	return q, nil
}

// card takes one card's sightings apart. key tells cards without a read from one another.
func (r *Ranker) card(i int, sightings formats.Sightings, q *query) (c card, key string, err error) {
	if len(sightings) == 0 {
		return c, "", fmt.Errorf("card %d: nothing is known of it", i+1)
	}
	for _, s := range sightings {
		if s.Kind != formats.Read {
			c.more = append(c.more, newSeen(s))
			key += fmt.Sprint(s.Kind, " ", s.Text, "=")
			continue
		}
		b := s.Bits
		if cut, ok := r.withoutClocking(b); ok {
			b, q.trim = cut, true
		}
		if c.read.Len() > 0 && c.read != b {
			return c, "", fmt.Errorf("card %d: two different reads of one card; give them as two cards, or ask relate for the rule between them", i+1)
		}
		c.read = b
	}
	return c, key, nil
}

// merge adds sightings that are not there yet.
func (c *card) merge(more []seen) {
	for _, s := range more {
		if !slices.ContainsFunc(c.more, func(t seen) bool { return t.kind == s.kind && t.text == s.text }) {
			c.more = append(c.more, s)
		}
	}
}

// sort puts the cards into an order that does not depend on how they were given.
func (q *query) sort() {
	order := make([]int, len(q.cards))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		a, b := &q.cards[i], &q.cards[j]
		if n := a.read.Compare(b.read); n != 0 {
			return n
		}
		return slices.CompareFunc(a.more, b.more, func(s, t seen) int {
			return cmp.Or(cmp.Compare(s.kind, t.kind), cmp.Compare(s.text, t.text))
		})
	})
	sorted, place := make([]card, len(order)), make([]int, len(order))
	for to, from := range order {
		sorted[to], place[from] = q.cards[from], to
	}
	for i := range q.input {
		q.input[i] = place[q.input[i]]
	}
	q.cards = sorted
}

// fill works out the slots and the lengths.
func (q *query) fill() {
	for i := range q.cards {
		c := &q.cards[i]
		if n := c.read.Len(); n > 0 {
			q.reads++
			if !slices.Contains(q.lens, n) {
				q.lens = append(q.lens, n)
			}
		}
		var ordinal [4]int
		for k := range c.more {
			s := &c.more[k]
			q.slotFor(s.kind, ordinal[s.kind&3]).add(i, s)
			ordinal[s.kind&3]++
		}
	}
	slices.Sort(q.lens)
}

func (q *query) slotFor(kind formats.SightingKind, ordinal int) *slot {
	for i := range q.slots {
		if q.slots[i].kind == kind {
			if ordinal == 0 {
				return &q.slots[i]
			}
			ordinal--
		}
	}
	q.slots = append(q.slots, slot{kind: kind})
	return &q.slots[len(q.slots)-1]
}

func (s *slot) add(card int, seen *seen) { s.entries = append(s.entries, slotEntry{card, seen}) }

// withoutClocking returns the message inside a recorded stripe: zeros before and after it are clocking (ISO/IEC 7811). ok is
// false where there is none that decodes, or the read fits some format as it is.
func (r *Ranker) withoutClocking(b wiegand.Bits) (cut wiegand.Bits, ok bool) {
	const id, shortest = "track2", 20
	if b.Len() < shortest || (b.Bit(0) == 1 && b.Len()%5 == 0) {
		return b, false
	}
	for _, reversed := range []bool{false, true} {
		t := b
		if reversed {
			t = b.Reverse()
		}
		first := 0
		for first < t.Len() && t.Bit(first) == 0 {
			first++
		}
		t = t.Slice(first, t.Len())
		for _, f := range r.cat.Find(id) {
			n := f.Layout.Len()
			if t.Len() < n || t.Slice(n, t.Len()).OnesCount() > 0 {
				continue
			}
			if c, err := f.Read(t.Slice(0, n)); err == nil && c.Record.OK() {
				if cut = t.Slice(0, n); reversed {
					cut = cut.Reverse()
				}
				return cut, true
			}
		}
	}
	return b, false
}
