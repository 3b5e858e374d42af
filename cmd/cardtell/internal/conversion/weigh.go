package conversion

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// dropped is the probability from which a reading that lacks something, such as the facility, is not passed over in
// favour of less likely ones: nothing is guessed in silence.
const dropped = 0.05

// Answer is what one value can be.
type Answer struct {
	of      *Conversion
	input   string
	results []result // likeliest first
	groups  []group
	rest    float64 // probability of everything that gives no result
	ends    float64 // and of that, of numbers of which the value shows the end alone
	failed  error   // why there is no result at this one of several doors
}

// group is the readings that give the same result.
type group struct {
	value string
	p     float64
	ids   []string
}

// Sure reports whether one result stands alone.
func (a Answer) Sure() bool { return len(a.groups) > 0 && a.groups[0].p > say.Surely }

// Any reports whether there is a result.
func (a Answer) Any() bool { return len(a.groups) > 0 }

// Failed is the answer where a value has no result at one of several doors.
func (c *Conversion) Failed(value string, why error) Answer {
	return Answer{of: c, input: value, failed: why}
}

// refusals are the reasons why what a value can be gives no result, each with the probability that it is so.
type refusals []refusal

type refusal struct {
	why error
	p   float64
}

// add counts one that has been there already, by its words, with those.
func (r *refusals) add(why error, p float64) {
	if at := slices.IndexFunc(*r, func(o refusal) bool { return o.why.Error() == why.Error() }); at >= 0 {
		(*r)[at].p += p
		return
	}
	*r = append(*r, refusal{why, p})
}

// likeliest is nil where there is none.
func (r refusals) likeliest() error {
	if len(r) == 0 {
		return nil
	}
	return slices.MaxFunc(r, func(a, b refusal) int { return cmp.Compare(a.p, b.p) }).why
}

// meant is one card that a value can be.
type meant struct {
	card        formats.Card
	from, taken string
	p           float64
}

// endAlone reports whether the value shows the end of the card's number alone.
func (m *meant) endAlone() bool { return m.card.Known == m.card.Format.Blank().Known }

// Convert returns the results of one value.
func (c *Conversion) Convert(value string) (Answer, error) {
	var all []meant
	var no refusals
	if c.from.Name != "" {
		readings := c.ranker.RankForm(c.from, value, c.facility, c.formats)
		if readings.Err != nil {
			no.add(readings.Err, 0)
		}
		for i := range readings.Cards {
			all = append(all, meant{card: readings.Cards[i], from: c.from.Name, p: readings.Probability[i]})
		}
	} else {
		ans, err := c.ranker.RankTexts([]string{value})
		if err != nil {
			return Answer{}, err
		}
		all = c.candidates(value, &ans, &no)
	}
	all = c.ofSite(all, &no)
	out := Answer{of: c, input: value, rest: 1}
	for i := range all {
		r := &all[i]
		text, err := c.to.Text(&r.card)
		if err != nil && len(out.results) == 0 && r.p >= dropped && errors.Is(err, formats.ErrMissing) {
			if r.endAlone() {
				err = fmt.Errorf("the end of a longer number of format %s, form %s, whose beginning it does not show; read the card",
					r.card.Format.ID, r.from)
			}
			more := ", or name another --format"
			if c.to.OfRead() && r.card.Format.FieldByName(wiegand.FieldUnknown) >= 0 {
				more = "; read the card"
			}
			return out, c.fail(value, err, more)
		}
		if err != nil {
			if no.add(err, r.p); r.endAlone() {
				out.ends += r.p
			}
			continue
		}
		out.add(c, r, text)
	}
	if len(out.results) == 0 {
		return out, c.fail(value, cmp.Or(no.likeliest(), c.whyNot(value)), "")
	}
	sort.SliceStable(out.groups, func(i, j int) bool { return out.groups[i].p > out.groups[j].p })
	return out, nil
}

// fail says of a value that it has no result, and why: an error of the form that is wanted need not name it again.
func (c *Conversion) fail(value string, why error, more string) error {
	where := c.where(value)
	if e, ok := errors.AsType[*formats.Error](why); ok && e.Where == "as "+c.to.Name && e.Input == "" {
		return &formats.Error{Where: where, Reason: e.Reason + more, Err: e.Err}
	}
	return fmt.Errorf("%s: %w%s", where, why, more)
}

// where is what errors about a value begin with.
func (c *Conversion) where(value string) string {
	whence := ""
	if c.from.Name != "" {
		whence = " from " + c.from.Name
	}
	return fmt.Sprintf("convert %q%s to %s", say.Clip(value, 40), whence, c.to.Name)
}

