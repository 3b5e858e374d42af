package learn

import (
	"errors"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/words"
)

// The kinds of failure. Every error of this package is an [*Error] that wraps one of them, or one of package formats
// about a spelling.
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
	return &Error{Where: where, Input: words.Cut(input), Reason: reason, Err: kind}
}
