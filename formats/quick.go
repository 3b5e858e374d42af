package formats

import (
	"math/bits"
	"strconv"

	"github.com/cardtell/cardtell/wiegand"
)

// Quick reads and writes the numbers of one format as machine words, for loops over long lists. Where it says no, the
// functions of [Form] do the job, or say what is wrong. Tests hold the two against each other.
//
// A card is its data bits, in the order of the format's fields, as one number: what the form decimal shows. A field
// that is not known is 0 in it. The zero Quick says no to everything.
type Quick struct {
	format *Format
	width  int // data bits, 1 to 64
	fields [wiegand.MaxFields]quickField
	all    FieldSet
}

// quickField is where a field is among the data bits.
type quickField struct {
	shift, width uint8
	digits       int // that its largest value has
}

// Quick returns what reads and writes the format's numbers fast. ok is false where its fields are not all binary, have
// constants or unknown bits, or are more than 64 bits together.
func (f *Format) Quick() (q Quick, ok bool) {
	q.format = f
	fields := f.Layout.Spec().Fields
	for i, field := range fields {
		if field.Coding != wiegand.Binary || field.Constant != "" || field.Name == wiegand.FieldUnknown {
			return Quick{}, false
		}
		q.width += f.valueWidth(i)
	}
	if q.width < 1 || q.width > 64 {
		return Quick{}, false
	}
	shift := q.width
	for i := range fields {
		w := f.valueWidth(i)
		shift -= w
		q.fields[i] = quickField{shift: uint8(shift), width: uint8(w), digits: f.digitsOf(i)}
	}
	q.all = f.all()
	return q, true
}

// Width returns how many data bits there are.
func (q *Quick) Width() int { return q.width }

// Whole reports whether known is all fields.
func (q *Quick) Whole(known FieldSet) bool { return known == q.all }

// Field returns the value of field i of a card, 0 <= i < the number of fields.
func (q *Quick) Field(v uint64, i int) uint64 {
	f := q.fields[i]
	return v >> (f.shift & 63) & (1<<f.width - 1)
}

// WithField returns the card with field i set. ok is false where the value does not fit.
func (q *Quick) WithField(v uint64, i int, value uint64) (card uint64, ok bool) {
	f := q.fields[i]
	if bits.Len64(value) > int(f.width) {
		return v, false
	}
	return v&^((1<<f.width-1)<<(f.shift&63)) | value<<(f.shift&63), true
}

// Card returns the card as a [Card].
func (q *Quick) Card(v uint64, known FieldSet) (Card, error) {
	c := q.format.Blank()
	for i := range q.format.Layout.Spec().Fields {
		if !known.Has(i) {
			continue
		}
		r, err := c.Record.WithUint64(i, q.Field(v, i))
		if err != nil {
			return Card{}, err
		}
		c.Record, c.Known = r, c.Known|1<<i
	}
	return c, nil
}

// quickParse are the forms that [Quick.Parse] reads, by name.
var quickParse = map[string]func(*Quick, []byte) (uint64, FieldSet, bool){
	"pair": (*Quick).parsePair, "number": (*Quick).parseNumber, "number10": (*Quick).parseNumber,
	"joined":  (*Quick).parseJoined,
	"decimal": (*Quick).parseDecimal, "decimal10": (*Quick).parseDecimal, "hex": (*Quick).parseHex,
}

// quickAppend are the forms that [Quick.Append] writes, by name.
var quickAppend = map[string]func(*Quick, []byte, uint64, FieldSet) ([]byte, bool){
	"pair": (*Quick).appendPair, "number": (*Quick).appendNumber, "number10": (*Quick).appendNumber10,
	"joined":  (*Quick).appendJoined,
	"decimal": (*Quick).appendDecimal, "decimal10": (*Quick).appendDecimal10, "hex": (*Quick).appendHex,
	"words": (*Quick).appendWords, "pair24": (*Quick).appendPair24, "joined24": (*Quick).appendJoined24,
}

