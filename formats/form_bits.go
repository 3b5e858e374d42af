package formats

import (
	"fmt"
	"math/big"
	"math/bits"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Most forms are some bits of a card in some way of writing.

// shows writes bits of a card.
func shows(of func(*Card) (wiegand.Bits, error),
	write func([]byte, wiegand.Bits) []byte) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		b, err := of(c)
		if err != nil {
			return dst, err
		}
		return write(dst, b), nil
	}
}

// takes reads the bits of a card of a format, and makes the card of them; it is given the text for errors.
func takes(read func(*Format, string) (wiegand.Bits, error),
	card func(*Format, string, wiegand.Bits) (Card, error)) func(*Format, string) (Card, error) {
	return func(f *Format, text string) (Card, error) {
		b, err := read(f, text)
		if err != nil {
			return Card{}, err
		}
		return card(f, text, b)
	}
}

// Data bits: all fields in the layout's order, but for unknown bits.

func dataFields(f *Format) []int {
	var fields []int
	for i, field := range f.Layout.Spec().Fields {
		if field.Name != wiegand.FieldUnknown {
			fields = append(fields, i)
		}
	}
	return fields
}

func dataWidth(f *Format) int {
	n, fields := 0, f.Layout.Spec().Fields
	for i := range fields {
		if fields[i].Name != wiegand.FieldUnknown {
			n += f.valueWidth(i)
		}
	}
	return n
}

// valueWidth returns the bits of a field's value: 4 for each digit or sign.
func (f *Format) valueWidth(i int) int {
	field := &f.Layout.Spec().Fields[i]
	n := field.Bits.Len()
	if field.Coding == wiegand.Digits5 || field.Coding == wiegand.Signs5 {
		n = n / 5 * 4
	}
	return n
}

// data returns the card's data bits.
func data(c *Card) (b wiegand.Bits, err error) {
	fields := c.Format.Layout.Spec().Fields
	for i := range fields {
		switch {
		case fields[i].Name == wiegand.FieldUnknown:
		case !c.Known.Has(i):
			return b, c.need(dataFields(c.Format)...)
		default:
			b, _ = b.Concat(c.Record.Value(i)) // the fields of a read have no more bits than it
		}
	}
	return b, nil
}

// withData returns a card with these data bits.
func withData(f *Format, text string, b wiegand.Bits) (Card, error) {
	c, fields := f.Blank(), f.Layout.Spec().Fields
	for i := range fields {
		if fields[i].Name == wiegand.FieldUnknown {
			continue
		}
		n := f.valueWidth(i)
		r, err := c.Record.WithValue(i, b.Slice(0, n))
		if c, err = c.knowing(i, r, err); err != nil {
			return Card{}, err
		}
		b = b.Slice(n, b.Len())
	}
	if !c.Record.OK() {
		return Card{}, bad(text, fmt.Sprintf("format %s has decimal digits only: %s fails",
			f.ID, f.DescribeChecks(c.Record.Failed())), wiegand.ErrRange)
	}
	return c, nil
}

// The whole read.

func readWidth(f *Format) int { return f.Layout.Len() }

func wholeRead(c *Card) (wiegand.Bits, error) {
	if c.Whole() {
		return c.Record.Encode(), nil
	}
	all := make([]int, len(c.Format.Layout.Spec().Fields))
	for i := range all {
		all[i] = i
	}
	if err := c.need(all...); err != nil {
		return wiegand.Bits{}, err
	}
	return c.Record.Encode(), nil
}

// goodRead refuses a read whose checks fail: the caller has named the format, so that it is a misread.
func goodRead(f *Format, text string, b wiegand.Bits) (Card, error) {
	c, err := f.Read(b)
	if err != nil {
		return Card{}, bad(text, fmt.Sprintf("has %d bits; format %s has %d", b.Len(), f.ID, f.Layout.Len()),
			wiegand.ErrLength)
	}
	if !c.Record.OK() {
		return Card{}, bad(text, fmt.Sprintf("is no good read of format %s: %s fails; present the card again",
			f.ID, f.DescribeChecks(c.Record.Failed())), ErrForm)
	}
	return c, nil
}

// The number, its low bits, and a number that is a chip serial.

// numberWidth returns the bits of a binary number field, 0 where there is none.
func numberWidth(f *Format) int {
	if f.Number() < 0 {
		return 0
	}
	field := &f.Layout.Spec().Fields[f.Number()]
	if field.Coding != wiegand.Binary {
		return 0
	}
	return field.Bits.Len()
}

func serial(c *Card) (wiegand.Bits, error) {
	return c.Record.Value(c.Format.Number()), c.need(c.Format.Number())
}

