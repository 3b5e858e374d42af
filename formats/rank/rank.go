package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

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
	models []formatModel // in the catalogue's order, then the site's populations
	byLen  map[int][]int // positions in models
	cat    formats.Catalogue
	site   []Population
	stripe []*formats.Format        // track 2, of every length
	faults [len(faultPrior)]float64 // logs of the priors
	spare  sync.Pool                // of *work, whose memory serves the next ranking
}

// New makes a Ranker of a catalogue and of what a site is known to use, if anything. The error says which population names a
// format that the catalogue does not have.
func New(cat formats.Catalogue, site ...Population) (*Ranker, error) {
	r := &Ranker{cat: cat, stripe: cat.Find(stripeID), byLen: map[int][]int{}, site: slices.Clone(site)}
	for i, p := range faultPrior {
		r.faults[i] = math.Log(p)
	}
	total := 0.0
	for i := range cat.Len() {
		total += cat.At(i).Weight
	}
	anywhere := 1 - unknownPrior
	if len(site) > 0 {
		anywhere *= 1 - sitePrior
	}
	for i := range cat.Len() {
		f := cat.At(i)
		r.add(formatModel{format: f, log: math.Log(anywhere * f.Weight / total), fields: modelFields(f), forms: options(f)})
	}
	for i := range site {
		if err := r.expect(&site[i], (1-unknownPrior)*sitePrior/float64(len(site))); err != nil {
			return nil, err
		}
	}
	return r, nil
}

func (r *Ranker) add(m formatModel) {
	n := m.format.Layout.Len()
	r.byLen[n] = append(r.byLen[n], len(r.models))
	r.models = append(r.models, m)
}

// expect adds the model of a population beside the one of its format at large: the format once more, with the values and the
// print that its cards have. So a card that is on the site's list is told at once, and one that is not is judged as it would
// be anywhere.
func (r *Ranker) expect(p *Population, weight float64) error {
	found := r.cat.Find(p.Format)
	if len(found) == 0 {
		return fmt.Errorf("site: no format %q in the catalogue", p.Format)
	}
	for _, f := range found {
		m := formatModel{format: f, log: math.Log(weight / float64(len(found))), fields: modelFields(f), forms: options(f)}
		for i := range m.fields {
			switch {
			case i == f.Facility() && p.Facilities != nil:
				for _, v := range p.Facilities {
					m.fields[i].usual = append(m.fields[i].usual, Range{v, v})
				}
			case i == f.Number():
				m.fields[i].usual = p.Numbers
			}
		}
		for i := range m.forms {
			if o := &m.forms[i]; o.part == nil && p.Printed != "" {
				o.log += math.Log(1 - sitePrior)
				if o.form.Name == p.Printed {
					o.log = logAdd(o.log, math.Log(sitePrior))
				}
			}
		}
		r.add(m)
	}
	return nil
}

// Belongs reports whether a card is of this population, as far as both are known.
func (p *Population) Belongs(c *formats.Card) bool {
	f := c.Format
	if f == nil || f.ID != p.Format {
		return false
	}
	if v, ok := c.Record.Uint64(f.Facility()); ok && c.Known.Has(f.Facility()) && p.Facilities != nil && !slices.Contains(p.Facilities, v) {
		return false
	}
	v, ok := c.Record.Uint64(f.Number())
	if !ok || !c.Known.Has(f.Number()) || p.Numbers == nil {
		return true
	}
	return slices.ContainsFunc(p.Numbers, func(r Range) bool { return r.From <= v && v <= r.To })
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
	w, _ := r.spare.Get().(*work)
	if w == nil {
		w = new(work)
	}
	defer r.spare.Put(w)
	w.ranker = r
	if err := r.digest(&w.q, cards); err != nil {
		return Answer{}, err
	}
	w.all()
	return w.answer(), nil
}

// query is the cards asked about, each different one once, in an order of their own.
type query struct {
	cards []card
	input []int // for each card asked about, its place in cards
	slots []slot
	reads int   // cards with a read
	lens  []int // of the reads, each once, in rising order
	trim  bool  // clocking zeros were taken off a read
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

func (r *Ranker) digest(q *query, cards []formats.Sightings) error {
	if len(cards) == 0 {
		return fmt.Errorf("identify: no cards")
	}
	q.reset()
	var same map[cardKey]int // where to find a card again, once there is more than one
	if len(cards) > 1 {
		same = make(map[cardKey]int, len(cards))
	}
	for i, sightings := range cards {
		c, key, err := r.card(i, sightings, q)
		if err != nil {
			return err
		}
		at, ok := same[key]
		if !ok {
			at = len(q.cards)
			q.cards = append(q.cards, card{read: c.read})
			if same != nil {
				same[key] = at
			}
		}
		q.cards[at].merge(c.more)
		q.input = append(q.input, at)
	}
	if len(q.cards) > 1 {
		q.sort()
	}
	q.fill()
	return nil
}

// cardKey tells cards apart: by the read, or without one by how they were seen.
type cardKey struct {
	read wiegand.Bits
	text string
}

// reset empties the query, keeping its memory.
func (q *query) reset() {
	clear(q.cards)
	clear(q.slots)
	*q = query{cards: q.cards[:0], input: q.input[:0], slots: q.slots[:0], lens: q.lens[:0]}
}

// card takes one card's sightings apart. key tells cards without a read from one another.
func (r *Ranker) card(i int, sightings formats.Sightings, q *query) (c card, key cardKey, err error) {
	if len(sightings) == 0 {
		return c, key, fmt.Errorf("card %d: nothing is known of it", i+1)
	}
	for _, s := range sightings {
		if s.Kind != formats.Read {
			c.more = append(c.more, newSeen(s))
			key.text += fmt.Sprint(s.Kind, " ", s.Text, "=")
			continue
		}
		b := s.Bits
		if cut, ok := r.withoutClocking(b); ok {
			b, q.trim = cut, true
		}
		if c.read.Len() > 0 && c.read != b {
			return c, key, fmt.Errorf("card %d: two different reads of one card; give them as two cards, or ask relate for the rule between them", i+1)
		}
		c.read = b
	}
	if c.read.Len() > 0 {
		key = cardKey{read: c.read}
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

// stripeID is the format whose message lies between clocking zeros, and stripeShortest its shortest message in bits.
const (
	stripeID       = "track2"
	stripeShortest = 20
)

// startSentinel is how a message on a stripe begins (ISO/IEC 7811), as the last bits of a number.
const startSentinel = 0b11010

// withoutClocking returns the message inside a recorded stripe: zeros before and after it are clocking (ISO/IEC 7811). ok is
// false where there is none that decodes, or the read is a message from its first bit on.
func (r *Ranker) withoutClocking(b wiegand.Bits) (cut wiegand.Bits, ok bool) {
	for _, reversed := range []bool{false, true} {
		t := b
		if reversed {
			t = b.Reverse()
		}
		first := t.LeadingZeros()
		t = t.Slice(first, t.Len())
		if head, _ := t.Slice(0, 5).Uint64(); t.Len() < stripeShortest || head != startSentinel || (first == 0 && t.Len()%5 == 0) {
			continue
		}
		for _, f := range r.stripe {
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
