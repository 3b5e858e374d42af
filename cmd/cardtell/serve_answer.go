package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/near"
	"github.com/cardtell/cardtell/wiegand"
)

// request is what one line asks. A key that is not here is an error: a mistyped one would be passed over in silence.
type request struct {
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

var requestKeys = []string{
	"id", "do", "cards", "top", "pairs", "values", "names", "events", "shown", "from", "to", "facility", "door", "format",
	"read",
	"fields", "length",
}

var requestVerbs = []string{"identify", "learn", "relate", "convert", "check", "match", "decode", "encode"}

// maxAsked is how many cards or values one request may hold, so that no answer keeps the others waiting for long.
const maxAsked = 256

// answerJSONLine is one answer: the result or an error.
type answerJSONLine struct {
	ID     json.RawMessage `json:"id"`
	Result any             `json:"result,omitempty"`
	Error  *errorJSON      `json:"error,omitempty"`
}

type errorJSON struct {
	Kind    string `json:"kind"`
	Line    int    `json:"line,omitempty"` // of the request, counted from 1
	Message string `json:"message"`
}

// decodedJSON is the result of decode and of encode.
type decodedJSON struct {
	Format  string   `json:"format"`
	Bits    string   `json:"bits"`
	BitsHex string   `json:"bits_hex"`
	Length  int      `json:"length"`
	OK      bool     `json:"ok"` // every check holds
	Card    cardJSON `json:"card"`
}

// server answers requests, one after another.
type server struct {
	app *app
	k   knowledge
	in  bytes.Reader
}

func newServer(a *app, k knowledge) *server { return &server{app: a, k: k} }

// answerAll answers every line of a batch but the blank ones.
func (s *server) answerAll(r *requests) {
	enc := json.NewEncoder(&r.out)
	enc.SetEscapeHTML(false)
	from := 0
	for i, end := range r.ends {
		var a answerJSONLine
		switch {
		case end < 0:
			end = -1 - end
			if end > from {
				a.ID = r.text[from:end]
			}
			a.Error = &errorJSON{Kind: "request", Message: fmt.Sprintf("the line is longer than %d bytes; ask for fewer cards at a time", maxRequest)}
		case from == end:
			continue
		default:
			a = s.answer(r.text[from:end])
		}
		from = end
		if a.Error != nil {
			a.Error.Line = r.first + i
		}
		_ = enc.Encode(a) // into memory, and of plain types: it can't fail
	}
}

// answer answers one request.
func (s *server) answer(line []byte) answerJSONLine {
	var q request
	if err := s.parse(line, &q); err != nil {
		return answerJSONLine{ID: q.ID, Error: &errorJSON{Kind: "request", Message: say.Error(err)}}
	}
	result, err := s.do(&q)
	if err != nil {
		return answerJSONLine{ID: q.ID, Error: &errorJSON{Kind: errorKind(err), Message: requestWords(err)}}
	}
	return answerJSONLine{ID: q.ID, Result: result}
}

// parse reads a request. The id is there wherever the line is JSON at all, so that the error finds its way.
func (s *server) parse(line []byte, q *request) error {
	s.in.Reset(line)
	dec := json.NewDecoder(&s.in)
	dec.DisallowUnknownFields()
	err := dec.Decode(q)
	if err == nil {
		if _, more := dec.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("request: something follows it; write one JSON object a line")
		}
	}
	if err == nil {
		err = checkKeys(line, q.Do)
	}
	if err != nil {
		var only struct {
			ID json.RawMessage `json:"id"`
		}
		if json.Unmarshal(line, &only) == nil {
			q.ID = only.ID
		}
		err = requestError(err)
	}
	if len(q.ID) > 0 && (q.ID[0] == '{' || q.ID[0] == '[') {
		q.ID, err = nil, errors.New("id: is neither a text nor a number; write one of them")
	}
	return err
}

var unknownKey = regexp.MustCompile(`^json: unknown field "(.*)"$`)

