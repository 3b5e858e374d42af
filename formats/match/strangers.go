package match

import (
	"math"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
)

// The kinds of strangers.
const (
	fromBlock     = iota // handed out and never put on the list
	fromFacility         // any card of the site's facility
	fromAnywhere         // any number at all
	fromElsewhere        // of another site's facility, with a number as cards have: of a neighbour's, or a visitor's
	strangers
)

// strangerShares is how many of the strangers there are of each kind, before anything is seen. Judgements.
var strangerShares = strays{fromBlock: 0.3, fromFacility: 0.3, fromAnywhere: 0.3, fromElsewhere: 0.1}

// strays is how likely a stranger of each kind has a number, or how many of them there are.
type strays [strangers]float64

// longest is how many characters of what a door shows count: the chance of more is too small for a float64. lengths is
// of how many lengths numbers are that have to do with no card. A judgement.
const longest, lengths = 240, 16

// readShown reads a number as the door shows cards.
func (m *Matcher) readShown(u *Unknown) {
	signs := float64(min(max(len(u.Value), 1), longest))
	u.anything = math.Pow(float64(len(typing.DigitsIn(u.Value))), -signs) / lengths
	m.cards([]byte(u.Value), func(seen *reading.Seen) bool {
		_, listed := m.byKey[m.opt.List.KeyOfSeen(seen)]
		if listed || len(m.byPart[partOf(u.Value)]) > 0 { // of several: a stranger has another
			return true
		}
		card := seen.Card()
		p, beside, own := m.strayAs(&card)
		holders := m.of(&card)
		if len(holders) == 0 && m.isNumber(&card) { // it is that card: a stranger's of the block has another number
			p[fromBlock] = 0
		}
		u.cards = append(u.cards, &shownCard{card: card, kind: kindOf(&card), p: p, beside: beside,
			listed: holders})
		u.Own = u.Own || own
		return true
	})
}

// isNumber reports whether a number of the list can be a card, of which it does not say of which facility it is.
func (m *Matcher) isNumber(c *formats.Card) bool {
	n, ok := c.Number()
	is := func(l listed) bool { return l.format == c.Format && l.num == n && !l.hasFacility }
	return ok && slices.ContainsFunc(m.index.number[n], func(i int32) bool {
		return is(m.holders[i].listed) || slices.ContainsFunc(m.holders[i].can, is)
	})
}

// shownCard is a card that a number can be, and how likely it is a stranger's.
type shownCard struct {
	form   int8 // where other: in which it is shown, by its place among all
	other  bool // the door shows cards otherwise than was thought
	by     Rule // where other: by which rule
	exact  bool // where other: that form writes it just so
	card   formats.Card
	kind   kind
	p      strays
	beside strays  // how likely it is one that lies beside another stranger's
	near   float64 // how much such others speak for it
	listed []int32 // holders who have the card by the list
	nobody float64 // how likely it is of none of those
}

// strayAs is how likely a stranger's card is this one, and beside how likely it is one beside another stranger's; own
// says that it is in one of the site's blocks.
func (m *Matcher) strayAs(c *formats.Card) (p, beside strays, own bool) {
	f := c.Format
	if width := dataWidth(f); c.Whole() && width <= 64 {
		p[fromAnywhere] = math.Ldexp(1, -width)
	}
	number, ok := c.Number()
	if !ok {
		return p, beside, false
	}
	facility, hasFacility := c.Facility()
	usual := m.facilityShared(f, facility, hasFacility)
	if _, listed := m.index.facilities[f][facility]; hasFacility && usual < rarely && !listed {
		near := m.near(f, number)
		if m.hasNumber(f, number) { // which no more cards of the site have, but others as well
			near = 1 / float64(m.index.spans[f].holders)
		}
		near = math.Ldexp(alikeElsewhere*near, -bitsOf(f, f.Facility()))
		p[fromElsewhere] = near + (1-alikeElsewhere-besideOthers)*p[fromAnywhere]
		beside[fromElsewhere] = math.Ldexp(besideOthers, -bitsOf(f, f.Facility()))
	}
	p[fromFacility] = usual * math.Ldexp(1-alikeElsewhere, -bitsOf(f, f.Number()))
	if usual > 0 {
		p[fromFacility] += usual * alikeElsewhere * m.near(f, number)
	}
	size, known := m.ownBlock(f, facility, number)
	if !known {
		order := inOrder * (1 - float64(m.index.ends[f])/float64(m.index.spans[f].holders+1))
		near := (1-order)*m.near(f, number) + order*m.next(f, number)
		p[fromBlock] = (1 - besideOthers) * usual * near
		beside[fromBlock] = besideOthers * usual
	}
	if size == 0 || usual == 0 {
		if known {
			p[fromBlock] = newBox * usual * m.next(f, number)
		}
		return p, beside, false
	}
	p[fromBlock] = max(p[fromBlock], usual/size)
	return p, beside, known || len(m.opt.Site.Cards) == 0
}