func reversedSerial(c *Card) (wiegand.Bits, error) {
	b, err := serial(c)
	if err != nil {
		return b, err
	}
	return b.ReverseBytes()
}

func low24(c *Card) (wiegand.Bits, error) {
	b, err := serial(c)
	return b.Slice(b.Len()-24, b.Len()), err
}

func withNumber(f *Format, _ string, b wiegand.Bits) (Card, error) {
	c := f.Blank()
	r, err := c.Record.WithValue(f.Number(), b)
	return c.knowing(f.Number(), r, err)
}

func withSerial(f *Format, text string, b wiegand.Bits) (Card, error) {
	if w := numberWidth(f); b.Len() != w {
		return Card{}, bad(text, fmt.Sprintf("has %d bytes; format %s has %d", b.Len()/8, f.ID, w/8),
			wiegand.ErrLength)
	}
	return withNumber(f, text, b)
}

func withReversed(f *Format, text string, b wiegand.Bits) (Card, error) {
	b, _ = b.ReverseBytes() // a format that fits the form has a number of whole bytes, and so has any serial
	return withSerial(f, text, b)
}

// Ways of writing bits.

func appendBinary(dst []byte, b wiegand.Bits) []byte {
	dst, _ = b.AppendText(dst) // it never fails
	return dst
}

func appendCounted(dst []byte, b wiegand.Bits) []byte {
	return b.AppendHex(append(strconv.AppendInt(dst, int64(b.Len()), 10), ':'))
}

func appendHex(dst []byte, b wiegand.Bits) []byte { return b.AppendHex(dst) }

// appendByteHex pads to whole bytes.
func appendByteHex(dst []byte, b wiegand.Bits) []byte {
	return padFrom(b.AppendHex(dst), len(dst), (b.Len()+7)/8*2)
}

func appendLeftHex(dst []byte, b wiegand.Bits) []byte { return appendBytes(dst, b, "") }

// AppendSerial appends whole bytes as two hex digits each, with colons between.
func AppendSerial(dst []byte, b wiegand.Bits) []byte { return appendBytes(dst, b, ":") }

// appendBytes writes whole bytes, from the left, as two hex digits each.
func appendBytes(dst []byte, b wiegand.Bits, between string) []byte {
	const digits = "0123456789ABCDEF"
	var buf [wiegand.MaxBits / 8]byte
	for i, c := range b.AppendBytesLeft(buf[:0]) {
		if i > 0 {
			dst = append(dst, between...)
		}
		dst = append(dst, digits[c>>4], digits[c&15])
	}
	return dst
}

func appendUint(dst []byte, b wiegand.Bits) []byte {
	if v, ok := b.Uint64(); ok {
		return strconv.AppendUint(dst, v, 10)
	}
	return number(b).Append(dst, 10)
}

func number(b wiegand.Bits) *big.Int { return new(big.Int).SetBytes(b.AppendBytesRight(nil)) }

// halves writes up to 64 bits as two decimals: all but the last 16, in so many digits, and those in five.
func halves(width int, sep string) func([]byte, wiegand.Bits) []byte {
	return func(dst []byte, b wiegand.Bits) []byte {
		v, _ := b.Uint64()
		dst = append(padFrom(strconv.AppendUint(dst, v>>16, 10), len(dst), width), sep...)
		return padFrom(strconv.AppendUint(dst, v&0xFFFF, 10), len(dst), 5)
	}
}

// Ways of reading them.

func anyRead(_ *Format, text string) (wiegand.Bits, error) { return wiegand.ParseBits(text) }

func serialBytes(_ *Format, text string) (wiegand.Bits, error) {
	return parseSerial("", strings.TrimPrefix(text, "uid:"))
}

func decimalOf(width func(*Format) int) func(*Format, string) (wiegand.Bits, error) {
	return func(f *Format, text string) (wiegand.Bits, error) { return uintBits(text, width(f)) }
}

// hexRead reads hex digits, with hex: before them or not, as a read of the format's length; before is what
// [wiegand.ParseBits] wants before that, for reads that are written so.
func hexRead(before string) func(*Format, string) (wiegand.Bits, error) {
	return func(f *Format, text string) (wiegand.Bits, error) {
		digits := strings.TrimPrefix(text, "hex:")
		if !isHex(digits) {
			return wiegand.Bits{}, bad(text, "is no hex number; write digits and A to F", ErrForm)
		}
		b, err := wiegand.ParseBits(before + strconv.Itoa(f.Layout.Len()) + ":" + digits)
		if err != nil {
			return b, bad(text, fmt.Sprintf("is no read of %d bits", f.Layout.Len()), ErrForm)
		}
		return b, nil
	}
}

