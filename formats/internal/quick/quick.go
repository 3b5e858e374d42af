// Package quick reads and writes the numbers of one format as machine words, for loops over long lists.
package quick

import (
	"math"
	"math/bits"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Format reads and writes the numbers of one format. Where it says no, the functions of [formats.Form] do the job, or
// say what is wrong. Tests hold the two against each other.
//
// A card is its data bits, in the order of the format's fields, as one number: what the form decimal shows. A field
// that is not known is 0 in it. The zero Format says no to everything.
type Format struct {
	format *formats.Format
	width  int // data bits, 1 to 64
	fields [wiegand.MaxFields]field
	all    formats.FieldSet
}

// field is where a field is among the data bits.
type field struct {
	shift, width uint8
	digits       int // that its largest value has
}

// Of returns what reads and writes a format's numbers fast. ok is false where its fields are not all binary, have
// constants or unknown bits, or are more than 64 bits together.
func Of(f *formats.Format) (q Format, ok bool) {
	q.format = f
	fields := f.Layout.Spec().Fields
	for _, field := range fields {
		if field.Coding != wiegand.Binary || field.Constant != "" || field.Name == wiegand.FieldUnknown {
			return Format{}, false
		}
		q.width += field.Bits.Len()
	}
	if q.width < 1 || q.width > 64 {
		return Format{}, false
	}
	shift := q.width
	for i := range fields {
		w := fields[i].Bits.Len()
		shift -= w
		most := uint64(math.MaxUint64) >> uint(64-w)
		q.fields[i] = field{shift: uint8(shift), width: uint8(w), digits: len(strconv.FormatUint(most, 10))}
	}
	q.all = 1<<len(fields) - 1
	return q, true
}

// Width returns how many data bits there are.
func (q *Format) Width() int { return q.width }

// Whole reports whether known is all fields.
func (q *Format) Whole(known formats.FieldSet) bool { return known == q.all }

// Field returns the value of field i of a card, 0 <= i < the number of fields.
func (q *Format) Field(v uint64, i int) uint64 {
	f := q.fields[i]
	return v >> (f.shift & 63) & (1<<f.width - 1)
}

// WithField returns the card with field i set. ok is false where the value does not fit.
func (q *Format) WithField(v uint64, i int, value uint64) (card uint64, ok bool) {
	f := q.fields[i]
	if bits.Len64(value) > int(f.width) {
		return v, false
	}
	return v&^((1<<f.width-1)<<(f.shift&63)) | value<<(f.shift&63), true
}

// Card returns the card as a [formats.Card].
func (q *Format) Card(v uint64, known formats.FieldSet) (formats.Card, error) {
	c := q.format.Blank()
	for i := range q.format.Layout.Spec().Fields {
		if !known.Has(i) {
			continue
		}
		r, err := c.Record.WithUint64(i, q.Field(v, i))
		if err != nil {
			return formats.Card{}, err
		}
		c.Record, c.Known = r, c.Known|1<<i
	}
	return c, nil
}

// parsers are the forms that [Format.Parse] reads, by name.
var parsers = map[string]func(*Format, []byte) (uint64, formats.FieldSet, bool){
	"pair": (*Format).parsePair, "number": (*Format).parseNumber, "number10": (*Format).parseNumber,
	"joined":  (*Format).parseJoined,
	"decimal": (*Format).parseDecimal, "decimal10": (*Format).parseDecimal, "hex": (*Format).parseHex,
}

// appenders are the forms that [Format.Append] writes, by name.
var appenders = map[string]func(*Format, []byte, uint64, formats.FieldSet) ([]byte, bool){
	"pair": (*Format).appendPair, "number": (*Format).appendNumber, "number10": (*Format).appendNumber10,
	"joined":  (*Format).appendJoined,
	"decimal": (*Format).appendDecimal, "decimal10": (*Format).appendDecimal10, "hex": (*Format).appendHex,
	"words": (*Format).appendWords, "pair24": (*Format).appendPair24, "joined24": (*Format).appendJoined24,
}

// Parser reads a card from a text in one form. ok is false where the text is to be read by [formats.Form.Parse].
type Parser func(text []byte) (v uint64, known formats.FieldSet, ok bool)

// Appender appends a card in one form. ok is false where it is to be written by [formats.Form.Append].
type Appender func(dst []byte, v uint64, known formats.FieldSet) (out []byte, ok bool)

// Parser returns what reads a form; nil where there is none, or the format does not have the form.
func (q *Format) Parser(fm formats.Form) Parser {
	parse := parsers[fm.Name]
	if fits, _ := fm.Fits(q.format); !fits || parse == nil {
		return nil
	}
	return func(text []byte) (uint64, formats.FieldSet, bool) { return parse(q, text) }
}

// Appender returns what writes a form; nil where there is none, or the format does not have the form.
func (q *Format) Appender(fm formats.Form) Appender {
	write := appenders[fm.Name]
	if fits, _ := fm.Fits(q.format); !fits || write == nil {
		return nil
	}
	return func(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) { return write(q, dst, v, known) }
}

// digits reads 1 to 19 digits: those always fit 64 bits.
func digits(text []byte) (v uint64, ok bool) {
	if len(text) == 0 || len(text) > 19 {
		return 0, false
	}
	for _, c := range text {
		d := c - '0'
		if d > 9 {
			return 0, false
		}
		v = v*10 + uint64(d)
	}
	return v, true
}

// set reads the digits of field i into v.
func (q *Format) set(v uint64, i int, text []byte) (uint64, bool) {
	value, ok := digits(text)
	if !ok {
		return 0, false
	}
	return q.WithField(v, i, value)
}

func (q *Format) parsePair(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	f := q.format
	for i, c := range text {
		if c != ',' && c != '-' && c != '/' && c != ' ' {
			continue
		}
		if v, ok = q.set(0, f.Facility(), text[:i]); ok {
			v, ok = q.set(v, f.Number(), text[i+1:])
		}
		return v, 1<<f.Facility() | 1<<f.Number(), ok
	}
	return 0, 0, false
}

func (q *Format) parseNumber(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	v, ok = q.set(0, q.format.Number(), text)
	return v, 1 << q.format.Number(), ok
}

func (q *Format) parseJoined(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	joined := q.format.Joined
	for k := len(joined) - 1; k >= 0; k-- {
		i := joined[k]
		n := q.fields[i].digits
		if k == 0 {
			n = min(n, len(text))
		}
		if len(text) < n || known.Has(i) {
			return 0, 0, false
		}
		if v, ok = q.set(v, i, text[len(text)-n:]); !ok {
			return 0, 0, false
		}
		known |= 1 << i
		text = text[:len(text)-n]
	}
	return v, known, len(text) == 0
}

func (q *Format) parseDecimal(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	v, ok = digits(text)
	return v, q.all, ok && bits.Len64(v) <= q.width
}

func (q *Format) parseHex(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	if len(text) == 0 || len(text) > 16 {
		return 0, 0, false
	}
	for _, c := range text {
		switch {
		case c >= '0' && c <= '9':
			c -= '0'
		case c >= 'A' && c <= 'F':
			c -= 'A' - 10
		case c >= 'a' && c <= 'f':
			c -= 'a' - 10
		default:
			return 0, 0, false
		}
		v = v<<4 | uint64(c)
	}
	return v, q.all, bits.Len64(v) <= q.width
}

// appendDigits appends v with zeros before it up to n digits.
func appendDigits(dst []byte, v uint64, n int) []byte {
	var b [20]byte
	i := len(b)
	for v > 0 || i == len(b) {
		i--
		b[i] = '0' + byte(v%10)
		v /= 10
	}
	for i > len(b)-n {
		i--
		b[i] = '0'
	}
	return append(dst, b[i:]...)
}

func (q *Format) appendPair(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	f := q.format
	if !known.Has(f.Facility()) || !known.Has(f.Number()) {
		return dst, false
	}
	dst = append(appendDigits(dst, q.Field(v, f.Facility()), q.fields[f.Facility()].digits), ',')
	return appendDigits(dst, q.Field(v, f.Number()), q.fields[f.Number()].digits), true
}

func (q *Format) appendJoined(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	for _, i := range q.format.Joined {
		if !known.Has(i) {
			return dst, false
		}
	}
	for _, i := range q.format.Joined {
		dst = appendDigits(dst, q.Field(v, i), q.fields[i].digits)
	}
	return dst, true
}

func (q *Format) appendNumber(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	return strconv.AppendUint(dst, q.Field(v, q.format.Number()), 10), true
}

func (q *Format) appendNumber10(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	return appendDigits(dst, q.Field(v, q.format.Number()), 10), true
}

func (q *Format) appendDecimal(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	return strconv.AppendUint(dst, v, 10), true
}

func (q *Format) appendDecimal10(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	return appendDigits(dst, v, 10), true
}

func (q *Format) appendHex(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	for shift := (q.width+7)/8*8 - 4; shift >= 0; shift -= 4 {
		dst = append(dst, "0123456789ABCDEF"[v>>uint(shift)&15])
	}
	return dst, true
}

func (q *Format) appendWords(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	return appendDigits(append(appendDigits(dst, v>>16, 5), ','), v&0xFFFF, 5), true
}

func (q *Format) appendPair24(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	n := q.Field(v, q.format.Number())
	return appendDigits(append(appendDigits(dst, n>>16&0xFF, 3), ','), n&0xFFFF, 5), true
}

func (q *Format) appendJoined24(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	n := q.Field(v, q.format.Number())
	return appendDigits(appendDigits(dst, n>>16&0xFF, 3), n&0xFFFF, 5), true
}
