package evidence

import (
	"iter"
	"math"

	"github.com/cardtell/cardtell/formats"
)

// rarelyPrinted is the weight of a form that is not listed as a print of its kind of format.
const rarelyPrinted = 0.005

// Formats returns the formats of the model with the log of the prior of each: those of the catalogue, then the site's
// populations.
func (m *Model) Formats() iter.Seq2[int, *formats.Format] {
	return func(yield func(int, *formats.Format) bool) {
		for i := range m.formats {
			if !yield(i, m.formats[i].format) {
				return
			}
		}
	}
}

// Prior returns the log of the prior of the i-th format.
func (m *Model) Prior(i int) float64 { return m.formats[i].log }

// cardLog is the log probability of a card's values, as far as they are known.
func (m *formatModel) cardLog(c *formats.Card) float64 {
	log := 0.0
	for f := range m.fields {
		if !c.Known.Has(f) {
			continue
		}
		if v, ok := c.Record.Uint64(f); ok && m.fields[f].role != freeRole {
			log += m.fields[f].base(v)
		} else {
			log += m.fields[f].even
		}
	}
	return log
}

// Prints returns the forms in which numbers of the i-th format are printed, and how usual each is.
func (m *Model) Prints(i int) iter.Seq2[formats.Form, float64] {
	return func(yield func(formats.Form, float64) bool) {
		for _, o := range m.formats[i].forms {
			if o.part == nil && !yield(*o.form, math.Exp(o.log)) {
				return
			}
		}
	}
}

// OfSite reports whether field i of the j-th format has one value, or few, for all cards of a site.
func (m *Model) OfSite(j, i int) bool { return m.formats[j].fields[i].role == siteRole }
