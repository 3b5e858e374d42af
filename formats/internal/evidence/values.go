package evidence

import (
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
)

// Values is how probable the cards of a population are. It is immutable.
type Values struct{ model formatModel }

// NewValues makes the Values of a population's cards of one format; those of any cards of the format where the
// population says nothing.
func NewValues(f *formats.Format, p *formats.Population) Values {
	v := Values{formatModel{format: f, fields: modelFields(f)}}
	v.model.use(p)
	return v
}

// Log returns the log of the probability of a card, as far as its values are known.
func (v *Values) Log(c *formats.Card) float64 { return v.model.cardLog(c) }

// LogGiven is Log for one more card where other cards' numbers are seen, sorted. Where it is known which numbers the
// cards have, that says more.
func (v *Values) LogGiven(c *formats.Card, seen []uint64) float64 {
	log := v.Log(c)
	m, n := v.numberOf(c)
	if m == nil {
		return log
	}
	at, found := slices.BinarySearch(seen, n)
	with, others := seen, make([]uint64, 0, len(seen)+1)
	if others = append(others, seen[:at]...); found { // the card itself
		others = append(others, seen[at+1:]...)
	} else {
		with, others = append(append(others, n), seen[at:]...), seen
	}
	if len(others) == 0 {
		return log
	}
	return log - m.base(n) + (m.numbersLog(with) - m.numbersLog(others))
}

// numberOf returns the model of the number of a card, and that number; nil where other cards' numbers say nothing of
// it.
func (v *Values) numberOf(c *formats.Card) (m *fieldModel, n uint64) {
	i := v.model.format.Number()
	if i < 0 || !c.Known.Has(i) {
		return nil, 0
	}
	m = &v.model.fields[i]
	n, ok := c.Record.Uint64(i)
	if !ok || m.usual != nil || m.role != numberRole || m.wide {
		return nil, 0
	}
	return m, n
}

// Given is [Values.LogGiven] of the same numbers for many cards, one after the other: it keeps what it worked out.
type Given struct {
	values Values
	seen   density.Others
}

// Given returns that of these numbers, which are sorted and different.
func (v *Values) Given(seen []uint64) *Given {
	return &Given{values: *v, seen: density.Others{Sorted: seen}}
}

// Log is [Values.LogGiven].
func (g *Given) Log(c *formats.Card) float64 {
	m, n := g.values.numberOf(c)
	if m == nil || len(g.seen.Sorted) == 0 {
		return g.values.Log(c)
	}
	if _, there := slices.BinarySearch(g.seen.Sorted, n); there {
		return g.values.LogGiven(c, g.seen.Sorted)
	}
	return g.values.Log(c) - m.base(n) + m.nextNumber(n, &g.seen)
}

// Column is the values of one field of cards, as far as they are known.
type Column struct {
	Values []uint64
	Wide   int // how many more cards have one that is no number of 64 bits
}

// LogAll returns the log of the probability of cards together, given as a column for each field. Where they have
// several facilities, each may have numbers of its own. It sorts the columns.
func (v *Values) LogAll(cards int, columns []Column) (log float64) {
	var facilities []uint64
	number := v.model.format.Number()
	for f := range v.model.fields {
		m := &v.model.fields[f]
		values, even := columns[f].Values, columns[f].Wide
		if m.role == freeRole {
			values, even = nil, even+len(values)
		}
		log += float64(even) * m.even
		if f == v.model.format.Facility() && len(values) == cards {
			facilities = slices.Clone(values)
		}
		switch {
		case len(values) == 0:
		case f == number && len(facilities) == len(values) && slices.Min(facilities) < slices.Max(facilities):
			boxes := make([][2]uint64, len(values))
			for i := range boxes {
				boxes[i] = [2]uint64{facilities[i], values[i]}
			}
			log += m.byFacility(boxes, values, m.log)
		default:
			log += m.log(values)
		}
	}
	return log
}
