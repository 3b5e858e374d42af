package formats

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
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
		Name: "number24", Description: "the low 24 bits of a card number as one decimal; drops the rest",
		fits: needsWide24, append: appendNumber24, parse: parseNumber24,
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
		Name: "read-decimal", Description: "the whole read as one decimal", Example: "53307518",
		fits: always, append: appendReadDecimal, parse: parseReadDecimal,
	},
	{
		Name: "read-hex", Description: "the whole read in hex", Example: "32D687E",
		fits: always, append: appendReadHex, parse: parseReadHex("%d:%s"),
	},
	{
		Name: "read-hex-left", Description: "the whole read in hex, as whole bytes that begin with its first bit", Example: "CB5A1F80",
		fits: always, append: appendReadHexLeft, parse: parseReadHex("left:%d:%s"),
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

// Which formats a form is for.

func always(*Format) string { return "" }

func needsFacility(f *Format) string {
	if f.Facility() < 0 || f.Number() < 0 {
		return "has no facility beside its number"
	}
	return ""
}

func needsJoined(f *Format) string {
	if len(f.Joined) == 0 {
		return "has no facility beside its number"
	}
	return ""
}

func needsNumber(f *Format) string {
	if f.Number() < 0 {
		return "has no field called number; use fields"
	}
	return ""
}

func needsDigits(f *Format) string {
	if why := needsNumber(f); why != "" {
		return why
	}
	if f.Layout.Spec().Fields[f.Number()].Coding == wiegand.Signs5 {
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

// needsWide24 is needsLow24 for numbers of which something is dropped: else the form is number.
func needsWide24(f *Format) string {
	if w := numberWidth(f); w <= 24 {
		return "has no card number of more than 24 bits"
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
	if f.Number() < 0 {
		return 0
	}
	field := f.Layout.Spec().Fields[f.Number()]
	if field.Coding != wiegand.Binary {
		return 0
	}
	return field.Bits.Len()
}
