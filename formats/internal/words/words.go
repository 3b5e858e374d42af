// Package words has what errors and evidence say in the same way everywhere.
package words

import (
	"fmt"
	"strconv"
	"unicode/utf8"
)

// Most is how much of an input an error repeats, in bytes.
const Most = 48

// And stands between the parts of what a text is meant as.
const And = ", and "

// Cut returns an input as an error repeats it: whole, or its beginning and an ellipsis, never splitting a character.
func Cut(s string) string { return CutAt(s, Most) }

// CutAt is Cut to n bytes.
func CutAt(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}

// Count returns a number and what it counts, which gets an s where it is not one.
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// ChecksHold says that all of so many checks hold.
func ChecksHold(n int) string {
	switch n {
	case 1:
		return "the check holds"
	case 2:
		return "both checks hold"
	}
	return fmt.Sprintf("all %d checks hold", n)
}
