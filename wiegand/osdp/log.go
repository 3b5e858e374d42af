package osdp

import (
	"bytes"
	"encoding/hex"
	"io"
	"strings"
)

// NewLog returns a source of the bytes in a log or a dump: of each line the longest row of bytes in hex, written alike,
// as in "12:00:01 RX: 53 80 08 00", "0040: 5380 0800 |S...|" or "{0x53, 0x80}". All else on a line is ignored, and a
// line without any; so there is no error but ErrSyntax for a line that is too long, and those of r. That what was taken
// for bytes is packets is for their checks to say.
func NewLog(r io.Reader) Source {
	return newText(r, "read log", func(s *text, line []byte) (Piece, error) {
		s.bytes = appendRow(s.bytes[:0], line)
		return Piece{Bytes: s.bytes}, nil
	})
}

// appendRow appends the longest row of bytes in a line; of two the last one, since times and counts come first. What is
// behind a | are the same bytes as characters.
func appendRow(dst, t []byte) []byte {
	if i := bytes.IndexByte(t, '|'); i > 0 {
		t = t[:i]
	}
	from := len(dst)
	var row []byte
	var had spelled
	keep := func() {
		if len(row) >= len(dst)-from {
			dst = append(dst[:from], row...)
		}
		row = row[:0]
	}
	between := func(r rune) bool { return strings.ContainsRune(" \t,;=()[]{}<>\"'", r) }
	for i, word := range bytes.FieldsFunc(t, between) {
		bs, form, ok := wordBytes(word)
		switch {
		case !ok || form.join != had.join || form.digits > had.digits:
			keep()
		case i == 1 && form.digits < had.digits: // the first word of a dump is the place of its bytes
			row = row[:0]
		}
		if had = form; ok {
			row = append(row, bs...)
		}
	}
	keep()
	return dst
}

// spelled is how bytes are written in a word: with how many digits, and what between two.
type spelled struct {
	digits int
	join   byte
}

// wordBytes reads a word such as 53, 0x53, 53h, \x53\x80, 5380 or 53:80.
func wordBytes(word []byte) (bs []byte, form spelled, ok bool) {
	parts := [][]byte{word}
	for _, join := range []string{":", "-", `\x`, "0x", "0X"} {
		if bytes.Contains(word, []byte(join)) {
			parts, form.join = bytes.Split(bytes.TrimPrefix(word, []byte(join)), []byte(join)), join[0]
			break
		}
	}
	for _, p := range parts {
		if n := len(p) - 1; n == 2 && p[n]|0x20 == 'h' {
			p = p[:n]
		}
		if len(p) == 0 || len(p)%2 != 0 || len(parts) > 1 && len(p) != 2 {
			return nil, form, false
		}
		var err error
		if bs, err = hex.AppendDecode(bs, p); err != nil {
			return nil, form, false
		}
		form.digits = len(p)
	}
	return bs, form, true
}
