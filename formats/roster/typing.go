package roster

import (
	"cmp"
	"hash/maphash"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/typing"
)

// maxTyping is how many wrong numbers are looked at for a mistake in typing: with more, something else is wrong.
const maxTyping = 1000

// typing looks at numbers that are not the site's: if changing a digit makes one of them a card of the site that nobody has,
// it was probably typed wrong.
func (c *Roster) typing() {
	looked := 0
	for i := range c.findings {
		f := &c.findings[i]
		if f.Kind != Unusable || f.What != reading.OutOfBlock && f.What != reading.WrongFacility && f.What != reading.OutOfRange || f.Text < 0 {
			continue
		}
		if looked++; looked > maxTyping {
			return
		}
		if meant, how := c.meant(c.texts.number(f.Text)); meant != "" {
			f.Kind, f.Meant, f.How = Mistyped, meant, how
		}
	}
}

// meant returns the number that a wrong one was probably meant to be, and what was done to it: the mildest mistake that gives
// just one card which is the site's and free.
func (c *Roster) meant(number string) (meant, how string) {
	plan := c.plan.AsIs()
	for _, mistake := range typing.Mistakes() {
		found, taken := "", false
		for candidate := range mistake.Undo(number) {
			var seen reading.Seen
			if candidate == number || plan.Read([]byte(candidate), &seen) != nil {
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
			return found, mistake.Name
		case taken:
			return "", "" // somebody has what was probably meant
		}
	}
	return "", ""
}

// maxSameName is how often a name can be there and still be one person.
const maxSameName = 4

// sameNames finds one person with two cards whose numbers differ by swapped digits: one of them was probably typed wrong.
func (c *Roster) sameNames() {
	if !c.named {
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

func (c *Roster) sameName(a, b *cardRow) {
	first, second := c.texts.number(a.text), c.texts.number(b.text)
	if a.key == b.key || !strings.EqualFold(c.texts.name(a.text), c.texts.name(b.text)) {
		return
	}
	for candidate := range typing.Swaps(first) {
		if candidate == second {
			c.add(Finding{Kind: SameName, Line: int(b.line), Text: b.text, Other: int(a.line), With: a.text})
			return
		}
	}
}
