// Package typing says how what is noted of a card can come from what is printed on it: in which styles a number is
// written ([Seen], [Fit]), and with which slips.
package typing

import (
	"iter"
	"strings"
)

// Decimal are the digits of decimal numbers.
const Decimal = "0123456789"

// Mistake is one that people make in typing numbers.
type Mistake struct {
	Name string                        // such as "two digits swapped"
	Undo func(string) iter.Seq[string] // the numbers that it can have come from
}

// Mistakes returns them in the order of how common they are: swapped neighbours first.
func Mistakes() []Mistake {
	return []Mistake{
		{"two digits swapped", func(s string) iter.Seq[string] { return Swapped(s, Decimal) }},
		{"a digit typed twice", undoDouble},
		{"one digit wrong", func(s string) iter.Seq[string] { return Replaced(s, Decimal) }},
	}
}

// undoDouble yields a number without one of each two digits that are alike and stand together.
func undoDouble(s string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := 1; i < len(s); i++ {
			if s[i] == s[i-1] && strings.IndexByte(Decimal, s[i]) >= 0 && !yield(s[:i]+s[i+1:]) {
				return
			}
		}
	}
}

// Swapped yields a text with each two different digits that stand together swapped.
func Swapped(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := 1; i < len(text); i++ {
			a, b := text[i-1], text[i]
			if a != b && strings.IndexByte(digits, a) >= 0 && strings.IndexByte(digits, b) >= 0 &&
				!yield(text[:i-1]+text[i:i+1]+text[i-1:i]+text[i+1:]) {
				return
			}
		}
	}
}

// Replaced yields a text with each digit another one.
func Replaced(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(text) {
			for j := 0; j < len(digits) && strings.IndexByte(digits, text[i]) >= 0; j++ {
				if digits[j] != text[i] && !yield(text[:i]+digits[j:j+1]+text[i+1:]) {
					return
				}
			}
		}
	}
}

// Shortened yields a text without each of its digits.
func Shortened(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(text) {
			if strings.IndexByte(digits, text[i]) >= 0 && !yield(text[:i]+text[i+1:]) {
				return
			}
		}
	}
}

// Lengthened yields a text with each digit put in anywhere.
func Lengthened(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(text) + 1 {
			for j := range digits {
				if !yield(text[:i] + digits[j:j+1] + text[i:]) {
					return
				}
			}
		}
	}
}
