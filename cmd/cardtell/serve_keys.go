package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// verbKeys are the keys that each request takes, beside id and do. Another one would have no effect, which its writer
// does not expect.
var verbKeys = map[string][]string{
	"identify": {"cards", "top"},
	"learn":    {"cards"},
	"relate":   {"pairs"},
	"convert":  {"values", "from", "to", "format", "facility", "door"},
	"check":    {"values", "names", "from", "format", "facility"},
	"match":    {"events", "values", "names", "from", "format", "facility", "shown", "door"},
	"decode":   {"format", "read"},
	"encode":   {"format", "fields", "length"},
}

// checkKeys returns an error for a key that is there twice, of which one value would be lost in silence, and for one
// that has no effect on what is asked.
func checkKeys(line []byte, do string) error {
	var seen [2][]string // of the request, and of the object in it
	for key, depth := range objectKeys(line) {
		if depth == 1 {
			key = strings.ToLower(key) // as the decoder takes them
		}
		if depth > len(seen) || slices.Contains(seen[depth-1], key) {
			return fmt.Errorf("%q: is there twice; write it once", say.Clip(key, 40))
		}
		seen[depth-1] = append(seen[depth-1], key)
	}
	takes, ok := verbKeys[do]
	for _, key := range seen[0] {
		if ok && key != "id" && key != "do" && !slices.Contains(takes, key) {
			return fmt.Errorf("%q: has no effect on %s, which takes %s; leave it out", say.Clip(key, 40), do,
				strings.Join(takes, ", "))
		}
	}
	return nil
}

// objectKeys calls use with every key of a line that is sound JSON, and with how deep it is, from 1.
func objectKeys(line []byte) func(use func(key string, depth int) bool) {
	return func(use func(string, int) bool) {
		depth, start := 0, -1
		for i := 0; i < len(line); i++ {
			switch c := line[i]; {
			case start >= 0 && c == '\\':
				i++
			case start >= 0 && c == '"':
				text := line[start : i+1]
				start = -1
				if !keyEnds(line[i+1:]) {
					continue
				}
				var key string
				if json.Unmarshal(text, &key) == nil && !use(key, depth) {
					return
				}
			case start >= 0:
			case c == '"':
				start = i
			case c == '{':
				depth++
			case c == '}':
				depth--
			}
		}
	}
}

// keyEnds reports whether a colon follows, as it does after a key and after no other text.
func keyEnds(rest []byte) bool {
	for _, c := range rest {
		if c != ' ' && c != '\t' && c != '\r' {
			return c == ':'
		}
	}
	return false
}
