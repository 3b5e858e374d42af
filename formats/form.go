package formats

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Form is a way of writing a card number. Get one with [FormByName] or from [Forms]; the zero Form has no name and gives
// nothing.
type Form struct {
	Name        string // as in --from and --to
	Description string // one line for people
	Example     string // the 26-bit card of facility 150, number 46143; "" where it has no such form

	fits   func(*Format) string // "", or why a format cannot be written so
	append func([]byte, *Card) ([]byte, error)
	parse  func(*Format, string) (Card, error)
}

// forms is the table of all forms. Each can be written from a card and, but where it drops something, read back.
var forms = []Form{
	{
		Name: "pair", Description: "facility and number, zero-padded to the widths the fields can need", Example: "150,46143",
		fits: needsFacility, append: appendPair, parse: parsePair,
	},
	{
		Name: "joined", Description: "the same digits with nothing between", Example: "15046143",
		fits: needsJoined, append: appendJoined, parse: parseJoined,
	},
	{
		Name: "number", Description: "the card number alone", Example: "46143",
		fits: needsNumber, append: appendNumber, parse: parseNumber,
	},
	{
		Name: "number10", Description: "the card number alone, padded with zeros to ten digits", Example: "0000046143",
		fits: needsDigits, append: padded(10, appendNumber), parse: parseNumber,
	},
	{
		Name: "decimal", Description: "all bits between the parity bits, as one decimal", Example: "9876543",
		fits: needsBinary, append: appendDecimal, parse: parseDecimal,
	},
	{
		Name: "decimal10", Description: "the same, padded with zeros to ten digits", Example: "0009876543",
		fits: needsBinary, append: padded(10, appendDecimal), parse: parseDecimal,
	},
	{
		Name: "hex", Description: "the same in hex, padded to whole bytes", Example: "96B43F",
		fits: needsData, append: appendHex, parse: parseHex,
	},
	{
		Name: "words", Description: "the same, as two 16-bit halves in decimal, five digits each", Example: "00150,46143",
		fits: needsWords, append: appendWords, parse: parseWords,
	},
	{
		Name: "pair24", Description: "the low 24 bits of a card number as 3 and 5 digits; drops the rest",
		fits: needsLow24, append: appendLow24(","), parse: parseLow24,
	},
	{
		Name: "joined24", Description: "the same digits with nothing between",
		fits: needsLow24, append: appendLow24(""), parse: parseLow24,
	},
	{
		Name: "bits", Description: "the whole read, parity included, as 0s and 1s", Example: "11001011010110100001111110",
		fits: always, append: appendBits, parse: parseRead,
	},
	{
		Name: "bits-hex", Description: "the whole read as LENGTH:HEX", Example: "26:32D687E",
		fits: always, append: appendBitsHex, parse: parseRead,
	},
	{
		Name: "uid", Description: "the chip serial as bytes, as sent",
		fits: needsSerial, append: appendUID(false), parse: parseUID(false),
	},
	{
		Name: "uid-reversed", Description: "the chip serial as bytes, last byte first",
		fits: needsSerial, append: appendUID(true), parse: parseUID(true),
	},
	{
		Name: "uid-decimal", Description: "the chip serial as sent, as one decimal number",
		fits: needsSerial, append: appendUIDDecimal(false), parse: parseUIDDecimal(false),
	},
	{
		Name: "uid-reversed-decimal", Description: "the chip serial with its last byte first, as one decimal number",
		fits: needsSerial, append: appendUIDDecimal(true), parse: parseUIDDecimal(true),
	},
	{
		Name: "fields", Description: "every field by name", Example: "facility=150 number=46143",
		fits: always, append: appendFields, parse: parseFields,
	},
}

// Forms returns all forms, in the order in which they are listed for people.
func Forms() []Form { return slices.Clone(forms) }

// FormByName returns the form of that name; ok is false where there is none.
func FormByName(name string) (form Form, ok bool) {
	for i := range forms {
		if forms[i].Name == name {
			return forms[i], true
		}
	}
	return Form{}, false
}

