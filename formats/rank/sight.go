package rank

import (
	"bytes"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// seen is a sighting that is no read, prepared for comparing.
type seen struct {
	kind   formats.SightingKind
	text   string
	digits string       // without separators
	bare   string       // without zeros at the start either
	pair   bool         // two numbers with one separator between
	high   string       // of a pair, the first number without zeros at its start
	low    string       // and the second one
	serial wiegand.Bits // of a chip serial
	floor  float64      // probability of seeing just this by chance
}

// joiners takes out what stands between the digits of a print or a serial.
var joiners = strings.NewReplacer(",", "", "-", "", "/", "", " ", "", ":", "")

func newSeen(s formats.Sighting) seen {
	t := seen{kind: s.Kind, text: s.Text, serial: s.Bits}
	t.digits = joiners.Replace(s.Text)
	t.bare = strings.TrimLeft(t.digits, "0")
	switch s.Kind {
	case formats.Printed:
		t.floor = (1 - hexShare) * widthShare * math.Pow(10, -float64(len(t.digits)))
		if len(t.digits) < len(t.text) {
			t.floor *= separated
		}
		t.pair = len(t.digits)+1 == len(t.text)
		if i := strings.IndexAny(t.text, ",-/ "); t.pair {
			t.high, t.low = strings.TrimLeft(t.text[:i], "0"), strings.TrimLeft(t.text[i+1:], "0")
		}
	case formats.Hex:
		t.floor = hexShare * widthShare * math.Pow(16, -float64(len(t.digits)))
	case formats.Serial:
		t.floor = math.Ldexp(1, -s.Bits.Len())
	}
	return t
}

// option is one way in which a sighting can follow from a card: a form of print, or a part of a chip serial. It holds for
// all cards of a site.
type option struct {
	log  float64 // of its weight
	form formats.Form
	part *part
}

// name says what the option supposes, for the evidence.
func (o *option) name() string {
	if o.part != nil {
		return o.part.name
	}
	return o.form.Name
}

// of reports whether the option is for this kind of sighting.
func (o *option) of(kind formats.SightingKind) bool {
	if o.part != nil {
		return kind == formats.Serial
	}
	switch o.form.Name {
	case "hex", "uid", "uid-reversed":
		return kind == formats.Hex
	}
	return kind == formats.Printed
}

// options returns every way that fits a format, weights of prints scaled to add up to 1.
func options(f *formats.Format) []option {
	var all []option
	sum := 0.0
	for _, form := range formats.Forms() {
		w := formWeights[classOf(f)][form.Name]
		if ok, _ := form.Fits(f); ok && w > 0 {
			all = append(all, option{log: w, form: form})
			sum += w
		}
	}
	for i := range all {
		all[i].log = math.Log(all[i].log / sum)
	}
	for i := range parts {
		all = append(all, option{log: math.Log(parts[i].weight), part: &parts[i]})
	}
	return all
}

// match returns the probability of the sighting, given the card and the option. follows is false where it is that of chance
// alone: the sighting does not come from the card in this way.
func (o *option) match(c *formats.Card, s *seen) (p float64, follows bool) {
	if o.part != nil {
		return o.matchSerial(c, s)
	}
	chance := printUnrelated * s.floor
	var buf [96]byte
	text, err := o.form.Append(buf[:0], c)
	if err != nil {
		return chance, false
	}
	like := o.likeness(text, s)
	return (1-printUnrelated)*like + chance, like > 0
}

// likeness returns the probability that a print looks like s where its form gives text.
func (o *option) likeness(text []byte, s *seen) float64 {
	switch {
	case string(text) == s.text:
		return printExact
	case s.pair && (o.form.Name == "joined" || o.form.Name == "joined24"):
		return 0 // the form with a separator says where it stands
	}
	if i := bytes.IndexByte(text, ','); i >= 0 && s.pair && !s.parts(text[:i], text[i+1:]) {
		return 0 // the same digits parted elsewhere are two other numbers
	}
	var buf [96]byte
	digits := buf[:0]
	for _, c := range text {
		if c != ',' && c != ':' {
			digits = append(digits, c)
		}
	}
	switch {
	case string(digits) == s.digits:
		return printSeparator
	case string(bytes.TrimLeft(digits, "0")) == s.bare, s.pair && len(digits) < len(text): // a pair that is equal part by part
		return printZeros
	case len(s.digits) >= 4 && len(s.digits) < len(digits) && string(digits[len(digits)-len(s.digits):]) == s.digits:
		return printSuffix
	}
	return 0
}

// parts reports whether the two numbers of a pair are these, whatever zeros stand before each.
func (s *seen) parts(high, low []byte) bool {
	return string(bytes.TrimLeft(high, "0")) == s.high && string(bytes.TrimLeft(low, "0")) == s.low
}

// take returns the part of a serial; ok is false where the serial is too short, or the part is all of it and another option.
func (p *part) take(serial wiegand.Bits) (b wiegand.Bits, ok bool) {
	n := 8 * p.bytes
	switch {
	case n == 0:
		b = serial
	case n >= serial.Len():
		return b, false
	case p.last:
		b = serial.Slice(serial.Len()-n, serial.Len())
	default:
		b = serial.Slice(0, n)
	}
	if p.reversed {
		b, _ = b.ReverseBytes() // whole bytes, so that it can't fail
	}
	return b, true
}

func (o *option) matchSerial(c *formats.Card, s *seen) (p float64, follows bool) {
	chance := serialUnrelated * s.floor
	if b, ok := o.part.take(s.serial); ok && slices.Contains(dataBits(c), b) {
		return chance + (1-serialUnrelated)*math.Ldexp(1, b.Len()-s.serial.Len()), true
	}
	return chance, false
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

// parse returns the card that the sighting is of, given format and option, and the probability of the sighting then.
func (o *option) parse(f *formats.Format, s *seen) (c formats.Card, p float64, ok bool) {
	if o.part != nil {
		return o.parseSerial(f, s)
	}
	c, err := o.form.Parse(f, s.text)
	if err != nil {
		return c, 0, false
	}
	var buf [96]byte
	text, err := o.form.Append(buf[:0], &c)
	if err != nil {
		return c, 0, false
	}
	like := o.likeness(text, s)
	return c, (1 - printUnrelated) * like, like > 0
}

func (o *option) parseSerial(f *formats.Format, s *seen) (c formats.Card, p float64, ok bool) {
	b, ok := o.part.take(s.serial)
	if !ok {
		return c, 0, false
	}
	p = (1 - serialUnrelated) * math.Ldexp(1, b.Len()-s.serial.Len())
	for _, name := range []string{"uid", "hex"} { // the number alone, or all data bits
		form, _ := formats.FormByName(name)
		text := string(b.AppendHex(nil))
		if name == "uid" {
			text = string(formats.AppendSerial(nil, b))
		}
		if c, err := form.Parse(f, text); err == nil && wholeData(&c, b) {
			return c, p, true
		}
	}
	return c, 0, false
}

// wholeData reports whether the card's data is just these bits, no zeros put before them.
func wholeData(c *formats.Card, b wiegand.Bits) bool {
	return slices.Contains(dataBits(c), b)
}