func hexData(f *Format, text string) (wiegand.Bits, error) {
	digits := strings.TrimPrefix(text, "hex:")
	if !isHex(digits) {
		return wiegand.Bits{}, bad(text, "is no hex number; write 0-9 and A-F", ErrForm)
	}
	b, err := wiegand.ParseBits(strconv.Itoa(dataWidth(f)) + ":" + digits)
	if err != nil {
		return b, noRoom(f, text)
	}
	return b, nil
}

// noRoom says that a text is more than the data bits of a format hold.
func noRoom(f *Format, text string) error {
	return bad(text, fmt.Sprintf("does not fit the %d data bits of format %s", dataWidth(f), f.ID), wiegand.ErrRange)
}

func wordsData(f *Format, text string) (wiegand.Bits, error) {
	both, err := parseHalves(text, 5, 16)
	n := 32 - dataWidth(f)
	if err == nil && both.Slice(0, n).OnesCount() > 0 {
		err = noRoom(f, text)
	}
	return both.Slice(n, 32), err
}

// lowest reads a form of the low 24 bits: it is the number of a format that has just 24, and drops a part of a wider
// one.
func lowest(read func(*Format, string) (wiegand.Bits, error)) func(*Format, string) (wiegand.Bits, error) {
	return func(f *Format, text string) (wiegand.Bits, error) {
		b, err := read(f, text)
		if w := numberWidth(f); err == nil && w > 24 {
			err = bad(text, fmt.Sprintf("leaves out the top %d bits of the number of format %s; they can't be told from it", w-24,
				f.ID), ErrMissing)
		}
		return b, err
	}
}

func low24Halves(_ *Format, text string) (wiegand.Bits, error) { return parseHalves(text, 3, 8) }

// low24Joined takes fewer digits, too, where zeros at the start are left out: five are the second number alone.
func low24Joined(_ *Format, text string) (wiegand.Bits, error) {
	const all, least = 8, 6
	if strings.Trim(text, "0123456789") == "" {
		if len(text) < least || len(text) > all {
			return wiegand.Bits{}, bad(text, "is not 8 digits, or down to 6 where zeros at the start are left out", ErrForm)
		}
		text = strings.Repeat("0", all-len(text)) + text
	}
	return parseHalves(text, 3, 8)
}

func low24Decimal(_ *Format, text string) (wiegand.Bits, error) { return uintBits(text, 24) }

// splitTwo splits a text at its one separator: a comma, dash, slash or space.
func splitTwo(text string) (a, b string, err error) {
	i := strings.IndexAny(text, ",-/ ")
	if i < 0 || strings.ContainsAny(text[i+1:], ",-/ ") {
		return "", "", bad(text, "is not two numbers with a comma between, such as 150,46143", ErrForm)
	}
	return text[:i], text[i+1:], nil
}

// parseHalves reads a number of some bits and one of 16, with a separator between, or with nothing where the second has
// its five digits and the first so many.
func parseHalves(text string, digits, width int) (wiegand.Bits, error) {
	high, low, err := splitTwo(text)
	if err != nil && len(text) == digits+5 {
		high, low, err = text[:digits], text[digits:], nil
	}
	if err != nil {
		return wiegand.Bits{}, err
	}
	h, err := uintBits(high, width)
	if err != nil {
		return wiegand.Bits{}, err
	}
	l, err := uintBits(low, 16)
	if err != nil {
		return wiegand.Bits{}, err
	}
	return h.Concat(l)
}

// maxDecimal is the longest decimal that is read at all: 2^256 has 78 digits.
const maxDecimal = 78

// uintBits reads decimal digits as a number of n bits.
func uintBits(text string, n int) (wiegand.Bits, error) {
	if i := strings.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' }); i >= 0 || text == "" {
		return wiegand.Bits{}, bad(text, "is no decimal number; write digits", ErrForm)
	}
	short, err := strconv.ParseUint(text, 10, 64)
	if err == nil && bits.Len64(short) <= n {
		return wiegand.BitsFromUint(short, n)
	}
	digits := strings.TrimLeft(text, "0")
	v := new(big.Int)
	if err != nil && len(digits) <= maxDecimal {
		v.SetString(digits, 10)
	}
	if err == nil || len(digits) > maxDecimal || v.BitLen() > n {
		return wiegand.Bits{}, bad(text, fmt.Sprintf("does not fit %d bits: 0 to %s", n, maxOf(n)),
			wiegand.ErrRange)
	}
	return wiegand.BitsFromRight(v.FillBytes(make([]byte, (n+7)/8)), n)
}

func maxOf(n int) string {
	if n < 64 {
		return strconv.FormatUint(1<<n-1, 10)
	}
	one := big.NewInt(1)
	return new(big.Int).Sub(new(big.Int).Lsh(one, uint(n)), one).String()
}
