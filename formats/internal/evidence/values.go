package evidence

import (
	"slices"

	"github.com/cardtell/cardtell/formats"
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
	i := v.model.format.Number()
	if i < 0 || !c.Known.Has(i) {
		return log
	}
	m := &v.model.fields[i]
	if m.usual != nil || m.role != numberRole || m.wide {
		return log
	}
	n, ok := c.Record.Uint64(i)
	if !ok {
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
			log += m.byFacility(boxes, values)
		default:
			log += m.log(values)
		}
	}
	return log
}
