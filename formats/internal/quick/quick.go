// Package quick reads and writes the numbers of one format as machine words, for loops over long lists.
package quick

import (
	"bytes"
	"math"
	"math/bits"
	"slices"
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
	format   *formats.Format
	width    int // data bits, 1 to 64
	fields   [wiegand.MaxFields]field
	all      formats.FieldSet
	facility int // which of the fields; -1 for none
	number   int // likewise
}

// field is where a field is among the data bits.
type field struct {
	shift, width uint8
	digits       int // that its largest value has
}

// Of returns what reads and writes a format's numbers fast. ok is false where its fields are not all binary, have
// constants or unknown bits, or are more than 64 bits together.
func Of(f *formats.Format) (q Format, ok bool) {
	q.format, q.facility, q.number = f, f.Facility(), f.Number()
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
	"words": (*Format).parseWords, "pair24": parseLow24(3), "joined24": parseLow24(1),
	"uid-decimal": (*Format).parseNumber, "uid-reversed-decimal": (*Format).parseReversed,
	"read-decimal": parseRead("read-decimal"), "read-hex": parseRead("read-hex"),
	"read-hex-left": parseRead("read-hex-left"),
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
	for i, c := range text {
		if c != ',' && c != '-' && c != '/' && c != ' ' {
			continue
		}
		if v, ok = q.set(0, q.facility, text[:i]); ok {
			v, ok = q.set(v, q.number, text[i+1:])
		}
		return v, 1<<q.facility | 1<<q.number, ok
	}
	return 0, 0, false
}

func (q *Format) parseNumber(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	v, ok = q.set(0, q.number, text)
	return v, 1 << q.number, ok
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
	v, ok = hexDigits(text)
	return v, q.all, ok && bits.Len64(v) <= q.width
}

// hexDigits reads 1 to 16 hex digits.
func hexDigits(text []byte) (v uint64, ok bool) {
	if len(text) == 0 || len(text) > 16 {
		return 0, false
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
			return 0, false
		}
		v = v<<4 | uint64(c)
	}
	return v, true
}

// halves reads a number and one of 16 bits, with a sign between, or with none where they have five digits and so many
// before them.
func halves(text []byte, least, most int) (v uint64, ok bool) {
	at, next := bytes.IndexAny(text, ",-/ "), 1
	if at < 0 && len(text) >= least+5 && len(text) <= most+5 {
		at, next = len(text)-5, 0
	}
	if at < 0 {
		return 0, false
	}
	high, ok := digits(text[:at])
	low, also := digits(text[at+next:])
	return high<<16 | low, ok && also && high>>32 == 0 && low>>16 == 0
}

func (q *Format) parseWords(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	v, ok = halves(text, 5, 5)
	return v, q.all, ok && bits.Len64(v) <= q.width
}

// parseLow24 reads numbers of 24 bits: their first half has three digits, or down to so many.
func parseLow24(least int) func(*Format, []byte) (uint64, formats.FieldSet, bool) {
	return func(q *Format, text []byte) (v uint64, known formats.FieldSet, ok bool) {
		if v, ok = halves(text, least, 3); !ok || q.fields[q.number].width != 24 {
			return 0, 0, false // of a wider number they drop something
		}
		v, ok = q.WithField(0, q.number, v)
		return v, 1 << q.number, ok
	}
}

func (q *Format) parseReversed(text []byte) (v uint64, known formats.FieldSet, ok bool) {
	w := q.fields[q.number].width
	if v, ok = digits(text); !ok || bits.Len64(v) > int(w) {
		return 0, 0, false
	}
	v, ok = q.WithField(0, q.number, bits.ReverseBytes64(v)>>(64-w))
	return v, 1 << q.number, ok
}

// reads are the forms of a whole read. Each reads one of n bits as a number.
var reads = map[string]func(text []byte, n int) (v uint64, ok bool){
	"read-decimal": func(text []byte, _ int) (uint64, bool) { return digits(text) },
	"read-hex":     func(text []byte, _ int) (uint64, bool) { return hexDigits(text) },
	"read-hex-left": func(text []byte, n int) (uint64, bool) {
		v, ok := hexDigits(text)
		all := max((n+7)/8*8, 4*len(text))
		spare := uint(all - n) // bits after the read, which are 0
		return v >> spare, ok && all%8 == 0 && v&(1<<spare-1) == 0
	},
}