// requestError says what is wrong with a request in the words of this program.
func requestError(err error) error {
	if e, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		what := map[string]string{"string": "a text", "int": "a whole number"}[e.Type.String()]
		if what == "" {
			what = map[string]string{"slice": "a list of texts", "map": "an object of texts"}[e.Type.Kind().String()]
		}
		if e.Field == "" {
			return fmt.Errorf(`request: it is %s; write an object, such as {"id":1,"do":"identify","cards":["26:32D687E"]}`,
				jsonKind(e.Value))
		}
		return fmt.Errorf("%s: is %s; write %s", say.Clip(e.Field, 40), jsonKind(e.Value), what)
	}
	if m := unknownKey.FindStringSubmatch(err.Error()); m != nil {
		return fmt.Errorf("%q: no such key; nearest: %s", say.Clip(m[1], 40), near.List(m[1], requestKeys, 2))
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("request: the line ends before its JSON does; write one whole object a line")
	}
	if e, ok := errors.AsType[*json.SyntaxError](err); ok {
		return fmt.Errorf("request: byte %d: %w; write one JSON object a line", e.Offset, e)
	}
	return err
}

// jsonKind is a kind of JSON value with its article; a number may come with its digits, which are cut short.
func jsonKind(value string) string {
	kind, _, _ := strings.Cut(value, " ")
	switch kind {
	case "array", "object":
		return "an " + kind
	case "bool":
		return "true or false"
	}
	return "a " + kind
}

// requestWords is an error in the words of a request, which has keys and no options.
func requestWords(err error) string {
	return keyOption.ReplaceAllString(say.Error(err), "$1")
}

// keyOption are options that are keys of a request.
var keyOption = regexp.MustCompile(`--(facility|format|door|from|to)\b`)

// errorKinds name what went wrong, for programs.
var errorKinds = []struct {
	err  error
	name string
}{
	{formats.ErrAmbiguous, "ambiguous"}, {formats.ErrMissing, "missing"}, {formats.ErrForm, "form"},
	{wiegand.ErrRange, "range"}, {wiegand.ErrLength, "length"}, {wiegand.ErrSyntax, "syntax"},
}

func errorKind(err error) string {
	for _, k := range errorKinds {
		if errors.Is(err, k.err) {
			return k.name
		}
	}
	return "request"
}

func (s *server) do(q *request) (any, error) {
	if n := max(len(q.Cards), len(q.Values), len(q.Names), len(q.Events), len(q.Pairs)); n > maxAsked {
		return nil, fmt.Errorf("request: %d at once; ask for at most %d", n, maxAsked)
	}
	switch q.Do {
	case "identify":
		return s.identify(q)
	case "learn":
		return s.learn(q)
	case "relate":
		return s.relate(q)
	case "convert":
		return s.convert(q)
	case "check":
		return s.check(q)
	case "match":
		return s.match(q)
	case "decode":
		return s.decode(q)
	case "encode":
		return s.encode(q)
	case "":
		return nil, fmt.Errorf("do: not said; it is one of %s", strings.Join(requestVerbs, ", "))
	}
	return nil, fmt.Errorf("do: %q: no such request; nearest: %s", say.Clip(q.Do, 40), near.List(q.Do, requestVerbs,
		len(requestVerbs)))
}

