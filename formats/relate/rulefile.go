package relate

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/tomlfile"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// ruleVersion is the version of rule files that this package writes, and the newest that it reads.
const ruleVersion = 1

// The file as it is written.
type ruleFile struct {
	Version int       `toml:"version"`
	Rule    string    `toml:"rule"` // for people; not read
	From    textRow   `toml:"from,inline"`
	To      textRow   `toml:"to,inline"`
	Steps   []stepRow `toml:"steps,omitempty"`
}

type textRow struct {
	Form       string `toml:"form" json:"form"`
	Digits     int    `toml:"digits,omitempty" json:"digits,omitempty"`
	HighDigits int    `toml:"high-digits,omitempty" json:"high-digits,omitempty"`
	Bits       int    `toml:"bits,omitempty" json:"bits,omitempty"`
	Separator  string `toml:"separator,omitempty" json:"separator,omitempty"`
	Lower      bool   `toml:"lower-case,omitempty" json:"lower-case,omitempty"`
}

type stepRow struct {
	Do       string `toml:"do" json:"do"`
	Bytes    int    `toml:"bytes,omitempty" json:"bytes,omitempty"`
	Bits     int    `toml:"bits,omitempty" json:"bits,omitempty"`
	Of       int    `toml:"of,omitempty" json:"of,omitempty"`
	Digits   int    `toml:"digits,omitempty" json:"digits,omitempty"`
	Number   int64  `toml:"number,omitempty" json:"number,omitempty,string"`
	Facility int64  `toml:"facility,omitempty" json:"facility,omitempty,string"`
	Format   string `toml:"format,omitempty" json:"format,omitempty"`
}

// ParseRule reads a rule file. name is what errors call it. Formats that steps name are looked up in the catalogue. The
// error is ErrRule and says where and what is wrong: an unknown key or step, a number out of its range, a format in no
// catalogue, a file of a newer version.
//
//	version = 1
//	from    = { form = "decimal" }
//	to      = { form = "pair", bits = 16, separator = "," }
//
//	[[steps]]
//	do    = "swap-bytes"
//	bytes = 4
//
// cmd/cardtell/doc/writing.md lists every form and step.
func ParseRule(name string, text []byte, known formats.Catalogue) (Rule, error) {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var head struct {
		Version int `toml:"version"`
	}
	if err := toml.Unmarshal(text, &head); err != nil {
		return Rule{}, ruleError(name, tomlfile.ErrorOf(err))
	}
	switch {
	case head.Version == 0:
		return Rule{}, fail(name, "", fmt.Sprintf("no version; a rule file begins with version = %d", ruleVersion), ErrRule)
	case head.Version < 0 || head.Version > ruleVersion:
		return Rule{}, fail(name, "", fmt.Sprintf("version %d; this program reads versions up to %d, so take a newer one",
			head.Version, ruleVersion), ErrRule)
	}
	var file ruleFile
	if e := tomlfile.Decode(text, &file); e != nil {
		return Rule{}, ruleError(name, e)
	}
	return file.rule(name, known)
}

func ruleError(name string, e *tomlfile.Error) error {
	if e.Line > 0 {
		name = fmt.Sprintf("%s:%d", name, e.Line)
	}
	return fail(name, "", e.Text(), ErrRule)
}

// maxSteps is how many steps a rule file has at most.
const maxSteps = 32

func (f *ruleFile) rule(name string, known formats.Catalogue) (Rule, error) {
	var r Rule
	var err error
	if r.from, err = f.From.text(); err != nil {
		return Rule{}, fail(name+": from", "", err.Error(), ErrRule)
	}
	if r.to, err = f.To.text(); err != nil {
		return Rule{}, fail(name+": to", "", err.Error(), ErrRule)
	}
	if len(f.Steps) > maxSteps {
		return Rule{}, fail(name, "", fmt.Sprintf("%d steps; %d are possible", len(f.Steps), maxSteps), ErrRule)
	}
	for i, row := range f.Steps {
		s, err := row.step(known)
		if err != nil {
			return Rule{}, fail(fmt.Sprintf("%s: step %d", name, i+1), "", err.Error(), ErrRule)
		}
		r.steps = append(r.steps, s)
	}
	return r, nil
}

func (row *textRow) text() (Text, error) {
	t := Text{Digits: row.Digits, High: row.HighDigits, Bits: row.Bits, Lower: row.Lower}
	kind := slices.Index(textNames[1:], row.Form)
	if t.Kind = TextKind(kind + 1); kind < 0 {
		return t, fmt.Errorf("form = %q is none of %s", words.Cut(row.Form), strings.Join(textNames[1:], ", "))
	}
	switch len(row.Separator) {
	case 0:
	case 1:
		t.Sep = row.Separator[0]
	default:
		return t, fmt.Errorf("separator = %q is more than one sign; write one", words.Cut(row.Separator))
	}
	if key := row.unused(t.Kind); key != "" {
		return t, fmt.Errorf("form %s has no %s; leave it out", t.Kind, key)
	}
	return t, t.check()
}

