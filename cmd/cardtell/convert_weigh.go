package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// dropped is the probability from which a reading that lacks something, such as the facility, is not passed over in
// favour of less likely ones: nothing is guessed in silence.
const dropped = 0.05

// conversionAnswer is what one value can be.
type conversionAnswer struct {
	input   string
	results []conversionJSON // likeliest first
	groups  []conversionGroup
	rest    float64 // probability of everything that gives no result
}

// conversionGroup is the readings that give the same result.
type conversionGroup struct {
	value string
	p     float64
	ids   []string
}

func (a *conversionAnswer) sure() bool { return len(a.groups) > 0 && a.groups[0].p > answer.Surely }

// meant is one card that a value can be.
type meant struct {
	card        formats.Card
	from, taken string
	p           float64
}

// convert returns the results of one value.
func (c *conversion) convert(value string) (conversionAnswer, error) {
	var all []meant
	var first error // why the likeliest reading gives no result
	if c.from.Name != "" {
		readings := c.ranker.RankForm(c.from, value, c.facility, c.formats)
		first = readings.Err
		for i := range readings.Cards {
			all = append(all, meant{card: readings.Cards[i], from: c.from.Name, p: readings.Probability[i]})
		}
	} else {
		ans, err := c.ranker.RankTexts([]string{value})
		if err != nil {
			return conversionAnswer{}, err
		}
		all, first = c.candidates(&ans)
	}
	all, why := c.ofSite(all)
	out := conversionAnswer{input: value, rest: 1}
	whence := ""
	if c.from.Name != "" {
		whence = " from " + c.from.Name
	}
	first = cmp.Or(first, why)
	for i := range all {
		r := &all[i]
		text, err := c.to.Text(&r.card)
		if err != nil && len(out.results) == 0 && r.p >= dropped && errors.Is(err, formats.ErrMissing) {
			return out, fmt.Errorf("convert %q%s to %s: %w; or name another --format", say.Clip(value, 40), whence, c.to.Name,
				err)
		}
		if err != nil {
			first = cmp.Or(first, err)
			continue
		}
		out.add(c, r, text)
	}
	if len(out.results) == 0 {
		first = cmp.Or(first, c.whyNot(value))
		return out, fmt.Errorf("convert %q%s to %s: %w", say.Clip(value, 40), whence, c.to.Name, first)
	}
	slices.SortStableFunc(out.groups, func(a, b conversionGroup) int { return cmp.Compare(b.p, a.p) })
	return out, nil
}

// whyNot says why a value is no card: of the format that is named, that a number does not fit it, whatever the form.
func (c *conversion) whyNot(value string) error {
	if !c.named {
		return errors.New("no format has it in this form; name the --format to learn why")
	}
	for _, form := range formats.Forms() {
		if _, err := form.Parse(c.formats[0], value); errors.Is(err, wiegand.ErrRange) {
			return err
		}
	}
	return fmt.Errorf("it can be no card of format %s; name the form that it is in, --from, to learn why", c.formats[0].ID)
}

func (a *conversionAnswer) add(c *conversion, r *meant, text string) {
	a.results = append(a.results, conversionJSON{
		Input: a.input, Format: r.card.Format.ID, From: r.from, Value: text, To: c.to.Name,
		Probability: r.p, Taken: r.taken,
	})
	a.rest -= r.p
	i := slices.IndexFunc(a.groups, func(g conversionGroup) bool { return strings.EqualFold(g.value, text) })
	if i < 0 {
		i, a.groups = len(a.groups), append(a.groups, conversionGroup{value: text})
	}
	a.groups[i].p += r.p
	if !slices.Contains(a.groups[i].ids, r.card.Format.ID) {
		a.groups[i].ids = append(a.groups[i].ids, r.card.Format.ID)
	}
}

