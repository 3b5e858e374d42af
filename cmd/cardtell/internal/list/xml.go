package list

import (
	"bufio"
	"encoding/xml"
	"io"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
)

// tape is XML that is read token by token with the bytes of each at hand.
type tape struct {
	src  *bufio.Reader
	buf  []byte // bytes that were read since the last cut
	base int64  // where in the text buf begins
	dec  *xml.Decoder
}

func newTape(r io.Reader) *tape {
	t := &tape{src: bufio.NewReaderSize(r, 1<<16)}
	t.dec = xml.NewDecoder(t)
	return t
}

// ReadByte is what the decoder reads by, so that it never reads ahead.
func (t *tape) ReadByte() (byte, error) {
	c, err := t.src.ReadByte()
	if err == nil {
		t.buf = append(t.buf, c)
	}
	return c, err
}

// Read implements [io.Reader], which the decoder asks for and does not call.
func (t *tape) Read(p []byte) (int, error) {
	n, err := t.src.Read(p)
	t.buf = append(t.buf, p[:n]...)
	return n, err
}

// at returns how many bytes of buf the tokens so far have taken.
func (t *tape) at() int { return int(t.dec.InputOffset() - t.base) }

// cut forgets the bytes of the tokens so far.
func (t *tape) cut() {
	n := t.at()
	t.buf = t.buf[:copy(t.buf, t.buf[n:])]
	t.base += int64(n)
}

// escapedSign is a character by its number, in a text of a workbook (ECMA-376 part 1, 22.9.2.19).
var escapedSign = pattern.Lazily(`_x[0-9A-Fa-f]{4}_`)

// unescapeSigns returns what a text of a workbook means.
func unescapeSigns(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	return escapedSign().ReplaceAllStringFunc(s, func(m string) string {
		n, err := strconv.ParseUint(m[2:6], 16, 32)
		if err != nil || n >= 0xD800 && n <= 0xDFFF || n == 0 {
			return m
		}
		return string(rune(n))
	})
}

// appendText appends a text as one of a workbook.
func appendText(dst []byte, s string) []byte {
	if strings.Contains(s, "_x") {
		s = escapedSign().ReplaceAllStringFunc(s, func(m string) string { return "_x005F" + m })
	}
	for _, r := range s {
		switch {
		case r == '&':
			dst = append(dst, "&amp;"...)
		case r == '<':
			dst = append(dst, "&lt;"...)
		case r == '>':
			dst = append(dst, "&gt;"...)
		case r == '\n':
			dst = append(dst, '\n')
		case r < 0x20:
			dst = append(dst, "_x00"...)
			if r < 0x10 {
				dst = append(dst, '0')
			}
			dst = append(strconv.AppendInt(dst, int64(r), 16), '_')
		case r == 0xFFFE || r == 0xFFFF:
			dst = append(dst, "\uFFFD"...)
		default:
			dst = append(dst, string(r)...)
		}
	}
	return dst
}

// plainText collects the text of elements t, runs and all, but not the readings printed above (rPh).
type plainText struct {
	text   []byte
	inside bool // a t
	skip   int  // depth inside of what is no text
}

func (p *plainText) reset() { p.text, p.inside, p.skip = p.text[:0], false, 0 }

func (p *plainText) token(t xml.Token) {
	switch t := t.(type) {
	case xml.StartElement:
		if p.skip > 0 || t.Name.Local == "rPh" {
			p.skip++
		}
		p.inside = t.Name.Local == "t" && p.skip == 0
	case xml.EndElement:
		if p.skip > 0 {
			p.skip--
		}
		p.inside = false
	case xml.CharData:
		if p.inside {
			p.text = append(p.text, t...)
		}
	}
}

func attr(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}
