package reading

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/quick"
	"github.com/cardtell/cardtell/formats/near"
)

// Converter turns a number as a list has it into one as a door wants it. It is not safe for concurrent use. Make one
// with NewConverter: the zero Converter is of no use.
type Converter struct {
	Seen  Seen // the card of the value converted last
	Alike bool // that value can be several cards, Seen the likeliest, which are all written the same in the form

	plan  *Plan
	to    formats.Form
	write []quick.Appender // for each reading; nil where its format has none
}

// NewConverter makes a converter. The error says why no card of the plan can be written in the form.
func NewConverter(p *Plan, to formats.Form) (*Converter, error) {
	if err := p.possible(to); err != nil {
		return nil, err
	}
	v := &Converter{plan: p, to: to, write: make([]quick.Appender, len(p.readings))}
	for i := range p.readings {
		v.write[i] = p.readings[i].quick.Appender(to)
	}
	return v, nil
}

// Convert appends the number in the form asked for. The error is an [*Error].
func (v *Converter) Convert(dst, value []byte) ([]byte, error) {
	v.Alike = false
	if err := v.plan.Read(value, &v.Seen); err != nil {
		if e, ok := errors.AsType[*Error](err); ok && e.Kind == Ambiguous {
			return v.alike(dst, value, err)
		}
		return dst, err
	}
	dst, err := v.Append(dst, &v.Seen)
	if err != nil {
		e := &Error{Kind: Impossible, Form: v.Seen.Reading.Form.Name}
		reason, missing := strings.CutSuffix(err.Error(), "; give it too")
		if e.Reason = quoted(value) + reason; missing {
			e.Settles = []string{"Facility"}
		}
		return dst, e
	}
	return dst, nil
}

// alike appends the number where all cards that a value can be are written the same; else doubt is the error.
func (v *Converter) alike(dst, value []byte, doubt error) ([]byte, error) {
	whole, _ := v.plan.whole(value)
	all, _ := v.plan.candidates(whole, nil)
	likely := func(printed bool) int {
		return slices.IndexFunc(all, func(c candidate) bool { return !c.refused() && !(printed && c.seen.Reading.second) })
	}
	as := likely(true)
	if as < 0 {
		as = likely(false)
	}
	first, err := v.Append(nil, &all[as].seen)
	if err != nil {
		return dst, doubt
	}
	if !enoughOf(all, func(c *candidate) bool {
		text, err := v.Append(nil, &c.seen)
		return !c.strange() && err == nil && string(text) == string(first)
	}) {
		return dst, doubt
	}
	v.Seen, v.Alike = all[as].seen, true
	return append(dst, first...), nil
}

// Append appends a card that the converter's plan has read in the form asked for.
func (v *Converter) Append(dst []byte, s *Seen) ([]byte, error) {
	if s.quick && !s.Reading.stranger && v.write[s.Reading.index] != nil {
		if out, ok := v.write[s.Reading.index](dst, s.v, s.known); ok {
			return out, nil
		}
	}
	c := s.Card()
	return v.to.Append(dst, &c)
}

func nearest(name string, all []string) string {
	return strings.TrimSuffix(near.List(name, all, 4), ", …")
}

// possible returns an error where no card of the plan can be written in a form.
func (p *Plan) possible(fm formats.Form) error {
	why := ""
	for i := range p.readings {
		ok, reason := fm.Fits(p.readings[i].Format)
		if ok {
			return nil
		}
		why = fmt.Sprintf("as %s: format %s %s", fm.Name, p.readings[i].Format.ID, reason)
	}
	return fmt.Errorf("%s", why)
}
