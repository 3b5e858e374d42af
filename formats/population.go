package formats

import "slices"

// Range is a block of card numbers, both ends included.
type Range struct{ From, To uint64 }

// Has reports whether a number is in the block.
func (r Range) Has(v uint64) bool { return r.From <= v && v <= r.To }

// Population is a set of cards that a site is known to use.
type Population struct {
	Format     string   // id in the catalogue
	Facilities []uint64 // none: not said
	Numbers    []Range  // none: not said
	Printed    string   // the form printed on the cards, "" where it is not said
}

// Belongs reports whether a card is of this population, as far as both are known.
func (p *Population) Belongs(c *Card) bool {
	f := c.Format
	if f == nil || f.ID != p.Format {
		return false
	}
	if v, ok := c.Record.Uint64(f.Facility()); ok && c.Known.Has(f.Facility()) && p.Facilities != nil && !slices.Contains(p.Facilities, v) {
		return false
	}
	v, ok := c.Record.Uint64(f.Number())
	if !ok || !c.Known.Has(f.Number()) || p.Numbers == nil {
		return true
	}
	return slices.ContainsFunc(p.Numbers, func(r Range) bool { return r.Has(v) })
}