// Fits reports whether cards of the format can be written in this form, and why not where they can't.
func (fm Form) Fits(f *Format) (ok bool, why string) {
	switch {
	case fm.fits == nil:
		return false, "has no such form"
	case f == nil:
		return false, "is not known"
	}
	why = fm.fits(f)
	return why == "", why
}

// Append appends the card in this form. The error is ErrForm where its format has no such form, ErrMissing where the form
// needs a field that is not known.
func (fm Form) Append(dst []byte, c *Card) ([]byte, error) {
	if ok, why := fm.Fits(c.Format); !ok {
		return dst, fail("form "+fm.Name, "", fmt.Sprintf("format %s %s", c.Format.id(), why), ErrForm)
	}
	dst, err := fm.append(dst, c)
	return dst, fm.own(err)
}

// own returns an error with the name that the form was asked for by, since some forms share what they do.
func (fm Form) own(err error) error {
	if e, ok := errors.AsType[*Error](err); ok {
		return &Error{Where: "form " + fm.Name, Input: e.Input, Reason: e.Reason, Err: e.Err}
	}
	return err
}

// Text returns what [Form.Append] appends.
func (fm Form) Text(c *Card) (string, error) {
	b, err := fm.Append(nil, c)
	return string(b), err
}

// Parse reads a card of the format from a text in this form. White space around it is ignored. What the form does not say,
// such as the facility where only the number is printed, is left unknown. The error is ErrForm where the format has no such
// form or the text does not have its shape, wiegand.ErrRange where a number does not fit its field.
func (fm Form) Parse(f *Format, text string) (Card, error) {
	if ok, why := fm.Fits(f); !ok {
		return Card{}, fail("form "+fm.Name, text, fmt.Sprintf("format %s %s", f.id(), why), ErrForm)
	}
	c, err := fm.parse(f, strings.TrimSpace(text))
	return c, fm.own(err)
}

// Which formats a form is for.

func always(*Format) string { return "" }

func needsFacility(f *Format) string {
	if f.facility < 0 || f.number < 0 {
		return "has no facility and number to pair"
	}
	return ""
}

func needsJoined(f *Format) string {
	if len(f.Joined) == 0 {
		return "has no facility and number to join"
	}
	return ""
}

func needsNumber(f *Format) string {
	if f.number < 0 {
		return "has no field called number; use fields"
	}
	return ""
}

func needsDigits(f *Format) string {
	if why := needsNumber(f); why != "" {
		return why
	}
	if f.Layout.Spec().Fields[f.number].Coding == wiegand.Signs5 {
		return "holds signs, not a number"
	}
	return ""
}

func needsData(f *Format) string {
	if len(dataFields(f)) == 0 {
		return "has no field whose meaning is known"
	}
	for _, field := range f.Layout.Spec().Fields {
		if field.Coding == wiegand.Signs5 {
			return "holds signs, not a number"
		}
	}
	return ""
}

func needsBinary(f *Format) string {
	if len(dataFields(f)) == 0 {
		return "has no field whose meaning is known"
	}
	for _, field := range f.Layout.Spec().Fields {
		if field.Coding != wiegand.Binary {
			return "holds decimal digits, not one binary number; use joined, number or fields"
		}
	}
	return ""
}

func needsWords(f *Format) string {
	if why := needsBinary(f); why != "" {
		return why
	}
	if n := dataWidth(f); n > 32 {
		return fmt.Sprintf("has %d data bits; two halves of 16 hold 32", n)
	}
	return ""
}

func needsLow24(f *Format) string {
	if w := numberWidth(f); w < 24 {
		return "has no card number of 24 bits or more"
	}
	return ""
}

func needsSerial(f *Format) string {
	switch numberWidth(f) {
	case 32, 40, 56, 64, 80:
		return ""
	}
	return "has no number that is as wide as a chip serial (4, 5, 7, 8 or 10 bytes)"
}

// numberWidth returns the bits of a binary number field, 0 where there is none.
func numberWidth(f *Format) int {
	if f.number < 0 {
		return 0
	}
	field := f.Layout.Spec().Fields[f.number]
	if field.Coding != wiegand.Binary {
		return 0
	}
	return field.Bits.Len()
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
	n := 0
	for _, i := range dataFields(f) {
		n += f.valueWidth(i)
	}
	return n
}

