package reading

import (
	"bytes"
	"cmp"
	"fmt"
	"regexp"
	"strings"
	"sync"

	"github.com/cardtell/cardtell/formats/internal/words"
)

// Mended is a cell's value as it can be read, and what had to be done to it.
type Mended struct {
	Value  []byte
	Repair string // what was repaired, certainly; "" where nothing was
	Doubt  string // why the value can't be trusted, "" where it can
	Stands bool   // what is in doubt can be read all the same
}

// Mend looks at a cell for what spreadsheets do to card numbers. What is certain is repaired: white space, ="0123",
// 12345.0, 1.5046143E+07 with all its digits, 9,876,543, zeros lost before a number of fixed width. What has lost
// digits is in doubt.
func Mend(cell []byte, shape Shape) Mended {
	if Sound(cell, shape) {
		return Mended{Value: cell}
	}
	if digitsOnly(string(cell)) {
		return mendDigits(string(cell), "", shape)
	}
	return mend(cell, shape)
}

// Sound reports whether a cell is just digits (or hex, where the form is), with one sign between two numbers where the
// form has that: nearly all are, and nothing has to be done to them.
func Sound(cell []byte, shape Shape) bool {
	signs := 0
	for _, c := range cell {
		switch {
		case c >= '0' && c <= '9':
		case shape.Hex && (c >= 'A' && c <= 'F' || c >= 'a' && c <= 'f'):
		case (c == ',' || c == '-' || c == '/') && !shape.Decimal && !shape.Hex:
			signs++
		default:
			return false
		}
	}
	if shape.Decimal && zeros(cell) {
		return false // what sums and empty cells show
	}
	long := shape.Decimal && len(cell) > shape.Width && cell[0] != '0' // as it is written without zeros before it
	fits := shape.Width == 0 || len(cell) == shape.Width || long
	return len(cell) > 0 && len(cell) <= maxDigits && signs <= 1 && fits &&
		(signs == 0 || !shape.oddZeros(cell))
}

// zeros reports whether a cell is nothing but zeros.
func zeros(cell []byte) bool { return len(bytes.TrimLeft(cell, "0")) == 0 }

// oddZeros reports whether one of two numbers has zeros before it, and other than its form or its list has them:
// 121,0005 is neither 121,5 nor 121,00005. A spreadsheet whose decimal sign is a comma makes that of 121,00050, and a
// slip of 0002425848 may be 0002425 848.
func (s Shape) oddZeros(cell []byte) bool {
	i := bytes.IndexAny(cell, signs)
	odd := func(number []byte, form, list int) bool {
		return len(number) > 1 && number[0] == '0' && len(number) != form && len(number) != list
	}
	if s.Second == 0 || i < 0 || !digitsOnly(string(cell[:i])) || !digitsOnly(string(cell[i+1:])) {
		return false
	}
	return odd(cell[:i], s.First, s.Filled[0]) || odd(cell[i+1:], s.Second, s.Filled[1])
}

// Shape is what is known of the form in which numbers are written.
type Shape struct {
	Width   int    // digits that it always has, zeros included; 0 where that differs
	Least   int    // digits without which it can't be that form with its zeros lost: fewer are left as they are
	Enough  int    // digits that hold all bits of hex whose first digit is always 0; 0 where it can be another
	First   int    // digits of the first of two numbers, with all its zeros; 0 where there are not two
	Second  int    // digits of the second of two numbers, with all its zeros; 0 where there are not two
	Filled  [2]int // digits to which a list fills up the two numbers, where it does otherwise than the form
	Decimal bool   // digits alone, no comma or letters
	Hex     bool   // digits and letters A to F
}

// bare reports whether numbers have no zeros before them.
func (s Shape) bare() bool { return s.Decimal && s.Width == 0 }

// ZerosBack is the [Mended.Repair] of a number that has lost the zeros before it.
const ZerosBack = "leading zeros put back"

// pointTaken is the [Mended.Repair] of a number that was written as 12345.0.
const pointTaken = "a decimal point taken away"

// powerWritten is the [Mended.Repair] of a number that was written as 1.2345E+04.
const powerWritten = "a power of ten written out"

// maxDigits is how many digits of a number a spreadsheet keeps.
const maxDigits = 15

