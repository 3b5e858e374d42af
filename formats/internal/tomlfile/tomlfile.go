// Package tomlfile reads TOML strictly, says what is wrong with it in words of its own, and writes texts in it.
package tomlfile

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"sort"
	"strings"
	"sync"
	"unicode"

	"github.com/pelletier/go-toml/v2"

	"github.com/cardtell/cardtell/formats/internal/words"
)

// Error says where a file is wrong, and why.
type Error struct {
	Line    int    // 0 where the parser does not say
	Key     string // the key at fault, cut short; "" where none is
	Unknown bool   // there is no such key
	Reason  string // on one line, cut short: it may quote the file
}

// Text says what is wrong with which key.
func (e *Error) Text() string {
	switch {
	case e.Unknown:
		return fmt.Sprintf("%s %q", e.Reason, e.Key)
	case e.Key == "" || strings.HasPrefix(e.Reason, "key "):
		return e.Reason
	}
	return fmt.Sprintf("key %s: %s", e.Key, e.Reason)
}

// Decode reads a file into a struct, which has all the keys that there may be; nil where it is sound.
func Decode(text []byte, into any) *Error {
	dec := toml.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	err := dec.Decode(into)
	if err == nil {
		return nil
	}
	e := ErrorOf(err)
	if e.Line == 0 { // as for a number where a text belongs that reads itself
		e.Line = failing(text, reflect.TypeOf(into).Elem())
	}
	return e
}

// failing returns the line in which a value ends that fails without a line: the first one up to which the text fails
// so.
func failing(text []byte, kind reflect.Type) int {
	lines := bytes.SplitAfter(text, []byte("\n"))
	return 1 + sort.Search(len(lines)-1, func(k int) bool {
		err := toml.Unmarshal(bytes.Join(lines[:k+1], nil), reflect.New(kind).Interface())
		return err != nil && ErrorOf(err).Line == 0
	})
}

// wrongType is how the parser says that a value has the wrong type, naming this program's own types.
var wrongType = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^cannot decode TOML (\S+) into struct field .+ of type (\S+)$`)
})

// ErrorOf is an error of the parser: of several unknown keys, the first.
func ErrorOf(err error) *Error {
	e := &Error{Reason: strings.TrimPrefix(err.Error(), "toml: ")}
	place, ok := errors.AsType[*toml.DecodeError](err)
	if ok {
		e.Line, _ = place.Position()
		e.Key = words.Cut(OneLine(strings.Join(place.Key(), ".")))
	}
	if _, e.Unknown = errors.AsType[*toml.StrictMissingError](err); e.Unknown {
		e.Reason = "no such key"
	}
	if m := wrongType().FindStringSubmatch(e.Reason); m != nil {
		e.Reason = fmt.Sprintf("is of type %s; write %s", m[1], typeWords(m[2], e.Key))
	}
	e.Reason = words.CutAt(OneLine(e.Reason), 4*words.Most)
	if first, _, _ := strings.Cut(e.Reason, " "); slices.Contains([]string{"expected", "unexpected", "invalid"}, first) {
		e.Reason += `; a line is KEY = VALUE, with texts in "quotes"`
		if e.Line == 1 {
			e.Reason += "; is it the right file?" // a list by mistake, say
		}
	}
	return e
}

// typeWords says what to write where a type of Go is wanted.
func typeWords(name, key string) string {
	switch {
	case strings.HasPrefix(name, "[]") && strings.Contains(name, "."):
		return fmt.Sprintf("tables, each in braces or begun with [[%s]]", key)
	case strings.HasPrefix(name, "map["), strings.HasSuffix(name, "Row"):
		return "a table in braces"
	}
	return cmp.Or(map[string]string{
		"int": "a whole number", "int64": "a whole number", "float64": "a number", "bool": "true or false",
		"[]string": "a list of texts in square brackets",
	}[name], "a text in quotes") // and what reads itself from one: spans, names, reads
}

// OneLine returns a text with control characters, which neither a comment nor a line of an error may hold, as spaces.
func OneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s)
}

// Quote writes a basic string. Its escapes are those of JSON, and strconv's differ from them for control characters
// only, which are written out here.
func Quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7F:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
