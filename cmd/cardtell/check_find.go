package main

import (
	"cmp"
	"fmt"
	"hash/maphash"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/reading"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/site"
)

// texts keeps names and numbers in large pieces, since there may be a million.
type texts struct {
	blocks [][]byte
	starts []uint32 // of each text: block and place in it; name, NUL, number, NUL
}

// textBlock is the size of a piece; a row is not longer.
const textBlock = 1 << 20

// maxKept is how much of a name or number is kept.
const maxKept = 200

// add keeps a name and a number, and returns by which number they are found again.
func (t *texts) add(name, number []byte) int32 {
	name, number = name[:min(len(name), maxKept)], number[:min(len(number), maxKept)]
	last := len(t.blocks) - 1
	if last < 0 || len(t.blocks[last])+len(name)+len(number)+2 > textBlock {
		t.blocks = append(t.blocks, make([]byte, 0, textBlock))
		last++
	}
	b := t.blocks[last]
	t.starts = append(t.starts, uint32(last)<<20|uint32(len(b)))
	b = append(append(b, name...), 0)
	t.blocks[last] = append(append(b, number...), 0)
	return int32(len(t.starts) - 1)
}

func (t *texts) parts(i int32) (name, number string) {
	start := t.starts[i]
	b := t.blocks[start>>20][start&(textBlock-1):]
	n := slices.Index(b, 0)
	m := slices.Index(b[n+1:], 0)
	return string(b[:n]), string(b[n+1 : n+1+m])
}

func (t *texts) name(i int32) string   { name, _ := t.parts(i); return name }
func (t *texts) number(i int32) string { _, number := t.parts(i); return number }

// seed makes hashes of this run; where two are equal, what they are of is compared.
var seed = maphash.MakeSeed()

// hash returns a hash of what the door shows for a card, never 0.
func (d *doorCheck) hash(seen *reading.Seen) (uint64, bool) {
	var buf [96]byte
	text, err := d.convert.Append(buf[:0], seen)
	if err != nil {
		return 0, false
	}
	return max(maphash.Bytes(seed, text), 1), true
}

// compare finds what is wrong between rows.
func (c *checker) compare() {
	c.order = make([]int32, len(c.cards))
	for i := range c.order {
		c.order[i] = int32(i)
	}
	slices.SortFunc(c.order, func(i, j int32) int {
		if n := c.cards[i].key.Compare(c.cards[j].key); n != 0 {
			return n
		}
		return cmp.Compare(i, j)
	})
	c.duplicates()
	for i := range c.doors {
		c.door(i)
	}
	c.typing()
	c.names2()
	slices.SortStableFunc(c.findings, func(a, b finding) int {
		return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.what, b.what), cmp.Compare(a.line, b.line))
	})
}

// duplicates finds cards that are there twice.
func (c *checker) duplicates() {
	for i := 0; i < len(c.order); {
		first := &c.cards[c.order[i]]
		j := i + 1
		for ; j < len(c.order) && c.cards[c.order[j]].key == first.key; j++ {
			again := &c.cards[c.order[j]]
			c.add(finding{kind: sameCard, line: again.line, text: again.text, other: first.line, with: first.text})
		}
		c.distinct++
		i = j
	}
}

// door finds cards that a door can't tell apart, can't take, or has no room for.
func (c *checker) door(k int) {
	d := &c.doors[k]
	hashes := d.hashes
	if d.shared >= 0 {
		hashes = c.doors[d.shared].hashes
	}
	type shown struct {
		hash uint64
		at   int32 // place in the order of keys, so that the same card twice is one after the other
	}
	all := make([]shown, 0, len(hashes))
	for at, i := range c.order {
		if hashes[i] == 0 {
			d.without++
			c.add(finding{kind: notEnterable, door: int16(k), line: c.cards[i].line, text: c.cards[i].text})
			continue
		}
		all = append(all, shown{hashes[i], int32(at)})
	}
	slices.SortFunc(all, func(a, b shown) int { return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.at, b.at)) })
	holders := 0
	for i := 0; i < len(all); {
		j := i + 1
		for ; j < len(all) && all[j].hash == all[i].hash; j++ {
			if before, at := c.order[all[j-1].at], c.order[all[j].at]; c.cards[at].key != c.cards[before].key {
				holders++
				c.clash(k, c.order[all[i].at], at)
			}
		}
		holders++
		i = j
	}
	if d.door.Capacity > 0 && holders > d.door.Capacity {
		c.add(finding{kind: overCapacity, door: int16(k), text: -1, other: int32(holders)})
	}
}

