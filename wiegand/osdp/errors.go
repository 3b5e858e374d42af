package osdp

import (
	"errors"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// The kinds of failure. Every error of this package, but for those of the reader underneath, is an [*Error] that wraps
// one of them; test with errors.Is.
var (
	// ErrShort: the bytes end before the packet does.
	ErrShort = errors.New("short")
	// ErrSyntax: the input is not written the way it must be. It is the same as that of package wiegand.
	ErrSyntax = wiegand.ErrSyntax
	// ErrCheck: the packet's CRC or checksum is wrong.
	ErrCheck = errors.New("check")
	// ErrKind: the packet is of another kind than asked for.
	ErrKind = errors.New("kind")
	// ErrEncrypted: the packet's data cannot be read without the session's key.
	ErrEncrypted = errors.New("encrypted")
)

// Error says what was being read, where, and what is wrong.
type Error = wiegand.Error

func fail(op string, kind error, format string, args ...any) error {
	return &Error{Op: op, Reason: fmt.Sprintf(format, args...), Err: kind}
}

// maxQuoted is how much of an input an error repeats, in bytes.
const maxQuoted = 40

func cutShort(s []byte) string {
	if len(s) <= maxQuoted {
		return string(s)
	}
	return strings.ToValidUTF8(string(s[:maxQuoted]), "") + "…"
}
