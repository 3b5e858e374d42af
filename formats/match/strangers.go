package match

import (
	"math"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/reading"
)

// The kinds of strangers, each with a third of the start weight.
const (
	fromBlock    = iota // handed out and never put on the list
	fromFacility        // any card of the site's facility
	fromAnywhere
	strangers
)

// strays is how likely a stranger of each kind has a number, or how many of them there are.
type strays [strangers]float64

// longest is how many characters of what a door shows count: the chance of more is too small for a float64.
const longest = 300

// stray finds how likely a stranger's card shows this number.
func (m *Matcher) stray(u *Unknown) {
	u.stray[fromAnywhere] = math.Pow(10, -float64(min(max(len(u.Value), 1), longest)))
	m.cards([]byte(u.Value), func(seen *reading.Seen) bool {
		_, listed := m.byKey[m.opt.List.KeyOfSeen(seen)]
		if listed || len(m.byPart[partOf(u.Value)]) > 0 { // of several: a stranger has another
			return true
		}
		card := seen.Card()
		p, own := m.strayAs(&card)
		for k := range p {
			u.stray[k] = max(u.stray[k], p[k])
		}
		u.Own = u.Own || own
		return true
	})
}

// otherForm is how likely a stranger's card shows a number in another form than was thought.
type otherForm struct {
	form int8 // by its place among all
	p    strays
	card formats.Card
}

// strayIn notes how likely a stranger's card shows this number, in another form than was thought; exact says that the
// form writes it just so. Of several forms that give the same card one counts.
func (m *Matcher) strayIn(u *Unknown, form int, c *formats.Card, exact bool) {
	for i := range u.otherForms {
		if o := &u.otherForms[i]; o.card.Format == c.Format && o.card.Known == c.Known && o.card.Record == c.Record {
			if exact {
				o.form = int8(form)
			}
			return
		}
	}
	p, _ := m.strayAs(c)
	u.otherForms = append(u.otherForms, otherForm{form: int8(form), p: p, card: *c})
}

// strayAs is how likely a stranger's card is this one; own says that it is in one of the site's blocks.
func (m *Matcher) strayAs(c *formats.Card) (p strays, own bool) {
	f := c.Format
	if width := dataWidth(f); c.Whole() && width <= 64 {
		p[fromAnywhere] = math.Ldexp(1, -width)
	}
	number, ok := c.Number()
	if !ok {
		return p, false
	}
	facility, hasFacility := c.Facility()
	usual, all := m.opt.Site.Facilities(f.ID)
	if hasFacility && all && !slices.Contains(usual, facility) {
		return p, false
	}
	p[fromFacility] = math.Ldexp(1, -f.Layout.Spec().Fields[f.Number()].Bits.Len())
	size, known := m.ownBlock(f, number)
	if !known {
		p[fromBlock] = m.index.near(f, number)
	}
	if size == 0 {
		return p, false
	}
	p[fromBlock] = max(p[fromBlock], 1/size)
	return p, known || len(m.opt.Site.Cards) == 0
}

// dataWidth returns how many bits the fields of a format have.
func dataWidth(f *formats.Format) (n int) {
	for _, field := range f.Layout.Spec().Fields {
		n += field.Bits.Len()
	}
	return n
}

// near returns how likely the next card of a format has a number, by those on the list: a card that was handed out with
// them and never put there has one near them.
func (x *ruleIndex) near(f *formats.Format, number uint64) float64 {
	if len(x.numbers[f]) == 0 {
		return 0
	}
	given := x.given[f]
	if given == nil {
		values := evidence.NewValues(f, &formats.Population{Format: f.ID})
		given = values.Given(slices.Compact(x.numbers[f]))
		x.given[f] = given
	}
	c, err := f.Blank().With(f.Number(), strconv.FormatUint(number, 10))
	if err != nil {
		return 0
	}
	return math.Exp(given.Log(&c))
}

// ownBlock returns how many numbers the site's blocks of a format have, where a number is in one of them; 0 where it is
// in none. known is false where the site file has none: then all numbers between those of the list are one, if it has
// enough of them to be one.
func (m *Matcher) ownBlock(format *formats.Format, number uint64) (size float64, known bool) {
	in := false
	for _, p := range m.opt.Site.Cards {
		if p.Format != format.ID {
			continue
		}
		for _, r := range p.Numbers {
			size, known = size+float64(r.Last-r.First)+1, true
			in = in || r.Has(number)
		}
	}
	if known {
		if in {
			return size, true
		}
		return 0, true
	}
	s := m.index.spans[format]
	size = float64(s.high-s.low) + 1
	if s.holders == 0 || number < s.low || number > s.high || size > sparse*float64(s.holders) {
		return 0, false
	}
	return size, false
}
