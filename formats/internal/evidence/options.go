package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// option is one way in which a sighting can follow from a card: a form of print, or a part of a chip serial. It holds
// for all cards of a site.
type option struct {
	log  float64 // of its weight
	kind formats.SightingKind
	form *formats.Form // nil for a part
	part *part
	all  int // digits of the largest number, where the form writes one number in decimal without zeros before it

	number, whole int // for a part: the bits of the format's number, and of all its data; 0 where they are no serial
}

// name says what the option supposes, for the evidence.
func (o *option) name() string {
	if o.part != nil {
		return o.part.name
	}
	return o.form.Name
}

// of reports whether the option is for this kind of sighting.
func (o *option) of(kind formats.SightingKind) bool { return o.kind == kind }

// inForm makes the option of a form.
func inForm(form *formats.Form) option {
	switch form.Name {
	case "hex", "uid", "uid-reversed":
		return option{kind: formats.Hex, form: form}
	}
	return option{kind: formats.Printed, form: form}
}

// ofPart makes the option of a part of a serial, for a format.
func ofPart(p *part, f *formats.Format) option {
	o := option{log: math.Log(p.weight), kind: formats.Serial, part: p}
	o.number, o.whole = dataWidths(f)
	return o
}

// printForms are all forms.
var printForms = formats.Forms()

// options returns every way that fits a format, weights of prints scaled to add up to 1.
func options(f *formats.Format) []option {
	var buf [40]option
	all := buf[:0]
	sum, weights := 0.0, formWeights[classOf(f)]
	for i := range printForms {
		o := inForm(&printForms[i])
		w := weights[o.form.Name]
		if _, low := lowForms[o.form.Name]; low && f.Number() >= 0 &&
			f.Layout.Spec().Fields[f.Number()].Bits.Len() > lowUsual {
			w *= lowOfLong
		}
		if w == 0 {
			continue
		}
		if ok, _ := o.form.Fits(f); ok {
			o.log, o.all = w, largest(f, o.form.Name)
			all = append(all, o)
			sum += w
		}
	}
	for i := range all {
		all[i].log = math.Log(all[i].log / sum)
	}
	for i := range parts {
		all = append(all, ofPart(&parts[i], f))
	}
	return slices.Clone(all)
}

// largest returns how many digits the largest number of a format has in a form; 0 where that is no plain number.
func largest(f *formats.Format, form string) int {
	bits := 0
	switch form {
	case "number":
		if field := &f.Layout.Spec().Fields[f.Number()]; field.Coding == wiegand.Binary {
			bits = field.Bits.Len()
		}
	case "number24":
		bits = lowBits
	case "decimal":
		for i := range f.Layout.Spec().Fields {
			bits += f.Layout.Spec().Fields[i].Bits.Len()
		}
	}
	return digitsOf(bits)
}

// PartName says which part of a chip serial the i-th one is.
func PartName(i int) string { return parts[i].name }

// IsPart reports whether that is the name of a part of a chip serial.
func IsPart(name string) bool {
	return slices.ContainsFunc(parts, func(p part) bool { return p.name == name })
}

// fit returns how a sighting fits what the option gives for a card; buf is memory to write that into.
func (o *option) fit(c *formats.Card, s *Seen, buf []byte) fit {
	if o.part != nil {
		f := fit{slip: s.astray()}
		b, ok := o.part.take(s.Serial)
		if !ok {
			return f
		}
		share := math.Ldexp(1, b.Len()-s.Serial.Len())
		for _, data := range dataBits(c) {
			if data == b {
				return fit{styles: 1 << asWritten, weight: share / styleExact}
			}
			if data.Len() == b.Len() { // somebody may have copied the serial, too
				f.slip += share * slipDigits(data.AppendHex(buf[:0]), string(b.AppendHex(nil)))
			}
		}
		return f
	}
	text, err := o.form.Append(buf[:0], c)
	if err != nil {
		return fit{slip: s.astray()}
	}
	if set := o.stylesOf(s, text); set != 0 {
		if o.all > 0 && o.all == len(s.digits) && set&^last(o.all) != 0 {
			set |= 1 << allDigits
		}
		return fit{styles: set, weight: 1}
	}
	return fit{slip: s.slip(text), near: s.near(text, o.all)}
}

// stylesOf returns the styles in which what the form gives can be written as a sighting.
func (o *option) stylesOf(s *Seen, text []byte) styleSet {
	return s.stylesOf(text, o.form.Name == "joined" || o.form.Name == "joined24")
}

// follows reports whether a sighting follows from a card, which takes less than how well it fits.
func (o *option) follows(c *formats.Card, s *Seen, buf []byte) bool {
	if o.part != nil {
		return o.fit(c, s, buf).styles != 0
	}
	text, err := o.form.Append(buf[:0], c)
	return err == nil && o.stylesOf(s, text) != 0
}

// dataBits returns the bits of a card that can be a chip serial or a part of one: its number, and its whole data.
func dataBits(c *formats.Card) []wiegand.Bits {
	var all []wiegand.Bits
	var whole wiegand.Bits
	for i, field := range c.Format.Layout.Spec().Fields {
		if field.Coding != wiegand.Binary || field.Name == wiegand.FieldUnknown {
			return nil
		}
		v := c.Record.Value(i)
		if field.Name == wiegand.FieldNumber {
			all = append(all, v)
		}
		whole, _ = whole.Concat(v) // fields of one read fit together
	}
	if len(all) == 0 || whole != all[0] {
		all = append(all, whole)
	}
	return all
}

// parse returns the card that a sighting is of, given format and option, and how it fits that card.
func (o *option) parse(f *formats.Format, s *Seen, buf []byte) (c formats.Card, fits fit, ok bool) {
	if o.part != nil {
		c, ok = o.parseSerial(f, s)
	} else {
		var err error
		c, err = o.form.Parse(f, s.Text)
		ok = err == nil
	}
	if !ok {
		return c, fits, false
	}
	fits = o.fit(&c, s, buf)
	return c, fits, fits.styles != 0
}

func (o *option) parseSerial(f *formats.Format, s *Seen) (c formats.Card, ok bool) {
	n := s.Serial.Len()
	if o.part.bytes > 0 {
		n = 8 * o.part.bytes
	}
	if n != o.number && n != o.whole {
		return c, false // zeros would be put before it, or there is no room
	}
	b, ok := o.part.take(s.Serial)
	if !ok {
		return c, false
	}
	for _, form := range [...]struct { // the number alone, or all data bits
		name  string
		width int
	}{{"uid", o.number}, {"hex", o.whole}} {
		if b.Len() != form.width {
			continue
		}
		fm, _ := formats.FormByName(form.name)
		text := b.AppendHex(nil)
		if form.name == "uid" {
			text = formats.AppendSerial(nil, b)
		}
		if c, err := fm.Parse(f, string(text)); err == nil && slices.Contains(dataBits(&c), b) {
			return c, true
		}
	}
	return c, false
}

// dataWidths returns how many bits the number and the whole data have that dataBits returns; 0 where it returns none.
func dataWidths(f *formats.Format) (number, whole int) {
	for _, field := range f.Layout.Spec().Fields {
		n := field.Bits.Len()
		switch {
		case field.Coding != wiegand.Binary || field.Name == wiegand.FieldUnknown:
			return 0, 0
		case field.Name == wiegand.FieldNumber:
			number = n
		}
		whole += n
	}
	return number, whole
}
