package osdp

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// The kinds of failure. Every error of this package, but for those of the reader underneath, is an [*Error] that wraps
// one of them; test with errors.Is.
var (
	// ErrShort: the bytes end before the packet does.
	ErrShort = errors.New("short")
	// ErrSyntax: the input is not written the way it must be.
	ErrSyntax = errors.New("syntax")
	// ErrCheck: the packet's CRC or checksum is wrong.
	ErrCheck = errors.New("check")
	// ErrKind: the packet is of another kind than asked for.
	ErrKind = errors.New("kind")
	// ErrEncrypted: the packet's data cannot be read without the session's key.
	ErrEncrypted = errors.New("encrypted")
)

// Error says what was being read, where, and what is wrong.
type Error struct {
	Op     string // what was being done, such as "read hex"
	Line   int    // line of the input, from 1; 0 where there is none
	Input  string // the input at fault, cut short; "" where there is none to quote
	Reason string // what is wrong, and what would do
	Err    error  // one of the kinds above
}

// Error returns one line: operation, place, quoted input, reason.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Op)
	if e.Line > 0 {
		fmt.Fprintf(&b, ": line %d", e.Line)
	}
	if e.Input != "" {
		b.WriteString(": ")
		b.WriteString(strconv.Quote(e.Input))
	}
	b.WriteString(": ")
	b.WriteString(e.Reason)
	return b.String()
}

// Unwrap returns the kind of failure.
func (e *Error) Unwrap() error { return e.Err }

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
