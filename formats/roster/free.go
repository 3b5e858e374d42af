package roster

import (
	"cmp"
	"fmt"
	"iter"
	"maps"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// Block is new card numbers in a row that nobody has.
type Block struct {
	Format      string
	Form        string // of the cards below, where it can have them
	Facility    uint64
	HasFacility bool
	First, Last uint64
	FirstCard   string // the first and the last card in that form
	LastCard    string

	reading *reading.Reading
}

// NewCard is a card of a [Block].
type NewCard struct {
	Number uint64
	Card   string   // in the block's form
	Doors  []string // as each of [Roster.Doors] wants it; "" where a door can't have the card
}

// Reason is why there are no free numbers to propose.
type Reason uint8

// The reasons.
const (
	NoNumbers       Reason = iota // the format has no card number of 64 bits or less
	ForeignFacility               // the facility that was given is not one of the site's
	NoFacility                    // the facility of new cards is not known
	NoneRead                      // no row has a card that can be read: every number may be somebody's
	TooManyUnread                 // more rows than can be looked at could not be read
	NoRoom                        // no such run of numbers is free
)

// Shortage says for one format why there are no free numbers.
type Shortage struct {
	Reason   Reason
	Format   string
	Facility uint64          // for ForeignFacility
	Numbers  []formats.Range // for NoRoom: where they were looked for
	Wanted   int
	Rows     int // for NoneRead and TooManyUnread: how many, at least
}

// maxTried is how many numbers are tried for a block.
const maxTried = 20_000_000

// Free finds n new numbers for each population: free, the site's own, and apart from all others at every door, those
// for other populations too. They are in a row where there is such a run, else in several blocks, of numbers that were
// left out. Where there are not so many, short says why. It is for after [Roster.Check].
func (c *Roster) Free(n int) (found []Block, short []Shortage) {
	if len(c.unread) <= maxUnread {
		c.doubtful = doubtfulOf(c.unread, c.plan)
	}
	done, offered := map[string]bool{}, make([]map[string]bool, len(c.doors))
	for k := range offered {
		offered[k] = map[string]bool{}
	}
	readings := c.plan.Readings()
	blocks := slices.ContainsFunc(readings, func(r reading.Reading) bool { return len(r.Population().Numbers) > 0 })
	for i := range readings {
		r := &readings[i]
		p := r.Population()
		if blocks && len(p.Numbers) == 0 {
			continue // nobody orders those by number, as the site file knows them
		}
		key := fmt.Sprint(p.Format, p.Facilities, p.Numbers) // however they are printed
		if done[key] {
			continue
		}
		done[key] = true
		blocks, why := c.blocks(r, p, n, offered)
		if why != nil {
			short = append(short, *why)
		}
		found = append(found, blocks...)
	}
	return found, short
}

// maxUnread is from how many rows that could not be read on no numbers are proposed: the list is read in a wrong way.
const maxUnread = 10_000

// blocks finds n new numbers of a population: after the highest that is in use where there is room, or in the first
// gap, or one by one. What each door shows for them is added to what it does for those offered before.
func (c *Roster) blocks(r *reading.Reading, p formats.Population, n int, offered []map[string]bool) ([]Block,
	*Shortage) {
	largest, ok := r.Largest()
	if !ok {
		return nil, &Shortage{Reason: NoNumbers, Format: p.Format, Wanted: n}
	}
	s := search{roster: c, reading: r, ranges: p.Numbers, offered: offered}
	if len(s.ranges) == 0 {
		s.ranges = []formats.Range{{First: 1, Last: largest}}
	}
	if r.Format.Facility() >= 0 {
		s.facility, s.hasFacility = r.Facility()
		switch {
		case s.hasFacility && !p.HasFacility(s.facility):
			return nil, &Shortage{Reason: ForeignFacility, Format: p.Format, Facility: s.facility, Wanted: n}
		case s.hasFacility:
		case len(p.Facilities) == 0:
			return nil, &Shortage{Reason: NoFacility, Format: p.Format, Wanted: n}
		default:
			s.facility, s.hasFacility = p.Facilities[0], true
		}
	}
	if c.cards.n == 0 && c.rows > 0 {
		return nil, &Shortage{Reason: NoneRead, Format: p.Format, Wanted: n, Rows: c.rows}
	}
	if len(c.unread) > maxUnread {
		return nil, &Shortage{Reason: TooManyUnread, Format: p.Format, Wanted: n, Rows: len(c.unread)}
	}
	used := c.used(r, s.facility, s.hasFacility)
	found := s.run(used, n)
	if found == nil {
		found = s.run(0, n)
	}
	if found == nil {
		found = s.scattered(n)
	}
	if found == nil {
		return nil, &Shortage{Reason: NoRoom, Format: p.Format, Numbers: s.ranges, Wanted: n}
	}
	var blocks []Block
	for k := range offered {
		maps.Copy(offered[k], s.own[k])
	}
	for _, f := range found {
		blocks = append(blocks, s.proposal(f))
	}
	return blocks, nil
}

// used returns the highest number in use with a facility, 0 where none is.
func (c *Roster) used(r *reading.Reading, facility uint64, hasFacility bool) uint64 {
	lowest, ok := r.Make(facility, hasFacility, 0)
	top, _ := r.Largest()
	highest, ok2 := r.Make(facility, hasFacility, top)
	if !ok || !ok2 {
		return 0
	}
	low, high := lowest.Key(), highest.Key()
	best := uint64(0)
	for i := range int32(c.cards.n) {
		k := c.cards.at(i).key
		if k.Compare(low) < 0 || k.Compare(high) > 0 {
			continue
		}
		var seen reading.Seen
		if c.plan.Read([]byte(c.texts.number(c.cards.at(i).text)), &seen) != nil {
			continue
		}
		if v, ok := seen.Facility(); ok && hasFacility && v != facility {
			continue
		}
		if v, ok := seen.Number(); ok {
			best = max(best, v)
		}
	}
	return best
}

// takenAt reports whether a door shows a text for one of the cards that are there.
func (c *Roster) takenAt(k int, shown []byte) bool {
	d := &c.doors[k]
	if d.shared >= 0 {
		d = &c.doors[d.shared]
	}
	if d.taken == nil {
		d.taken = make([]int32, c.cards.n)
		for i := range d.taken {
			d.taken[i] = int32(i)
		}
		slices.SortFunc(d.taken, func(i, j int32) int { return cmp.Compare(*d.hashes.at(i), *d.hashes.at(j)) })
	}
	hash := hash32(shown)
	at, _ := slices.BinarySearchFunc(d.taken, hash, func(i int32, h uint32) int { return cmp.Compare(*d.hashes.at(i), h) })
	for ; at < len(d.taken) && *d.hashes.at(d.taken[at]) == hash; at++ {
		if c.ShownAs(k, c.texts.number(c.cards.at(d.taken[at]).text)) == string(shown) {
			return true
		}
	}
	return false
}

// search looks for free numbers of one population.
type search struct {
	roster      *Roster
	reading     *reading.Reading
	facility    uint64
	hasFacility bool
	ranges      []formats.Range
	own         []map[string]bool // what each door shows for the cards that were found
	offered     []map[string]bool // for those of other populations
}

// begin forgets what was found.
func (s *search) begin() {
	s.own = make([]map[string]bool, len(s.roster.doors))
	for k := range s.own {
		s.own[k] = map[string]bool{}
	}
}

// numbers yields the numbers of the population after one, or all where that is 0, and whether a block begins with each;
// no more than can be tried.
func (s *search) numbers(after uint64) iter.Seq2[uint64, bool] {
	return func(yield func(v uint64, begins bool) bool) {
		tried := 0
		for _, block := range s.ranges {
			first := max(block.First, after)
			if after > 0 && first == after {
				first++
			}
			for v := first; v >= first && v <= block.Last; v++ {
				if tried++; tried > maxTried || !yield(v, v == first) {
					return
				}
			}
		}
	}
}

// run finds the first number after one from which on n are free.
func (s *search) run(after uint64, n int) []formats.Range {
	run := 0
	for v, begins := range s.numbers(after) {
		if begins {
			run = 0
		}
		if run == 0 {
			s.begin()
		}
		if s.free(v) {
			run++
		} else {
			run = 0
		}
		if run == n {
			return []formats.Range{{First: v - uint64(n) + 1, Last: v}}
		}
	}
	return nil
}

// scattered finds the first n free numbers, wherever they are.
func (s *search) scattered(n int) (found []formats.Range) {
	s.begin()
	for v := range s.numbers(0) {
		if !s.free(v) {
			continue
		}
		if last := len(found) - 1; last >= 0 && found[last].Last+1 == v {
			found[last].Last = v
		} else {
			found = append(found, formats.Range{First: v, Last: v})
		}
		if n--; n == 0 {
			return found
		}
	}
	return nil
}

// free reports whether nobody has a number, and no door shows it as it shows another card. It is counted among those
// found then.
func (s *search) free(v uint64) bool {
	seen, ok := s.reading.Make(s.facility, s.hasFacility, v)
	if !ok || s.roster.has(seen.Key()) {
		return false
	}
	if bare, ok := s.reading.Make(0, false, v); ok && s.hasFacility && s.roster.has(bare.Key()) {
		return false // a row leaves the facility out, which may be this one
	}
	shown := make([][]byte, len(s.roster.doors)) // nil where the door takes no card of this format, so it mixes none up
	for k := range s.roster.doors {
		text, err := s.roster.doors[k].convert.Append(nil, &seen)
		if err != nil {
			continue
		}
		if shown[k] = text; s.own[k][string(text)] || s.offered[k][string(text)] || s.roster.takenAt(k, text) {
			return false
		}
	}
	if card := seen.Card(); s.roster.doubtful.may(&card) {
		return false
	}
	for k, text := range shown {
		if text != nil {
			s.own[k][string(text)] = true
		}
	}
	return true
}

func (s *search) proposal(numbers formats.Range) Block {
	b := Block{
		Format: s.reading.Format.ID, Form: s.reading.Form.Name, Facility: s.facility, HasFacility: s.hasFacility,
		First: numbers.First, Last: numbers.Last, reading: s.reading,
	}
	b.FirstCard, b.LastCard = b.card(b.First), b.card(b.Last)
	return b
}

// card writes a card of the block in its form, or otherwise where it can't have it.
func (b *Block) card(number uint64) string {
	seen, _ := b.reading.Make(b.Facility, b.HasFacility, number)
	card := seen.Card()
	text, err := b.reading.Form.Text(&card)
	if err != nil {
		return reading.Describe(&card)
	}
	return text
}

// New returns the cards of a block that [Roster.Free] has found, as they are printed and as each door wants them.
func (c *Roster) New(b Block) iter.Seq[NewCard] {
	return func(yield func(NewCard) bool) {
		for v := b.First; v <= b.Last && v >= b.First; v++ {
			card := NewCard{Number: v, Card: b.card(v)}
			seen, _ := b.reading.Make(b.Facility, b.HasFacility, v)
			for i := range c.doors {
				text, err := c.doors[i].convert.Append(nil, &seen)
				if err != nil {
					text = nil
				}
				card.Doors = append(card.Doors, string(text))
			}
			if !yield(card) {
				return
			}
		}
	}
}