func (s *server) identify(q *request) (any, error) {
	switch {
	case len(q.Cards) == 0:
		return nil, errors.New("cards: none; write at least one, such as 26:32D687E")
	case q.Top < 0:
		return nil, fmt.Errorf("top: %d: nothing is wanted; write 1 or more", q.Top)
	case q.Top == 0:
		q.Top = defaultTop
	}
	ans, err := s.k.ranker.RankTexts(q.Cards)
	if err != nil {
		return nil, err
	}
	cards, taken := ans.Taken[0].Cards, takenJSON(q.Cards, &ans)
	several, err := kinds(s.k.ranker, cards, &ans.Answer)
	if err != nil {
		return nil, err
	}
	var doc identifyJSON
	if several != nil {
		doc, _, err = populationsJSON(s.k.ranker, cards, &ans.Answer, several, q.Top, nil)
	} else {
		doc = textsAnswerJSON(&ans, settleTexts(s.k.ranker, &ans), q.Top)
	}
	if serial, alone := aloneSerial(cards); alone {
		doc.Serial = newSerialJSON(serial, s.k.cat)
	}
	doc.Taken, doc.Warnings = taken, append(oneCard(q.Cards, cards), doc.Warnings...)
	return doc, err
}

func (s *server) convert(q *request) (any, error) {
	if len(q.Values) == 0 {
		return nil, errors.New("values: none; write at least one, such as 150,46143")
	}
	o := convertOptions{app: s.app, from: q.From, to: q.To, format: q.Format, facility: q.Facility, door: q.Door}
	conv, err := o.settleWith(s.k)
	if err != nil {
		return nil, err
	}
	var all []any
	var first error
	bad := 0
	for _, v := range q.Values {
		answer, err := conv.convert(v)
		if err != nil {
			if bad++; first == nil {
				first = err
			}
			all = append(all, unconvertedJSON{say.Clip(v, 48), errorJSON{Kind: errorKind(err), Message: requestWords(err)}})
		}
		for _, r := range answer.results {
			all = append(all, r)
		}
	}
	if bad == len(q.Values) {
		return nil, first
	}
	return map[string]any{"results": all}, nil
}

// unconvertedJSON stands in place of the results for one of several values that can't be converted.
type unconvertedJSON struct {
	Input string    `json:"input"`
	Error errorJSON `json:"error"`
}

func (s *server) decode(q *request) (any, error) {
	if q.Format == "" {
		return nil, errors.New("format: not named; decode takes a read apart by one format, identify tells which it can be")
	}
	found, err := findFormat(s.k.cat, q.Format)
	if err != nil {
		return nil, err
	}
	read, err := formats.ParseSighting(q.Read)
	if err != nil {
		return nil, err
	}
	if read.Kind != formats.Read {
		return nil, fmt.Errorf("read: %q: is no read; write LENGTH:HEX, or bits:… for 0s and 1s", say.Clip(q.Read, 40))
	}
	card, err := readAs(found, read.Bits)
	if err != nil {
		return nil, err
	}
	return newDecodedJSON(&card), nil
}

func (s *server) encode(q *request) (any, error) {
	if q.Format == "" {
		return nil, errors.New("format: not named; it says where the fields go")
	}
	found, err := findFormat(s.k.cat, q.Format)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(found, func(f *formats.Format) bool { return f.Layout.Len() == q.Length || q.Length == 0 })
	if at < 0 || q.Length == 0 && len(found) > 1 {
		return nil, fmt.Errorf("length: %d: no such length; format %s has %s", q.Length, q.Format, bitsOf(found))
	}
	read, err := found[at].Encode(q.Fields)
	if err != nil {
		return nil, err
	}
	card, err := found[at].Read(read)
	return newDecodedJSON(&card), err
}

// bitsOf says how many bits the reads of a format have.
func bitsOf(found []*formats.Format) string {
	first, last := found[0].Layout.Len(), found[len(found)-1].Layout.Len()
	if first == last {
		return fmt.Sprintf("%d bits", first)
	}
	return fmt.Sprintf("%d to %d bits; say how many", first, last)
}

// newDecodedJSON gives the bits as they are, which for a read whose checks fail are not those that encode would give.
func newDecodedJSON(c *formats.Card) decodedJSON {
	b := c.Record.Bits()
	return decodedJSON{
		Format: c.Format.ID, Bits: b.String(), BitsHex: b.Hex(), Length: b.Len(), OK: c.Record.OK(), Card: newCardJSON(c),
	}
}
