package reading

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/quick"
	"github.com/cardtell/cardtell/formats/site"
)

// New makes a plan. The error says which of the options is missing or does not fit.
func New(cat formats.Catalogue, s site.Site, opt Options) (*Plan, error) {
	p := &Plan{asIs: opt.AsIs, any: opt.Any}
	if opt.Format == "" && !opt.AsIs {
		p.catalogue = &cat
	}
	for _, name := range opt.Forms {
		if _, ok := formats.FormByName(name); !ok {
			return nil, fmt.Errorf("form %q: no such form; %s", name, FormHint(name))
		}
	}
	populations := s.Cards
	if opt.Format != "" {
		if len(cat.Find(opt.Format)) == 0 {
			return nil, fmt.Errorf("format %q: no such format; %s", opt.Format, FormatHint(cat, opt.Format))
		}
		populations = slices.DeleteFunc(slices.Clone(populations),
			func(q formats.Population) bool { return q.Format != opt.Format })
		if len(populations) == 0 {
			populations = []formats.Population{{Format: opt.Format}}
		}
	}
	if len(populations) == 0 {
		return nil, &OptionError{Option: "Format", Reason: "not given"}
	}
	if opt.Facility != "" {
		if _, err := strconv.ParseUint(opt.Facility, 10, 64); err != nil {
			return nil, &OptionError{"Facility", strconv.Quote(opt.Facility), "is no decimal number; write one, such as 121"}
		}
	}
	var why error // a form that no kind has
	guessed := make([]bool, len(populations))
	if len(opt.Forms) == 0 {
		populations, guessed = told(populations)
	}
	for i := range populations {
		before := len(p.readings)
		reason, err := p.add(cat, &populations[i], opt)
		if err != nil {
			return nil, err
		}
		why = cmp.Or(why, reason)
		if guessed[i] {
			p.guess(before)
		}
	}
	if len(p.readings) == 0 && why != nil {
		return nil, why
	}
	p.secondsLast()
	p.number()
	if opt.Facility != "" && !slices.ContainsFunc(p.readings, func(r Reading) bool { return r.Format.Facility() >= 0 }) {
		return nil, noFacility(opt.Facility, populations[0].Format)
	}
	return p, nil
}

// secondsLast puts the readings that are tried where no other fits behind the others.
func (p *Plan) secondsLast() {
	second := func(r Reading) bool { return r.second }
	last := slices.DeleteFunc(slices.Clone(p.readings), func(r Reading) bool { return !r.second })
	p.readings = append(slices.DeleteFunc(p.readings, second), last...)
}

func untold(q formats.Population) bool { return q.Printed == "" }

// told returns the populations of which the form is told, if there are any; and which of these are in forms that
// [Shown] has not settled: the kind is there without one, too, before them.
func told(cards []formats.Population) (printed []formats.Population, guessed []bool) {
	for i, q := range cards {
		if !untold(q) {
			printed = append(printed, q)
			guessed = append(guessed, slices.ContainsFunc(cards[:i], func(o formats.Population) bool {
				return untold(o) && o.Format == q.Format
			}))
		}
	}
	if len(printed) == 0 {
		return cards, make([]bool, len(cards))
	}
	return printed, guessed
}

// guess marks the readings from a place on as such in forms that are not settled.
func (p *Plan) guess(from int) {
	for i := range p.readings[from:] {
		r := &p.readings[from+i]
		r.guessed = true
		r.weight *= asGuessed
	}
}

