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

// Of returns a whole document: an object, its keys by a function.
func Of(keys func(w *Writer)) json.RawMessage {
	var w Writer
	w.Object("", func() { keys(&w) })
	return json.RawMessage(w)
}

// Object writes an object, its keys by a function, also one without any.
func (w *Writer) Object(key string, keys func()) { w.enclose(key, "{}", true, keys) }

// SomeObject writes an object that is not empty.
func (w *Writer) SomeObject(key string, keys func()) { w.enclose(key, "{}", false, keys) }

// Array writes a list, its items by a function, also one of none.
func (w *Writer) Array(key string, items func()) { w.enclose(key, "[]", true, items) }

// SomeArray writes a list that is not empty.
func (w *Writer) SomeArray(key string, items func()) { w.enclose(key, "[]", false, items) }

// enclose writes what fill does between two signs; without empty, not even its key where that is nothing.
func (w *Writer) enclose(key, signs string, empty bool, fill func()) {
	begin := len(*w)
	w.key(key)
	*w = append(*w, signs[0])
	inside := len(*w)
	if fill(); len(*w) == inside && !empty {
		*w = (*w)[:begin]
		return
	}
	*w = append(*w, signs[1])
}

// List writes a list of objects, the keys of each by a function, also a list of none.
func List[T any](w *Writer, key string, all []T, keys func(item *T)) {
	w.Array(key, func() {
		for i := range all {
			w.Object("", func() { keys(&all[i]) })
		}
	})
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
	w.enclose(key, `""`, false, func() { *w = add(*w) })
}

// Texts writes lists that are not all empty as one.
func (w *Writer) Texts(key string, lists ...[]string) {
	w.SomeArray(key, func() {
		for _, texts := range lists {
			for _, text := range texts {
				w.Text("", text)
			}
		}
	})
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
	w.SomeArray(key, func() {
		for _, n := range all {
			w.Int("", n)
		}
	})
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
