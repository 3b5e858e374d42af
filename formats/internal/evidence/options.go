package evidence

import (
	"math"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// option is one way in which a sighting can follow from a card: a form of print, or a part of a chip serial. It holds
// for all cards of a site.
type option struct {
	log  float64 // of its weight
	kind formats.SightingKind
	form *formats.Form // nil for a part
	part *judgement.Part
	room int  // digits of the largest number, where the form writes one number; 0 where it writes something else
	all  int  // the same, where the number is decimal without zeros before it
	ends bool // the form is one of lowForms

	number, whole int // for a part: the bits of the format's number, and of all its data; 0 where they are no serial
}

// name says what the option supposes, for the evidence.
func (o *option) name() string {
	if o.part != nil {
		return o.part.Name
	}
	return o.form.Name
}

// of reports whether the option is for this kind of sighting.
func (o *option) of(kind formats.SightingKind) bool { return o.kind == kind }

// inForm makes the option of a form.
func inForm(form *formats.Form) option {
	o := option{kind: formats.Printed, form: form}
	switch form.Name {
	case "hex", "uid", "uid-reversed":
		o.kind = formats.Hex
	}
	_, o.ends = lowForms[form.Name]
	return o
}

// ofPart makes the option of a part of a serial, for a format.
func ofPart(p *judgement.Part, f *formats.Format) option {
	o := option{log: math.Log(p.Weight), kind: formats.Serial, part: p}
	o.number, o.whole = dataWidths(f)
	return o
}

// inForms are the options of all forms.
var inForms = func() (all []option) {
	forms := formats.Forms()
	for i := range forms {
		all = append(all, inForm(&forms[i]))
	}
	return all
}()

// options returns every way that fits a format, weights of prints scaled to add up to 1.
func options(f *formats.Format) []option {
	var buf [40]option
	all := buf[:0]
	sum, weights := 0.0, judgement.FormWeights(f)
	for _, o := range inForms {
		w := weights[o.form.Name]
		if w == 0 {
			continue
		}
		if o.ends && f.Number() >= 0 && f.Layout.Spec().Fields[f.Number()].Bits.Len() > judgement.LowUsual {
			w *= judgement.LowOfLong
		}
		if ok, _ := o.form.Fits(f); ok {
			o.log = w
			o.sizeFor(f)
			all = append(all, o)
			sum += w
		}
	}
	for i := range all {
		all[i].log = math.Log(all[i].log / sum)
	}
	for i := range judgement.Parts {
		all = append(all, ofPart(&judgement.Parts[i], f))
	}
	return slices.Clone(all)
}

// sizeFor notes how many digits the largest number of a format has in the form.
func (o *option) sizeFor(f *formats.Format) {
	bits, of := 0, f.Layout.Spec().Fields
	switch o.form.Name {
	case "number", "number10":
		if field := &of[f.Number()]; field.Coding == wiegand.Binary {
			bits = field.Bits.Len()
		}
	case "number24":
		bits = LowBits
	case "decimal", "decimal10", "hex":
		for i := range of {
			if of[i].Name != wiegand.FieldUnknown {
				bits += of[i].Bits.Len()
			}
		}
	}
	o.room = typing.DigitsOf(bits)
	switch o.form.Name {
	case "hex":
		o.room = (bits + 3) / 4
	case "number", "number24", "decimal":
		o.all = o.room
	}
}

// never reports whether nothing with so many digits, zeros before them left out, is in the form: a print that has them,
// or has them whatever slip is undone, need not be tried. Nor need two numbers in a form that writes one, unless they
// are one, or a space is between, behind which a slip can leave nothing.
func (o *option) never(s *typing.Seen, digits int) bool {
	return o.room > 0 && (digits > o.room || s.Pair && s.Sign() != ' ' && !s.One) ||
		o.part == nil && o.form.Name == "pair" && !s.Pair
}

// PartName says which part of a chip serial the i-th one is.
func PartName(i int) string { return judgement.Parts[i].Name }

// IsPart reports whether that is the name of a part of a chip serial.
func IsPart(name string) bool {
	return slices.ContainsFunc(judgement.Parts, func(p judgement.Part) bool { return p.Name == name })
}

// fit returns how a sighting fits what the option gives for a card; buf is memory to write that into.
func (o *option) fit(c *formats.Card, s *typing.Seen, buf []byte) typing.Fit {
	if o.part != nil {
		f := typing.Fit{Slip: s.Astray()}
		b, ok := o.part.Take(s.Serial)
		if !ok {
			return f
		}
		share := min(1, math.Ldexp(s.Floor, b.Len()))
		for _, data := range dataBits(c) {
			if data == b {
				return typing.Fit{Styles: 1 << typing.AsWritten, Weight: share}
			}
			if data.Len() == b.Len() { // somebody may have copied the serial, too
				f.Slip += share * typing.SlipDigits(data.AppendHex(buf[:0]), string(b.AppendHex(nil)))
			}
		}
		return f
	}
	text, err := o.form.Append(buf[:0], c)
	if err != nil {
		return typing.Fit{Slip: s.Astray()}
	}
	if set := o.stylesOf(c, s, text); set != 0 {
		if o.all > 0 && o.all == len(s.Digits) && set&^typing.Last(o.all) != 0 {
			set |= 1 << typing.AllDigits
		}
		return typing.Fit{Styles: set, Weight: 1}
	}
	return typing.Fit{Slip: s.Slip(text), Near: s.Near(text, o.all)}
}

// fitsLog returns the log probability of how sightings fit what the option gives. A serial is written in one style: its
// share of all styles is no chance.
func (o *option) fitsLog(fits []typing.Fit) float64 {
	log := typing.FitsLog(fits)
	if o.part != nil {
		log -= typing.StylePriorLogs[typing.AsWritten]
	}
	return log
}

// StylesOf returns the styles in which what the form gives can be written as a sighting.
func (o *option) stylesOf(c *formats.Card, s *typing.Seen, text []byte) typing.StyleSet {
	set := s.StylesOf(text, o.form.Name == "joined" || o.form.Name == "joined24")
	if set == 0 && o.form.Name == "joined" && !s.Pair {
		return joinedShort(c, s)
	}
	return set
}

// joinedShort returns the style of a print that is facility and number with nothing between, if neither has zeros
// before it.
func joinedShort(c *formats.Card, s *typing.Seen) typing.StyleSet {
	facility, hasFacility := c.Facility()
	number, hasNumber := c.Number()
	var buf [40]byte
	text := strconv.AppendUint(strconv.AppendUint(buf[:0], facility, 10), number, 10)
	if !hasFacility || !hasNumber || string(text) != s.Digits {
		return 0
	}
	return 1 << typing.ZerosDropped
}

// follows reports whether a sighting follows from a card, which takes less than how well it fits.
func (o *option) follows(c *formats.Card, s *typing.Seen, buf []byte) bool {
	if o.part != nil {
		return o.fit(c, s, buf).Styles != 0
	}
	text, err := o.form.Append(buf[:0], c)
	return err == nil && o.stylesOf(c, s, text) != 0
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
func (o *option) parse(f *formats.Format, s *typing.Seen, buf []byte) (c formats.Card, fits typing.Fit, ok bool) {
	switch {
	case o.part != nil:
		c, ok = o.parseSerial(f, s)
	case !o.never(s, s.Significant(0)):
		var err error
		text := s.Text
		if s.One && o.room > 0 {
			text = s.Digits
		}
		c, err = o.form.Parse(f, text)
		ok = err == nil
	}
	if !ok {
		return c, fits, false
	}
	own := c // c itself would be put into memory of its own before it is known to be a card
	fits = o.fit(&own, s, buf)
	return c, fits, fits.Styles != 0
}

func (o *option) parseSerial(f *formats.Format, s *typing.Seen) (c formats.Card, ok bool) {
	n := s.Serial.Len()
	if o.part.Bytes > 0 {
		n = 8 * o.part.Bytes
	}
	if n != o.number && n != o.whole {
		return c, false // zeros would be put before it, or there is no room
	}
	b, ok := o.part.Take(s.Serial)
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