// add adds the readings of one population. A form that its format does not have is left out; why says so where none is
// left.
func (p *Plan) add(cat formats.Catalogue, q *formats.Population, opt Options) (why, err error) {
	forms := opt.Forms
	if len(forms) == 0 && q.Printed != "" {
		forms = []string{q.Printed}
	}
	if len(forms) == 0 {
		return nil, &OptionError{Option: "Forms", Reason: fmt.Sprintf("how the numbers of format %s are written is not given",
			q.Format)}
	}
	before := len(p.readings)
	for _, f := range cat.Find(q.Format) {
		for i, name := range append(slices.Clone(forms), opt.Second...) {
			if slices.Contains(forms[:min(i, len(forms))], name) || i >= len(forms) && f.Facility() >= 0 && bare(name) {
				continue
			}
			r, reason, err := newReading(f, name, q, opt)
			if err != nil {
				return nil, err
			}
			if reason != nil {
				why = reason
				continue
			}
			r.second, r.weight = i >= len(forms), 1
			if r.second || name != q.Printed && slices.Contains(forms, q.Printed) {
				r.weight = asDoor
			}
			p.readings = append(p.readings, r)
		}
	}
	if len(p.readings) == before && len(opt.Forms) > 0 && (opt.Facility == "" || opt.Format != "") {
		return why, nil
	}
	return nil, nil
}

// drops reports whether the form leaves a part of every card out, as pair24 does of wide numbers: cards of such a kind
// would be taken for those of a kind that has the form whole.
func (r *Reading) drops() bool {
	_, err := r.Form.Parse(r.Format, anyCard(r.Format, r.Form))
	return errors.Is(err, formats.ErrMissing)
}

// Ending returns the low 24 bits of a number of which a text says no more, written as the reading's form has it.
func (r *Reading) Ending(text string) (low uint64, ok bool) {
	m := Mend([]byte(text), r.shape)
	if _, err := r.Form.Parse(r.Format, string(m.Value)); !errors.Is(err, formats.ErrMissing) {
		return 0, false
	}
	return evidence.Ending(r.Form, string(m.Value))
}

// bare reports whether a form leaves the facility out: numbers by themselves are not looked for where another form is
// usual.
func bare(form string) bool { return form == "number" || form == "number10" }

// OptionError says which of the [Options] is missing or does not fit.
type OptionError struct {
	Option string // the field: Format, Forms or Facility
	Value  string // as it was given; "" where it is missing
	Reason string
}

// Error returns one line.
func (e *OptionError) Error() string {
	where := strings.ToLower(e.Option)
	if e.Value != "" {
		where += " " + e.Value
	}
	return where + ": " + e.Reason
}

func noFacility(facility, format string) error {
	return &OptionError{"Facility", facility, fmt.Sprintf("format %s has no facility field; leave it out", format)}
}

// newReading makes a reading of a format in a form. Where the format does not have the form, why says so.
func newReading(f *formats.Format, form string, q *formats.Population, opt Options) (r Reading, why, err error) {
	fm, ok := formats.FormByName(form)
	if !ok {
		return r, nil, fmt.Errorf("form %q: no such form; %s", form, FormHint(form))
	}
	if fits, reason := fm.Fits(f); !fits {
		return r, fmt.Errorf("as %s: format %s %s", form, f.ID, reason), nil
	}
	if opt.Facility != "" && !opt.Others && f.Facility() < 0 { // its cards are not meant
		return r, noFacility(opt.Facility, f.ID), nil
	}
	r = Reading{Format: f, Form: fm, facility: opt.Facility, only: opt.Facility != "" && !opt.Others, cards: q,
		population: q}
	return r, nil, r.prepare(evidence.NewValues(f, q))
}

// prepare works out what follows from a reading's format, form and cards. The error is that of a facility that no card
// has.
func (r *Reading) prepare(values evidence.Values) error {
	f, q := r.Format, r.population
	r.fields, r.shape, r.values, r.blocks = evidence.FieldsOf(f), shapeOf(f, r.Form), values, len(q.Numbers) > 0
	if r.facility == "" && len(q.Facilities) == 1 {
		r.facility = strconv.FormatUint(q.Facilities[0], 10)
	}
	if r.facility != "" && f.Facility() >= 0 {
		if _, err := f.Blank().WithFacility(r.facility); err != nil {
			return err
		}
		r.fill, _ = strconv.ParseUint(r.facility, 10, 64) // digits, as just seen; what passes 64 bits is not quick
	}
	quick, ok := quick.Of(f)
	r.quick, r.none = quick, !ok
	r.parse, r.write = quick.Parser(r.Form), quick.Appender(r.Form)
	return nil
}

