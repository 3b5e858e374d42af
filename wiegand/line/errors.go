package line

import (
	"errors"
	"fmt"
	"strconv"
	"unicode/utf8"

	"github.com/cardtell/cardtell/wiegand"
)

// The kinds of failure. Every error of this package, but for those of the reader underneath, is an [*Error] that wraps
// one of them; test with errors.Is.
var (
	// ErrSyntax: the input is not written the way it must be. It is the same as that of package wiegand.
	ErrSyntax = wiegand.ErrSyntax
	// ErrTime: a time runs backwards, does not fit, or has no unit.
	ErrTime = errors.New("time")
	// ErrSignal: a signal is not there, or is not one of a single bit.
	ErrSignal = errors.New("signal")
	// ErrLevel: a wire is neither high nor low.
	ErrLevel = errors.New("level")
)

// Error says what was being read, where, and what is wrong.
type Error struct {
	Op     string   // what was being done, such as "read VCD"
	Line   int      // line of the input, from 1; 0 where there is none
	Offset int64    // bytes before the place at fault
	Input  string   // the input at fault, cut short; "" where there is none to quote
	Reason string   // what is wrong, and what would do
	Names  []string // with ErrSignal: the signals that there are, in the order of the input
	Err    error    // ErrSyntax, ErrTime, ErrSignal or ErrLevel
}

// Error returns one line: operation, place, quoted input, reason.
func (e *Error) Error() string {
	text := e.Op
	if e.Line > 0 {
		text += fmt.Sprintf(": line %d (byte %d)", e.Line, e.Offset)
	}
	if e.Input != "" {
		text += ": " + strconv.Quote(e.Input)
	}
	return text + ": " + e.Reason
}

// Unwrap returns the kind of failure.
func (e *Error) Unwrap() error { return e.Err }

// maxQuoted is how much of an input an error repeats, in bytes.
const maxQuoted = 40

// cutShort returns s, or its beginning and an ellipsis, never splitting a character.
func cutShort[T ~string | ~[]byte](s T) string {
	if len(s) <= maxQuoted {
		return string(s)
	}
	n := maxQuoted
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return string(s[:n]) + "…"
}