// candidates returns what the answer for one text leaves, once --format and --facility are taken into account. Where
// they are given, the probabilities are those if they are right.
func (c *conversion) candidates(ans *rank.TextAnswer) (all []meant, why error) {
	sum := 0.0
	for i := range ans.Candidates {
		one := &ans.Candidates[i]
		f := one.Format
		if c.formats != nil && !slices.Contains(c.formats, f) {
			continue
		}
		if one.Cards[0].Format == nil || !one.Repairs[0].Fault.Wiring() {
			why, sum = cmp.Or(why, fmt.Errorf("can be a misread of format %s; present the card again", f.ID)),
				sum+one.Probability
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
				why = cmp.Or(why, err)
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
	return all, why
}

// ofSite returns the readings that are cards of the site, where there is a site file. A facility that the value leaves
// out is one of those that these cards have.
func (c *conversion) ofSite(all []meant) (out []meant, why error) {
	if len(c.site) == 0 {
		return all, nil
	}
	for _, r := range all {
		for _, one := range c.filled(r) {
			if c.belongs(&one.card) {
				out = append(out, one)
				continue
			}
			why = cmp.Or(why, fmt.Errorf("is none of the site's cards: the site file does not list it among its cards of %s",
				r.card.Format.ID))
		}
	}
	slices.SortStableFunc(out, func(a, b meant) int { return cmp.Compare(b.p, a.p) })
	if why == nil && len(out) == 0 {
		why = errors.New("is none of the site's cards; look whether the site file has them all")
	}
	return out, why
}

func (c *conversion) belongs(card *formats.Card) bool {
	return slices.ContainsFunc(c.site, func(p formats.Population) bool {
		known := p
		return p.Format == card.Format.ID && known.Belongs(card)
	})
}

// filled returns a reading with each facility that the site's cards of its format can have, where it has none; as it is
// where the site file does not say which.
func (c *conversion) filled(r meant) []meant {
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

// print writes the results for people: a value alone where it is nearly certain, else a ranked list.
func (o *convertOptions) print(conv *conversion, answers []conversionAnswer) {
	for i := range answers {
		a := &answers[i]
		if a.sure() {
			fmt.Fprintln(o.out, a.groups[0].value)
			if first := a.results[0]; first.Taken != "" && !conv.named {
				o.remark("%s: taken for %s, %s of %s (%s)", say.Clip(a.input, 40), first.Taken, first.From,
					idList(a.groups[0].ids), strings.TrimSpace(say.Percent(a.groups[0].p)))
			}
			continue
		}
		if len(answers) > 1 {
			fmt.Fprintln(o.out, a.input)
		}
		o.printReadings(conv, a)
		o.remark("%s: %s", say.Clip(a.input, 40), a.settles(conv))
	}
}

// settles says what would tell the results of a value apart.
func (a *conversionAnswer) settles(c *conversion) string {
	taken, forms, ids := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, r := range a.results {
		if r.Probability >= 1-answer.Surely {
			taken[r.Taken], forms[r.From], ids[r.Format] = true, true, true
		}
	}
	var ways []string
	if len(taken) > 1 {
		ways = append(ways, "bits:, LENGTH:HEX, hex:, uid: or printed: before the value")
	}
	if len(forms) > 1 {
		ways = append(ways, "--from FORM")
	}
	if len(ids) > 1 {
		ways = append(ways, "--format ID")
	}
	if ways == nil {
		ways = []string{"--format ID, or the card's read"}
		if len(c.site) > 0 {
			ways = []string{"the card's read, or --facility F"}
		}
	}
	return "no one result is above 99 %; what settles it: " + strings.Join(ways, ", or ")
}

// printReadings writes what one value can be, formats that give the same result together.
func (o *convertOptions) printReadings(c *conversion, a *conversionAnswer) {
	width := 0
	for _, g := range a.groups {
		width = max(width, min(len(g.value), 50))
	}
	for _, g := range a.groups {
		words := idList(g.ids)
		if c.from.Name == "" {
			i := slices.IndexFunc(a.results, func(r conversionJSON) bool { return strings.EqualFold(r.Value, g.value) })
			words += ", from " + a.results[i].From
		}
		fmt.Fprintf(o.out, "%s  %-*s  %s\n", say.Percent(g.p), width, g.value, words)
	}
	if a.rest >= 0.0005 {
		what := "none of these"
		if len(c.site) > 0 {
			what = "none of the site's cards"
		}
		fmt.Fprintf(o.out, "%s  %s\n", say.Percent(a.rest), what)
	}
}

// idList names formats, the first two of many.
func idList(ids []string) string {
	if len(ids) <= 2 {
		return strings.Join(ids, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(ids[:2], ", "), len(ids)-2)
}
