package formats

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Form is a way of writing a card number. Get one with [FormByName] or from [Forms]; the zero Form has no name and
// gives nothing.
type Form struct {
	Name        string // as people name it: "pair", "decimal10"
	Description string // one line for people
	Example     string // the 26-bit card of facility 150, number 46143; "" where it has no such form

	place  int                  // in the table, from 1
	fits   func(*Format) string // "", or why a format cannot be written so
	append func([]byte, *Card) ([]byte, error)
	parse  func(*Format, string) (Card, error)
}

// forms is the table of all forms. Each can be written from a card and, but where it drops something, read back.
var forms = numbered([]Form{
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
		fits: needsBinary, append: shows(data, appendUint), parse: takes(decimalOf(dataWidth), withData),
	},
	{
		Name: "decimal10", Description: "the same, padded with zeros to ten digits", Example: "0009876543",
		fits: needsBinary, append: padded(10, shows(data, appendUint)), parse: takes(decimalOf(dataWidth), withData),
	},
	{
		Name: "hex", Description: "the same in hex, padded to whole bytes", Example: "96B43F",
		fits: needsData, append: shows(data, appendByteHex), parse: takes(hexData, withData),
	},
	{
		Name: "words", Description: "the same, as two 16-bit halves in decimal, five digits each", Example: "00150,46143",
		fits: needsWords, append: shows(data, halves(5, ",")), parse: takes(wordsData, withData),
	},
	{
		Name: "pair24", Description: "the low 24 bits of a card number as 3 and 5 digits; drops the rest",
		fits: needsLow24, append: shows(low24, halves(3, ",")), parse: takes(lowest(low24Halves), withNumber),
	},
	{
		Name: "joined24", Description: "the same digits with nothing between",
		fits: needsLow24, append: shows(low24, halves(3, "")), parse: takes(lowest(low24Joined), withNumber),
	},
	{
		Name: "number24", Description: "the low 24 bits of a card number as one decimal; drops the rest",
		fits: needsWide24, append: shows(low24, appendUint), parse: takes(lowest(low24Decimal), withNumber),
	},
	{
		Name: "bits", Description: "the whole read, parity included, as 0s and 1s", Example: "11001011010110100001111110",
		fits: always, append: shows(wholeRead, appendBinary), parse: takes(anyRead, goodRead),
	},
	{
		Name: "bits-hex", Description: "the whole read as LENGTH:HEX", Example: "26:32D687E",
		fits: always, append: shows(wholeRead, appendCounted), parse: takes(anyRead, goodRead),
	},
	{
		Name: "read-decimal", Description: "the whole read as one decimal", Example: "53307518",
		fits: always, append: shows(wholeRead, appendUint), parse: takes(decimalOf(readWidth), goodRead),
	},
	{
		Name: "read-hex", Description: "the whole read in hex", Example: "32D687E",
		fits: always, append: shows(wholeRead, appendHex), parse: takes(hexRead(""), goodRead),
	},
	{
		Name: "read-hex-left", Description: "the whole read in hex, as whole bytes that begin with its first bit", Example: "CB5A1F80",
		fits: always, append: shows(wholeRead, appendLeftHex), parse: takes(hexRead("left:"), goodRead),
	},
	{
		Name: "uid", Description: "the chip serial as bytes, as sent",
		fits: needsSerial, append: shows(serial, AppendSerial), parse: takes(serialBytes, withSerial),
	},
	{
		Name: "uid-reversed", Description: "the chip serial as bytes, last byte first",
		fits: needsSerial, append: shows(reversedSerial, AppendSerial), parse: takes(serialBytes, withReversed),
	},
	{
		Name: "uid-decimal", Description: "the chip serial as sent, as one decimal number",
		fits: needsSerial, append: shows(serial, appendUint), parse: takes(decimalOf(numberWidth), withSerial),
	},
	{
		Name: "uid-reversed-decimal", Description: "the chip serial with its last byte first, as one decimal number",
		fits: needsSerial, append: shows(reversedSerial, appendUint), parse: takes(decimalOf(numberWidth), withReversed),
	},
	{
		Name: "fields", Description: "every field by name", Example: "facility=150 number=46143",
		fits: always, append: appendFields, parse: parseFields,
	},
})

// numbered gives each form its place in the table, from 1.
func numbered(all []Form) []Form {
	for i := range all {
		all[i].place = i + 1
	}
	return all
}

// OfRead reports whether the form has the whole read, checks and all: of a card whose checks fail it would give another
// read than that of the card.
func (fm Form) OfRead() bool {
	return fm.Name == "bits" || fm.Name == "bits-hex" || strings.HasPrefix(fm.Name, "read-")
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
	case f.forms>>uint(fm.place)&1 == 1 && f.formsOf == f.Layout:
		return true, ""
	}
	why = fm.fits(f)
	return why == "", why
}

// Append appends the card in this form. The error is ErrForm where its format has no such form, ErrMissing where the
// form needs a field that is not known.
func (fm Form) Append(dst []byte, c *Card) ([]byte, error) {
	if ok, why := fm.Fits(c.Format); !ok {
		return dst, fail("as "+fm.Name, "", fmt.Sprintf("format %s %s", c.Format.id(), why), ErrForm)
	}
	dst, err := fm.append(dst, c)
	return dst, fm.own(err)
}

// bad is an error about a text, whose form [Form.own] names.
func bad(text, reason string, kind error) error { return fail("", text, reason, kind) }

// own returns an error with the name that the form was asked for by, since some forms share what they do.
func (fm Form) own(err error) error {
	if e, ok := errors.AsType[*Error](err); ok {
		return &Error{Where: "as " + fm.Name, Input: e.Input, Reason: e.Reason, Err: e.Err}
	}
	return err
}

// Text returns what [Form.Append] appends.
func (fm Form) Text(c *Card) (string, error) {
	b, err := fm.Append(nil, c)
	return string(b), err
}

// Parse reads a card of the format from a text in this form. White space around it is ignored. What the form does not
// say, such as the facility where only the number is printed, is left unknown. The error is ErrForm where the format
// has no such form or the text does not have its shape, wiegand.ErrRange where a number does not fit its field.
func (fm Form) Parse(f *Format, text string) (Card, error) {
	if ok, why := fm.Fits(f); !ok {
		return Card{}, fail("as "+fm.Name, text, fmt.Sprintf("format %s %s", f.id(), why), ErrForm)
	}
	c, err := fm.parse(f, strings.TrimSpace(text))
	return c, fm.own(err)
}