// FormHint returns what a message says about forms when a name is not one.
func FormHint(name string) string {
	var all []string
	for _, fm := range formats.Forms() {
		all = append(all, fm.Name)
	}
	return "nearest: " + nearest(name, all)
}

// FormatHint returns what a message says about formats when an id is not one.
func FormatHint(cat formats.Catalogue, id string) string {
	return "nearest: " + nearest(id, cat.IDs())
}

// shapeOf returns what is known of a format's numbers in a form.
func shapeOf(f *formats.Format, fm formats.Form) Shape {
	s := Shape{}
	switch fm.Name {
	case "number", "number24", "decimal", "read-decimal", "uid-decimal", "uid-reversed-decimal":
		s.Decimal = true
	case "number10", "decimal10":
		s.Decimal, s.Width = true, 10
	case "joined", "joined24":
		s.Decimal, s.Width = true, widthOf(f, fm)
		s.Least = leastOf(f, fm, s.Width)
	case "pair", "words", "pair24":
		s.First, s.Second = partsOf(f, fm)
	case "uid", "uid-reversed":
		s.Hex = true
	case "hex", "read-hex", "read-hex-left":
		s.Hex, s.Width = true, widthOf(f, fm)
		s.Enough = enoughOfHex(f, fm, s.Width)
	}
	return s
}

// enoughOfHex returns how many digits hold all bits of a card, where that is one less than the form has: hex is filled
// up to whole bytes, as 35 bits in 9 digits are to 10. It is 0 where it is no less.
func enoughOfHex(f *formats.Format, fm formats.Form, width int) int {
	holds := func(digits int) bool {
		_, err := fm.Parse(f, "1"+strings.Repeat("0", digits-1))
		return err == nil
	}
	if fm.Name != "hex" || width < 2 || holds(width) || !holds(width-1) {
		return 0
	}
	return width - 1
}

// narrow settles that a column has hex without the zero that fills it up to whole bytes: there are more such numbers,
// with a zero before them still, than numbers with all digits. No spreadsheet takes one zero of two.
func (s *Shape) narrow(sample []string) {
	narrow, whole := 0, 0
	for _, text := range sample {
		switch {
		case !isHex(text):
		case len(text) == s.Width:
			whole++
		case len(text) == s.Enough && text[0] == '0':
			narrow++
		}
	}
	if narrow > whole {
		s.Width, s.Enough = s.Enough, 0
	}
}

// leastOf returns how few digits of a form of fixed width are taken for it where its first zeros are lost.
func leastOf(f *formats.Format, fm formats.Form, width int) int {
	for n := 1; n < width; n++ {
		if _, err := fm.Parse(f, strings.Repeat("0", n)); err == nil || errors.Is(err, formats.ErrMissing) {
			return n
		}
	}
	return width
}

// widthOf returns how long a form of fixed width is: that of any card.
func widthOf(f *formats.Format, fm formats.Form) int { return len(anyCard(f, fm)) }

// partsOf returns how many digits the first and the second of two numbers have: those of any card.
func partsOf(f *formats.Format, fm formats.Form) (first, second int) {
	a, b, _ := strings.Cut(anyCard(f, fm), ",")
	return len(a), len(b)
}

// anyCard returns a card of the format in a form; "" where it can't be written so.
func anyCard(f *formats.Format, fm formats.Form) string {
	blank := f.Layout.Blank()
	c, err := f.Read(blank.Bits())
	if err != nil {
		return ""
	}
	text, err := fm.Text(&c)
	if err != nil {
		return ""
	}
	return text
}
