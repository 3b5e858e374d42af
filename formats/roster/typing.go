package roster

import (
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
)

// maxTyping is how many wrong numbers are looked at for a mistake in typing: with more, something else is wrong.
const maxTyping = 1000

// typing looks at numbers that are not the site's: if changing a digit makes one of them a card of the site that nobody
// has, it was probably typed wrong.
func (c *Roster) typing() {
	looked := 0
	for i := range c.findings {
		f := &c.findings[i]
		if f.Kind != Unusable || f.What != reading.OutOfBlock && f.What != reading.WrongFacility &&
			f.What != reading.OutOfRange || f.Text < 0 {
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

// meant returns the number that a wrong one was probably meant to be, and what was done to it: the mildest mistake that
// gives just one card which is the site's and free.
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
