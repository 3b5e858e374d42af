// Package conversion is what convert does: a number in one form in, all that it can be in another form out, as text for
// people or as JSON.
package conversion

import (
	"cmp"
	"fmt"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// Question is what is asked for, as options or the keys of a request name it; "" for what is not said.
type Question struct {
	From, To, Format, Facility, Door string

	Dash string // before the names of options in errors: "--", or nothing where they are keys of a request
}

// Conversion is what is asked for, once options and site file are put together.
type Conversion struct {
	from, to formats.Form      // from has no name where the value says what it is
	formats  []*formats.Format // nil: any
	named    bool              // the formats are those of --format
	facility string
	site     []formats.Population // whose cards alone count, if any
	ranker   *rank.Ranker

	Door string // named with each answer, where there are several; "" where not
}

// New puts a question and what a site file says together; the zero Site where there is none.
func New(cat formats.Catalogue, s site.Site, ranker *rank.Ranker, q Question) (conv *Conversion, err error) {
	if err := q.fromSite(s); err != nil {
		return nil, err
	}
	conv = &Conversion{facility: q.Facility, site: s.Cards, ranker: ranker}
	if q.From != "" {
		if conv.from, err = formOf(q.Dash+"from", q.From); err != nil {
			return nil, err
		}
	}
	if conv.to, err = formOf(q.Dash+"to", q.To); err != nil {
		return nil, err
	}
	for _, p := range conv.site {
		conv.formats = append(conv.formats, cat.Find(p.Format)...)
	}
	if q.Format != "" {
		conv.named = true
		if conv.formats, err = Formats(cat, q.Format); err != nil {
			return nil, err
		}
		if q.Facility != "" && conv.formats[0].Facility() < 0 {
			return nil, fmt.Errorf("convert: --facility %q: format %s has no facility field; leave it out",
				say.Clip(q.Facility, 40), q.Format)
		}
	}
	return conv, err
}

// fromSite fills in what the question leaves out and the site file settles.
func (q *Question) fromSite(s site.Site) error {
	if q.Door != "" {
		if len(s.Doors)+len(s.Cards) == 0 {
			return fmt.Errorf("convert: --door %q: doors are in a site file; give --site FILE", q.Door)
		}
		d, err := s.Door(q.Door)
		if err != nil {
			return err
		}
		q.To = cmp.Or(q.To, d.Enter)
	}
	if q.From == "" {
		return nil // the value is weighed with all that the site file says
	}
	if ids := s.Formats(); q.Format == "" && len(ids) == 1 {
		q.Format = ids[0]
	}
	if all, whole := s.Facilities(q.Format); q.Facility == "" && whole && len(all) == 1 {
		q.Facility = fmt.Sprint(all[0])
	}
	return nil
}

// formOf returns the form of a name, which the option or key named flag has.
func formOf(flag, name string) (formats.Form, error) {
	form, ok := formats.FormByName(name)
	switch {
	case ok:
		return form, nil
	case name == "":
		return form, fmt.Errorf("%s: how the number is written is not given; name a form, such as pair, decimal or bits-hex (cardtell formats --forms lists all)", flag)
	}
	return form, fmt.Errorf("%s %q: no such form; %s", flag, say.Clip(name, 40), reading.FormHint(name))
}

// Formats returns the formats of an id.
func Formats(cat formats.Catalogue, id string) ([]*formats.Format, error) {
	found := cat.Find(id)
	if len(found) == 0 {
		return nil, fmt.Errorf("format %q: no such format; %s", say.Clip(id, 40), reading.FormatHint(cat, id))
	}
	return found, nil
}
