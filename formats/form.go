package formats

import (
	_ "embed"
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

	place int // in the table, from 1
	way
}

// way is for which formats a form is, and how it is written and read.
type way struct {
	fits   func(*Format) string // "", or why a format cannot be written so
	append func([]byte, *Card) ([]byte, error)
	parse  func(*Format, string) (Card, error)
}

// formLines has the name of each form, its description, and its example where it has one, with tabs between, in the
// order in which they are listed for people.
//
//go:embed forms.txt
var formLines string

// forms is the table of all forms. Each can be written from a card and, but where it drops something, read back.
var forms = func() (all []Form) {
	for line := range strings.Lines(formLines) {
		words := append(strings.Split(strings.TrimSuffix(line, "\n"), "\t"), "")
		all = append(all, Form{words[0], words[1], words[2], len(all) + 1, ways[words[0]]})
	}
	return all
}()

// ways are those of all forms, by name.
var ways = map[string]way{
	"pair":                 {needsFacility, appendPair, parsePair},
	"joined":               {needsJoined, appendJoined, parseJoined},
	"number":               {needsNumber, appendNumber, parseNumber},
	"number10":             {needsDigits, padded(10, appendNumber), parseNumber},
	"decimal":              {needsBinary, shows(data, appendUint), takes(decimalOf(dataWidth), withData)},
	"decimal10":            {needsBinary, padded(10, shows(data, appendUint)), takes(decimalOf(dataWidth), withData)},
	"hex":                  {needsData, shows(data, appendByteHex), takes(hexData, withData)},
	"words":                {needsWords, shows(data, halves(5, ",")), takes(wordsData, withData)},
	"pair24":               {needsLow24, shows(low24, halves(3, ",")), takes(lowest(low24Halves), withNumber)},
	"joined24":             {needsLow24, shows(low24, halves(3, "")), takes(lowest(low24Joined), withNumber)},
	"number24":             {needsWide24, shows(low24, appendUint), takes(lowest(low24Decimal), withNumber)},
	"bits":                 {always, shows(wholeRead, appendBinary), takes(anyRead, goodRead)},
	"bits-hex":             {always, shows(wholeRead, appendCounted), takes(anyRead, goodRead)},
	"read-decimal":         {always, shows(wholeRead, appendUint), takes(decimalOf(readWidth), goodRead)},
	"read-hex":             {always, shows(wholeRead, appendHex), takes(hexRead(""), goodRead)},
	"read-hex-left":        {always, shows(wholeRead, appendLeftHex), takes(hexRead("left:"), goodRead)},
	"uid":                  {needsSerial, shows(serial, AppendSerial), takes(serialBytes, withSerial)},
	"uid-reversed":         {needsSerial, shows(reversedSerial, AppendSerial), takes(serialBytes, withReversed)},
	"uid-decimal":          {needsSerial, shows(serial, appendUint), takes(decimalOf(numberWidth), withSerial)},
	"uid-reversed-decimal": {needsSerial, shows(reversedSerial, appendUint), takes(decimalOf(numberWidth), withReversed)},
	"fields":               {always, appendFields, parseFields},
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
