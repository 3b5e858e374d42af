package relate

import (
	"errors"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// The kinds of failure. Every error of this package is a [*formats.Error] that wraps one of them, or one of package
// formats about a spelling.
var (
	// ErrPairs: a pair of numbers can't be used.
	ErrPairs = errors.New("pairs")
	// ErrRule: a rule file contradicts itself, or a rule can't be reversed.
	ErrRule = errors.New("rule")
	// ErrInput: a text is not written as the rule expects.
	ErrInput = errors.New("input")
	// ErrFit: a number does not fit a step of the rule, or the way in which it is to be written. Nothing is cut to fit.
	ErrFit = errors.New("fit")
)

func fail(where, input, reason string, kind error) error {
	return &formats.Error{Where: where, Input: words.Cut(input), Reason: reason, Err: kind}
}
