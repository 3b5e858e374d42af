package roster

import (
	"cmp"
	"errors"
	"math"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
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

// Judgements.
const (
	// sureMeant is how much of all that was meant a number must be to be named, and likelyMeant how probable it is then.
	sureMeant, likelyMeant = 0.9, 0.5

	// otherwiseWritten is how much less likely it is that a number was to be written otherwise than its form writes
	// numbers, and cardTwice that it is a card which somebody has already.
	otherwiseWritten, cardTwice = 0.1, 0.02

	// slipped is how usual it is that a row is typed wrong, notInFile that it is right, and of a card that the site file
	// lacks: lost cards are replaced, visitors bring theirs, and who typed wrong hears of it at the door. otherKind is that
	// of another format.
	slipped, notInFile, otherKind = 0.01, 0.03, 0.001
)

// meant returns the number that a wrong one was probably meant to be, what was done to it, and how probable that is, of
// all mistakes by which it can have come from a card of the site, and beside a number that is right, of a card that the
// site file lacks; "" where it is less sure, or somebody has that card.
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
			card := seen.Card()
			p := slipped * mistake.Share / float64(variants) * c.usual(&card)
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
	if probability = best / (total + c.right(plan, number)); probability < likelyMeant {
		return "", "", 0
	}
	return meant, how, probability
}

// usual returns how probable a card of the site is, among all of those of its kind.
func (c *Roster) usual(card *formats.Card) (most float64) {
	facility, has := card.Facility()
	number, _ := card.Number()
	for i := range c.site.Cards {
		q := &c.site.Cards[i]
		if q.Format == card.Format.ID && (!has || q.HasFacility(facility)) && q.HasNumber(number) {
			most = max(most, chance(card, *q))
		}
	}
	return cmp.Or(most, chance(card, formats.Population{Format: card.Format.ID}))
}

// right returns how probable it is that a number which is no card of the site is as it is meant to be: a card of an
// order that the site file lacks, or of another format. New facilities and numbers often follow the old ones.
func (c *Roster) right(plan *reading.Plan, number string) float64 {
	p := otherKind * math.Pow10(-len(number))
	var seen reading.Seen
	e, ok := errors.AsType[*reading.Error](plan.Read([]byte(number), &seen))
	if !ok || e.Card.Format == nil {
		return p
	}
	any := formats.Population{Format: e.Card.Format.ID}
	facility, has := e.Card.Facility()
	all := chance(&e.Card, any)
	if has {
		any.Facilities = []uint64{facility}
	}
	one := chance(&e.Card, any) // of its number alone
	n, _ := e.Card.Number()
	nearFacility, nearNumber := all/one, one
	for i := range c.site.Cards {
		q := &c.site.Cards[i]
		if q.Format != any.Format {
			continue
		}
		for _, v := range q.Facilities {
			nearFacility = max(nearFacility, follows(facility, v, v))
		}
		for _, b := range q.Numbers {
			nearNumber = max(nearNumber, follows(n, b.First, b.Last))
		}
	}
	return p + notInFile*(all/one+nearFacility)/2*(one+nearNumber)/2
}

// follows returns how probable a value is of those that are between others, behind, or before them, the nearer the
// likelier: each in one case of three.
func follows(v, first, last uint64) float64 {
	w, away := float64(last-first)+1, float64(max(v, last)-last+first-min(v, first))
	return w / 3 / ((away + w) * (away + w))
}

func chance(card *formats.Card, q formats.Population) float64 {
	v := evidence.NewValues(card.Format, &q)
	return math.Exp(v.Log(card))
}