// besideOthers is the share of unknown cards that are of one box with others of the log, and of no other card. A
// judgement.
const besideOthers = 0.2

// alikeElsewhere is how likely another site has numbers where this one has its own, or this one itself outside of the
// blocks that are known. A judgement.
const alikeElsewhere = 0.1

// rarely is how seldom a card of the site has a facility that is another site's. A judgement.
const rarely = 0.01

// facilityShared is how likely a card of the site has a facility: by the site file, or else by how many on the list
// have it.
func (m *Matcher) facilityShared(f *formats.Format, facility uint64, has bool) float64 {
	usual, all := m.opt.Site.Facilities(f.ID)
	switch {
	case !has:
		return 1
	case all && len(usual) > 0:
		if !slices.Contains(usual, facility) {
			return 0
		}
		return 1 / float64(len(usual))
	}
	holders := 0
	for _, n := range m.index.facilities[f] {
		holders += n
	}
	another := math.Ldexp(1, -bitsOf(f, f.Facility()))
	return (float64(m.index.facilities[f][facility]) + another) / float64(holders+1)
}

// countFacilities counts the facilities with which the door shows numbers of the list, where that leaves facilities
// out: each but once, since one card alone proves nothing.
func (m *Matcher) countFacilities() {
	counts := map[facilityOf]int{}
	for _, u := range m.order {
		m.cards([]byte(u.Value), func(seen *reading.Seen) bool {
			l := listedOf(seen)
			if l.hasFacility && l.hasNum && m.hasNumber(l.format, l.num) && m.index.facilities[l.format] == nil {
				counts[facilityOf{l.format, l.facility}]++
			}
			return true
		})
	}
	for of, n := range counts {
		if m.index.facilities[of.format] == nil {
			m.index.facilities[of.format] = map[uint64]int{}
		}
		m.index.facilities[of.format][of.facility] = n - 1
	}
}

// odd reports whether a row of the list does not go with the others: its card has a facility or a number that no others
// have, or that is none of the site's.
func (m *Matcher) odd(holder int32) bool {
	h := &m.holders[holder]
	if h.format == nil { // in doubt
		return false
	}
	if facilities := m.index.facilities[h.format]; h.hasFacility {
		usual, all := m.opt.Site.Facilities(h.format.ID)
		switch {
		case all && len(usual) > 0:
			if !slices.Contains(usual, h.facility) {
				return true
			}
		case slices.Contains(reading.OddFacilities(facilities), h.facility):
			return true
		}
	}
	if !h.hasNum {
		return false
	}
	if size, known := m.blocks(h.format, h.num); known {
		return size == 0
	}
	return m.index.near(h.format, h.num)*oddly < m.index.usualNear(h.format)
}

// oddly is how many times less likely than usual a number is that lies by itself. A judgement.
const oddly = 100

// usualNear returns how likely half of a format's numbers on the list are beside the others.
func (x *ruleIndex) usualNear(f *formats.Format) float64 {
	if usual, ok := x.usual[f]; ok {
		return usual
	}
	var all []float64
	for _, n := range x.numbers[f] {
		all = append(all, x.near(f, n))
	}
	slices.Sort(all)
	if len(all) > 0 {
		x.usual[f] = all[len(all)/2]
	}
	return x.usual[f]
}

// bitsOf returns how many bits a field of a format has.
func bitsOf(f *formats.Format, field int) int { return f.Layout.Spec().Fields[field].Bits.Len() }

// dataWidth returns how many bits the fields of a format have.
func dataWidth(f *formats.Format) (n int) {
	for i := range f.Layout.Spec().Fields {
		n += bitsOf(f, i)
	}
	return n
}