// Good reports whether a text is a read of the format whose checks hold, as a form of whole reads writes it, or with
// the zeros before it left out. ok is false where that is not known: the form is no such one, or the text is not up to
// 16 digits.
func Good(f *formats.Format, fm formats.Form, text []byte) (good, ok bool) {
	read := reads[fm.Name]
	if read == nil || len(text) > 16 {
		return false, false
	}
	v, ok := read(text, f.Layout.Len())
	b, fits := readOf(v, f.Layout.Len())
	return ok && fits && f.Layout.Holds(b), true
}

// readOf returns the read of n bits that has a number's value.
func readOf(v uint64, n int) (b wiegand.Bits, ok bool) {
	words := [4]uint64{v << uint(max(64-n, 0))}
	switch word := (n - 1) / 64; {
	case n < 1 || bits.Len64(v) > n:
		return b, false
	case word > 0:
		low := uint(64*word + 64 - n) // bits after the read in the word of its last
		words[0], words[word-1], words[word] = 0, v>>(64-low), v<<low
	}
	return wiegand.BitsFromWords(words, n), true
}

// parseRead reads a good read in a form of whole reads.
func parseRead(form string) func(*Format, []byte) (uint64, formats.FieldSet, bool) {
	read := reads[form]
	return func(q *Format, text []byte) (v uint64, known formats.FieldSet, ok bool) {
		n := q.format.Layout.Len()
		if form == "read-hex-left" && (len(text)%2 != 0 || 4*len(text) < n) {
			return 0, 0, false // no whole bytes, or too few
		}
		if v, ok = read(text, n); !ok {
			return 0, 0, false
		}
		b, ok := readOf(v, n)
		var values [wiegand.MaxFields]uint64
		fields := values[:bits.Len(uint(q.all))]
		if failed, err := q.format.Layout.Uint64s(fields, &b); !ok || err != nil || failed != 0 {
			return 0, 0, false
		}
		v = 0
		for i, value := range fields {
			v |= value << (q.fields[i].shift & 63)
		}
		return v, q.all, true
	}
}

// appendDigits appends v with zeros before it up to n digits.
func appendDigits(dst []byte, v uint64, n int) []byte {
	for n = max(n, 1); n < len(powers) && v >= powers[n]; n++ {
	}
	at := len(dst)
	dst = slices.Grow(dst, n)[:at+n]
	for i := len(dst) - 1; i >= at; i-- {
		dst[i] = '0' + byte(v%10)
		v /= 10
	}
	return dst
}

// powers are those of ten that fit 64 bits.
var powers = func() (all [20]uint64) {
	for i := range all {
		all[i] = uint64(math.Pow10(i))
	}
	return all
}()

func (q *Format) appendPair(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.facility) || !known.Has(q.number) {
		return dst, false
	}
	dst = append(appendDigits(dst, q.Field(v, q.facility), q.fields[q.facility].digits), ',')
	return appendDigits(dst, q.Field(v, q.number), q.fields[q.number].digits), true
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
	if !known.Has(q.number) {
		return dst, false
	}
	return strconv.AppendUint(dst, q.Field(v, q.number), 10), true
}

func (q *Format) appendNumber10(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.number) {
		return dst, false
	}
	return appendDigits(dst, q.Field(v, q.number), 10), true
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
	if !known.Has(q.number) {
		return dst, false
	}
	n := q.Field(v, q.number)
	return appendDigits(append(appendDigits(dst, n>>16&0xFF, 3), ','), n&0xFFFF, 5), true
}

func (q *Format) appendJoined24(dst []byte, v uint64, known formats.FieldSet) ([]byte, bool) {
	if !known.Has(q.number) {
		return dst, false
	}
	n := q.Field(v, q.number)
	return appendDigits(appendDigits(dst, n>>16&0xFF, 3), n&0xFFFF, 5), true
}
