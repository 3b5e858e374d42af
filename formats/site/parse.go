package site

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/tomlfile"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/formats/near"
	"github.com/cardtell/cardtell/wiegand"
)

// MaxSize is how large a site file may be, in bytes. A real one has a few thousand.
const MaxSize = 1 << 20

// maxTables is how many [[cards]] and how many [[doors]] a file can have: each is compared with each.
const maxTables = 4096

// Error says which file, line and key, what is wrong, and what would do.
type Error struct {
	File   string
	Line   int    // from 1; 0 where the mistake is the whole file's
	Key    string // such as cards.facility; "" where none is at fault
	Reason string
}

// Error returns one line.
func (e *Error) Error() string {
	where := e.File
	if e.Line > 0 {
		where = fmt.Sprintf("%s:%d", where, e.Line)
	}
	if e.Key != "" {
		where += ": " + e.Key
	}
	return where + ": " + e.Reason
}

// The file as it is written. A facility is a number or a list of them, so it is looked at afterwards.
type file struct {
	Name  string     `toml:"name"`
	Cards []cardsRow `toml:"cards"`
	Doors []doorRow  `toml:"doors"`
}

type cardsRow struct {
	Format   string  `toml:"format"`
	Facility any     `toml:"facility"`
	Numbers  *string `toml:"numbers"`
	Printed  string  `toml:"printed"`
}

type doorRow struct {
	Name     string `toml:"name"`
	Enter    string `toml:"enter"`
	Capacity *int   `toml:"capacity"`
}

