package list

import (
	"bytes"
	"unicode"
	"unicode/utf8"
)

// risky reports whether a spreadsheet would run a cell of text as a formula when it opens the file: one that begins
// with = + - @, a tab, a carriage return or a line feed, or with the full-width form of a sign (OWASP, "CSV
// Injection"). A plain number with a sign is no formula, and neither is a text without a letter or digit, such as - or
// --: it has nothing to be computed.
func risky(v []byte) bool {
	if len(v) == 0 || !mayBeRisky[v[0]] || !bytes.ContainsFunc(v, isLetterOrDigit) {
		return false
	}
	switch v[0] {
	case '+', '-':
		return !plainNumber(v[1:])
	case 0xEF:
		return fullWidthSign(v)
	}
	return true
}

// mayBeRisky are the first bytes of what a spreadsheet may run.
var mayBeRisky = [256]bool{'=': true, '+': true, '-': true, '@': true, '\t': true, '\r': true, '\n': true, 0xEF: true}

// isLetterOrDigit counts a byte of another encoding as a letter.
func isLetterOrDigit(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || r == utf8.RuneError
}

// begins reports whether a cell begins as a formula does, quoted or not.
func (r *Row) begins(c *cell) bool {
	from := c.from
	if c.quoted {
		from++
	}
	return from < c.to && mayBeRisky[r.raw[from]]
}

// plain reports whether no cell begins as a formula does.
func (r *Row) plain() bool {
	for i := range r.cells {
		if r.begins(&r.cells[i]) {
			return false
		}
	}
	return true
}

// fullWidthSign reports whether v begins with ＝ ＋ － or ＠.
func fullWidthSign(v []byte) bool {
	for _, s := range []string{"\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"} {
		if bytes.HasPrefix(v, []byte(s)) {
			return true
		}
	}
	return false
}

// plainNumber reports whether v is digits, with one decimal point or comma at most.
func plainNumber(v []byte) bool {
	points := 0
	for i, c := range v {
		switch {
		case c >= '0' && c <= '9':
		case (c == '.' || c == ',') && i > 0 && i < len(v)-1:
			points++
		default:
			return false
		}
	}
	return len(v) > 0 && points <= 1
}
