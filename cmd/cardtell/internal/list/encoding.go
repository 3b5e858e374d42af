package list

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Encoding is how a list's text is turned into bytes. The zero Encoding is UTF-8.
type Encoding struct {
	Name string // for people
	Note string // why it was taken, where that is no certain thing; "" otherwise

	// Where single is set a byte is a character and the first 128 are ASCII: rows are taken apart as they are, and only
	// what is shown to people is decoded. Where wide is set the whole file is decoded, and encoded again on the way out.
	single *charmap.Charmap
	wide   encoding.Encoding
}

const utf8BOM = "\xef\xbb\xbf"

// EncodingByName returns the encoding of a name as the web or the IANA registry has it, such as windows-1252 or
// utf-16le, or as spreadsheets call it (ansi). The error is for a name that means nothing here.
func EncodingByName(name string) (Encoding, error) {
	lower := strings.ToLower(strings.TrimSpace(name))
	if alias := aliases[lower]; alias != "" {
		lower = alias
	}
	switch lower {
	case "utf-8":
		return Encoding{Name: "UTF-8"}, nil
	case "utf-16le", "utf-16be":
		return utf16(lower == "utf-16be"), nil
	}
	enc := encodingNamed(lower)
	if enc == nil {
		return Encoding{}, fmt.Errorf("encoding %q: no such encoding; write utf-8, utf-16le, utf-16be, windows-1252 or another IANA name", cutShort(name))
	}
	if single, ok := enc.(*charmap.Charmap); ok && asciiBased(single) {
		return Encoding{Name: single.String(), single: single}, nil
	}
	return Encoding{Name: lower, wide: enc}, nil
}

// aliases are names that people use and neither register has.
var aliases = map[string]string{
	"utf8": "utf-8", "utf-8-sig": "utf-8", "utf16": "utf-16le", "utf-16": "utf-16le", "unicode": "utf-16le",
	"ansi":  "windows-1252",
	"cp932": "shift_jis", "latin1": "windows-1252", "mac": "macintosh",
}

func asciiBased(m *charmap.Charmap) bool {
	for b := range byte(utf8.RuneSelf) {
		if m.DecodeByte(b) != rune(b) {
			return false
		}
	}
	return true
}

func utf16(big bool) Encoding {
	if big {
		return Encoding{Name: "UTF-16 (high byte first)", wide: unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)}
	}
	return Encoding{Name: "UTF-16", wide: unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)}
}

// detectEncoding tells from a file's beginning how it is encoded: by its byte order mark, by zeros in every second
// byte, as UTF-8 where it is valid; and else as windows-1252, which is a guess.
func detectEncoding(sample []byte, whole bool) (Encoding, error) {
	switch {
	case bytes.HasPrefix(sample, []byte("\xff\xfe\x00\x00")), bytes.HasPrefix(sample, []byte("\x00\x00\xfe\xff")):
		return Encoding{}, fmt.Errorf("the text is UTF-32, which is not read here; save it as UTF-8")
	case bytes.HasPrefix(sample, []byte("\xff\xfe")):
		return utf16(false), nil
	case bytes.HasPrefix(sample, []byte("\xfe\xff")):
		return utf16(true), nil
	case bytes.HasPrefix(sample, []byte(utf8BOM)):
		return Encoding{Name: "UTF-8"}, nil
	}
	if even, odd := zeros(sample); even+odd > len(sample)/8 {
		e := utf16(even > odd)
		e.Note = "it has no byte order mark"
		return e, nil
	}
	if valid(sample, whole) {
		return Encoding{Name: "UTF-8"}, nil
	}
	return Encoding{
		Name: "windows-1252", single: charmap.Windows1252,
		Note: "it is not UTF-8, and nothing in it says what it is; --encoding NAME would",
	}, nil
}

func zeros(sample []byte) (even, odd int) {
	for i, b := range sample {
		if b == 0 && i%2 == 0 {
			even++
		} else if b == 0 {
			odd++
		}
	}
	return even, odd
}

// valid reports whether a sample is UTF-8, but for a character that the end of the sample has split.
func valid(sample []byte, whole bool) bool {
	for cut := 0; cut < utf8.UTFMax && cut <= len(sample); cut++ {
		if utf8.Valid(sample[:len(sample)-cut]) {
			return cut == 0 || !whole && !utf8.FullRune(sample[len(sample)-cut:])
		}
	}
	return false
}

// reader returns the text as rows are taken apart: of a wide encoding as UTF-8, of others as it is.
func (e Encoding) reader(r io.Reader) io.Reader {
	if e.wide == nil {
		return r
	}
	return transform.NewReader(r, e.wide.NewDecoder())
}

// text returns what bytes of a row mean.
func (e Encoding) text() func([]byte) string {
	if e.single == nil {
		return nil
	}
	return func(b []byte) string {
		s := make([]byte, 0, len(b))
		for _, c := range b {
			s = utf8.AppendRune(s, e.single.DecodeByte(c))
		}
		return string(s)
	}
}

// encoder returns what turns UTF-8 into this encoding; nil where nothing is to be done. It fails on what cannot be
// written.
func (e Encoding) encoder() *encoding.Encoder {
	switch {
	case e.wide != nil:
		return e.wide.NewEncoder()
	case e.single != nil:
		return e.single.NewEncoder()
	}
	return nil
}
