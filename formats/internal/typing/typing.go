// Package typing says how what is noted of a card can come from what is printed on it: in which styles a number is
// written ([Seen], [Fit]), and with which slips.
package typing

import (
	"iter"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/judgement"
)

// Decimal are the digits of decimal numbers.
const Decimal = "0123456789"

// HexDigits are those of numbers in hex.
const HexDigits = Decimal + "ABCDEF"

// DigitsIn returns the digits that a number can have: those of hex where it has a letter.
func DigitsIn(text string) string {
	if strings.ContainsAny(text, "ABCDEF") {
		return HexDigits
	}
	return Decimal
}

// Mistake is one that people make in typing numbers.
type Mistake struct {
	Name  string                        // such as "two digits swapped"
	Undo  func(string) iter.Seq[[]byte] // the numbers that it can have come from, each to be read before the next
	Share float64                       // how usual it is of all of them
}

// Mistakes returns them. A digit too many is mostly the one beside it.
func Mistakes() []Mistake {
	undo := func(slip Slip) func(string) iter.Seq[[]byte] {
		return func(s string) iter.Seq[[]byte] { return slip(s, DigitsIn(s)) }
	}
	return []Mistake{
		{"two digits swapped", undo(Swapped), judgement.SlipSwap},
		{"a digit typed twice", undoDouble, judgement.SlipExtra / 2},
		{"a digit too many", undo(Shortened), judgement.SlipExtra / 2},
		{"one digit wrong", undo(Replaced), judgement.SlipDigit},
		{"a digit left out", undo(Lengthened), judgement.SlipLost},
	}
}

// undoDouble yields a number without one of each two digits that are alike and stand together.
func undoDouble(s string) iter.Seq[[]byte] {
	return shortened(s, func(i int) bool { return i > 0 && s[i] == s[i-1] && has(HexDigits, s[i]) })
}

// Slip is a way to go wrong: it yields what a text can become by it, each in the same bytes, to be read before the next
// one. Of digits are those that it takes, and puts in their place.
type Slip func(text, digits string) iter.Seq[[]byte]

func has(digits string, c byte) bool { return strings.IndexByte(digits, c) >= 0 }

// Swapped is the [Slip] that yields a text with each two different digits that stand together swapped.
func Swapped(text, digits string) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		b := []byte(text)
		for i := 1; i < len(b); i++ {
			if b[i-1] == b[i] || !has(digits, b[i-1]) || !has(digits, b[i]) {
				continue
			}
			b[i-1], b[i] = b[i], b[i-1]
			if !yield(b) {
				return
			}
			b[i-1], b[i] = b[i], b[i-1]
		}
	}
}

// Replaced is the [Slip] that yields a text with each digit another one.
func Replaced(text, digits string) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		b := []byte(text)
		for i, was := range []byte(text) {
			for j := 0; j < len(digits) && has(digits, was); j++ {
				if b[i] = digits[j]; b[i] != was && !yield(b) {
					return
				}
			}
			b[i] = was
		}
	}
}

// Shortened is the [Slip] that yields a text without each of its digits.
func Shortened(text, digits string) iter.Seq[[]byte] {
	return shortened(text, func(i int) bool { return has(digits, text[i]) })
}

// shortened yields a text without each of the signs that can go.
func shortened(text string, goes func(i int) bool) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		b := make([]byte, len(text))
		for i := range len(text) {
			if goes(i) && !yield(append(append(b[:0], text[:i]...), text[i+1:]...)) {
				return
			}
		}
	}
}

// Lengthened is the [Slip] that yields a text with each digit put in anywhere.
func Lengthened(text, digits string) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		b := append([]byte{0}, text...)
		for i := range b {
			for j := range len(digits) {
				if b[i] = digits[j]; !yield(b) {
					return
				}
			}
			if i+1 < len(b) {
				b[i] = b[i+1]
			}
		}
	}
}