// near is how likely the next card of a format has a number, by those on the list. If a row that can be this card is
// another kind's, those near it that are in doubt as well are, too: then they say nothing of where this kind's lie.
func (m *Matcher) near(f *formats.Format, number uint64) float64 {
	if m.hasNumber(f, number) || !slices.ContainsFunc(m.index.number[number], func(i int32) bool {
		return slices.ContainsFunc(m.holders[i].can, func(l listed) bool { return l.format == f && l.num == number })
	}) {
		return m.index.near(f, number)
	}
	return m.index.sure.near(f, number)
}

// near returns how likely the next card of a format has a number, by those on the list: a card that was handed out
// with them and never put there has one near them.
func (x *beside) near(f *formats.Format, number uint64) float64 {
	if len(x.numbers[f]) == 0 {
		return math.Ldexp(1, -bitsOf(f, f.Number()))
	}
	given := x.given[f]
	if given == nil {
		values := evidence.NewValues(f, &formats.Population{Format: f.ID})
		given = values.Given(slices.Compact(x.numbers[f]))
		x.given[f], x.known[f] = given, map[uint64]float64{}
	}
	if p, ok := x.known[f][number]; ok {
		return p
	}
	c, err := f.Blank().With(f.Number(), strconv.FormatUint(number, 10))
	if err != nil {
		return 0
	}
	x.known[f][number] = math.Exp(given.Log(&c))
	return x.known[f][number]
}

// newBox is the share of cards, of those that were handed out and never put on the list, that are of a box of which the
// site file does not know: it goes on where another ends. A judgement.
const newBox = 0.05

// inOrder is the share of cards, of those that were handed out and never put on the list, that are the next ones of a
// box, where all cards on the list follow one another: less, as fewer of them do. farAhead is how far such a card is
// from those on the list at most. Judgements.
const inOrder, farAhead = 0.5, 64

// next is how likely a card of a format has a number if it is the next one of a box, or one soon after, where cards are
// handed out upward or downward: as likely behind each number on the list that is not followed by another.
func (m *Matcher) next(f *formats.Format, number uint64) (p float64) {
	for _, step := range [...]uint64{1, ^uint64(0)} {
		for ahead, near := uint64(1), number; ahead <= farAhead; ahead++ {
			if near -= step; m.hasNumber(f, near) {
				p += 0.5 / float64(ahead*(ahead+1)*uint64(m.index.ends[f]))
				break
			}
		}
	}
	return p
}

// hasNumber reports whether a card of a format on the list has a number.
func (m *Matcher) hasNumber(f *formats.Format, number uint64) bool {
	return slices.ContainsFunc(m.index.number[number], func(i int32) bool {
		return m.holders[i].format == f && m.holders[i].hasNum && m.holders[i].num == number
	})
}

// ownBlock returns how many numbers of one facility the site's blocks of a format have that nobody on the list
// has, where a number is in one of them; 0 where it is in none. known is false where the site file has none: then
// all numbers between those of the list are one, if it has enough of them to be one.
func (m *Matcher) ownBlock(format *formats.Format, facility, number uint64) (size float64, known bool) {
	if size, known = m.blocks(format, number); known {
		if size > 0 {
			size = max(1, size-float64(m.index.inBlocks[facilityOf{format, facility}]))
		}
		return size, true
	}
	s := m.index.spans[format]
	size = float64(s.high-s.low) + 1
	if s.holders == 0 || number < s.low || number > s.high || size > sparse*float64(s.holders) {
		return 0, false
	}
	others := s.holders
	if format.Facility() >= 0 {
		others = m.index.facilities[format][facility]
	}
	return max(0, size-float64(others)) + beyond, false
}

// beyond is how many numbers before and behind those of the list are as likely a stranger's as those between. A
// judgement.
const beyond = 8

// blocks returns how many numbers the site's blocks of a format have, where a number is in one of them, else 0.
// known is false where the site file has none.
func (m *Matcher) blocks(format *formats.Format, number uint64) (size float64, known bool) {
	in := false
	for i := range m.opt.Site.Cards {
		p := &m.opt.Site.Cards[i]
		if p.Format != format.ID {
			continue
		}
		for _, r := range p.Numbers {
			size, known = size+float64(r.Last-r.First)+1, true
			in = in || r.Has(number)
		}
	}
	if !in {
		return 0, known
	}
	return size, true
}