// Parse reads a site file. name is what errors call it; cat has the formats that it can name. An unknown key, a value
// of the wrong type, a format or form that does not exist, a facility or number that does not fit, blocks of numbers
// that overlap, two doors of one name: each is an [*Error].
func Parse(name string, text []byte, cat formats.Catalogue) (Site, error) {
	if len(text) > MaxSize {
		return Site{}, &Error{File: name, Reason: fmt.Sprintf("%d bytes; a site file has at most %d", len(text), MaxSize)}
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var f file
	if e := tomlfile.Decode(text, &f); e != nil {
		if e.Unknown {
			e.Reason += "; " + known(e.Key)
		}
		return Site{}, &Error{File: name, Line: e.Line, Key: e.Key, Reason: e.Reason}
	}
	if n := max(len(f.Cards), len(f.Doors)); n > maxTables {
		return Site{}, &Error{File: name, Reason: fmt.Sprintf("%d tables of one kind; a site file has at most %d", n,
			maxTables)}
	}
	r := reader{name: name, lines: tomlfile.KeyLines(text), cat: cat}
	s := Site{Name: f.Name}
	for i := range f.Cards {
		p, err := r.population(i, &f.Cards[i])
		if err != nil {
			return Site{}, err
		}
		s.Cards = append(s.Cards, p)
	}
	for i := range f.Doors {
		d, err := r.door(i, &f.Doors[i], s)
		if err != nil {
			return Site{}, err
		}
		s.Doors = append(s.Doors, d)
	}
	if len(s.Cards)+len(s.Doors) == 0 {
		return Site{}, &Error{File: name, Reason: "no cards and no doors; begin each lot of cards with [[cards]], each door with [[doors]]"}
	}
	return s, r.overlaps(s.Cards)
}

// known says which keys there are where key was written, nearest first.
func known(key string) string {
	table, last, _ := strings.Cut(key, ".")
	switch {
	case last != "" && table == "cards":
		return "cards have " + near.List(last, []string{"format", "facility", "numbers", "printed"}, 4)
	case last != "" && table == "doors":
		return "doors have " + near.List(last, []string{"name", "enter", "capacity"}, 3)
	}
	return "there are " + near.List(table, []string{"name", "[[cards]]", "[[doors]]"}, 3)
}

// reader turns rows into values.
type reader struct {
	name  string
	lines tomlfile.Lines
	cat   formats.Catalogue
}

// fail makes an error about the key of the i-th row of a table.
func (r *reader) fail(table string, i int, key, format string, args ...any) error {
	return &Error{
		File: r.name, Line: r.lines.Of(fmt.Sprintf("%s.%d.%s", table, i, key)), Key: table + "." + key,
		Reason: fmt.Sprintf(format, args...),
	}
}

func (r *reader) population(i int, row *cardsRow) (formats.Population, error) {
	p := formats.Population{Format: row.Format, Printed: row.Printed, Line: r.lines.Of(fmt.Sprintf("cards.%d.format", i))}
	if row.Format == "" {
		return p, r.fail("cards", i, "format", `these cards have no format; write one such as format = "26-8-16"`)
	}
	found := r.cat.Find(row.Format)
	if len(found) == 0 {
		return p, r.fail("cards", i, "format", "%q: no such format; nearest: %s", words.Cut(row.Format),
			near.List(row.Format, r.cat.IDs(), 3))
	}
	f := found[len(found)-1] // of a format of several lengths, the longest
	var err error
	if p.Facilities, err = r.facilities(i, row.Facility, f); err != nil {
		return p, err
	}
	if p.Numbers, err = r.numbers(i, row.Numbers, f); err != nil {
		return p, err
	}
	if row.Printed != "" {
		if why := fits(row.Printed, f); why != "" {
			return p, r.fail("cards", i, "printed", "%s", why)
		}
	}
	return p, nil
}

// facilities reads a number or a list of numbers.
func (r *reader) facilities(i int, v any, f *formats.Format) ([]uint64, error) {
	var list []any
	switch v := v.(type) {
	case nil:
		return nil, nil
	case []any:
		list = v
	default:
		list = []any{v}
	}
	var all []uint64
	for _, v := range list {
		n, ok := v.(int64)
		if !ok || n < 0 {
			return nil, r.fail("cards", i, "facility", "%v is no facility; write a number, or several as [121, 122]", quoted(v))
		}
		if _, err := f.Blank().WithFacility(strconv.FormatInt(n, 10)); err != nil {
			return nil, r.fail("cards", i, "facility", "%v", err)
		}
		if slices.Contains(all, uint64(n)) {
			return nil, r.fail("cards", i, "facility", "%d is there twice; write it once", n)
		}
		all = append(all, uint64(n))
	}
	if len(all) == 0 {
		return nil, r.fail("cards", i, "facility",
			"the list is empty; write the facilities, or leave the key out where any will do")
	}
	return all, nil
}

func quoted(v any) string {
	if s, ok := v.(string); ok {
		return strconv.Quote(words.Cut(s))
	}
	return words.Cut(fmt.Sprint(v))
}

func (r *reader) numbers(i int, text *string, f *formats.Format) ([]formats.Range, error) {
	if text == nil {
		return nil, nil
	}
	all, err := formats.ParseRanges(*text)
	if err != nil {
		return nil, r.fail("cards", i, "numbers", "%v", err)
	}
	// signs have no order to make blocks of
	if f.Number() < 0 || f.Layout.Spec().Fields[f.Number()].Coding == wiegand.Signs5 {
		return nil, r.fail("cards", i, "numbers", "format %s has no card number to give blocks of; leave it out", f.ID)
	}
	if _, err := f.Blank().With(f.Number(), strconv.FormatUint(all[len(all)-1].Last, 10)); err != nil {
		return nil, r.fail("cards", i, "numbers", "%v", err)
	}
	return all, nil
}

// fits says why a form cannot be had from a format, "" where it can.
func fits(form string, f *formats.Format) string {
	fm, ok := formats.FormByName(form)
	if !ok {
		return fmt.Sprintf("%q: no such form; nearest: %s", words.Cut(form), near.List(form, formNames(), 3))
	}
	if ok, why := fm.Fits(f); !ok {
		return fmt.Sprintf("as %s: format %s %s", form, f.ID, why)
	}
	return ""
}

func formNames() []string {
	var names []string
	for _, fm := range formats.Forms() {
		names = append(names, fm.Name)
	}
	return names
}

func (r *reader) door(i int, row *doorRow, s Site) (Door, error) {
	d := Door{Name: row.Name, Enter: row.Enter, Line: r.lines.Of(fmt.Sprintf("doors.%d.name", i))}
	if strings.TrimSpace(row.Name) == "" {
		return d, r.fail("doors", i, "name", `a door has no name; write one such as name = "North stair"`)
	}
	if strings.EqualFold(strings.TrimSpace(row.Name), EveryDoor) {
		return d, r.fail("doors", i, "name", "%q is what all doors together are called; give this one another name", row.Name)
	}
	for _, other := range s.Doors {
		if strings.EqualFold(other.Name, row.Name) {
			return d, r.fail("doors", i, "name", "%q is the name of the door in line %d already; give it another",
				words.Cut(row.Name), other.Line)
		}
	}
	if row.Capacity != nil {
		if d.Capacity = *row.Capacity; d.Capacity < 1 || d.Capacity > math.MaxInt32 {
			return d, r.fail("doors", i, "capacity", "%d cardholders; write how many its controller holds, or leave it out",
				*row.Capacity)
		}
	}
	if row.Enter != "" {
		if why := r.enters(row.Enter, s); why != "" {
			return d, r.fail("doors", i, "enter", "%s", why)
		}
	}
	return d, nil
}

// enters says why no card of the site can be entered in a form, "" where some can.
func (r *reader) enters(form string, s Site) string {
	if _, ok := formats.FormByName(form); !ok {
		return fmt.Sprintf("%q: no such form; nearest: %s", words.Cut(form), near.List(form, formNames(), 3))
	}
	first := ""
	for _, p := range s.Cards {
		for _, f := range r.cat.Find(p.Format) {
			why := fits(form, f)
			if why == "" {
				return ""
			}
			first = cmp.Or(first, why)
		}
	}
	return first
}

// overlaps returns an error where two populations can hold the same card. Those whose blocks are not known can be
// printed in two forms.
func (r *reader) overlaps(cards []formats.Population) error {
	for j := range cards {
		for i := range j {
			a, b := cards[i], cards[j]
			twoForms := a.Printed != "" && b.Printed != "" && a.Printed != b.Printed
			if a.Meets(b) && !(twoForms && len(a.Numbers)+len(b.Numbers) == 0) {
				return r.fail("cards", j, "numbers", "these cards overlap those of line %d: the same format, facility and numbers; make the blocks separate",
					a.Line)
			}
		}
	}
	return nil
}
