package osdp

import (
	"bufio"
	"bytes"
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

// hexText is a [Source] of bytes in hex.
type hexText struct {
	lines
	bytes []byte
}

// NewHex returns a source of bytes written in hex, without times: digits in pairs, with spaces, tabs, commas, colons,
// hyphens or 0x between them or nothing at all. What follows a # on a line is ignored. Errors are ErrSyntax with the
// line.
func NewHex(r io.Reader) Source { return &hexText{lines: newLines(r, "read hex")} }

func (h *hexText) Next() (Piece, error) {
	for {
		t, err := h.next()
		if err != nil {
			return Piece{}, err
		}
		if i := bytes.IndexByte(t, '#'); i >= 0 {
			t = t[:i]
		}
		if h.line == 1 {
			t = bytes.TrimPrefix(t, []byte("\xef\xbb\xbf"))
		}
		if h.bytes, err = h.appendHex(h.bytes[:0], t); err != nil {
			return Piece{}, err
		}
		if len(h.bytes) > 0 {
			return Piece{Bytes: h.bytes}, nil
		}
	}
}

// appendHex reads the bytes of one line.
func (l *lines) appendHex(dst, t []byte) ([]byte, error) {
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
		for i := 0; i < len(digits); i += 2 {
			hi, lo := unhex(digits[i]), unhex(digits[i+1])
			if hi > 15 || lo > 15 {
				return dst, l.fail(ErrSyntax, word, "not hex; write bytes as two digits each, 0-9 and A-F")
			}
			dst = append(dst, hi<<4|lo)
		}
	}
	return dst, nil
}

func unhex(c byte) byte {
	switch {
	case '0' <= c && c <= '9':
		return c - '0'
	case 'a' <= c|0x20 && c|0x20 <= 'f':
		return c | 0x20 - 'a' + 10
	}
	return 255
}

// jsonLines is a [Source] of records in JSON.
type jsonLines struct {
	lines
	bytes []byte
}

// NewJSONLines returns a source of JSON lines: an object on each, with the keys
//
//	"at_s"  when the bytes came, a number of seconds since any fixed moment; may be left out
//	"hex"   the bytes, in the forms of [NewHex] but for remarks
//
// Other keys are ignored. A record may begin and end anywhere in a packet. Errors are ErrSyntax with the line.
func NewJSONLines(r io.Reader) Source { return &jsonLines{lines: newLines(r, "read JSON lines")} }

func (j *jsonLines) Next() (Piece, error) {
	for {
		t, err := j.next()
		if err != nil {
			return Piece{}, err
		}
		if j.line == 1 {
			t = bytes.TrimPrefix(t, []byte("\xef\xbb\xbf"))
		}
		if len(t) == 0 {
			continue
		}
		p, err := j.record(t)
		if err != nil || len(p.Bytes) > 0 {
			return p, err
		}
	}
}

func (j *jsonLines) record(t []byte) (p Piece, err error) {
	var r struct {
		At  *json.Number `json:"at_s"`
		Hex *string      `json:"hex"`
	}
	switch err := json.Unmarshal(t, &r); {
	case err != nil:
		return p, j.fail(ErrSyntax, t, `not a JSON object on one line, such as {"at_s":12.5,"hex":"53 80"}: `+err.Error())
	case r.Hex == nil:
		return p, j.fail(ErrSyntax, t, `no key "hex" with the bytes, as in {"at_s":12.5,"hex":"53 80"}`)
	}
	if j.bytes, err = j.appendHex(j.bytes[:0], []byte(*r.Hex)); err != nil {
		return p, err
	}
	p.Bytes = j.bytes
	if r.At != nil {
		if p.At, p.Timed = secondsOf(r.At.String()); !p.Timed {
			return p, j.fail(ErrSyntax, []byte(r.At.String()), "no time; at_s is a number of seconds from 0 to 9000000000")
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
