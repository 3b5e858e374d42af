package learn

import (
	"errors"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// The kinds of failure. Every error of this package is a [*formats.Error] that wraps one of them, or one of package
// formats about a spelling.
var (
	// ErrReads: a read or what is printed on a card can't be used.
	ErrReads = errors.New("reads")
)

func fail(where, input, reason string, kind error) error {
	return &formats.Error{Where: where, Input: words.Cut(input), Reason: reason, Err: kind}
}
