package fuzz

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
	"github.com/cardtell/cardtell/wiegand"
)

// kinds are the kinds of failure that the libraries declare.
var kinds = []error{
	wiegand.ErrSyntax, wiegand.ErrRange, wiegand.ErrLength, wiegand.ErrLayout,
	formats.ErrSyntax, formats.ErrAmbiguous, formats.ErrDefinition, formats.ErrForm, formats.ErrMissing,
	relate.ErrPairs, relate.ErrRule, relate.ErrInput, relate.ErrFit,
}

// longest is more than any error has, for an input of any length.
const longest = 1200

// declared fails unless an error is of a declared type and kind, and one short line.
func declared(t *testing.T, err error) {
	t.Helper()
	var core *wiegand.Error
	var own *formats.Error
	if !errors.As(err, &core) && !errors.As(err, &own) {
		t.Fatalf("error of type %T: %v", err, err)
	}
	known := false
	for _, kind := range kinds {
		known = known || errors.Is(err, kind)
	}
	if !known {
		t.Fatalf("error of no declared kind: %v", err)
	}
	if s := err.Error(); strings.ContainsAny(s, "\n\r") || len(s) > longest || !utf8.ValidString(s) {
		t.Fatalf("error is no short line: %d bytes, %q", len(s), s)
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
