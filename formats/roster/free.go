package roster

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

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

// Free finds n new numbers in a row for each population: free, the site's own, and apart from all others at every door. Where
// there are none, short says why. It is for after [Roster.Check].
func (c *Roster) Free(n int) (found []Block, short []Shortage) {
	if len(c.unread) <= maxUnread {
		c.doubtful = c.mayBeTaken()
	}
	done := map[string]bool{}
	readings := c.plan.Readings()
	blocks := slices.ContainsFunc(readings, func(r reading.Reading) bool { return len(r.Population().Numbers) > 0 })
	for i := range readings {
		r := &readings[i]
		p := r.Population()
		if blocks && len(p.Numbers) == 0 {
			continue // nobody orders those by number, as the site file knows them
		}
		key := fmt.Sprint(p)
		if done[key] {
			continue
		}
		done[key] = true
		if b, why := c.block(r, p, n); why != nil {
			short = append(short, *why)
		} else {
			found = append(found, b)
		}
	}
	return found, short
}

// mayBeTaken returns every card number that a row which could not be read may have: its runs of digits as they stand, and what
// they, or two of them together, are in any form of the list. The facility is not looked at: it may be what is wrong.
func (c *Roster) mayBeTaken() map[uint64]bool {
	taken := map[uint64]bool{}
	for _, text := range c.unread {
		runs := strings.FieldsFunc(text, func(r rune) bool { return r < '0' || r > '9' })
		for i, run := range runs {
			if v, err := strconv.ParseUint(run, 10, 64); err == nil {
				taken[v] = true
			}
			candidates := []string{run}
			if i > 0 {
				candidates = append(candidates, runs[i-1]+","+run, runs[i-1]+run)
			}
			for _, candidate := range candidates {
				c.takes(taken, candidate)
			}
		}
	}
	return taken
}

// takes adds the card numbers that a text can mean in any form of the list's formats.
func (c *Roster) takes(taken map[uint64]bool, text string) {
	readings := c.plan.Readings()
	for i := range readings {
		f := readings[i].Format
		if i > 0 && f == readings[i-1].Format {
			continue
		}
		for _, fm := range formats.Forms() {
			card, err := fm.Parse(f, text)
			if err != nil || !card.Known.Has(f.Number()) {
				continue
			}
			if v, ok := card.Record.Uint64(f.Number()); ok {
				taken[v] = true
			}
		}
	}
}

// maxUnread is from how many rows that could not be read on no numbers are proposed: the list is read in a wrong way.
const maxUnread = 10_000

// block finds n new numbers of a population: after the highest that is in use where there is room, or in the first gap.
func (c *Roster) block(r *reading.Reading, p formats.Population, n int) (Block, *Shortage) {
	largest, ok := r.Largest()
	if !ok {
		return Block{}, &Shortage{Reason: NoNumbers, Format: p.Format, Wanted: n}
	}
	ranges := p.Numbers
	if len(ranges) == 0 {
		ranges = []formats.Range{{First: 1, Last: largest}}
	}
	facility, hasFacility := uint64(0), false
	if r.Format.Facility() >= 0 {
		facility, hasFacility = r.Facility()
		switch {
		case hasFacility && !p.HasFacility(facility):
			return Block{}, &Shortage{Reason: ForeignFacility, Format: p.Format, Facility: facility, Wanted: n}
		case hasFacility:
		case len(p.Facilities) == 0:
			return Block{}, &Shortage{Reason: NoFacility, Format: p.Format, Wanted: n}
		default:
			facility, hasFacility = p.Facilities[0], true
		}
	}
	if len(c.cards) == 0 && c.rows > 0 {
		return Block{}, &Shortage{Reason: NoneRead, Format: p.Format, Wanted: n, Rows: c.rows}
	}
	if len(c.unread) > maxUnread {
		return Block{}, &Shortage{Reason: TooManyUnread, Format: p.Format, Wanted: n, Rows: len(c.unread)}
	}
	used := c.used(r, facility, hasFacility)
	for _, after := range []uint64{used, 0} {
		if first, ok := c.freeRun(r, facility, hasFacility, ranges, after, n); ok {
			return c.proposal(r, facility, hasFacility, first, n), nil
		}
	}
	return Block{}, &Shortage{Reason: NoRoom, Format: p.Format, Numbers: ranges, Wanted: n}
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
	for i := range c.cards {
		k := c.cards[i].key
		if k.Compare(low) < 0 || k.Compare(high) > 0 {
			continue
		}
		var seen reading.Seen
		if c.plan.Read([]byte(c.texts.number(c.cards[i].text)), &seen) != nil {
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

// freeRun finds the first number after one from which on n are free and apart from all others at every door.
func (c *Roster) freeRun(r *reading.Reading, facility uint64, hasFacility bool, ranges []formats.Range, after uint64, n int) (uint64, bool) {
	taken := c.takenAt()
	tried := 0
	for _, block := range ranges {
		run := 0
		own := make([]map[uint64]bool, len(c.doors))
		first := max(block.First, after)
		if after > 0 && first == after {
			first++
		}
		for v := first; v <= block.Last && first <= block.Last; v++ {
			if tried++; tried > maxTried {
				return 0, false
			}
			if run == 0 {
				for k := range own {
					own[k] = map[uint64]bool{}
				}
			}
			if c.free(r, facility, hasFacility, v, taken, own) {
				run++
			} else {
				run = 0
			}
			if run == n {
				return v - uint64(n) + 1, true
			}
			if v == math.MaxUint64 {
				break
			}
		}
	}
	return 0, false
}

// takenAt returns what each door shows for the cards that are there, sorted.
func (c *Roster) takenAt() [][]uint64 {
	all := make([][]uint64, len(c.doors))
	for k := range c.doors {
		if s := c.doors[k].shared; s >= 0 {
			all[k] = all[s]
			continue
		}
		all[k] = slices.Clone(c.doors[k].hashes)
		slices.Sort(all[k])
	}
	return all
}

func (c *Roster) free(r *reading.Reading, facility uint64, hasFacility bool, v uint64, taken [][]uint64, own []map[uint64]bool) bool {
	seen, ok := r.Make(facility, hasFacility, v)
	if !ok || c.has(seen.Key()) || c.doubtful[v] {
		return false
	}
	for k := range c.doors {
		h, ok := c.doors[k].hash(&seen)
		if !ok {
			continue // the door takes no card of this format, so it mixes none up
		}
		if _, found := slices.BinarySearch(taken[k], h); found || own[k][h] {
			return false
		}
		own[k][h] = true
	}
	return true
}

func (c *Roster) proposal(r *reading.Reading, facility uint64, hasFacility bool, first uint64, n int) Block {
	b := Block{Format: r.Format.ID, Form: r.Form.Name, Facility: facility, HasFacility: hasFacility, First: first, Last: first + uint64(n) - 1}
	text := func(v uint64) string {
		seen, _ := r.Make(facility, hasFacility, v)
		card := seen.Card()
		written, err := r.Form.Text(&card)
		if err != nil {
			return reading.Describe(&card)
		}
		return written
	}
	b.FirstCard, b.LastCard = text(b.First), text(b.Last)
	return b
}
