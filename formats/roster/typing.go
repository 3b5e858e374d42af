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

// typing looks at numbers that are not the site's: if one mistake in typing makes one of them of a card of the site
// that nobody has, it was probably typed wrong. Where two numbers lack the same in the same place, 88 for 87, nobody
// slipped twice: they are cards that the site file does not have.
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
		if f.Meant, f.How, f.Probability = c.meant(number); f.Meant == "" {
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

// sureMeant is how probable what was meant must be to be named. otherwiseWritten is how much less likely it is that it
// was to be written otherwise than its form writes numbers, and cardTwice that it is a card which somebody has already.
// Judgements.
const sureMeant, otherwiseWritten, cardTwice = 0.9, 0.1, 0.02

// meant returns the number that a wrong one was probably meant to be, what was done to it, and how probable that is, of
// all mistakes by which it can have come from a card of the site; "" where it is less sure, or somebody has that card.
func (c *Roster) meant(number string) (meant, how string, probability float64) {
	plan, likely := c.plan.AsIs(), map[string]float64{}
	best, total := 0.0, 0.0
	for _, mistake := range typing.Mistakes() {
		variants := 0
		for range mistake.Undo(number) {
			variants++
		}
		for candidate := range mistake.Undo(number) {
			var seen reading.Seen
			text := string(candidate)
			if text == number || plan.Read(candidate, &seen) != nil {
				continue
			}
			p := mistake.Share / float64(variants)
			card := seen.Card()
			if usual, err := seen.Reading.Text(&card); err != nil || usual != text {
				p *= otherwiseWritten
			}
			taken := c.has(seen.Key())
			if taken {
				p *= cardTwice
			}
			total += p
			if likely[text] += p; likely[text] > best && !taken {
				if best = likely[text]; text != meant { // else it is a mistake of two names
					meant, how = text, mistake.Name
				}
			}
		}
	}
	if best < sureMeant*total || best == 0 {
		return "", "", 0
	}
	return meant, how, best / total
}
