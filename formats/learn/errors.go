package learn

import (
	"errors"
	"strconv"
	"strings"
)

// The kinds of failure. Every error of this package is an [*Error] that wraps one of them, or one of package formats about a
// spelling.
var (
	// ErrReads: a read or what is printed on a card can't be used.
	ErrReads = errors.New("reads")
)

// Error says where and in which input, what is wrong, and what would do.
type Error struct {
	Where  string // a line, a file and line, a step; "" where that goes without saying
	Input  string // the input at fault, cut short; "" where there is none to quote
	Reason string // what is wrong, and what would do
	Err    error  // the kind, or the error behind it
}

// Error returns one line: where, quoted input, reason.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Where)
	if e.Input != "" {
		if e.Where != "" {
			b.WriteString(": ")
		}
		b.WriteString(strconv.Quote(e.Input))
		b.WriteByte(' ')
	} else if e.Where != "" {
		b.WriteString(": ")
	}
	b.WriteString(e.Reason)
	return b.String()
}

// Unwrap returns the kind of failure, or the error behind it.
func (e *Error) Unwrap() error { return e.Err }

func fail(where, input, reason string, kind error) error {
	return &Error{Where: where, Input: cutShort(input), Reason: reason, Err: kind}
}

// maxQuoted is how much of an input a message repeats, in bytes.
const maxQuoted = 48

func cutShort(s string) string {
	if len(s) <= maxQuoted {
		return s
	}
	return strings.ToValidUTF8(s[:maxQuoted], "") + "…"
}
