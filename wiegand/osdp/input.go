package osdp

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
)

// maxLine is how long a line of a text form may be.
const maxLine = 64 << 10

// text is a [Source] that reads lines, each of which may hold bytes. It keeps half a line over a timeout.
type text struct {
	r     *bufio.Reader
	op    string
	line  int
	part  []byte
	bytes []byte
	piece func(s *text, line []byte) (Piece, error) // what a line holds; no bytes for nothing
}

func newText(r io.Reader, op string, piece func(s *text, line []byte) (Piece, error)) Source {
	return &text{r: bufio.NewReaderSize(r, maxLine), op: op, piece: piece}
}

// next returns the next line, good until the next call.
func (s *text) next() ([]byte, error) {
	t, err := s.r.ReadSlice('\n')
	switch {
	case errors.Is(err, bufio.ErrBufferFull) || len(s.part)+len(t) > maxLine:
		s.line++
		return nil, s.fail(t, fmt.Sprintf("a line longer than %d characters; this is no recording of a bus", maxLine))
	case errors.Is(err, io.EOF) && len(s.part)+len(t) > 0, err == nil:
		s.line++
		if len(s.part) > 0 {
			t = append(s.part, t...)
			s.part = nil
		}
		return bytes.TrimSpace(t), nil
	}
	s.part = append(s.part, t...)
	return nil, err
}

func (s *text) fail(quoted []byte, reason string) error {
	return &Error{Op: s.op, Line: s.line, Input: cutShort(quoted), Reason: reason, Err: ErrSyntax}
}

func (s *text) Next() (Piece, error) {
	for {
		t, err := s.next()
		if err != nil {
			return Piece{}, err
		}
		if s.line == 1 {
			t = bytes.TrimPrefix(t, []byte("\xef\xbb\xbf"))
		}
		if p, err := s.piece(s, t); err != nil || len(p.Bytes) > 0 {
			return p, err
		}
	}
}

// NewHex returns a source of bytes written in hex, without times: digits in pairs, with spaces, tabs, commas, colons,
// hyphens or 0x between them or nothing at all. What follows a # on a line is ignored. Errors are ErrSyntax with the
// line.
func NewHex(r io.Reader) Source {
	return newText(r, "read hex", func(s *text, line []byte) (Piece, error) {
		line, _, _ = bytes.Cut(line, []byte("#"))
		return s.hex(line)
	})
}

// hex reads bytes, good until the next call.
func (s *text) hex(t []byte) (_ Piece, err error) {
	s.bytes = s.bytes[:0]
	isSeparator := func(r rune) bool { return strings.ContainsRune(" \t,:-;", r) }
	for _, word := range bytes.FieldsFunc(t, isSeparator) {
		digits := word
		if len(digits) > 2 && digits[0] == '0' && digits[1]|0x20 == 'x' {
			digits = digits[2:]
		}
		if len(digits)%2 != 0 {
			return Piece{}, s.fail(word, "an odd number of hex digits; a byte has two")
		}
		if s.bytes, err = hex.AppendDecode(s.bytes, digits); err != nil {
			return Piece{}, s.fail(word, "not hex; write bytes as two digits each, 0-9 and A-F")
		}
	}
	return Piece{Bytes: s.bytes}, nil
}

// NewJSONLines returns a source of JSON lines: an object on each, with the keys
//
//	"at_s"  when the bytes came, a number of seconds since any fixed moment; may be left out
//	"hex"   the bytes, in the forms of [NewHex] but for remarks
//
// Other keys are ignored. A record may begin and end anywhere in a packet. Errors are ErrSyntax with the line.
func NewJSONLines(r io.Reader) Source {
	return newText(r, "read JSON lines", (*text).record)
}

func (s *text) record(t []byte) (p Piece, err error) {
	if len(t) == 0 {
		return p, nil
	}
	var r struct {
		At  *json.Number `json:"at_s"`
		Hex *string      `json:"hex"`
	}
	switch err := json.Unmarshal(t, &r); {
	case err != nil:
		return p, s.fail(t, `not a JSON object on one line, such as {"at_s":12.5,"hex":"53 80"}: `+err.Error())
	case r.Hex == nil:
		return p, s.fail(t, `no key "hex" with the bytes, as in {"at_s":12.5,"hex":"53 80"}`)
	}
	if p, err = s.hex([]byte(*r.Hex)); err != nil || r.At == nil {
		return p, err
	}
	if p.At, p.Timed = secondsOf(r.At.String()); !p.Timed {
		return Piece{}, s.fail([]byte(r.At.String()), "no time; at_s is a number of seconds from 0 to 9000000000")
	}
	return p, nil
}

// maxSeconds bounds times, so that none overflows and Unix time fits for some centuries.
const maxSeconds = 9e9

// secondsOf reads a JSON number as seconds, exactly to the nanosecond where it has no exponent: a float64 would lose
// the microseconds of a time of day.
func secondsOf(s string) (time.Duration, bool) {
	if f, err := strconv.ParseFloat(s, 64); err != nil || f < 0 || f > maxSeconds {
		return 0, false
	} else if strings.ContainsAny(s, "eE") {
		return time.Duration(f * 1e9), true
	}
	whole, part, _ := strings.Cut(strings.TrimPrefix(s, "-"), ".")
	part = (part + "000000000")[:9]
	n, err := strconv.ParseInt(whole+part, 10, 64)
	return time.Duration(n), err == nil
}
