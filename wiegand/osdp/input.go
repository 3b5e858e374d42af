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

// lines reads lines, and keeps half a line over a timeout.
type lines struct {
	r    *bufio.Reader
	op   string
	line int
	part []byte
}

func newLines(r io.Reader, op string) lines { return lines{r: bufio.NewReaderSize(r, maxLine), op: op} }

// next returns the next line, good until the next call.
func (l *lines) next() ([]byte, error) {
	t, err := l.r.ReadSlice('\n')
	switch {
	case errors.Is(err, bufio.ErrBufferFull) || len(l.part)+len(t) > maxLine:
		l.line++
		return nil, l.fail(ErrSyntax, t, fmt.Sprintf("a line longer than %d characters; this is no recording of a bus",
			maxLine))
	case errors.Is(err, io.EOF) && len(l.part)+len(t) > 0, err == nil:
		l.line++
		if len(l.part) > 0 {
			t = append(l.part, t...)
			l.part = nil
		}
		return bytes.TrimSpace(t), nil
	}
	l.part = append(l.part, t...)
	return nil, err
}

func (l *lines) fail(kind error, quoted []byte, reason string) error {
	return &Error{Op: l.op, Line: l.line, Input: cutShort(quoted), Reason: reason, Err: kind}
}

// text is a [Source] that reads lines, each of which may hold bytes.
type text struct {
	lines
	bytes []byte
	piece func(s *text, line []byte) (Piece, error) // what a line holds; no bytes for nothing
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
		p, err := s.piece(s, t)
		if err != nil {
			return Piece{}, err
		}
		if len(p.Bytes) > 0 {
			return p, nil
		}
	}
}

// NewHex returns a source of bytes written in hex, without times: digits in pairs, with spaces, tabs, commas, colons,
// hyphens or 0x between them or nothing at all. What follows a # on a line is ignored. Errors are ErrSyntax with the
// line.
func NewHex(r io.Reader) Source {
	return &text{lines: newLines(r, "read hex"), piece: func(s *text, line []byte) (p Piece, err error) {
		line, _, _ = bytes.Cut(line, []byte("#"))
		s.bytes, err = s.appendHex(s.bytes[:0], line)
		return Piece{Bytes: s.bytes}, err
	}}
}

// appendHex reads the bytes of one line.
func (l *lines) appendHex(dst, t []byte) (_ []byte, err error) {
	isSeparator := func(r rune) bool {
		return r == ' ' || r == '\t' || r == ',' || r == ':' || r == '-' || r == ';'
	}
	for _, word := range bytes.FieldsFunc(t, isSeparator) {
		digits := word
		if len(digits) > 2 && digits[0] == '0' && digits[1]|0x20 == 'x' {
			digits = digits[2:]
		}
		if len(digits)%2 != 0 {
			return dst, l.fail(ErrSyntax, word, "an odd number of hex digits; a byte has two")
		}
		if dst, err = hex.AppendDecode(dst, digits); err != nil {
			return dst, l.fail(ErrSyntax, word, "not hex; write bytes as two digits each, 0-9 and A-F")
		}
	}
	return dst, nil
}

// NewJSONLines returns a source of JSON lines: an object on each, with the keys
//
//	"at_s"  when the bytes came, a number of seconds since any fixed moment; may be left out
//	"hex"   the bytes, in the forms of [NewHex] but for remarks
//
// Other keys are ignored. A record may begin and end anywhere in a packet. Errors are ErrSyntax with the line.
func NewJSONLines(r io.Reader) Source {
	return &text{lines: newLines(r, "read JSON lines"), piece: (*text).record}
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
		return p, s.fail(ErrSyntax, t, `not a JSON object on one line, such as {"at_s":12.5,"hex":"53 80"}: `+err.Error())
	case r.Hex == nil:
		return p, s.fail(ErrSyntax, t, `no key "hex" with the bytes, as in {"at_s":12.5,"hex":"53 80"}`)
	}
	if s.bytes, err = s.appendHex(s.bytes[:0], []byte(*r.Hex)); err != nil {
		return p, err
	}
	p.Bytes = s.bytes
	if r.At != nil {
		if p.At, p.Timed = secondsOf(r.At.String()); !p.Timed {
			return p, s.fail(ErrSyntax, []byte(r.At.String()), "no time; at_s is a number of seconds from 0 to 9000000000")
		}
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