// QuickParser reads a card from a text in one form. ok is false where the text is to be read by [Form.Parse].
type QuickParser func(text []byte) (v uint64, known FieldSet, ok bool)

// QuickAppender appends a card in one form. ok is false where it is to be written by [Form.Append].
type QuickAppender func(dst []byte, v uint64, known FieldSet) (out []byte, ok bool)

// Parser returns what reads a form; nil where there is none, or the format does not have the form.
func (q *Quick) Parser(fm Form) QuickParser {
	parse := quickParse[fm.Name]
	if q.format == nil || parse == nil || fm.fits == nil || fm.fits(q.format) != "" {
		return nil
	}
	return func(text []byte) (uint64, FieldSet, bool) { return parse(q, text) }
}

// Appender returns what writes a form; nil where there is none, or the format does not have the form.
func (q *Quick) Appender(fm Form) QuickAppender {
	write := quickAppend[fm.Name]
	if q.format == nil || write == nil || fm.fits == nil || fm.fits(q.format) != "" {
		return nil
	}
	return func(dst []byte, v uint64, known FieldSet) ([]byte, bool) { return write(q, dst, v, known) }
}

// quickUint reads 1 to 19 digits: those always fit 64 bits.
func quickUint(text []byte) (v uint64, ok bool) {
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
func (q *Quick) set(v uint64, i int, text []byte) (uint64, bool) {
	value, ok := quickUint(text)
	if !ok {
		return 0, false
	}
	return q.WithField(v, i, value)
}

func (q *Quick) parsePair(text []byte) (v uint64, known FieldSet, ok bool) {
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

func (q *Quick) parseNumber(text []byte) (v uint64, known FieldSet, ok bool) {
	v, ok = q.set(0, q.format.Number(), text)
	return v, 1 << q.format.Number(), ok
}

func (q *Quick) parseJoined(text []byte) (v uint64, known FieldSet, ok bool) {
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

func (q *Quick) parseDecimal(text []byte) (v uint64, known FieldSet, ok bool) {
	v, ok = quickUint(text)
	return v, q.all, ok && bits.Len64(v) <= q.width
}

func (q *Quick) parseHex(text []byte) (v uint64, known FieldSet, ok bool) {
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

func (q *Quick) appendPair(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	f := q.format
	if !known.Has(f.Facility()) || !known.Has(f.Number()) {
		return dst, false
	}
	dst = append(appendDigits(dst, q.Field(v, f.Facility()), q.fields[f.Facility()].digits), ',')
	return appendDigits(dst, q.Field(v, f.Number()), q.fields[f.Number()].digits), true
}

func (q *Quick) appendJoined(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
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

func (q *Quick) appendNumber(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	return strconv.AppendUint(dst, q.Field(v, q.format.Number()), 10), true
}

func (q *Quick) appendNumber10(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	return appendDigits(dst, q.Field(v, q.format.Number()), 10), true
}

func (q *Quick) appendDecimal(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	return strconv.AppendUint(dst, v, 10), true
}

func (q *Quick) appendDecimal10(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	return appendDigits(dst, v, 10), true
}

func (q *Quick) appendHex(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	for shift := (q.width+7)/8*8 - 4; shift >= 0; shift -= 4 {
		dst = append(dst, "0123456789ABCDEF"[v>>uint(shift)&15])
	}
	return dst, true
}

func (q *Quick) appendWords(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if known != q.all {
		return dst, false
	}
	return appendDigits(append(appendDigits(dst, v>>16, 5), ','), v&0xFFFF, 5), true
}

func (q *Quick) appendPair24(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	n := q.Field(v, q.format.Number())
	return appendDigits(append(appendDigits(dst, n>>16&0xFF, 3), ','), n&0xFFFF, 5), true
}

func (q *Quick) appendJoined24(dst []byte, v uint64, known FieldSet) ([]byte, bool) {
	if !known.Has(q.format.Number()) {
		return dst, false
	}
	n := q.Field(v, q.format.Number())
	return appendDigits(appendDigits(dst, n>>16&0xFF, 3), n&0xFFFF, 5), true
}