// valueWidth returns the bits of a field's value: 4 for each digit or sign.
func (f *Format) valueWidth(i int) int {
	field := f.Layout.Spec().Fields[i]
	n := field.Bits.Len()
	if field.Coding == wiegand.Digits5 || field.Coding == wiegand.Signs5 {
		n = n / 5 * 4
	}
	return n
}

// data returns the card's data bits.
func data(form string, c *Card) (wiegand.Bits, error) {
	fields := dataFields(c.Format)
	if err := c.need(form, fields...); err != nil {
		return wiegand.Bits{}, err
	}
	var b wiegand.Bits
	for _, i := range fields {
		var err error
		if b, err = b.Concat(c.Record.Value(i)); err != nil {
			return wiegand.Bits{}, err
		}
	}
	return b, nil
}

// withData returns a card with these data bits.
func withData(f *Format, b wiegand.Bits) (Card, error) {
	c := f.Blank()
	for _, i := range dataFields(f) {
		n := f.valueWidth(i)
		r, err := c.Record.WithValue(i, b.Slice(0, n))
		if err != nil {
			return Card{}, err
		}
		c.Record = r
		c.Known |= 1 << i
		b = b.Slice(n, b.Len())
	}
	if !c.Record.OK() {
		return Card{}, fail("form hex", "", fmt.Sprintf("format %s can't have it: %s fails", f.ID, f.DescribeChecks(c.Record.Failed())), ErrForm)
	}
	return c, nil
}

func number(b wiegand.Bits) *big.Int { return new(big.Int).SetBytes(b.AppendBytesRight(nil)) }

func appendUint(dst []byte, b wiegand.Bits) []byte {
	if v, ok := b.Uint64(); ok {
		return strconv.AppendUint(dst, v, 10)
	}
	return number(b).Append(dst, 10)
}

// maxDecimal is the longest decimal that is read at all: 2^256 has 78 digits.
const maxDecimal = 78

// uintBits reads decimal digits as a number of n bits.
func uintBits(form, text string, n int) (wiegand.Bits, error) {
	if i := strings.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' }); i >= 0 || text == "" {
		return wiegand.Bits{}, fail("form "+form, text, "is no decimal number; write digits", ErrForm)
	}
	digits := strings.TrimLeft(text, "0")
	v := new(big.Int)
	if digits != "" && len(digits) <= maxDecimal {
		v.SetString(digits, 10)
	}
	if len(digits) > maxDecimal || v.BitLen() > n {
		return wiegand.Bits{}, fail("form "+form, text, fmt.Sprintf("does not fit %d bits: 0 to %s", n, maxOf(n)), wiegand.ErrRange)
	}
	return wiegand.BitsFromRight(v.FillBytes(make([]byte, (n+7)/8)), n)
}

func maxOf(n int) string {
	one := big.NewInt(1)
	return new(big.Int).Sub(new(big.Int).Lsh(one, uint(n)), one).String()
}

// digitsOf returns how many decimal digits a field's largest value has.
func (f *Format) digitsOf(i int) int {
	field := f.Layout.Spec().Fields[i]
	if field.Coding != wiegand.Binary {
		return f.valueWidth(i) / 4
	}
	return decimalDigits(field.Bits.Len())
}

// decimalDigits returns how many digits 2^n-1 has: floor(n·log10 2)+1, exact for every n that a read can have.
func decimalDigits(n int) int { return n*30103/100000 + 1 }

// padded writes what inner does, with zeros before it up to n digits.
func padded(n int, inner func([]byte, *Card) ([]byte, error)) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		start := len(dst)
		dst, err := inner(dst, c)
		if err != nil {
			return dst[:start], err
		}
		return padFrom(dst, start, n), nil
	}
}

// padFrom puts zeros before dst[start:] until that has n characters.
func padFrom(dst []byte, start, n int) []byte {
	for len(dst)-start < n {
		dst = append(dst, 0)
		copy(dst[start+1:], dst[start:])
		dst[start] = '0'
	}
	return dst
}

func (c *Card) appendPadded(dst []byte, field int) []byte {
	start := len(dst)
	return padFrom(c.Record.AppendField(dst, field), start, c.Format.digitsOf(field))
}

