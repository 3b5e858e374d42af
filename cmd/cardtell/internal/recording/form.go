// Package recording opens what was recorded of a reader's line, whatever it was recorded with: what form it has, which
// of its signals are the wires, and a live one as it comes. It makes recordings too.
package recording

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// forms are what a recording may be.
var forms = []string{"vcd", "csv", "hex", "binary", "json-lines", "log"}

// sniffLen is how much of a recording is looked at to see what it is.
const sniffLen = 4096

// FormOf tells what a recording is, from its beginning unless it is said. It returns a reader that begins at the
// beginning. Of a live recording no more is waited for than its first line.
func FormOf(in io.Reader, said string, live bool) (string, io.Reader, error) {
	if said != "" {
		if slices.Contains(forms, said) {
			return said, in, nil
		}
		return "", nil, fmt.Errorf("--as %q: no such form; there are %s", said, strings.Join(forms, ", "))
	}
	head := make([]byte, 0, sniffLen)
	for len(head) < sniffLen && !(live && bytes.IndexByte(bytes.TrimLeft(head, " \t\r\n"), '\n') >= 0) {
		n, err := in.Read(head[len(head):sniffLen])
		head = head[:len(head)+n]
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
			return "", nil, err
		}
	}
	if len(bytes.TrimSpace(head)) == 0 {
		return "", nil, errors.New("the recording is empty; is it the right one?")
	}
	return sniff(head), io.MultiReader(bytes.NewReader(head), in), nil
}

// Text returns what is in a file: where that is UTF-16 and says so with its mark, in UTF-8.
func Text(in io.Reader) io.Reader {
	b := bufio.NewReaderSize(in, sniffLen)
	if mark, _ := b.Peek(2); string(mark) == "\xff\xfe" || string(mark) == "\xfe\xff" {
		return transform.NewReader(b, unicode.BOMOverride(transform.Nop))
	}
	return b
}

func sniff(head []byte) string {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case len(text) > 0 && text[0] == '$':
		return "vcd"
	case len(text) > 0 && text[0] == '{' && bytes.IndexByte(text, '"') > 0:
		return "json-lines"
	case !isText(head):
		return "binary"
	case isHex(text):
		return "hex"
	case isLog(text):
		return "log"
	}
	return "csv"
}

// isLog tells whether text has a packet of a reader bus in it whose check is right.
func isLog(text []byte) bool {
	_, err := osdp.NewScanner(osdp.NewLog(bytes.NewReader(text))).Next()
	return err == nil
}

// isText tells whether bytes are text, in whatever encoding: a packet of a bus has a zero in its length.
func isText(b []byte) bool {
	return !bytes.ContainsFunc(b, func(r rune) bool { return r < ' ' && r != '\t' && r != '\r' && r != '\n' })
}

// isHex tells whether the first line that is no remark is bytes in hex, with a packet's first byte, 53, among them.
// Where that line has no end, text may have been cut within its last byte.
func isHex(text []byte) bool {
	for t := range bytes.Lines(text) {
		if i := bytes.IndexByte(t, '#'); i >= 0 {
			t = t[:i]
		}
		words := bytes.FieldsFunc(bytes.ToLower(t), func(r rune) bool { return strings.ContainsRune(" \t\r\n,:-;", r) })
		found, cut := false, !bytes.HasSuffix(t, []byte("\n"))
		for i, w := range words {
			w = bytes.TrimPrefix(w, []byte("0x"))
			if cut && i == len(words)-1 {
				w = w[:len(w)&^1]
			}
			if len(w)%2 != 0 || len(bytes.Trim(w, "0123456789abcdef")) > 0 || len(w) > 2 && len(words) > 1 {
				return false
			}
			for i := 0; i < len(w); i += 2 {
				found = found || string(w[i:i+2]) == "53"
			}
		}
		if len(words) > 0 {
			return found
		}
	}
	return false
}