// unused returns a key that is given and would do nothing, "" where there is none.
func (row *textRow) unused(k TextKind) string {
	pair := k == PairText || k == JoinedText
	for _, key := range []struct {
		name       string
		given, has bool
	}{
		{"digits", row.Digits != 0, k == Decimal || k == Hex || pair},
		{"high-digits", row.HighDigits != 0, pair},
		{"bits", row.Bits != 0, k != Decimal && k != Hex},
		{"separator", row.Separator != "", k == PairText || k == SerialText},
		{"lower-case", row.Lower, k == Hex || k == ReadText || k == LeftText || k == SerialText},
	} {
		if key.given && !key.has {
			return key.name
		}
	}
	return ""
}

// cells returns where a row has A, B and C of a step; what the step does not have is nowhere in it.
func (row *stepRow) cells(o Op) (a, b *int, c *int64) {
	a = map[string]*int{"bytes": &row.Bytes, "bits": &row.Bits, "digits": &row.Digits, "": new(int)}[opTable[o].unit]
	b, c = new(int), new(int64)
	switch o {
	case KeepHigh:
		b = &row.Of
	case Add:
		c = &row.Number
	case SetFacility, DropFacility:
		c = &row.Facility
	}
	return a, b, c
}

// step reads a row. Keys that the step does not have must not be there: they would do nothing.
func (row *stepRow) step(known formats.Catalogue) (Step, error) {
	s := Step{}
	var names []string
	for o := Op(1); o < ops; o++ {
		if names = append(names, o.String()); row.Do == o.String() {
			s.Op = o
		}
	}
	if s.Op == 0 {
		return s, fmt.Errorf("do = %q is no step; there are %s", words.Cut(row.Do), strings.Join(names, ", "))
	}
	a, b, c := row.cells(s.Op)
	s.A, s.B, s.C = *a, *b, *c
	if s.Op == StripParity || s.Op == AddParity {
		s.Format = row.Format
		for _, f := range known.Find(row.Format) {
			fr, err := newFrame(f.Layout)
			if err != nil {
				return s, fmt.Errorf("%s: format %s: %s", s.Op, f.ID, err)
			}
			s.frame = fr
		}
	}
	if s.row() != *row {
		return s, fmt.Errorf("%s has a key that it does not know; leave that out", s.Op)
	}
	return s, s.check()
}

// row returns the step as a rule file has it.
func (s Step) row() stepRow {
	r := stepRow{Do: s.Op.String(), Format: s.Format}
	if !s.Op.known() {
		return r
	}
	a, b, c := r.cells(s.Op)
	*a, *b, *c = s.A, s.B, s.C
	return r
}

// row returns the way of writing as a rule file has it.
func (t Text) row() textRow {
	r := textRow{Form: t.Kind.String(), Digits: t.Digits, HighDigits: t.High, Bits: t.Bits, Lower: t.Lower}
	if t.Sep != 0 {
		r.Separator = string(rune(t.Sep))
	}
	return r
}

// MarshalJSON returns the keys of a rule file; numbers that can pass 2^53 are texts.
func (s Step) MarshalJSON() ([]byte, error) { return json.Marshal(s.row()) }

// MarshalJSON returns the keys of a rule file.
func (t Text) MarshalJSON() ([]byte, error) { return json.Marshal(t.row()) }

// AppendFile appends the rule as a rule file, which [ParseRule] reads back. Lines of comment, if any, come first.
func (r *Rule) AppendFile(dst []byte, comment ...string) []byte {
	for _, line := range comment {
		dst = append(append(append(dst, "# "...), strings.Join(strings.Fields(tomlfile.OneLine(line)), " ")...), '\n')
	}
	r = r.orNone()
	file := ruleFile{Version: ruleVersion, Rule: r.String(), From: r.from.row(), To: r.to.row()}
	for _, s := range r.steps {
		file.Steps = append(file.Steps, s.row())
	}
	text, _ := toml.Marshal(file) // texts and numbers alone, which it can't refuse
	return append(dst, text...)
}

// MarshalText returns the rule as a rule file, so that rules go through JSON; no text for the zero Rule. The error is
// always nil.
func (r Rule) MarshalText() ([]byte, error) {
	if r.from.Kind == 0 {
		return nil, nil
	}
	return r.AppendFile(nil), nil
}

// UnmarshalText reads what [Rule.MarshalText] returns. The errors are those of [ParseRule] with the built-in catalogue:
// a rule that names another format is read by ParseRule.
func (r *Rule) UnmarshalText(text []byte) (err error) {
	if *r = (Rule{}); len(text) > 0 {
		*r, err = ParseRule("rule", text, formats.Builtin())
	}
	return err
}
