package roster

import (
	"cmp"
	"hash/maphash"
	"slices"
	"sort"

	"github.com/cardtell/cardtell/formats/reading"
)

// texts keeps names and numbers in large pieces, since there may be a million.
type texts struct {
	blocks [][]byte // name, NUL, number, NUL
}

// textBlock is the size of a piece; a row is not longer.
const textBlock = 1 << 20

// maxKept is how much of a name or number is kept.
const maxKept = 200

// add keeps a name and a number, and returns where they are found again: block and place in it.
func (t *texts) add(name, number []byte) int32 {
	name, number = name[:min(len(name), maxKept)], number[:min(len(number), maxKept)]
	last := len(t.blocks) - 1
	if last < 0 || len(t.blocks[last])+len(name)+len(number)+2 > textBlock {
		t.blocks = append(t.blocks, make([]byte, 0, textBlock))
		last++
	}
	b := t.blocks[last]
	start := int32(last<<20 | len(b))
	b = append(append(b, name...), 0)
	t.blocks[last] = append(append(b, number...), 0)
	return start
}

func (t *texts) parts(start int32) (name, number string) {
	if start < 0 {
		return "", ""
	}
	b := t.blocks[start>>20][start&(textBlock-1):]
	n := slices.Index(b, 0)
	m := slices.Index(b[n+1:], 0)
	return string(b[:n]), string(b[n+1 : n+1+m])
}

func (t *texts) name(i int32) string   { name, _ := t.parts(i); return name }
func (t *texts) number(i int32) string { _, number := t.parts(i); return number }

// seed makes hashes of this run; where two are equal, what they are of is compared.
var seed = maphash.MakeSeed()

// hash returns a hash of what the door shows for a card, 0 where it can't be written so.
func (d *doorCheck) hash(seen *reading.Seen) uint32 {
	var buf [96]byte
	text, err := d.convert.Append(buf[:0], seen)
	if err != nil {
		return 0
	}
	return hash32(text)
}

// hash32 is never 0. Of a million texts some hundreds have the hash of another one.
func hash32(text []byte) uint32 { return max(uint32(maphash.Bytes(seed, text)>>32), 1) }

// Check compares all rows and returns what is wrong, by kind and then by line. It is called once, after the last row.
func (c *Roster) Check() []Finding {
	c.order = make([]int32, c.cards.n)
	for i := range c.order {
		c.order[i] = int32(i)
	}
	slices.SortFunc(c.order, func(i, j int32) int {
		if n := c.cards.at(i).key.Compare(c.cards.at(j).key); n != 0 {
			return n
		}
		return cmp.Compare(i, j)
	})
	c.duplicates()
	for i := range c.doors {
		c.door(i)
	}
	c.scratch = nil
	c.typing()
	c.names()
	sort.SliceStable(c.findings, func(i, j int) bool {
		a, b := &c.findings[i], &c.findings[j]
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.What, b.What), cmp.Compare(a.Line, b.Line)) < 0
	})
	return c.findings
}

// duplicates finds cards that are there twice. It makes room for all of them at once: they can be nearly all rows.
func (c *Roster) duplicates() {
	again := 0
	for i := 1; i < len(c.order); i++ {
		if c.cards.at(c.order[i]).key == c.cards.at(c.order[i-1]).key {
			again++
		}
	}
	c.findings = slices.Grow(c.findings, again)
	for i := 0; i < len(c.order); {
		first := c.cards.at(c.order[i])
		j := i + 1
		for ; j < len(c.order) && c.cards.at(c.order[j]).key == first.key; j++ {
			again := c.cards.at(c.order[j])
			c.add(Finding{Kind: SameCard, Line: int(again.line), Text: again.text, Other: int(first.line), With: first.text})
		}
		c.distinct++
		i = j
	}
}

// door finds cards that a door can't tell apart, can't take, or has no room for.
func (c *Roster) door(k int) {
	d := &c.doors[k]
	hashes := &d.hashes
	if d.shared >= 0 {
		hashes = &c.doors[d.shared].hashes
	}
	// places in the order of keys, so that the same card twice is one after the other
	c.scratch = slices.Grow(c.scratch[:0], len(c.order))
	all := c.scratch
	for at, i := range c.order {
		if *hashes.at(i) == 0 {
			d.without++
			card := c.cards.at(i)
			c.add(Finding{Kind: NotEnterable, Door: k, Line: int(card.line), Text: card.text})
			continue
		}
		all = append(all, int32(at))
	}
	hash := func(at int32) uint32 { return *hashes.at(c.order[at]) }
	slices.SortFunc(all, func(a, b int32) int { return cmp.Or(cmp.Compare(hash(a), hash(b)), cmp.Compare(a, b)) })
	holders := 0
	for i := 0; i < len(all); {
		different := []int32{c.order[all[i]]}
		j := i + 1
		for ; j < len(all) && hash(all[j]) == hash(all[i]); j++ {
			if before, at := c.order[all[j-1]], c.order[all[j]]; c.cards.at(at).key != c.cards.at(before).key {
				different = append(different, at)
			}
		}
		holders += len(different)
		if len(different) > 1 {
			c.clashing(k, different)
		}
		i = j
	}
	if d.door.Capacity > 0 && holders > d.door.Capacity {
		c.add(Finding{Kind: OverCapacity, Door: k, Text: -1, Other: holders})
	}
}

// clashing adds those of different cards of one hash that a door shows as it does an earlier one.
func (c *Roster) clashing(k int, cards []int32) {
	first := map[string]int32{}
	for _, i := range cards {
		shown := c.ShownAs(k, c.texts.number(c.cards.at(i).text))
		if other, found := first[shown]; found {
			c.clash(k, other, i)
		} else {
			first[shown] = i
		}
	}
}

// clash adds two cards that a door shows alike.
func (c *Roster) clash(k int, first, second int32) {
	a, b := c.cards.at(first), c.cards.at(second)
	if a.line > b.line {
		a, b = b, a
	}
	c.doors[k].clashes++
	c.add(Finding{Kind: Clash, Door: k, Line: int(b.line), Text: b.text, Other: int(a.line), With: a.text})
}

// has reports whether a card is on the list.
func (c *Roster) has(key reading.Key) bool {
	_, found := slices.BinarySearchFunc(c.order, key,
		func(i int32, k reading.Key) int { return c.cards.at(i).key.Compare(k) })
	return found
}