// clash adds two cards that a door shows alike, unless only their hashes are.
func (c *checker) clash(k int, first, second int32) {
	a, b := &c.cards[first], &c.cards[second]
	if c.shownAs(k, a.text) != c.shownAs(k, b.text) {
		return
	}
	if a.line > b.line {
		a, b = b, a
	}
	c.doors[k].clashes++
	c.add(finding{kind: clash, door: int16(k), line: b.line, text: b.text, other: a.line, with: a.text})
}

// shownAs returns what a door shows for a number of the list.
func (c *checker) shownAs(k int, text int32) string {
	var seen reading.Seen
	if c.plan.Read([]byte(c.texts.number(text)), &seen) != nil {
		return ""
	}
	shown, err := c.doors[k].convert.Append(nil, &seen)
	if err != nil {
		return ""
	}
	return string(shown)
}

// has reports whether a card is on the list.
func (c *checker) has(key reading.Key) bool {
	_, found := slices.BinarySearchFunc(c.order, key, func(i int32, k reading.Key) int { return c.cards[i].key.Compare(k) })
	return found
}

// maxTyping is how many wrong numbers are looked at for a mistake in typing: with more, something else is wrong.
const maxTyping = 1000

// typing looks at numbers that are not the site's: if changing a digit makes one of them a card of the site that nobody has,
// it was probably typed wrong.
func (c *checker) typing() {
	looked := 0
	for i := range c.findings {
		f := &c.findings[i]
		if f.kind != unusable || f.what != reading.OutOfBlock && f.what != reading.WrongFacility && f.what != reading.OutOfRange {
			continue
		}
		if looked++; looked > maxTyping {
			return
		}
		if meant, how := c.meant(c.texts.number(f.text)); meant != "" {
			f.kind, f.note = typing, fmt.Sprintf("%s|%s", meant, how)
		}
	}
}

// meant returns the number that a wrong one was probably meant to be, and what was done to it: the mildest mistake that gives
// just one card which is the site's and free.
func (c *checker) meant(number string) (meant, how string) {
	for _, mistake := range mistakes {
		found, taken := "", false
		for candidate := range mistake.undo(number) {
			var seen reading.Seen
			if candidate == number || c.plan.Read([]byte(candidate), &seen) != nil {
				continue
			}
			if c.has(seen.Key()) {
				taken = true
				continue
			}
			if found != "" && found != candidate {
				return "", "" // several: naming one would be guessing
			}
			found = candidate
		}
		switch {
		case found != "":
			return found, mistake.name
		case taken:
			return "", "" // somebody has what was probably meant
		}
	}
	return "", ""
}

// mistake is one that people make in typing numbers.
type mistake struct {
	name string
	undo func(string) func(yield func(string) bool)
}

// mistakes in the order of how common they are: swapped neighbours first.
var mistakes = []mistake{
	{"two digits swapped", undoSwap},
	{"a digit typed twice", undoDouble},
	{"one digit wrong", undoDigit},
}

func isDigitByte(c byte) bool { return c >= '0' && c <= '9' }

func undoSwap(s string) func(func(string) bool) {
	return func(yield func(string) bool) {
		b := []byte(s)
		for i := 1; i < len(b); i++ {
			if b[i] == b[i-1] || !isDigitByte(b[i]) || !isDigitByte(b[i-1]) {
				continue
			}
			b[i], b[i-1] = b[i-1], b[i]
			if !yield(string(b)) {
				return
			}
			b[i], b[i-1] = b[i-1], b[i]
		}
	}
}

func undoDouble(s string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for i := 1; i < len(s); i++ {
			if s[i] == s[i-1] && isDigitByte(s[i]) && !yield(s[:i]+s[i+1:]) {
				return
			}
		}
	}
}

func undoDigit(s string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for i := range len(s) {
			if !isDigitByte(s[i]) {
				continue
			}
			for d := byte('0'); d <= '9'; d++ {
				if d != s[i] && !yield(s[:i]+string(d)+s[i+1:]) {
					return
				}
			}
		}
	}
}

// maxSameName is how often a name can be there and still be one person.
const maxSameName = 4

