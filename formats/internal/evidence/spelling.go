package evidence

import (
	"math"

	"github.com/cardtell/cardtell/formats"
)

// PrintedAs returns the log probability that the i-th format's card is this one and is printed in the form of that
// name, as the weighing of a print has it: a site's own way of printing counts.
func (m *Model) PrintedAs(i int, form string, c *formats.Card) float64 {
	f := &m.formats[i]
	for o := range f.forms {
		if f.forms[o].part == nil && f.forms[o].form.Name == form {
			return f.log + f.forms[o].log + f.cardLog(c)
		}
	}
	return f.log + math.Log(rarelyPrinted) + f.cardLog(c)
}