// One pair of functions for each form.

func appendPair(dst []byte, c *Card) ([]byte, error) {
	f := c.Format
	if err := c.need("pair", f.facility, f.number); err != nil {
		return dst, err
	}
	dst = append(c.appendPadded(dst, f.facility), ',')
	return c.appendPadded(dst, f.number), nil
}

// splitTwo splits a text at its one separator: a comma, dash, slash or space.
func splitTwo(form, text string) (a, b string, err error) {
	i := strings.IndexAny(text, ",-/ ")
	if i < 0 || strings.ContainsAny(text[i+1:], ",-/ ") {
		return "", "", fail("form "+form, text, "is not two numbers with a comma between, such as 150,46143", ErrForm)
	}
	return text[:i], text[i+1:], nil
}

func parsePair(f *Format, text string) (Card, error) {
	facility, num, err := splitTwo("pair", text)
	if err != nil {
		return Card{}, err
	}
	c, err := f.Blank().With(f.facility, facility)
	if err != nil {
		return Card{}, err
	}
	return c.With(f.number, num)
}

func appendJoined(dst []byte, c *Card) ([]byte, error) {
	if err := c.need("joined", c.Format.Joined...); err != nil {
		return dst, err
	}
	for _, i := range c.Format.Joined {
		dst = c.appendPadded(dst, i)
	}
	return dst, nil
}

// parseJoined takes the fields from the right, where their widths are fixed; zeros at the start may be missing.
func parseJoined(f *Format, text string) (Card, error) {
	total := 0
	for _, i := range f.Joined {
		total += f.digitsOf(i)
	}
	least := 1
	if n := len(f.Joined); n > 1 {
		least += f.digitsOf(f.Joined[n-1]) // as many as the number alone would be the number
	}
	if len(text) < least || len(text) > total {
		return Card{}, fail("form joined", text, fmt.Sprintf("is not the %d digits of format %s; zeros at the start may be left out", total, f.ID), ErrForm)
	}
	text = strings.Repeat("0", total-len(text)) + text
	c := f.Blank()
	for _, i := range f.Joined {
		n := f.digitsOf(i)
		var err error
		if c, err = c.With(i, text[:n]); err != nil {
			return Card{}, err
		}
		text = text[n:]
	}
	return c, nil
}

func appendNumber(dst []byte, c *Card) ([]byte, error) {
	if err := c.need("number", c.Format.number); err != nil {
		return dst, err
	}
	return c.Record.AppendField(dst, c.Format.number), nil
}

func parseNumber(f *Format, text string) (Card, error) { return f.Blank().With(f.number, text) }

func appendDecimal(dst []byte, c *Card) ([]byte, error) {
	b, err := data("decimal", c)
	if err != nil {
		return dst, err
	}
	return appendUint(dst, b), nil
}

func parseDecimal(f *Format, text string) (Card, error) {
	b, err := uintBits("decimal", text, dataWidth(f))
	if err != nil {
		return Card{}, err
	}
	return withData(f, b)
}

func appendHex(dst []byte, c *Card) ([]byte, error) {
	b, err := data("hex", c)
	if err != nil {
		return dst, err
	}
	start := len(dst)
	return padFrom(b.AppendHex(dst), start, (b.Len()+7)/8*2), nil
}

func parseHex(f *Format, text string) (Card, error) {
	n := dataWidth(f)
	digits := strings.TrimPrefix(text, "hex:")
	if !isHex(digits) {
		return Card{}, fail("form hex", text, "is no hex number; write 0-9 and A-F", ErrForm)
	}
	b, err := wiegand.ParseBits(fmt.Sprintf("%d:%s", n, digits))
	if err != nil {
		return Card{}, fail("form hex", text, fmt.Sprintf("does not fit the %d data bits of format %s", n, f.ID), wiegand.ErrRange)
	}
	c, err := withData(f, b)
	if err == nil && !c.Record.OK() {
		return Card{}, fail("form hex", text, fmt.Sprintf("format %s has decimal digits only: %s fails",
			f.ID, f.DescribeChecks(c.Record.Failed())), wiegand.ErrRange)
	}
	return c, err
}

