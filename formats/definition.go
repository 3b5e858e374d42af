package formats

import (
	"bytes"
	"encoding"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/exp/constraints"

	"github.com/cardtell/cardtell/formats/internal/tomlfile"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// Format is one way in which a card number is laid out in a read, with what is known about it. It is plain data around
// a compiled layout: a program may make one of its own, with at least an ID, a Layout and a Weight.
type Format struct {
	ID          string // what it is made of: total, facility and number bits, such as 26-8-16
	Description string // one line for people
	Source      string // where its facts come from
	Standing    Standing
	Kind        Kind
	Weight      float64 // how common it is, relative to the others; above 0
	Layout      *wiegand.Layout
	Joined      []int // the fields that make up the joined form, by position in the layout
	Examples    []Example
	Line        int // of its id in the definition file

	// The forms that are known to fit formsOf, so that they need not be tried again for every card: bit n for the n-th.
	// They say nothing of another layout, nor of the form that depends on Joined, since a caller may set both.
	forms   uint64
	formsOf *wiegand.Layout
}

// Standing says how sure a format's facts are.
type Standing uint8

// The standings.
const (
	Published      Standing = iota // in a standard, or in a public text that quotes one
	CommonPractice                 // usual in the trade; no source to cite
	FromMemory                     // remembered; nothing read that confirms it
	Learned                        // worked out from samples of one site
)

var standingNames = []string{"published", "common practice", "from memory", "learned"}

// String returns the name used in definition files; Standing(9) for what is no standing.
func (s Standing) String() string { return nameOf("Standing", standingNames, s) }

// MarshalText returns what String returns. The error is wiegand.ErrRange for what is no standing.
func (s Standing) MarshalText() ([]byte, error) { return marshalName("Standing", standingNames, s) }

// UnmarshalText reads what String returns. The error is ErrSyntax for any other text.
func (s *Standing) UnmarshalText(text []byte) error {
	return unmarshalName(s, "standing", standingNames, text)
}

// Kind says what sends such a read.
type Kind uint8

// The kinds.
const (
	KindCard   Kind = iota // a card with a number that was put on it
	KindSerial             // the serial number of a chip or tag, as its maker gave it
	KindKeypad             // keys pressed on a keypad
	KindEither             // KindCard at some sites and KindSerial at others, which a read does not tell
)

var kindNames = []string{"card", "serial", "keypad", "either"}

// String returns the name used in definition files; Kind(9) for what is no kind.
func (k Kind) String() string { return nameOf("Kind", kindNames, k) }

// MarshalText returns what String returns. The error is wiegand.ErrRange for what is no kind.
func (k Kind) MarshalText() ([]byte, error) { return marshalName("Kind", kindNames, k) }

// UnmarshalText reads what String returns. The error is ErrSyntax for any other text.
func (k *Kind) UnmarshalText(text []byte) error {
	return unmarshalName(k, "kind", kindNames, text)
}

func nameOf[T constraints.Unsigned](kind string, names []string, v T) string {
	if uint64(v) < uint64(len(names)) {
		return names[v]
	}
	return fmt.Sprintf("%s(%d)", kind, v)
}

func marshalName[T constraints.Unsigned](kind string, names []string, v T) ([]byte, error) {
	if uint64(v) >= uint64(len(names)) {
		return nil, fail("write", nameOf(kind, names, v), "is none of "+strings.Join(names, ", "), wiegand.ErrRange)
	}
	return []byte(names[v]), nil
}

func unmarshalName[T constraints.Unsigned](v *T, what string, names []string, text []byte) error {
	i := slices.Index(names, string(text))
	if i < 0 {
		return fail(what, string(text), "is none of "+strings.Join(names, ", "), ErrSyntax)
	}
	*v = T(i)
	return nil
}

// Example is a read and the field values it decodes to, by name.
type Example struct {
	Read   wiegand.Bits      `json:"read"`
	Fields map[string]string `json:"fields"` // by the name of the field, in decimal or as the coding has it
}

// FieldByName returns the position of the format's field of that name, -1 where it has none.
func (f *Format) FieldByName(name string) int { return f.Layout.Field(name) }

// Facility returns the position of the facility field, -1 where the format has none.
func (f *Format) Facility() int { return f.Layout.Field(wiegand.FieldFacility) }

// Number returns the position of the card number field, -1 where the format has none of that name.
func (f *Format) Number() int { return f.Layout.Field(wiegand.FieldNumber) }

// The rows as they are written. Spans are texts here, since $ in them stands for the read's last bit.
type definitionFile struct {
	Format []row `toml:"format"`
}

type row struct {
	ID          string                     `toml:"id"`
	Description string                     `toml:"description"`
	Length      int                        `toml:"length"`
	Lengths     wiegand.Spans              `toml:"lengths"`
	Fields      []fieldRow                 `toml:"fields"`
	Checks      []checkRow                 `toml:"checks"`
	Joined      []string                   `toml:"joined"`
	Kind        named[Kind, *Kind]         `toml:"kind"`
	Source      string                     `toml:"source"`
	Standing    named[Standing, *Standing] `toml:"standing"`
	Weight      *float64                   `toml:"weight"`
	Example     []exampleRow               `toml:"example"`
}

type fieldRow struct {
	Name   string                                 `toml:"name"`
	Bits   spanText                               `toml:"bits"`
	Order  named[wiegand.Order, *wiegand.Order]   `toml:"order"`
	Coding named[wiegand.Coding, *wiegand.Coding] `toml:"coding"`
	Value  string                                 `toml:"value"`
}

type checkRow struct {
	Kind   named[wiegand.CheckKind, *wiegand.CheckKind] `toml:"kind"`
	Bit    int                                          `toml:"bit"`
	Over   spanText                                     `toml:"over"`
	Bits   spanText                                     `toml:"bits"`
	Value  wiegand.Bits                                 `toml:"value"`
	Repeat int                                          `toml:"repeat"`
	Step   int                                          `toml:"step"`
}

type exampleRow struct {
	Read   wiegand.Bits      `toml:"read"`
	Fields map[string]string `toml:"fields"`
}

// named is a value that has a name in a file. It is a struct since the TOML parser would store a number in the value
// itself, any number.
type named[T any, P interface {
	*T
	encoding.TextUnmarshaler
}] struct {
	value T
	given bool
}

// UnmarshalText reads the name.
func (n *named[T, P]) UnmarshalText(text []byte) error {
	n.given = true
	return P(&n.value).UnmarshalText(text)
}

// spanText is spans in which $ is the last bit of the read and $-4 the one four before it. It is a struct since the
// TOML parser does not ask a string to unmarshal itself.
type spanText struct{ text string }

var fromEnd = lazily(`\$(?:\s*-\s*(\d{1,3}))?`)

// UnmarshalText checks the spelling, so that a mistake is reported with its line.
func (s *spanText) UnmarshalText(text []byte) error {
	s.text = string(text)
	_, err := s.spans(wiegand.MaxBits)
	return err
}

func (s spanText) spans(length int) (wiegand.Spans, error) {
	if strings.IndexByte(s.text, '$') < 0 {
		return wiegand.ParseSpans(s.text)
	}
	text := fromEnd().ReplaceAllStringFunc(s.text, func(m string) string {
		back, _ := strconv.Atoi(fromEnd().FindStringSubmatch(m)[1]) // no number is 0
		return strconv.Itoa(length - back)
	})
	return wiegand.ParseSpans(text)
}

var idShape = lazily(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// ParseDefinitions reads a definition file. name is what errors call the file; they give it with the line. An unknown
// key, a value of the wrong type, a layout that contradicts itself, an example that does not decode to what it says:
// each is an error (ErrDefinition) that says where and what would do. A file without formats is one too.
//
// A file is a list of formats:
//
//	[[format]]
//	id          = "26-8-16"
//	description = "26 bits: facility and number"
//	length      = 26
//	fields      = [
//	    { name = "facility", bits = "2-9" },
//	    { name = "number", bits = "10-25" },
//	]
//	checks = [
//	    { kind = "even", bit = 1, over = "2-13" },
//	    { kind = "odd", bit = 26, over = "14-25" },
//	]
//	source   = "who says so"
//	standing = "published"
//	weight   = 100
//
// Bits are numbered from 1. cmd/cardtell/doc/writing.md lists every key.
func ParseDefinitions(name string, text []byte) ([]Format, error) {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var file definitionFile
	if e := tomlfile.Decode(text, &file); e != nil {
		return nil, fail(fmt.Sprintf("%s:%d", name, e.Line), "", e.Text(), ErrDefinition)
	}
	if len(file.Format) == 0 {
		return nil, fail(name, "", "no formats; each begins with [[format]]", ErrDefinition)
	}
	var all []Format
	seen := map[string]int{}
	lines := tomlfile.KeyLines(text)
	for i := range file.Format {
		r := &file.Format[i]
		line := lines.Of(fmt.Sprintf("format.%d.id", i))
		where := fmt.Sprintf("%s:%d: format %q", name, line, words.Cut(r.ID))
		if first, ok := seen[r.ID]; ok {
			return nil, fail(where, "", fmt.Sprintf("the id is used in line %d already; choose another", first), ErrDefinition)
		}
		seen[r.ID] = line
		formats, err := r.formats(line)
		if err != nil {
			return nil, fail(where, "", err.Error(), ErrDefinition)
		}
		all = append(all, formats...)
	}
	return all, nil
}

// formats makes the formats of a row: one, or one for each of its lengths.
func (r *row) formats(line int) ([]Format, error) {
	switch {
	case !idShape().MatchString(r.ID):
		return nil, fmt.Errorf("an id is lower-case letters and digits, with single dashes between, such as 26-8-16")
	case r.Description == "":
		return nil, fmt.Errorf("it has no description; write one line that says what it is")
	case r.Length != 0 && len(r.Lengths) != 0:
		return nil, fmt.Errorf("it has both length and lengths; give one of them")
	case r.Weight != nil && (!(*r.Weight > 0) || math.IsInf(*r.Weight, 0)):
		return nil, fmt.Errorf("a weight of %v; it is a number above 0", *r.Weight)
	}
	lengths := []int{r.Length}
	if len(r.Lengths) > 0 {
		lengths = slices.Collect(r.Lengths.Bits())
	}
	var all []Format
	for _, n := range lengths {
		f, err := r.format(n, line)
		if err != nil {
			return nil, err
		}
		f.Weight /= float64(len(lengths))
		all = append(all, f)
	}
	return all, r.addExamples(all)
}

// defaultWeight is that of a format whose file gives none: as common as the rarer ones of the catalogue.
const defaultWeight = 1

func (r *row) format(length, line int) (Format, error) {
	spec, err := r.spec(length)
	if err != nil {
		return Format{}, err
	}
	layout, err := wiegand.Compile(spec)
	if err != nil {
		return Format{}, err
	}
	f := Format{
		ID: r.ID, Description: r.Description, Source: r.Source, Standing: FromMemory, Kind: r.Kind.value,
		Weight: defaultWeight,
		Layout: layout, Line: line,
	}
	if r.Standing.given {
		f.Standing = r.Standing.value // a row that does not say is no more than somebody's memory
	}
	if r.Weight != nil {
		f.Weight = *r.Weight
	}
	for _, name := range r.Joined {
		i := layout.Field(name)
		if i < 0 {
			return Format{}, fmt.Errorf("joined names %q, which is no field; there are %s", words.Cut(name), f.fieldNames())
		}
		if slices.Contains(f.Joined, i) {
			return Format{}, fmt.Errorf("joined names %q twice; name it once", words.Cut(name))
		}
		f.Joined = append(f.Joined, i)
	}
	if r.Joined == nil && f.Facility() >= 0 && f.Number() >= 0 {
		f.Joined = []int{f.Facility(), f.Number()}
	}
	f.formsOf = f.Layout
	for i := range forms {
		if forms[i].Name != "joined" && forms[i].fits(&f) == "" {
			f.forms |= 1 << uint(forms[i].place)
		}
	}
	return f, nil
}

func (r *row) spec(length int) (wiegand.Spec, error) {
	spec := wiegand.Spec{Length: length}
	for _, f := range r.Fields {
		bits, err := f.Bits.spans(length)
		if err != nil {
			return spec, err
		}
		spec.Fields = append(spec.Fields, wiegand.Field{Name: f.Name, Bits: bits, Order: f.Order.value,
			Coding: f.Coding.value, Constant: f.Value})
	}
	for i, c := range r.Checks {
		if key := c.unused(); key != "" {
			return spec, fmt.Errorf("check %d %q: has no use for %s; leave it out", i+1, c.Kind.value, key)
		}
		over, err := c.Over.spans(length)
		if err != nil {
			return spec, err
		}
		bits, err := c.Bits.spans(length)
		if err != nil {
			return spec, err
		}
		spec.Checks = append(spec.Checks, wiegand.Check{
			Kind: c.Kind.value, Bit: c.Bit, Over: over, Bits: bits, Value: c.Value, Repeat: c.Repeat, Step: c.Step,
		})
	}
	return spec, nil
}

// unused returns a key that is given and would do nothing for the kind of check, "" where there is none.
func (c *checkRow) unused() string {
	k := c.Kind.value
	parity := k == wiegand.Even || k == wiegand.Odd
	switch {
	case !c.Kind.given:
		return "" // that is an error of its own
	case c.Bit != 0 && !parity:
		return "bit"
	case c.Over.text != "" && k == wiegand.Fixed:
		return "over"
	case c.Bits.text != "" && parity:
		return "bits"
	case c.Value.Len() > 0 && k != wiegand.Fixed:
		return "value"
	case c.Step != 0 && c.Repeat < 2:
		return "step"
	}
	return ""
}

// addExamples gives each example to the format of its length, and refuses one that does not decode to what it says.
func (r *row) addExamples(all []Format) error {
	for i, e := range r.Example {
		at := slices.IndexFunc(all, func(f Format) bool { return f.Layout.Len() == e.Read.Len() })
		if at < 0 {
			return fmt.Errorf("example %d has %d bits, which is not the length", i+1, e.Read.Len())
		}
		f := &all[at]
		rec, _ := f.Layout.Decode(e.Read) // it has the length, as just seen
		if !rec.OK() {
			return fmt.Errorf("example %d: a check fails (%s)", i+1, f.DescribeChecks(rec.Failed()))
		}
		for _, name := range sortedKeys(e.Fields) {
			field := f.FieldByName(name)
			if field < 0 {
				return fmt.Errorf("example %d names %q, which is no field; there are %s", i+1, words.Cut(name), f.fieldNames())
			}
			if got := rec.Text(field); got != e.Fields[name] {
				return fmt.Errorf("example %d: %s decodes to %s, not %s", i+1, name, got, words.Cut(e.Fields[name]))
			}
		}
		f.Examples = append(f.Examples, Example(e))
	}
	return nil
}

func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }

// mostDescribed is how many checks are put into words: in a read that is quite wrong all of a format's fail.
const mostDescribed = 4

// DescribeChecks names checks of the format's layout in words, such as "even parity over bits 1-13"; of many the first
// four, and how many more there are.
func (f *Format) DescribeChecks(set wiegand.CheckSet) string {
	var parts []string
	for i, c := range f.Layout.Checks() {
		if !set.Has(i) {
			continue
		}
		what := map[wiegand.CheckKind]string{
			wiegand.Even: "even parity over bits ", wiegand.Odd: "odd parity over bits ",
			wiegand.LRC:   "longitudinal check of bits ",
			wiegand.Fixed: "fixed bits ", wiegand.Digit: "digits of bits ",
		}[c.Kind]
		if parts = append(parts, what+c.Bits.String()); len(parts) == mostDescribed && set.Len() > mostDescribed {
			return fmt.Sprintf("%s; and %d more", strings.Join(parts, "; "), set.Len()-mostDescribed)
		}
	}
	return strings.Join(parts, "; ")
}
