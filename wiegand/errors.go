package wiegand

import (
	"errors"
	"strconv"
	"unicode/utf8"
)

// The kinds of failure. Every error of this package is an [*Error] that wraps one of them: errors.Is tells which, and
// errors.As gives the [*Error], with the input at fault.
var (
	// ErrSyntax: a text is not written the way it must be.
	ErrSyntax = errors.New("syntax")
	// ErrRange: a value does not fit where it should go. Nothing is ever cut to fit.
	ErrRange = errors.New("range")
	// ErrLength: a read does not have the length that is asked for.
	ErrLength = errors.New("length")
	// ErrLayout: a layout contradicts itself.
	ErrLayout = errors.New("layout")
)

// Error says what was being done, with which input, and what is wrong with it.
type Error struct {
	Op     string // what was being done, such as "parse bits"
	Line   int    // line of the input, from 1; 0 where it has no lines
	Input  string // the input at fault, cut short; "" where there is none to quote
	Reason string // what is wrong, and what would do
	Err    error  // the kind: ErrSyntax, ErrRange, ErrLength or ErrLayout; one of its own from another package
}

// Error returns one line: operation, line, quoted input, reason.
func (e *Error) Error() string {
	if e == nil {
		return "<nil>"
	}
	text := e.Op
	if e.Line > 0 {
		text += ": line " + strconv.Itoa(e.Line)
		if e.Input != "" {
			text += ":"
		}
	}
	if e.Input != "" {
		text += " " + strconv.Quote(e.Input)
	}
	return text + ": " + e.Reason
}

// Unwrap returns the kind of failure.
func (e *Error) Unwrap() error {
	if e == nil {
		return nil
	}
	return e.Err
}

// maxQuoted is how much of an input an error repeats, in bytes: enough for any read in hex to be recognised, short
// enough for one line.
const maxQuoted = 48

// fail makes an [*Error], cutting the input short.
func fail(op, input, reason string, kind error) error {
	return &Error{Op: op, Input: cutShort(input), Reason: reason, Err: kind}
}

// cutShort returns s, or its beginning and an ellipsis, never splitting a character.
func cutShort(s string) string {
	if len(s) <= maxQuoted {
		return s
	}
	n := maxQuoted
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}