func appendWords(dst []byte, c *Card) ([]byte, error) {
	b, err := data("words", c)
	if err != nil {
		return dst, err
	}
	v, _ := b.Uint64() // 32 bits at most
	return appendHalves(dst, v>>16, 5, ",", v&0xFFFF), nil
}

func appendHalves(dst []byte, high uint64, width int, sep string, low uint64) []byte {
	start := len(dst)
	dst = padFrom(strconv.AppendUint(dst, high, 10), start, width)
	dst = append(dst, sep...)
	start = len(dst)
	return padFrom(strconv.AppendUint(dst, low, 10), start, 5)
}

func parseWords(f *Format, text string) (Card, error) {
	high, low, err := splitTwo("words", text)
	if err != nil && len(text) == 10 {
		high, low, err = text[:5], text[5:], nil
	}
	if err != nil {
		return Card{}, err
	}
	h, err := uintBits("words", high, 16)
	if err != nil {
		return Card{}, err
	}
	l, err := uintBits("words", low, 16)
	if err != nil {
		return Card{}, err
	}
	both, err := h.Concat(l)
	if err != nil {
		return Card{}, err
	}
	n := dataWidth(f)
	if both.Slice(0, 32-n).OnesCount() > 0 {
		return Card{}, fail("form words", text, fmt.Sprintf("does not fit the %d data bits of format %s", n, f.ID), wiegand.ErrRange)
	}
	return withData(f, both.Slice(32-n, 32))
}

func appendLow24(sep string) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		if err := c.need("pair24", c.Format.number); err != nil {
			return dst, err
		}
		b := c.Record.Value(c.Format.number)
		v, _ := b.Slice(b.Len()-24, b.Len()).Uint64()
		return appendHalves(dst, v>>16, 3, sep, v&0xFFFF), nil
	}
}

// parseLow24 reads the form only where it drops nothing: for a number of just 24 bits.
func parseLow24(f *Format, text string) (Card, error) {
	if w := numberWidth(f); w > 24 {
		return Card{}, fail("form pair24", text,
			fmt.Sprintf("leaves out the top %d bits of the number of format %s; they can't be told from it", w-24, f.ID), ErrMissing)
	}
	high, low, err := splitTwo("pair24", text)
	if err != nil && len(text) == 8 {
		high, low, err = text[:3], text[3:], nil
	}
	if err != nil {
		return Card{}, err
	}
	h, err := uintBits("pair24", high, 8)
	if err != nil {
		return Card{}, err
	}
	l, err := uintBits("pair24", low, 16)
	if err != nil {
		return Card{}, err
	}
	both, err := h.Concat(l)
	if err != nil {
		return Card{}, err
	}
	return f.Blank().withNumber(both)
}

func (c Card) withNumber(b wiegand.Bits) (Card, error) {
	r, err := c.Record.WithValue(c.Format.number, b)
	if err != nil {
		return Card{}, err
	}
	c.Record = r
	c.Known |= 1 << uint(c.Format.number)
	return c, nil
}

func wholeRead(form string, c *Card) (wiegand.Bits, error) {
	all := make([]int, len(c.Format.Layout.Spec().Fields))
	for i := range all {
		all[i] = i
	}
	if err := c.need(form, all...); err != nil {
		return wiegand.Bits{}, err
	}
	return c.Record.Encode(), nil
}

func appendBits(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead("bits", c)
	if err != nil {
		return dst, err
	}
	return b.AppendText(dst)
}

func appendBitsHex(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead("bits-hex", c)
	if err != nil {
		return dst, err
	}
	return append(dst, b.Hex()...), nil
}

// parseRead refuses a read whose checks fail: the caller has named the format, so that it is a misread.
func parseRead(f *Format, text string) (Card, error) {
	b, err := wiegand.ParseBits(text)
	if err != nil {
		return Card{}, err
	}
	c, err := f.Read(b)
	if err != nil {
		return Card{}, fail("form bits", text, fmt.Sprintf("has %d bits; format %s has %d", b.Len(), f.ID, f.Layout.Len()), wiegand.ErrLength)
	}
	if !c.Record.OK() {
		return Card{}, fail("form bits", text, fmt.Sprintf("is no good read of format %s: %s fails; present the card again",
			f.ID, f.DescribeChecks(c.Record.Failed())), ErrForm)
	}
	return c, nil
}

