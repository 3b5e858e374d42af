package formats

import (
	"fmt"
	"math/bits"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Card is one card in one format, as far as it is known: a printed number may give the card number but no facility. It
// is a value. The zero Card has no format.
type Card struct {
	Format *Format
	Record wiegand.Record
	Known  FieldSet // the fields whose value is known; the others are 0 in the record
}

// FieldSet is a set of fields of one layout: bit i stands for field i.
type FieldSet uint16

// Has reports whether field i is in the set. None is at an i that is not 0 to 15: a shift so far leaves nothing.
func (s FieldSet) Has(i int) bool { return s>>uint(i)&1 == 1 }

// Len returns how many fields are in the set.
func (s FieldSet) Len() int { return bits.OnesCount16(uint16(s)) }

// Whole reports whether every field of the card is known, so that its read is.
func (c *Card) Whole() bool { return c.Format != nil && c.Known == c.Format.all() }

// all returns the set of all fields.
func (f *Format) all() FieldSet { return FieldSet(1<<len(f.Layout.Spec().Fields) - 1) }

// Blank returns a card of which nothing is known but the constant fields.
func (f *Format) Blank() Card {
	c := Card{Format: f, Record: f.Layout.Blank()}
	fields := f.Layout.Spec().Fields
	for i := range fields {
		if fields[i].Constant != "" {
			c.Known |= 1 << i
		}
	}
	return c
}

// Read returns the card that sent a read. A failed check is in the record and no error. The error is wiegand.ErrLength
// where the read does not have the format's length.
func (f *Format) Read(b wiegand.Bits) (Card, error) {
	r, err := f.Layout.Decode(b)
	if err != nil {
		return Card{}, err
	}
	return Card{Format: f, Record: r, Known: f.all()}, nil
}

// Encode returns the read of a card by the values of its fields, each under its name and spelled as [Card.With] takes
// it. The error is ErrForm for a name that is no field of the format, ErrMissing where a field is left out or its rule
// is not known; and those of [Card.With].
func (f *Format) Encode(fields map[string]string) (wiegand.Bits, error) {
	c := f.Blank()
	for _, name := range sortedKeys(fields) {
		i := f.FieldByName(name)
		if i < 0 || name == wiegand.FieldUnknown {
			return wiegand.Bits{}, fail("field", name, fmt.Sprintf("format %s has no such field; it has %s", f.ID,
				f.fieldNames()), ErrForm)
		}
		var err error
		if c, err = c.With(i, fields[name]); err != nil {
			return wiegand.Bits{}, err
		}
	}
	b, err := wholeRead(&c)
	return b, Form{Name: "bits"}.own(err)
}

// With returns the card with a field set to the value that text spells in decimal. The error is wiegand.ErrRange where
// the value does not fit the field, wiegand.ErrSyntax where it is no number.
func (c Card) With(field int, text string) (Card, error) {
	r, err := c.Record.WithText(field, text)
	return c.knowing(field, r, err)
}

// knowing is the card with the record in which a field was set, unless that failed.
func (c Card) knowing(field int, r wiegand.Record, err error) (Card, error) {
	if err != nil {
		return Card{}, err
	}
	c.Record = r
	c.Known |= 1 << uint(field)
	return c, nil
}

// WithFacility returns the card with its facility set, for forms that leave it out. The error is ErrForm where the
// format has no facility field, ErrRange where the value does not fit.
func (c Card) WithFacility(text string) (Card, error) {
	f := c.Format
	if f == nil || f.Facility() < 0 {
		return Card{}, fail("facility", text, fmt.Sprintf("format %s has no facility field; leave it out", f.id()), ErrForm)
	}
	return c.With(f.Facility(), text)
}

func (f *Format) id() string {
	if f == nil {
		return "?"
	}
	return f.ID
}

// Facility returns the card's facility; false where the format has none, it is not known, or it is wider than 64 bits.
func (c *Card) Facility() (uint64, bool) { return c.named(wiegand.FieldFacility) }

// Number returns the card's number; false as for [Card.Facility].
func (c *Card) Number() (uint64, bool) { return c.named(wiegand.FieldNumber) }

func (c *Card) named(field string) (uint64, bool) {
	if c.Format == nil {
		return 0, false
	}
	i := c.Format.FieldByName(field)
	if i < 0 || !c.Known.Has(i) {
		return 0, false
	}
	return c.Record.Uint64(i)
}

// Bits returns the read that the card sends, as it was read where it was; false unless every field is known.
func (c *Card) Bits() (wiegand.Bits, bool) {
	if !c.Whole() {
		return wiegand.Bits{}, false
	}
	return c.Record.Bits(), true
}

// Text returns the value of a field, "" where it is not known.
func (c *Card) Text(field int) string {
	if !c.Known.Has(field) {
		return ""
	}
	return c.Record.Text(field)
}

// AppendField appends the value of a field as text; nothing where it is not known.
func (c *Card) AppendField(dst []byte, field int) []byte {
	if !c.Known.Has(field) {
		return dst
	}
	return c.Record.AppendField(dst, field)
}

// need returns an error unless the fields are known.
func (c *Card) need(fields ...int) error {
	var missing []string
	spec := c.Format.Layout.Spec()
	for _, i := range fields {
		if !c.Known.Has(i) {
			missing = append(missing, spec.Fields[i].Name)
		}
	}
	if missing == nil {
		return nil
	}
	reason := fmt.Sprintf("format %s needs the %s as well", c.Format.ID, strings.Join(missing, " and "))
	switch {
	case slices.Contains(missing, wiegand.FieldUnknown):
		reason = fmt.Sprintf("format %s has bits whose rule is not known, so that a read can't be made up", c.Format.ID)
	case missing[0] == wiegand.FieldFacility:
		reason += "; give it too"
	}
	return bad("", reason, ErrMissing)
}