func mend(cell []byte, shape Shape) Mended {
	text := string(cell)
	v, repair := strip(text)
	if first, second, found := strings.Cut(v, ","); found && shape.Second > 0 { // two numbers may come from two cells
		a, did := strip(first)
		b, too := strip(second)
		v, repair = a+","+b, cmp.Or(repair, did, too)
		if len(b) < shape.Second && repair == signMadeComma && strings.Contains(text, ".") {
			v, repair = text, "" // a spreadsheet that takes it for a fraction takes zeros from its end
		}
	}
	if v == "" {
		return Mended{Doubt: "the cell is empty"}
	}
	if whole, zeros, found := strings.Cut(v, "."); (shape.Decimal || shape.Hex) && found && digitsOnly(whole) &&
		zeros != "" && strings.Trim(zeros, "0") == "" {
		if _, groups, _ := words.Ungrouped(v); groups > 0 {
			return Mended{Doubt: fmt.Sprintf("is %s with three decimal places, or %s with a sign between thousands; "+
				"write it with digits alone", whole, whole+zeros)}
		}
		v, repair = whole, pointTaken
	}
	if shape.Hex {
		v = hexDigits(v)
	}
	switch {
	case LooksLikeDate(v) && !isPair(v, shape):
		return Mended{Doubt: "looks like a date: a spreadsheet takes 5-12 for one; write the number there again as text"}
	case isScientific(v) && !shape.Hex:
		return scientific(v)
	case isScientific(v) && strings.ContainsAny(v, "+-.,"): // 12E5 is hex, 1.2E+06 was
		return Mended{Doubt: "looks like hex that a spreadsheet took for a power of ten; write the number there again as text"}
	}
	if shape.oddZeros([]byte(v)) {
		return Mended{Doubt: fmt.Sprintf("with zeros before a number there should be %d and %d digits: a spreadsheet may have "+
			"dropped zeros at the end, or it was typed wrong; write it there again as text", shape.First, shape.Second), Stands: true}
	}
	if shape.Decimal || shape.Hex {
		if digits, groups, _ := words.Ungrouped(v); groups > 2 { // two may be a pair
			v, repair = digits, "signs between thousands taken away"
		}
	}
	if digitsOnly(v) {
		return mendDigits(v, repair, shape)
	}
	if shape.Hex && isHex(v) {
		return filledUp(v, repair, shape)
	}
	return Mended{Value: []byte(v), Repair: repair}
}

// mendDigits looks at plain digits; repair is what gave them.
func mendDigits(v, repair string, shape Shape) Mended {
	if why := rounded(v); why != "" {
		return Mended{Doubt: why, Stands: true}
	}
	switch nothing := zeros([]byte(v)); {
	case nothing && shape.Width > 0 && len(v) < shape.Width:
		return Mended{Doubt: "is nothing but zeros, and fewer than such a number has"}
	case nothing && shape.Decimal:
		return Mended{Doubt: "is what a spreadsheet shows for an empty cell, and hardly a card", Stands: true}
	}
	return filledUp(v, repair, shape)
}

// filledUp puts the zeros back before a number that has lost all of them.
func filledUp(v, repair string, shape Shape) Mended {
	switch {
	case len(v) >= shape.Width || len(v) < shape.Least:
	case v[0] == '0' && len(v) != shape.Enough:
		return Mended{Doubt: fmt.Sprintf("has %d digits where there should be %d, zeros before it among them: "+
			"a digit may be missing anywhere", len(v), shape.Width)}
	default:
		v, repair = filled(v, shape.Width), ZerosBack
	}
	return Mended{Value: []byte(v), Repair: repair}
}

// hexDigits returns a number in hex without 0x before it, or the signs between its bytes; any other text as it is.
func hexDigits(v string) string {
	if len(v) > 2 && (v[:2] == "0x" || v[:2] == "0X") {
		return v[2:]
	}
	return withoutColons(v)
}

// strip takes away what is around a number and does not belong to it.
func strip(s string) (v, repair string) {
	v, repair = unwrapped(s)
	c := Clean(v)
	return c.Text, cmp.Or(repair, strings.Join(c.Did, ", "))
}

// unwrapped returns a text without what makes a spreadsheet leave it as it is, and without full-width signs.
func unwrapped(s string) (v, repair string) {
	v = strings.TrimFunc(s, invisible)
	if strings.HasPrefix(v, `="`) && strings.HasSuffix(v, `"`) && len(v) > 3 {
		v, repair = v[2:len(v)-1], `="…" taken away`
	}
	if strings.HasPrefix(v, "'") && len(v) > 1 {
		v, repair = v[1:], "an apostrophe taken away"
	}
	if folded := foldWidth(v); folded != v {
		v, repair = folded, "full-width digits made plain"
	}
	if repair == "" {
		return s, ""
	}
	return v, repair
}

