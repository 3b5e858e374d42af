package formats

import (
	"bytes"
	"errors"
	"fmt"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"github.com/cardtell/cardtell/formats/internal/words"
)

// Where a definition file is wrong, and why, from what the TOML parser says.

// tomlPlace returns file:line of a TOML error.
func tomlPlace(name string, text []byte, err error) string {
	line, ok := tomlLine(err)
	if !ok {
		line = failingLine(text)
	}
	return fmt.Sprintf("%s:%d", name, line)
}

// tomlLine returns the line of an error as the parser says it; it does not for a number where a name belongs.
func tomlLine(err error) (line int, ok bool) {
	if e, ok := errors.AsType[*toml.DecodeError](err); ok { // of several unknown keys, the first
		line, _ = e.Position()
		return line, true
	}
	return 0, false
}

// failingLine returns the line in which a value ends that fails without a line: the first one up to which the text
// fails so.
func failingLine(text []byte) int {
	lines := bytes.SplitAfter(text, []byte("\n"))
	return 1 + sort.Search(len(lines)-1, func(k int) bool {
		var file definitionFile
		err := toml.Unmarshal(bytes.Join(lines[:k+1], nil), &file)
		_, ok := tomlLine(err)
		return err != nil && !ok
	})
}

// tomlReason returns what is wrong, on one line: the parser repeats keys as they are written, however long.
func tomlReason(err error) string {
	if e, ok := errors.AsType[*toml.StrictMissingError](err); ok && len(e.Errors) > 0 {
		return fmt.Sprintf("no such key %q", words.Cut(strings.Join(e.Errors[0].Key(), ".")))
	}
	reason := strings.TrimPrefix(err.Error(), "toml: ")
	if m := wrongType().FindStringSubmatch(reason); m != nil {
		reason = fmt.Sprintf("is of type %s; write %s", m[1], typeWords(m[2]))
	}
	if e, ok := errors.AsType[*toml.DecodeError](err); ok && len(e.Key()) > 0 && !strings.HasPrefix(reason, "key ") {
		reason = fmt.Sprintf("key %s: %s", words.Cut(strings.Join(e.Key(), ".")), reason)
	}
	return words.CutAt(noControls(reason), 6*words.Most)
}

// typeWords says what to write where this package's own type of that name is wanted.
func typeWords(name string) string {
	switch {
	case name == "int":
		return "a whole number"
	case name == "float64":
		return "a number"
	case strings.HasPrefix(name, "[]formats."):
		return "tables, each in braces or begun with [[ ]]"
	case name == "[]string":
		return "a list of texts in square brackets"
	case strings.HasPrefix(name, "map["), strings.HasSuffix(name, "Row"):
		return "a table in braces"
	}
	return "a text in quotes" // and what reads itself from one: spans, names, reads
}

// wrongType is how the TOML parser says that a value has the wrong type, naming this program's own types.
var wrongType = lazily(`^cannot decode TOML (\S+) into struct field .+ of type (\S+)$`)
