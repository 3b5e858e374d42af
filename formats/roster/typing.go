package roster

import (
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
)

// maxTyping is how many wrong numbers are looked at for a mistake in typing: with more, something else is wrong.
const maxTyping = 1000

// correction is what a number that was typed wrong has in one place, and what belongs there.
type correction struct {
	at       int
	was, now string
}

// typing looks at numbers that are not the site's: if changing a digit makes one of them a card of the site that nobody
// has, it was probably typed wrong. Where two numbers lack the same in the same place, 88 for 87, nobody slipped twice:
// they are cards that the site file does not have.
func (c *Roster) typing() {
	var wrong []*Finding
	for i := range c.findings {
		f := &c.findings[i]
		if f.Kind == Unusable && f.Text >= 0 && (f.What == reading.OutOfBlock || f.What == reading.WrongFacility ||
			f.What == reading.OutOfRange) {
			wrong = append(wrong, f)
		}
	}
	if len(wrong) > maxTyping {
		return
	}
	alike := map[correction]*Finding{} // nil where several need it
	for _, f := range wrong {
		number := c.texts.number(f.Text)
		if f.Meant, f.How = c.meant(number); f.Meant == "" {
			continue
		}
		to := correct(number, f.Meant)
		if _, again := alike[to]; again {
			f = nil
		}
		alike[to] = f
	}
	for _, f := range alike {
		if f != nil {
			f.Kind = Mistyped
		}
	}
}

// correct returns what makes one number of another.
func correct(number, meant string) correction {
	at := 0
	for at < min(len(number), len(meant)) && number[at] == meant[at] {
		at++
	}
	was, now := number[at:], meant[at:]
	for was != "" && now != "" && was[len(was)-1] == now[len(now)-1] {
		was, now = was[:len(was)-1], now[:len(now)-1]
	}
	return correction{at, was, now}
}

// meant returns the number that a wrong one was probably meant to be, and what was done to it: the mildest mistake that
// gives just one card which is the site's and free.
func (c *Roster) meant(number string) (meant, how string) {
	plan := c.plan.AsIs()
	for _, mistake := range typing.Mistakes() {
		found, taken := "", false
		for candidate := range mistake.Undo(number) {
			var seen reading.Seen
			if string(candidate) == number || plan.Read(candidate, &seen) != nil {
				continue
			}
			if c.has(seen.Key()) {
				taken = true
				continue
			}
			if found != "" && found != string(candidate) {
				return "", "" // several: naming one would be guessing
			}
			found = string(candidate)
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