// names2 finds one person with two cards whose numbers differ by swapped digits: one of them was probably typed wrong.
func (c *checker) names2() {
	if len(c.names) == 0 {
		return
	}
	type named struct {
		hash uint64
		card int32
	}
	all := make([]named, 0, len(c.cards))
	for i := range c.cards {
		if name := c.texts.name(c.cards[i].text); name != "" {
			all = append(all, named{maphash.String(seed, strings.ToLower(name)), int32(i)})
		}
	}
	slices.SortFunc(all, func(a, b named) int { return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.card, b.card)) })
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j].hash == all[i].hash {
			j++
		}
		for a := i; a < j && j-i <= maxSameName; a++ {
			for b := a + 1; b < j; b++ {
				c.sameName(&c.cards[all[a].card], &c.cards[all[b].card])
			}
		}
		i = j
	}
}

func (c *checker) sameName(a, b *cardRow) {
	first, second := c.texts.number(a.text), c.texts.number(b.text)
	if a.key == b.key || !strings.EqualFold(c.texts.name(a.text), c.texts.name(b.text)) {
		return
	}
	for candidate := range undoSwap(first) {
		if candidate == second {
			c.add(finding{kind: sameName, line: b.line, text: b.text, other: a.line, with: a.text})
			return
		}
	}
}

// proposal is a block of new numbers.
type proposal struct {
	Format   string  `json:"format"`
	Facility *string `json:"facility,omitempty"`
	First    string  `json:"first"`
	Last     string  `json:"last"`
	Form     string  `json:"form"`
	From     string  `json:"from_card"` // the first and last card in that form
	To       string  `json:"to_card"`
}

// maxTried is how many numbers are tried for a block.
const maxTried = 20_000_000

// propose finds n new numbers for each population. Where one has none, reason says so.
func (c *checker) propose(n int) (found []proposal, reasons []string) {
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
		if b, why := c.block(r, p, n); why != "" {
			reasons = append(reasons, why)
		} else {
			found = append(found, b)
		}
	}
	return found, reasons
}

// block finds n new numbers of a population: after the highest that is in use where there is room, or in the first gap.
func (c *checker) block(r *reading.Reading, p site.Population, n int) (proposal, string) {
	largest, ok := r.Largest()
	if !ok {
		return proposal{}, fmt.Sprintf("format %s: no card number of 64 bits or less to count on from", p.Format)
	}
	ranges := p.Numbers
	if len(ranges) == 0 {
		ranges = []site.Range{{First: 1, Last: largest}}
	}
	facility, hasFacility := uint64(0), false
	if r.Format.Facility() >= 0 {
		if len(p.Facilities) == 0 {
			return proposal{}, fmt.Sprintf("format %s: the facility of new cards is not known; give facility = in the site file", p.Format)
		}
		facility, hasFacility = p.Facilities[0], true
	}
	used := c.used(r, facility, hasFacility)
	for _, after := range []uint64{used, 0} {
		if first, ok := c.freeRun(r, facility, hasFacility, ranges, after, n); ok {
			return c.proposal(r, facility, hasFacility, first, n), ""
		}
	}
	return proposal{}, fmt.Sprintf("format %s: no %d numbers in a row are free in %s; ask for fewer, or for cards of another block",
		p.Format, n, clip(site.FormatRanges(ranges), 40))
}

// used returns the highest number in use with a facility, 0 where none is.
func (c *checker) used(r *reading.Reading, facility uint64, hasFacility bool) uint64 {
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
func (c *checker) freeRun(r *reading.Reading, facility uint64, hasFacility bool, ranges []site.Range, after uint64, n int) (uint64, bool) {
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
func (c *checker) takenAt() [][]uint64 {
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

func (c *checker) free(r *reading.Reading, facility uint64, hasFacility bool, v uint64, taken [][]uint64, own []map[uint64]bool) bool {
	seen, ok := r.Make(facility, hasFacility, v)
	if !ok || c.has(seen.Key()) {
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

func (c *checker) proposal(r *reading.Reading, facility uint64, hasFacility bool, first uint64, n int) proposal {
	last := first + uint64(n) - 1
	p := proposal{Format: r.Format.ID, First: fmt.Sprint(first), Last: fmt.Sprint(last), Form: r.Form.Name}
	if hasFacility {
		text := fmt.Sprint(facility)
		p.Facility = &text
	}
	for i, v := range []uint64{first, last} {
		seen, _ := r.Make(facility, hasFacility, v)
		card := seen.Card()
		text, err := r.Form.Text(&card)
		if err != nil {
			text = reading.Describe(&card)
		}
		if i == 0 {
			p.From = text
		} else {
			p.To = text
		}
	}
	return p
}
