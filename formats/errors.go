package formats

import (
	"errors"
	"strconv"

	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// The kinds of failure. Every error of this package is an [*Error], or a [*wiegand.Error] about the bits of a
// read or the value of a field, and wraps one of them, or one of package wiegand.
var (
	// ErrSyntax: a text is not written the way it must be. It is the same as that of package wiegand.
	ErrSyntax = wiegand.ErrSyntax
	// ErrAmbiguous: a text can be read in two ways.
	ErrAmbiguous = errors.New("ambiguous")
	// ErrDefinition: a definition file contradicts itself.
	ErrDefinition = errors.New("definition")
	// ErrForm: a format cannot be written in a form, or a text does not fit it.
	ErrForm = errors.New("form")
	// ErrMissing: the text does not say enough, such as the facility.
	ErrMissing = errors.New("missing")
)

// Error says where and in which input, what is wrong, and what would do.
type Error struct {
	Where  string // what was being read: a file and line, a format, a form
	Input  string // the input at fault, cut short; "" where there is none to quote
	Reason string // what is wrong, and what would do
	Err    error  // the kind
}

// Error returns one line: where, quoted input, reason.
func (e *Error) Error() string {
	text := e.Where
	if e.Input != "" {
		if text != "" {
			text += " "
		}
		text += strconv.Quote(e.Input)
	}
	return text + ": " + e.Reason
}

// Unwrap returns the kind of failure.
func (e *Error) Unwrap() error { return e.Err }

func fail(where, input, reason string, kind error) error {
	return &Error{Where: where, Input: words.Cut(input), Reason: reason, Err: kind}
}