// foldWidth turns full-width digits, letters and signs into plain ones.
func foldWidth(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '\uFF01' && r <= '\uFF5E' {
			return r - '\uFF01' + '!'
		}
		return r
	}, s)
}

func digitsOnly(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// isPair reports whether a text that could be a date is a number in a form that has such signs: 5-12 as facility and
// number. Three parts or a name of a month are never one.
func isPair(v string, shape Shape) bool {
	return !shape.Decimal && !shape.Hex && strings.Count(v, "-")+strings.Count(v, "/") == 1 &&
		strings.Trim(v, "0123456789-/") == ""
}

func isScientific(v string) bool {
	mantissa, exponent, ok := cutExponent(v)
	return ok && digitsOnly(strings.Replace(strings.Replace(mantissa, ".", "", 1), ",", "", 1)) &&
		digitsOnly(strings.TrimLeft(exponent, "+-")) && len(exponent) <= 4
}

func cutExponent(v string) (mantissa, exponent string, ok bool) {
	i := strings.IndexAny(v, "eE")
	if i < 1 {
		return "", "", false
	}
	return v[:i], v[i+1:], true
}

// scientific reads 1.5046143E+07 where the mantissa has every digit, and doubts it where it has fewer.
func scientific(v string) Mended {
	mantissa, exponent, _ := cutExponent(v)
	whole, fraction, _ := strings.Cut(strings.Replace(mantissa, ",", ".", 1), ".")
	power := 0
	for _, c := range strings.TrimLeft(exponent, "+") {
		if c < '0' || c > '9' {
			return Mended{Doubt: fmt.Sprintf("%s is no card number: a spreadsheet has made it one with a fraction", v)}
		}
		power = power*10 + int(c-'0')
	}
	digits := whole + fraction
	if len(whole) != 1 || len(fraction) != power || len(digits) > maxDigits {
		return Mended{Doubt: fmt.Sprintf("a spreadsheet has dropped digits: %d are left of %d; write the number there again as text",
			min(len(digits), maxDigits), power+len(whole))}
	}
	return Mended{Value: []byte(digits), Repair: powerWritten}
}

// rounded says why a long number was rounded by a spreadsheet: every digit after the 15th is 0. That happens to one
// number in 100 of 17 digits by chance; one of 16 digits it happens to too often to say so.
func rounded(v string) string {
	significant := strings.TrimLeft(v, "0")
	if len(significant) < maxDigits+2 || strings.Trim(significant[maxDigits:], "0") != "" || allBits(v) {
		return ""
	}
	return fmt.Sprintf("a spreadsheet has probably rounded it: all digits after the 15th are 0, of %d; write it again as text", len(significant))
}

// allBits reports whether a text is 0s and 1s: a read, which no spreadsheet has shown as a number of that length.
func allBits(v string) bool { return strings.Trim(v, "01") == "" && len(v) >= 24 }

// dateShape is a date as spreadsheets show one: 5-12, 2024-05, 12.05.2024, 12-May-24, May 2024, with a time or without.
var dateShape = sync.OnceValue(func() *regexp.Regexp {
	const month = `(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|mär|mrz|mai|okt|dez|fév|avr|juin|juil|août|déc|` +
		`ene|abr|ago|dic|gen|mag|giu|lug|set|ott|mei|maj)\p{L}*\.?`
	date := strings.Join([]string{
		`\d{1,2}[-/.]\d{1,2}`, `\d{4}[-/.](0?[1-9]|1[0-2])`, `(0?[1-9]|1[0-2])[-/.]\d{4}`, `\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}`,
		`\d{1,2}[-/. ]{0,2}` + month + `([-/. ]{0,2}\d{2,4})?`, month + `[-/. ]\d{1,4}([-/. ,]+\d{2,4})?`,
	}, "|")
	return regexp.MustCompile(`(?i)^\s*(` + date + `)([ T]+\d{1,2}:\d{2}(:\d{2})?( ?[ap]m)?)?\s*$`)
})

// LooksLikeDate reports whether a text is a date, as a spreadsheet shows one in English, German, French, Spanish,
// Italian, Dutch and the Scandinavian languages.
func LooksLikeDate(s string) bool {
	if len(s) > 40 || strings.Trim(s, "0123456789abcdefABCDEF") == "" {
		return false // digits, or hex: 12DEC is more likely that
	}
	if !strings.ContainsFunc(s, func(r rune) bool { return r == '-' || r == '.' || r == '/' || r >= 'A' }) {
		return false // a pair, mostly: parts of a date have one of these between them, or it has a month's name
	}
	return dateShape().MatchString(s)
}
