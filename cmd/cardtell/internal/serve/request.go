package serve

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"regexp"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/near"
	"github.com/cardtell/cardtell/wiegand"
)

// Request is what one line asks. A key that is not here is an error: a mistyped one would be passed over in silence.
type Request struct {
	ID json.RawMessage `json:"id"` // a text or a number, given back with the answer
	Do string          `json:"do"`

	Cards []string `json:"cards"` // identify, learn: cards of one site
	Top   int      `json:"top"`   // identify: how many candidates, at most

	Pairs []string `json:"pairs"` // relate

	Values   []string `json:"values"` // convert; check and match: the numbers of the list
	Names    []string `json:"names"`  // check, match: who has them, in the same order
	Events   []string `json:"events"` // match: the numbers that a door shows
	Shown    string   `json:"shown"`  // match: their form
	From     string   `json:"from"`
	To       string   `json:"to"`
	Facility string   `json:"facility"`
	Door     string   `json:"door"`

	Format string            `json:"format"` // convert, check, match, decode, encode
	Read   string            `json:"read"`   // decode
	Fields map[string]string `json:"fields"` // encode
	Length int               `json:"length"` // encode, for a format of several lengths
}

// verb is something that can be asked, with the keys that it takes.
type verb struct {
	do   string
	keys []string
}

// verbs are all of them; each takes id and do as well. Another key would have no effect, which its writer does not
// expect.
var verbs = []verb{
	{"identify", []string{"cards", "top"}},
	{"learn", []string{"cards"}},
	{"relate", []string{"pairs"}},
	{"convert", []string{"values", "from", "to", "format", "facility", "door"}},
	{"check", []string{"values", "names", "from", "format", "facility"}},
	{"match", []string{"events", "values", "names", "from", "format", "facility", "shown", "door"}},
	{"decode", []string{"format", "read"}},
	{"encode", []string{"format", "fields", "length"}},
}

// maxAsked is how many cards or values one request may hold, so that no answer keeps the others waiting for long.
const maxAsked = 256

// Error says why a request, or one value of it, has no answer.
type Error struct {
	Kind    string `json:"kind"`
	Line    int    `json:"line,omitempty"` // of the request, counted from 1
	Message string `json:"message"`
}

// errorKinds name what went wrong, for programs; "request" for anything else.
var errorKinds = []struct {
	err  error
	name string
}{
	{formats.ErrAmbiguous, "ambiguous"}, {formats.ErrMissing, "missing"}, {formats.ErrForm, "form"},
	{wiegand.ErrRange, "range"}, {wiegand.ErrLength, "length"}, {wiegand.ErrSyntax, "syntax"},
}

// keyOption are options that are keys of a request.
var keyOption = regexp.MustCompile(`--(facility|format|door|from|to)\b`)

// ErrorOf is an error in the words of a request, which has keys and no options.
func ErrorOf(err error) Error {
	e := Error{Kind: "request", Message: keyOption.ReplaceAllString(say.Error(err), "$1")}
	for _, k := range errorKinds {
		if errors.Is(err, k.err) {
			e.Kind = k.name
			break
		}
	}
	return e
}

// parse reads a request. The id is there wherever the line is JSON at all, so that the error finds its way.
func parse(line []byte) (q Request, err error) {
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	if err = dec.Decode(&q); err == nil {
		if _, more := dec.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("request: something follows it; write one JSON object a line")
		}
	}
	if err == nil {
		err = q.check(line)
	}
	if err != nil {
		var only struct {
			ID json.RawMessage `json:"id"`
		}
		if json.Unmarshal(line, &only) == nil {
			q.ID = only.ID
		}
		err = jsonError(err)
	}
	if len(q.ID) > 0 && (q.ID[0] == '{' || q.ID[0] == '[') {
		q.ID, err = nil, errors.New("id: is neither a text nor a number; write one of them")
	}
	return q, err
}