// whyNot says why a value is no card: of the format that is named, that a number does not fit it, whatever the form.
func (c *Conversion) whyNot(value string) error {
	if !c.named && len(c.site) > 0 {
		return c.whyNotOfSite(value)
	}
	if !c.named {
		return errors.New("no format is written so; name the --format to learn why")
	}
	for _, form := range formats.Forms() {
		if _, err := form.Parse(c.formats[0], value); errors.Is(err, wiegand.ErrRange) {
			return err
		}
	}
	return fmt.Errorf("it can be no card of format %s; say how it is written, --from FORM, to learn why", c.formats[0].ID)
}

func (a *Answer) add(c *Conversion, r *meant, text string) {
	a.results = append(a.results, result{a.input, r.card.Format.ID, r.from, text, c.to.Name, r.p, r.taken})
	a.rest -= r.p
	i := slices.IndexFunc(a.groups, func(g group) bool { return strings.EqualFold(g.value, text) })
	if i < 0 {
		i, a.groups = len(a.groups), append(a.groups, group{value: text})
	}
	a.groups[i].p += r.p
	if !slices.Contains(a.groups[i].ids, r.card.Format.ID) {
		a.groups[i].ids = append(a.groups[i].ids, r.card.Format.ID)
	}
}

// candidates returns what the answer for one text leaves, once --format and --facility are taken into account. Where
// they are given, the probabilities are those if they are right.
func (c *Conversion) candidates(value string, ans *rank.TextAnswer, no *refusals) (all []meant) {
	sum := 0.0
	for i := range ans.Candidates {
		one := &ans.Candidates[i]
		f := one.Format
		if c.formats != nil && !slices.Contains(c.formats, f) {
			if !c.named {
				no.add(c.whyNotOfSite(value), one.Probability)
			}
			continue
		}
		if one.Cards[0].Format == nil || !one.Repairs[0].Fault.Wiring() {
			no.add(fmt.Errorf("can be a misread of format %s; present the card again", f.ID), one.Probability)
			sum += one.Probability
			continue
		}
		r := meant{card: one.Cards[0], taken: ans.Taken[ans.Way(i)].As[0], p: one.Probability}
		r.from = cmp.Or(slices.Concat(one.Printed, []string{"bits"})...)
		if strings.Contains(r.from, " ") {
			r.from = "uid" // a part of a chip serial
		}
		if c.facility != "" {
			filled, err := rank.WithFacility(r.card, c.facility)
			if err != nil {
				no.add(err, one.Probability)
				continue
			}
			if !r.card.Known.Has(f.Facility()) {
				r.p *= c.ranker.Facility(r.from, &r.card, &filled)
			}
			r.card = filled
		}
		sum += r.p
		all = append(all, r)
	}
	if c.facility != "" || c.named {
		for i := range all {
			all[i].p /= sum
		}
	}
	return all
}

// ofSite returns the readings that are cards of the site, where there is a site file. A facility that the value leaves
// out is one of those that these cards have.
func (c *Conversion) ofSite(all []meant, no *refusals) (out []meant) {
	if len(c.site) == 0 {
		return all
	}
	for _, r := range all {
		for _, one := range c.filled(r) {
			if c.belongs(&one.card) {
				out = append(out, one)
				continue
			}
			no.add(fmt.Errorf("is none of the site's cards: the site file does not list it among its cards of %s",
				r.card.Format.ID), one.p)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].p > out[j].p })
	return out
}

// whyNotOfSite says why a value is no card of the site: that a number does not fit it, if it is written as printed.
func (c *Conversion) whyNotOfSite(value string) error {
	for _, p := range c.site {
		form, _ := formats.FormByName(p.Printed)
		for _, f := range c.formats {
			if f.ID != p.Format {
				continue
			}
			if _, err := form.Parse(f, value); errors.Is(err, wiegand.ErrRange) {
				return fmt.Errorf("is none of the site's cards of %s: %w", f.ID, err)
			}
		}
	}
	return errors.New("is none of the site's cards; look whether the site file has them all")
}

func (c *Conversion) belongs(card *formats.Card) bool {
	return slices.ContainsFunc(c.site, func(p formats.Population) bool { return p.Belongs(card) })
}

// filled returns a reading with each facility that the site's cards of its format can have, where it has none; as it is
// where the site file does not say which.
func (c *Conversion) filled(r meant) []meant {
	f := r.card.Format
	if f.Facility() < 0 || r.card.Known.Has(f.Facility()) {
		return []meant{r}
	}
	var out []meant
	var done []uint64
	sum := 0.0
	for _, p := range c.site {
		for _, v := range p.Facilities {
			if p.Format != f.ID || slices.Contains(done, v) {
				continue
			}
			done = append(done, v)
			one := r
			var err error
			if one.card, err = r.card.WithFacility(fmt.Sprint(v)); err != nil {
				continue
			}
			if one.p = c.ranker.Facility(r.from, &r.card, &one.card); c.belongs(&one.card) {
				sum += one.p
				out = append(out, one)
			}
		}
		if p.Format == f.ID && len(p.Facilities) == 0 {
			return []meant{r}
		}
	}
	for i := range out {
		out[i].p *= r.p / sum
	}
	return out
}
