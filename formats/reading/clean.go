package reading

import (
	"cmp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// Cleaned is a cell's text without what is certainly no part of a number, and what was taken away.
type Cleaned struct {
	Text string
	Did  []string // in words, in the order in which it was done; none where the text is as it was
	May  string   // what else it may mean, which is left to whoever knows the column; "" where nothing
}

// Clean takes away what surrounds or groups the digits of a number where that is certain: white space and signs that
// have no width at either end; words that say what a number is; white space between two numbers that is more than a
// sign or one space, a colon and long dashes there, brackets around the first of them, and a full stop before five
// digits; a full stop after the last digit of a number, or of two; no-break and thin spaces between groups of three
// digits, two or more. Where one such space or one full stop stands between digits it may as well be what is between
// facility and number, or a decimal point: that is left as it is, and May says what it would be without. A text with
// anything but digits and such signs keeps what is inside it.
func Clean(cell string) Cleaned {
	c := Cleaned{Text: cell}
	if t := strings.TrimFunc(cell, invisible); t != cell {
		c.Text = t
		c.Did = append(c.Did, "white space taken away")
	}
	if t, found := strings.CutSuffix(c.Text, "."); found {
		if _, groups, what := ungrouped(t); digitsOnly(t) || groups > 2 && what != fullStops || twoNumbers(t) ||
			allBytes(t) || hexNumber(t) {
			c.Text = t
			c.Did = append(c.Did, "a full stop at the end taken away")
		}
	}
	if t, ok := formats.Unlabelled(c.Text); ok && !strings.Contains(c.Text, "=") { // which the form fields has
		c.Text = t
		c.Did = append(c.Did, "words before a number taken away")
	}
	if t, did := together(c.Text); did != "" {
		c.Text = t
		c.Did = append(c.Did, did)
	}
	switch whole, groups, what := ungrouped(c.Text); {
	case groups > 2 && what != fullStops:
		c.Text = whole
		c.Did = append(c.Did, what+" between groups of three digits taken away")
	case groups > 2:
		c.May = whole + ", with full stops between groups of three digits"
	case groups == 2:
		c.May = whole + ", with the sign between groups of three digits"
	}
	return c
}

// together returns two numbers with one comma or space between, where there was more white space, another sign in
// white space, a colon or a long dash, or the first was in brackets, and what was done; "" where nothing was. A read as
// LENGTH:HEX stays one.
func together(s string) (t, did string) {
	if a, b, ok := strings.Cut(strings.TrimPrefix(s, "("), ")"); ok && s[0] == '(' && digitsOnly(a) {
		if b = strings.Trim(b, " \t"); digitsOnly(b) {
			return a + "," + b, "brackets around the first of two numbers made a comma"
		}
	}
	first := strings.IndexFunc(s, func(r rune) bool { return r < '0' || r > '9' })
	last := strings.LastIndexFunc(s, func(r rune) bool { return r < '0' || r > '9' })
	if first < 1 || last < 0 {
		return s, ""
	}
	_, size := utf8.DecodeRuneInString(s[last:])
	a, between, b := s[:first], s[first:last+size], s[last+size:]
	if b == "" {
		return s, ""
	}
	n, err := strconv.Atoi(a)
	read := err == nil && len(b) >= shortestRead && len(b) == (n+3)/4
	switch sign := strings.Trim(between, " \t"); sign {
	case between: // nothing is around it
		if strings.ContainsAny(sign, longDashes) || sign == ":" && !read || sign == "." && len(b) >= filledNumber {
			return a + "," + b, signMadeComma
		}
	case ",", "":
		if sign = cmp.Or(sign, " "); sign != between {
			return a + sign + b, "white space between two numbers taken away"
		}
	case "-", "/", ":", "\u2010", "\u2011", "\u2013", "\u2014", "\u2212":
		return a + "," + b, signMadeComma
	}
	return s, ""
}

// signMadeComma is the repair of two numbers with another sign between.
const signMadeComma = "a sign between two numbers made a comma"

// longDashes are those that office programs make of the one on the keyboard.
const longDashes = "\u2010\u2011\u2013\u2014\u2212"

// filledNumber is how many digits the number behind a facility is filled up to with zeros, at least, where a full stop
// stands between them: no number in groups of three has so many, nor has a decimal fraction that a spreadsheet wrote,
// where the last of them is 0. Common practice, no source.
const filledNumber = 5

// shortestRead is how many hex digits the shortest read of a card has, of 24 bits.
const shortestRead = 6

// twoNumbers reports whether a text is two numbers with one sign between that no date has.
func twoNumbers(s string) bool {
	a, b, found := strings.Cut(s, ",")
	if !found {
		a, b, found = strings.Cut(s, " ")
	}
	return found && digitsOnly(a) && digitsOnly(b)
}

// allBytes reports whether a text is bytes in hex with colons between, or a read as LENGTH:HEX.
func allBytes(s string) bool {
	return strings.Contains(s, ":") && strings.Trim(s, ":0123456789ABCDEFabcdef") == "" && s[len(s)-1] != ':'
}

// invisible reports whether a sign is white space, or has no width: no-break, thin and figure spaces (U+00A0, U+2009,
// U+2007, U+202F), a byte order mark (U+FEFF), joiners and marks of direction
// (U+200B to U+200F, U+202A to U+202E, U+2066 to U+2069).
func invisible(r rune) bool {
	return unicode.IsSpace(r) || r >= 0x2000 && r <= 0x200F ||
		r >= 0x202A && r <= 0x202F || r == 0x2060 || r >= 0x2066 && r <= 0x2069 || r == 0xFEFF
}

// ungrouped returns the digits of a number in groups of three with signs between that no other numbers have: no-break
// and thin spaces, and full stops.
func ungrouped(s string) (digits string, groups int, signs string) {
	digits, groups, signs = words.Ungrouped(s)
	if signs != fullStops && !strings.HasSuffix(signs, "spaces") || strings.Contains(s, " ") {
		return s, 0, ""
	}
	return digits, groups, signs
}

const fullStops = "full stops"

// Parts returns the numbers that stand in one cell: those with a sign between that no number has in it, such as a line
// end, a semicolon, a bar, a plus, "and"; or with a stroke, a comma or a space between where each by itself is facility
// and number, or has six digits or more, in hex too. It is nil where there are not two, or anything else stands there
// too.
func Parts(cell string) []string {
	plain := strings.NewReplacer(" and ", ";", " & ", ";", " or ", ";", "\r", ";", "\n", ";", "|", ";", "+", ";").Replace(
		strings.TrimFunc(cell, invisible))
	if parts := parts(plain, ";", func(string) bool { return true }); parts != nil {
		return parts
	}
	for _, sign := range [...]string{" / ", ", ", " "} {
		if parts := parts(plain, sign, wholeNumber); parts != nil {
			return parts
		}
	}
	return nil
}

// Parts is [Parts] for a plan: where its numbers are written as one number each, a stroke or a comma with a space
// stands between two of any length.
func (p *Plan) Parts(cell string) []string {
	if p.label != "" {
		cell = strings.ReplaceAll(cell, p.label, "")
	}
	all := Parts(cell)
	if all != nil || p.hasPairs() {
		return all
	}
	for _, sign := range [...]string{" / ", ", "} {
		if all := parts(cell, sign, digitsOnly); all != nil {
			return all
		}
	}
	return nil
}

func parts(cell, sign string, fits func(string) bool) (all []string) {
	for p := range strings.SplitSeq(cell, sign) {
		p = strings.TrimFunc(p, invisible)
		if p == "" && sign == ";" {
			continue
		}
		if !hexNumber(p) && (strings.Trim(p, "0123456789,-/. ") != "" || strings.Trim(p, ",-/. ") == "" || !fits(p)) {
			return nil
		}
		all = append(all, p)
	}
	if len(all) < 2 {
		return nil
	}
	return all
}

// hexNumber reports whether a text is a number in hex, a read with its length, or the bytes of a chip serial.
func hexNumber(text string) bool {
	digits := withoutColons(text)
	if length, read, ok := strings.Cut(digits, ":"); ok && digitsOnly(length) && len(length) < 4 {
		digits = read
	}
	return len(digits) > 5 && isHex(digits) && strings.ContainsAny(digits, "0123456789")
}

// wholeNumber reports whether a text is facility and number, or a number that is too long to be one of them.
func wholeNumber(text string) bool {
	first, second, pair := strings.Cut(text, ",")
	if !pair {
		first, second, pair = strings.Cut(text, "/")
	}
	return pair && digitsOnly(first) && digitsOnly(second) || digitsOnly(text) && len(text) > 5
}

// Fragile reports whether a spreadsheet changes a value where it opens the CSV file that it is in: zeros at its
// beginning, more digits than 15, a number with an E in it, or what it takes for a date. That spreadsheets do so is
// common practice, no source.
func Fragile(v []byte) bool {
	if len(v) > 1 && v[0] == '0' || len(v) > maxDigits {
		return digitsOnly(string(v))
	}
	for _, c := range v {
		if mayBeFragile[c] {
			return isScientific(string(v)) || LooksLikeDate(string(v))
		}
	}
	return false
}

// mayBeFragile are the signs of powers of ten and of dates.
var mayBeFragile = [256]bool{'E': true, 'e': true, '-': true, '/': true}