// check returns an error for a verb that there is not, for a key that is there twice, of which one value would be lost
// in silence, and for one that has no effect on what is asked.
func (q *Request) check(line []byte) error {
	var seen [2][]string // of the request, and of the object in it
	for k := range keysOf(line) {
		if k.depth == 1 {
			k.name = strings.ToLower(k.name) // as the decoder takes them
		}
		if k.depth > len(seen) || slices.Contains(seen[k.depth-1], k.name) {
			return fmt.Errorf("%q: is there twice; write it once", say.Clip(k.name, 40))
		}
		seen[k.depth-1] = append(seen[k.depth-1], k.name)
	}
	at := slices.IndexFunc(verbs, func(v verb) bool { return v.do == q.Do })
	if at < 0 {
		return unknownVerb(q.Do)
	}
	for _, key := range seen[0] {
		if takes := verbs[at].keys; key != "id" && key != "do" && !slices.Contains(takes, key) {
			return fmt.Errorf("%q: has no effect on %s, which takes %s; leave it out", say.Clip(key, 40), q.Do,
				strings.Join(takes, ", "))
		}
	}
	if n := max(len(q.Cards), len(q.Values), len(q.Names), len(q.Events), len(q.Pairs)); n > maxAsked {
		return fmt.Errorf("request: %d at once; ask for at most %d", n, maxAsked)
	}
	return nil
}

func unknownVerb(do string) error {
	var all []string
	for _, v := range verbs {
		all = append(all, v.do)
	}
	if do == "" {
		return fmt.Errorf("do: not said; it is one of %s", strings.Join(all, ", "))
	}
	return fmt.Errorf("do: %q: no such request; nearest: %s", say.Clip(do, 40), near.List(do, all, len(all)))
}

// key is one of an object.
type key struct {
	name  string
	depth int    // 1 for those of a request
	rest  []byte // of the line, from the value on
}

// keysOf yields every key of a line in JSON, whole or cut.
func keysOf(line []byte) iter.Seq[key] {
	return func(yield func(key) bool) {
		depth, start := 0, -1
		for i := 0; i < len(line); i++ {
			switch c := line[i]; {
			case start >= 0 && c == '\\':
				i++
			case start >= 0 && c == '"':
				text := line[start : i+1]
				start = -1
				k := key{depth: depth}
				rest, ok := bytes.CutPrefix(bytes.TrimLeft(line[i+1:], " \t\r"), []byte(":"))
				if k.rest = rest; ok && json.Unmarshal(text, &k.name) == nil && !yield(k) {
					return
				}
			case start >= 0:
			case c == '"':
				start = i
			case c == '{', c == '[':
				depth++
			case c == '}', c == ']':
				depth--
			}
		}
	}
}

var unknownKey = regexp.MustCompile(`^json: unknown field "(.*)"$`)

// jsonError says what is wrong with a request in the words of this program.
func jsonError(err error) error {
	if e, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		what := map[string]string{"string": "a text", "int": "a whole number"}[e.Type.String()]
		if what == "" {
			what = map[string]string{"slice": "a list of texts", "map": "an object of texts"}[e.Type.Kind().String()]
		}
		if e.Field == "" {
			return fmt.Errorf(`request: it is %s; write an object, such as {"id":1,"do":"identify","cards":["26:32D687E"]}`,
				kindOf(e.Value))
		}
		return fmt.Errorf("%s: is %s; write %s", say.Clip(e.Field, 40), kindOf(e.Value), what)
	}
	if m := unknownKey.FindStringSubmatch(err.Error()); m != nil {
		known := []string{"id", "do"}
		for _, v := range verbs {
			known = append(known, slices.DeleteFunc(slices.Clone(v.keys), func(key string) bool {
				return slices.Contains(known, key)
			})...)
		}
		return fmt.Errorf("%q: no such key; nearest: %s", say.Clip(m[1], 40), near.List(m[1], known, 2))
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("request: the line ends before its JSON does; write one whole object a line")
	}
	if e, ok := errors.AsType[*json.SyntaxError](err); ok {
		return fmt.Errorf("request: byte %d: %w; write one JSON object a line", e.Offset, e)
	}
	return err
}

// kindOf is a kind of JSON value with its article; a number may come with its digits, which are cut short.
func kindOf(value string) string {
	kind, _, _ := strings.Cut(value, " ")
	switch kind {
	case "array", "object":
		return "an " + kind
	case "bool":
		return "true or false"
	}
	return "a " + kind
}
