// Package typing has the mistakes that people make in typing numbers.
package typing

import "iter"

// Mistake is one that people make in typing numbers.
type Mistake struct {
	Name string                        // such as "two digits swapped"
	Undo func(string) iter.Seq[string] // the numbers that it can have come from
}

// Mistakes returns them in the order of how common they are: swapped neighbours first.
func Mistakes() []Mistake {
	return []Mistake{
		{"two digits swapped", Swaps},
		{"a digit typed twice", undoDouble},
		{"one digit wrong", undoDigit},
	}
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// Swaps returns a number with two neighbouring digits swapped, each way that changes it.
func Swaps(s string) iter.Seq[string] {
	return func(yield func(string) bool) {
		b := []byte(s)
		for i := 1; i < len(b); i++ {
			if b[i] == b[i-1] || !isDigit(b[i]) || !isDigit(b[i-1]) {
				continue
			}
			b[i], b[i-1] = b[i-1], b[i]
			if !yield(string(b)) {
				return
			}
			b[i], b[i-1] = b[i-1], b[i]
		}
	}
}

func undoDouble(s string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := 1; i < len(s); i++ {
			if s[i] == s[i-1] && isDigit(s[i]) && !yield(s[:i]+s[i+1:]) {
				return
			}
		}
	}
}

func undoDigit(s string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(s) {
			if !isDigit(s[i]) {
				continue
			}
			for d := byte('0'); d <= '9'; d++ {
				if d != s[i] && !yield(s[:i]+string(d)+s[i+1:]) {
					return
				}
			}
		}
	}
}
