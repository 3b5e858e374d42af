package evidence

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/chip"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// query is the cards asked about, each different one once, in an order of their own.
type query struct {
	cards []card
	input []int // for each card asked about, its place in cards
	slots []slot
	reads int   // cards with a read
	lens  []int // of the reads, each once, in rising order
	mixed bool  // some cards are printed in one way, others in another
	trim  bool  // clocking zeros were taken off a read
}

type card struct {
	read  wiegand.Bits // empty where there is none
	loose bool         // a bit 0 before the read may be no part of it
	more  []typing.Seen
}

// slot is the same kind of sighting on several cards, such as the first printed number: it has one form for all of
// them. Two numbers with a sign between are of another form than one.
type slot struct {
	kind    formats.SightingKind
	pair    bool
	alone   bool // no other slot has its cards
	entries []slotEntry
	nothing float64 // log of the sightings if they have to do with nothing
	whole   float64 // and if they are the whole reads
	right   rightReads

	supposed [][]supposition // by way of the format that is weighed
}

// rightReads is the log of sightings as the whole reads without a fault of the wiring, by that fault, as far as it was
// asked.
type rightReads [wirings]struct {
	log   float64
	known bool
}

type slotEntry struct {
	card int
	seen *typing.Seen
}

var errNoCards = errors.New("no cards; give one or more")

func (r *Model) digest(q *query, cards []formats.Sightings) error {
	if len(cards) == 0 {
		return errNoCards
	}
	q.reset()
	var same map[cardKey]int // where to find a card again, once there is more than one
	if len(cards) > 1 {
		same = make(map[cardKey]int, len(cards))
	}
	q.trim = r.clocked(cards)
	for i, sightings := range cards {
		c, key, err := r.card(i, sightings, q.trim)
		if err != nil {
			return err
		}
		at, ok := same[key]
		if !ok {
			at = len(q.cards)
			q.cards = append(q.cards, card{read: c.read, loose: c.loose})
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

// clocked reports whether every read, of which there is one, has clocking zeros: they are the recorder's, not a card's.
func (r *Model) clocked(cards []formats.Sightings) (some bool) {
	for _, sightings := range cards {
		for _, s := range sightings {
			if s.Kind != formats.Read {
				continue
			}
			if _, some = r.withoutClocking(s.Bits); !some {
				return false
			}
		}
	}
	return some
}

// card takes one card's sightings apart, its read without clocking zeros where those are to be trimmed. key tells cards
// without a read from one another.
func (r *Model) card(i int, sightings formats.Sightings, trim bool) (c card, key cardKey, err error) {
	if len(sightings) == 0 {
		return c, key, &CardError{i + 1, "nothing is known of it"}
	}
	for _, s := range sightings {
		if err := s.Check(); err != nil {
			return c, key, &CardError{i + 1, err.Error()}
		}
		if s.Kind != formats.Read {
			c.more = append(c.more, typing.NewSeen(s))
			continue
		}
		b := s.Bits
		if trim {
			b, _ = r.withoutClocking(b)
		}
		if c.read.Len() > 0 && c.read != b {
			return c, key, &CardError{i + 1, "two different reads of one card; give them as two cards, or ask relate for the rule between them"}
		}
		c.read, c.loose = b, s.Loose
	}
	slices.SortStableFunc(c.more, compareLook) // whatever the order in which they were given
	key.read = c.read
	for k := 0; k < len(c.more) && c.read.Len() == 0; k++ {
		key.text += fmt.Sprint(c.more[k].Kind, " ", c.more[k].Text, "=")
	}
	return c, key, nil
}

// compareLook sorts sightings of one card: prints of one number by how many digits they have.
func compareLook(a, b typing.Seen) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), bit(a.Pair)-bit(b.Pair), len(a.Digits)-len(b.Digits),
		cmp.Compare(a.Text, b.Text))
}

