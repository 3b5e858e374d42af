package reading

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"slices"

	"github.com/cardtell/cardtell/formats"
)

// Key is what makes two cards the same, however they are written: the format, and what is known of the fields. It is
// comparable.
type Key struct {
	format uint16 // of the plan's formats
	known  formats.FieldSet
	b      uint32 // with a: the data bits, or a digest of the read where they are more than 64
	a      uint64
}

// Compare puts keys in an order: by format, then by the card's data bits, so that cards of one facility are in the
// order of their numbers.
func (k Key) Compare(o Key) int {
	return cmp.Or(cmp.Compare(k.format, o.format), cmp.Compare(k.known, o.known), cmp.Compare(k.a, o.a),
		cmp.Compare(k.b, o.b))
}

// Key returns the card's key.
func (s *Seen) Key() Key {
	r := s.Reading
	k := Key{format: uint16(r.first)}
	if s.quick {
		k.known, k.a = s.known, s.v
		return k
	}
	k.known = s.card.Known
	if v, ok := r.data(&s.card); ok {
		k.a = v
		return k
	}
	sum := sha256.Sum256([]byte(s.card.Record.Bits().Hex()))
	k.a, k.b = binary.BigEndian.Uint64(sum[:]), binary.BigEndian.Uint32(sum[8:])
	return k
}

// data returns a card's data bits as package quick has them.
func (r *Reading) data(c *formats.Card) (v uint64, ok bool) {
	if r.none {
		return 0, false
	}
	for i := range r.Format.Layout.Spec().Fields {
		if !c.Known.Has(i) {
			continue
		}
		x, ok := c.Record.Uint64(i)
		if !ok {
			return 0, false
		}
		if v, ok = r.quick.WithField(v, i, x); !ok {
			return 0, false
		}
	}
	return v, true
}

// Make returns the card of a facility and number. ok is false where the format has no such card of 64 bits. hasFacility
// is false for formats without one, or where it is not known.
func (r *Reading) Make(facility uint64, hasFacility bool, number uint64) (s Seen, ok bool) {
	f := r.Format
	if r.none || f.Number() < 0 || hasFacility && f.Facility() < 0 {
		return s, false
	}
	s = Seen{Reading: r, quick: true, known: 1 << f.Number()}
	if s.v, ok = r.quick.WithField(0, f.Number(), number); !ok {
		return s, false
	}
	if hasFacility {
		s.v, ok = r.quick.WithField(s.v, f.Facility(), facility)
		s.known |= 1 << f.Facility()
	}
	return s, ok
}

// Largest returns the largest card number of the format; ok is false where it has none of 64 bits.
func (r *Reading) Largest() (n uint64, ok bool) { return r.NumberIn(^uint64(0)) }

// NumberIn returns the card number in the data bits of a card; ok is false where the format has none of 64 bits.
func (r *Reading) NumberIn(data uint64) (n uint64, ok bool) {
	if r.none || r.Format.Number() < 0 {
		return 0, false
	}
	return r.quick.Field(data, r.Format.Number()), true
}

// Bare reports whether the form leaves out the facility, which the format has.
func (r *Reading) Bare() bool { return bare(r.Form.Name) && r.Format.Facility() >= 0 }

// LargestFacility returns the largest facility of the format; ok is false where it has none of 64 bits.
func (r *Reading) LargestFacility() (n uint64, ok bool) {
	if r.none || r.Format.Facility() < 0 {
		return 0, false
	}
	return r.quick.Field(^uint64(0), r.Format.Facility()), true
}

// Facility returns the facility that numbers without one are taken to have; ok is false where none is known.
func (r *Reading) Facility() (v uint64, ok bool) {
	return r.fill, r.facility != "" && r.Format.Facility() >= 0
}

// Population returns the cards that the reading is for.
func (r *Reading) Population() formats.Population { return *r.population }

// Data returns the card's data bits as one number, as the form decimal shows them, and how many there are. ok is false
// where they are more than 64, or not all known.
func (s *Seen) Data() (v uint64, width int, ok bool) {
	r := s.Reading
	if r.none {
		return 0, 0, false
	}
	if !s.quick {
		v, ok = r.data(&s.card)
		return v, r.quick.Width(), ok && s.card.Whole()
	}
	return s.v, r.quick.Width(), r.quick.Whole(s.known)
}

// number gives each reading its place, and the first one of its format.
func (p *Plan) number() {
	for i := range p.readings {
		r := &p.readings[i]
		r.index = i
		r.first = slices.IndexFunc(p.readings, func(o Reading) bool { return o.Format == r.Format })
	}
}

// KeyOf returns the key of a card that was read elsewhere, as the plan would have it: a facility that the plan knows
// and the card does not say is filled in.
func (p *Plan) KeyOf(c *formats.Card) Key {
	r := p.readingOf(c.Format)
	if r == nil {
		return Key{format: ^uint16(0)}
	}
	s := Seen{Reading: r, card: *c}
	if f := c.Format.Facility(); f >= 0 && !c.Known.Has(f) && r.facility != "" {
		if filled, err := c.WithFacility(r.facility); err == nil {
			s.card = filled
		}
	}
	return s.Key()
}

// KeyOfSeen is KeyOf of a card that another plan has read.
func (p *Plan) KeyOfSeen(s *Seen) Key {
	r := p.readingOf(s.Reading.Format)
	facility := s.Reading.Format.Facility()
	if r == nil || !s.quick || facility >= 0 && !s.known.Has(facility) && r.facility != "" {
		c := s.Card()
		return p.KeyOf(&c)
	}
	return Key{format: uint16(r.first), known: s.known, a: s.v}
}

// readingOf returns the plan's first reading of a format, nil where it has none.
func (p *Plan) readingOf(f *formats.Format) *Reading {
	for i := range p.readings {
		if p.readings[i].Format == f {
			return &p.readings[i]
		}
	}
	return nil
}
