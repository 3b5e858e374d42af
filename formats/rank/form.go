package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Readings are the cards that a text can be in one form, likeliest first.
type Readings struct {
	Cards       []formats.Card
	Probability []float64 // of each card; they add up to 1
	Err         error     // where there is none: why the likeliest format does not fit
}

// RankForm returns the cards that text can be if it is written in a form: of the formats given, or of any format of the
// catalogue where none are. A facility fills in what the form leaves out, and rules out cards of another facility and
// formats without one; "" where it is not known.
func (r *Ranker) RankForm(form formats.Form, text, facility string, among []*formats.Format) Readings {
	type reading struct {
		card formats.Card
		log  float64
	}
	var all []reading
	var out Readings
	best := never
	for i, f := range r.model.Formats() {
		if among != nil && !slices.ContainsFunc(among, func(g *formats.Format) bool {
			return g != nil && g.ID == f.ID && g.Layout != nil && g.Layout.Len() == f.Layout.Len()
		}) {
			continue
		}
		card, err := ReadForm(f, form, text, facility)
		if err != nil {
			log := r.model.Prior(i)
			if ok, _ := form.Fits(f); !ok {
				log -= 1e6 // after all formats that have the form: what those say is nearer
			}
			if out.Err == nil || log > best {
				best, out.Err = log, err
			}
			continue
		}
		log := r.model.PrintedAs(i, form.Name, &card)
		if at := slices.IndexFunc(all, func(r reading) bool { return sameCard(r.card, card) }); at >= 0 {
			all[at].log = logp.Add(all[at].log, log) // the format at large, and as the site uses it
			continue
		}
		all = append(all, reading{card, log})
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := &all[i], &all[j]
		return cmp.Or(cmp.Compare(b.log, a.log), strings.Compare(a.card.Format.ID, b.card.Format.ID)) < 0
	})
	logs := make([]float64, len(all))
	for i := range all {
		logs[i] = all[i].log
	}
	total := logp.Sum(logs)
	for i := range all {
		out.Cards = append(out.Cards, all[i].card)
		out.Probability = append(out.Probability, math.Exp(logs[i]-total))
	}
	if len(all) > 0 {
		out.Err = nil
	}
	return out
}

func sameCard(a, b formats.Card) bool {
	return a.Format == b.Format && a.Known == b.Known && a.Record.Bits() == b.Record.Bits()
}

// ReadForm reads a text in one form and fills in the facility where the text leaves it out; "" where it is not known.
// The error is that of [formats.Form.Parse] or [formats.Card.WithFacility], as for a format that has no facility to
// fill in, or says that the text gives another facility: the card of neither may be meant.
func ReadForm(f *formats.Format, form formats.Form, text, facility string) (formats.Card, error) {
	card, err := form.Parse(f, text)
	if err != nil || facility == "" {
		return card, err
	}
	return WithFacility(card, facility)
}

// WithFacility fills in a card's facility where it is not known. The error is that of [formats.Card.WithFacility], or
// says that the card has another one, which is never replaced.
func WithFacility(card formats.Card, facility string) (formats.Card, error) {
	filled, err := card.WithFacility(facility)
	if err != nil {
		return card, err
	}
	f := card.Format
	if card.Known.Has(f.Facility()) && card.Record.Value(f.Facility()) != filled.Record.Value(f.Facility()) {
		return card, fmt.Errorf("format %s has it with facility %s, not %s as given; leave that out if the value is right",
			f.ID, card.Text(f.Facility()), facility)
	}
	return filled, nil
}