// merge adds sightings that are not there yet.
func (c *card) merge(more []typing.Seen) {
	if len(c.more) == 0 && len(more) < 2 { // as of most
		c.more = more
		return
	}
	for _, s := range more {
		if !slices.ContainsFunc(c.more, func(t typing.Seen) bool {
			return t.Kind == s.Kind && (t.Text == s.Text || s.Serial.Len() > 0 && t.Serial == s.Serial)
		}) {
			c.more = append(c.more, s)
		}
	}
	slices.SortStableFunc(c.more, compareLook)
	for i := range c.more {
		s := &c.more[i]
		again := func(t typing.Seen) bool {
			return s.Serial.Len() > 0 && s.Serial.Len() == t.Serial.Len() && chip.Same(s.Serial, t.Serial)
		}
		if slices.ContainsFunc(c.more[i+1:], again) {
			s.Floor = 1 // the other one says all of it
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
		return cmp.Or(compareSeen(a.more, b.more), i-j)
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

func compareSeen(a, b []typing.Seen) int {
	return slices.CompareFunc(a, b, func(s, t typing.Seen) int {
		return cmp.Or(cmp.Compare(s.Kind, t.Kind), cmp.Compare(s.Text, t.Text))
	})
}

// fill works out the slots and the lengths.
func (q *query) fill() {
	for i := range q.cards {
		if n := q.cards[i].read.Len(); n > 0 {
			q.reads++
			if !slices.Contains(q.lens, n) {
				q.lens = append(q.lens, n)
			}
		}
	}
	slices.Sort(q.lens)
	q.mixed = q.putIntoSlots()
	for i := range q.slots {
		several := func(e slotEntry) bool { return len(q.cards[e.card].more) > 1 }
		q.slots[i].alone = !slices.ContainsFunc(q.slots[i].entries, several)
		q.slots[i].compare()
		q.oneNumber(&q.slots[i])
		q.weighApart(&q.slots[i])
	}
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// beside returns the slot's sightings, and the reads that they stand beside.
func (s *slot) beside(read func(card int) wiegand.Bits) (reads []wiegand.Bits, seen []*typing.Seen) {
	reads, seen = make([]wiegand.Bits, len(s.entries)), make([]*typing.Seen, len(s.entries))
	for i, e := range s.entries {
		reads[i], seen[i] = read(e.card), e.seen
	}
	return reads, seen
}

// weighApart works out what a slot's sightings come to if they follow from no field of the cards.
func (q *query) weighApart(s *slot) {
	reads, seen := s.beside(func(card int) wiegand.Bits { return q.cards[card].read })
	s.nothing, s.whole, s.right = typing.NothingLog(seen), logp.Never, rightReads{}
	if s.kind != formats.Serial {
		s.whole = typing.WholeReadsLog(reads, seen)
	}
}

// compare notes of each sighting how many other cards have the same.
func (s *slot) compare() {
	if len(s.entries) < 2 {
		return
	}
	count := make(map[string]int, len(s.entries))
	for _, e := range s.entries {
		count[e.seen.Digits]++
	}
	for _, e := range s.entries {
		e.seen.Others = float64(count[e.seen.Digits]-1) / float64(len(s.entries)-1)
	}
}

// oneNumber notes which prints are one number with a sign between thousands: all that can be, if one beside a read can.
func (q *query) oneNumber(s *slot) {
	beside := func(e slotEntry) bool { return q.cards[e.card].read.Len() > 0 && e.seen.InThousands() }
	one := slices.ContainsFunc(s.entries, beside)
	for _, e := range s.entries {
		e.seen.One = one && e.seen.InThousands()
	}
}

func (s *slot) add(card int, seen *typing.Seen) { s.entries = append(s.entries, slotEntry{card, seen}) }

// stripeID is the format whose message lies between clocking zeros, and stripeShortest its shortest message in bits.
const (
	stripeID       = "track2"
	stripeShortest = 20
)

// begins reports whether a message on a stripe begins behind the zeros in front of it: 11010 is its start sentinel
// (ISO/IEC 7811).
func begins(b wiegand.Bits, reversed bool) bool {
	w := b.Words()
	if reversed {
		end := b.Len() - b.TrailingZeros()
		return end >= 5 && undocumented.Value(&w, end-5, end) == 0b01011
	}
	first := b.LeadingZeros()
	return undocumented.Value(&w, first, min(first+5, wiegand.MaxBits)) == 0b11010
}

// withoutClocking returns the message inside a recorded stripe: zeros before and after it are clocking (ISO/IEC 7811).
// ok is false, and cut the read, where there is none that decodes, or the read is a message from its first bit on.
func (r *Model) withoutClocking(b wiegand.Bits) (cut wiegand.Bits, ok bool) {
	for _, reversed := range []bool{false, true} {
		if !begins(b, reversed) {
			continue
		}
		t := b
		if reversed {
			t = b.Reverse()
		}
		first := t.LeadingZeros()
		t = t.Slice(first, t.Len())
		if t.Len() < stripeShortest || (first == 0 && t.Len()%5 == 0) {
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

// CardError says which of the cards asked about is at fault.
type CardError struct {
	Card   int    // its place, from 1
	Reason string // what is wrong, and what would do
}

// Error returns the card and the reason in one line.
func (e *CardError) Error() string { return fmt.Sprintf("card %d: %s", e.Card, e.Reason) }
