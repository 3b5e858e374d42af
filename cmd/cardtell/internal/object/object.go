// Package object writes JSON key by key straight into bytes, as encoding/json writes a struct whose empty fields are
// left out: without a look at types for every answer of a long list.
package object

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// Writer is JSON so far. Items of a list have the key "".
type Writer []byte

// Open begins an object or a list, of which bracket is { or [, and returns where it begins, for [Writer.CloseSome].
func (w *Writer) Open(key string, bracket byte) (begin int) {
	begin = len(*w)
	w.key(key)
	*w = append(*w, bracket)
	return begin
}

// Close ends what [Writer.Open] began: bracket is } or ].
func (w *Writer) Close(bracket byte) { *w = append(*w, bracket) }

// CloseSome is Close, but takes back with its key what stayed empty.
func (w *Writer) CloseSome(begin int, bracket byte) {
	if last := (*w)[len(*w)-1]; last == '{' || last == '[' {
		*w = (*w)[:begin]
		return
	}
	w.Close(bracket)
}

// List writes a list of objects, the keys of each by a function, also a list of none.
func List[T any](w *Writer, key string, all []T, keys func(item *T)) {
	w.Open(key, '[')
	for i := range all {
		w.Open("", '{')
		keys(&all[i])
		w.Close('}')
	}
	w.Close(']')
}

// key begins a value, behind a comma where it is not the first.
func (w *Writer) key(key string) {
	b := *w
	if n := len(b); n > 0 && b[n-1] != '{' && b[n-1] != '[' && b[n-1] != '\n' {
		b = append(b, ',')
	}
	if key != "" {
		b = append(append(append(b, '"'), key...), `":`...)
	}
	*w = b
}

// Text writes a text that is not empty.
func (w *Writer) Text(key, text string) {
	if text == "" {
		return
	}
	w.key(key)
	for i := range len(text) {
		if c := text[i]; c < ' ' || c >= 0x7f || c == '"' || c == '\\' {
			*w = append(*w, escaped(text)...)
			return
		}
	}
	*w = append(append(append(*w, '"'), text...), '"')
}

func escaped(text string) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	_ = enc.Encode(text) // into memory: it can't fail
	return bytes.TrimSuffix(b.Bytes(), []byte("\n"))
}

// Append writes the text that add appends, which has neither quotes nor signs that JSON escapes; nothing where that is
// nothing.
func (w *Writer) Append(key string, add func(dst []byte) []byte) {
	begin := w.Open(key, '"')
	n := len(*w)
	if *w = append(add(*w), '"'); len(*w) == n+1 {
		*w = (*w)[:begin]
	}
}

// Texts writes lists that are not all empty as one.
func (w *Writer) Texts(key string, lists ...[]string) {
	begin := w.Open(key, '[')
	for _, texts := range lists {
		for _, text := range texts {
			w.Text("", text)
		}
	}
	w.CloseSome(begin, ']')
}

// Int writes a number that is not 0.
func (w *Writer) Int(key string, n int) {
	if n != 0 {
		w.key(key)
		*w = strconv.AppendInt(*w, int64(n), 10)
	}
}

// Ints writes a list that is not empty.
func (w *Writer) Ints(key string, all []int) {
	begin := w.Open(key, '[')
	for _, n := range all {
		w.Int("", n)
	}
	w.CloseSome(begin, ']')
}

// Bool writes a truth, whichever it is.
func (w *Writer) Bool(key string, is bool) {
	w.key(key)
	*w = strconv.AppendBool(*w, is)
}

// Float writes a number, also 0, in as many digits as it takes.
func (w *Writer) Float(key string, f float64) {
	w.key(key)
	if size := math.Abs(f); f == 0 || size >= 1e-6 && size < 1e21 {
		*w = strconv.AppendFloat(*w, f, 'f', -1, 64)
		return
	}
	*w = strconv.AppendFloat(*w, f, 'e', -1, 64)
	if b := *w; b[len(b)-4] == 'e' && b[len(b)-2] == '0' { // e-09 is e-9 elsewhere
		b[len(b)-2] = b[len(b)-1]
		*w = b[:len(b)-1]
	}
}