func uid(c *Card, reversed bool) (wiegand.Bits, error) {
	if err := c.need("uid", c.Format.number); err != nil {
		return wiegand.Bits{}, err
	}
	b := c.Record.Value(c.Format.number)
	if reversed {
		return b.ReverseBytes()
	}
	return b, nil
}

func appendUID(reversed bool) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		b, err := uid(c, reversed)
		if err != nil {
			return dst, err
		}
		return AppendSerial(dst, b), nil
	}
}

// AppendSerial appends whole bytes as two hex digits each, with colons between.
func AppendSerial(dst []byte, b wiegand.Bits) []byte {
	for i, c := range b.AppendBytesLeft(nil) {
		if i > 0 {
			dst = append(dst, ':')
		}
		dst = fmt.Appendf(dst, "%02X", c)
	}
	return dst
}

func parseUID(reversed bool) func(*Format, string) (Card, error) {
	return func(f *Format, text string) (Card, error) {
		b, err := parseSerial("form uid", strings.TrimPrefix(text, "uid:"))
		if err != nil {
			return Card{}, err
		}
		return withSerial(f, text, b, reversed)
	}
}

func withSerial(f *Format, text string, b wiegand.Bits, reversed bool) (Card, error) {
	if w := numberWidth(f); b.Len() != w {
		return Card{}, fail("form uid", text, fmt.Sprintf("has %d bytes; format %s has %d", b.Len()/8, f.ID, w/8), wiegand.ErrLength)
	}
	if reversed {
		var err error
		if b, err = b.ReverseBytes(); err != nil {
			return Card{}, err
		}
	}
	return f.Blank().withNumber(b)
}

func appendUIDDecimal(reversed bool) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		b, err := uid(c, reversed)
		if err != nil {
			return dst, err
		}
		return appendUint(dst, b), nil
	}
}

func parseUIDDecimal(reversed bool) func(*Format, string) (Card, error) {
	return func(f *Format, text string) (Card, error) {
		b, err := uintBits("uid-decimal", text, numberWidth(f))
		if err != nil {
			return Card{}, err
		}
		return withSerial(f, text, b, reversed)
	}
}

func appendFields(dst []byte, c *Card) ([]byte, error) {
	start := len(dst)
	for i, field := range c.Format.Layout.Spec().Fields {
		if field.Name == wiegand.FieldUnknown || !c.Known.Has(i) {
			continue
		}
		if len(dst) > start {
			dst = append(dst, ' ')
		}
		dst = append(dst, field.Name...)
		dst = append(dst, '=')
		dst = c.Record.AppendField(dst, i)
	}
	if len(dst) == start {
		return dst, fail("form fields", "", "no field is known", ErrMissing)
	}
	return dst, nil
}

func parseFields(f *Format, text string) (Card, error) {
	c := f.Blank()
	words := strings.Fields(text)
	if len(words) == 0 {
		return Card{}, fail("form fields", text, "no fields; write name=value with spaces between", ErrForm)
	}
	var given FieldSet
	for _, word := range words {
		name, value, ok := strings.Cut(word, "=")
		i := f.FieldByName(name)
		if !ok || i < 0 || name == wiegand.FieldUnknown {
			return Card{}, fail("form fields", word, fmt.Sprintf("is no name=value of format %s, which has %s", f.ID, f.fieldNames()), ErrForm)
		}
		if given.Has(i) {
			return Card{}, fail("form fields", text, fmt.Sprintf("gives the %s twice", name), ErrForm)
		}
		given |= 1 << uint(i)
		var err error
		if c, err = c.With(i, value); err != nil {
			return Card{}, err
		}
	}
	return c, nil
}

func (f *Format) fieldNames() string {
	var names []string
	for _, field := range f.Layout.Spec().Fields {
		if field.Name != wiegand.FieldUnknown {
			names = append(names, field.Name)
		}
	}
	return strings.Join(names, ", ")
}
