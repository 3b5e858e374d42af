package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/near"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

const convertHelp = `Turns a card number from one form into another.

With --format there is one result for each value, and nothing else on standard
output. Without it, every format that the value fits gives one, the likeliest
first. A number that does not fit its field is an error; nothing is cut.

Forms: ` + "`cardtell formats --forms`" + ` lists them. Common ones are pair (150,46143),
joined (15046143), number (46143), decimal (9876543), hex, bits and bits-hex.
A site file settles what you leave out; --door picks what its controller wants.`

type convertOptions struct {
	*app
	from, to, format, facility, door string

	dash string // before the names of options in errors: "--", or nothing where they are keys of a request
}

func (a *app) convertCommand() *cobra.Command {
	o := convertOptions{app: a, dash: "--"}
	c := &cobra.Command{
		Use:   "convert VALUE… --from FORM --to FORM",
		Short: "Turns a card number from one form into another",
		Long:  convertHelp,
		Example: `  cardtell convert 150,46143 --from pair --to decimal10 --format 26-8-16
  cardtell convert 46143 --from number --to bits --format 26-8-16 --facility 150`,
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	f := c.Flags()
	f.StringVar(&o.from, "from", "", "the `FORM` that the values are in")
	f.StringVar(&o.to, "to", "", "the `FORM` that is wanted")
	f.StringVar(&o.format, "format", "", "the `ID` of the cards' format")
	f.StringVar(&o.facility, "facility", "", "the facility `F`, where the values leave it out")
	f.StringVar(&o.door, "door", "", "with --site: the form that the door `NAME` wants")
	return c
}

// conversion is what is asked for, once flags and site file are put together.
type conversion struct {
	from, to formats.Form
	formats  []*formats.Format // nil: any
	facility string
	site     []formats.Population // where --from is left to the site file: its cards that say how they are printed
	cat      formats.Catalogue
	ranker   *rank.Ranker
}

func (o *convertOptions) run(args []string) error {
	conv, err := o.settle()
	if err != nil {
		return err
	}
	values, err := o.values(args)
	if err != nil {
		return err
	}
	var all []conversionJSON
	for _, v := range values {
		results, err := conv.convert(v)
		if err != nil {
			return err
		}
		all = append(all, results...)
	}
	if o.json {
		return o.printJSON(map[string]any{"results": all})
	}
	o.print(conv, values, all)
	return nil
}

// values returns the arguments, with the lines of standard input in place of a "-".
func (o *convertOptions) values(args []string) ([]string, error) {
	var values []string
	for _, arg := range args {
		if arg != "-" {
			values = append(values, arg)
			continue
		}
		if err := o.lines("-", func(_ int, text string) error { values = append(values, text); return nil }); err != nil {
			return nil, err
		}
	}
	if len(values) == 0 {
		return nil, fmt.Errorf("convert: no values; write one, such as 150,46143, or - to read them from standard input")
	}
	return values, nil
}

// settle works out forms, formats and facility from the flags and the site file.
func (o *convertOptions) settle() (*conversion, error) {
	k, err := o.knowledge()
	if err != nil {
		return nil, err
	}
	return o.settleWith(k)
}

// knowledge is what the files of the command line say, read once.
type knowledge struct {
	cat    formats.Catalogue
	site   site.Site
	ranker *rank.Ranker
}

func (a *app) knowledge() (k knowledge, err error) {
	if k.cat, err = a.catalogue(); err != nil {
		return k, err
	}
	if k.site, err = a.siteFile(k.cat); err != nil {
		return k, err
	}
	k.ranker, err = rankerOf(k.cat, k.site)
	return k, err
}

func (o *convertOptions) settleWith(k knowledge) (conv *conversion, err error) {
	if err := o.fromSite(k.site); err != nil {
		return nil, err
	}
	conv = &conversion{facility: o.facility, cat: k.cat, ranker: k.ranker}
	if o.from == "" {
		for _, p := range k.site.Cards {
			if p.Printed != "" && (o.format == "" || o.format == p.Format) {
				conv.site = append(conv.site, p)
			}
		}
	}
	if conv.site == nil {
		if conv.from, err = formByName(o.dash+"from", o.from); err != nil {
			return nil, err
		}
	}
	if conv.to, err = formByName(o.dash+"to", o.to); err != nil {
		return nil, err
	}
	if o.format != "" {
		if conv.formats, err = findFormat(k.cat, o.format); err != nil {
			return nil, err
		}
		if o.facility != "" && conv.formats[0].Facility() < 0 {
			return nil, fmt.Errorf("convert: --facility %q: format %s has no facility field; leave it out", clip(o.facility, 40), o.format)
		}
	}
	return conv, err
}

// fromSite fills in what the flags leave out and the site file settles.
func (o *convertOptions) fromSite(s site.Site) error {
	if o.door != "" {
		if o.site == "" {
			return fmt.Errorf("convert: --door %q: doors are in a site file; give --site FILE", o.door)
		}
		d, err := s.Door(o.door)
		if err != nil {
			return err
		}
		if o.to == "" {
			o.to = d.Enter
		}
	}
	if ids := s.Formats(); o.format == "" && len(ids) == 1 {
		o.format = ids[0]
	}
	if all, whole := s.Facilities(o.format); o.facility == "" && whole && len(all) == 1 {
		o.facility = fmt.Sprint(all[0])
	}
	return nil
}

// formByName returns the form of a flag.
func formByName(flag, name string) (formats.Form, error) {
	form, ok := formats.FormByName(name)
	switch {
	case ok:
		return form, nil
	case name == "":
		return form, fmt.Errorf("%s: no form; name one, such as pair, decimal or bits-hex", flag)
	}
	var names []string
	for _, f := range formats.Forms() {
		names = append(names, f.Name)
	}
	return form, fmt.Errorf("%s %q: no such form; nearest: %s", flag, clip(name, 40), near.List(name, names, 3))
}

// findFormat returns the formats of an id.
func findFormat(cat formats.Catalogue, id string) ([]*formats.Format, error) {
	found := cat.Find(id)
	if len(found) == 0 {
		return nil, fmt.Errorf("format %q: no such format; nearest: %s", clip(id, 40), near.List(id, cat.IDs(), 3))
	}
	return found, nil
}

// conversionJSON is one result.
type conversionJSON struct {
	Input       string  `json:"input"`
	Format      string  `json:"format"`
	From        string  `json:"from"`
	Value       string  `json:"value"`
	To          string  `json:"to"`
	Probability float64 `json:"probability"`
}

// dropped is the probability from which a reading that lacks something, such as the facility, is not passed over in favour of
// less likely ones: nothing is guessed in silence.
const dropped = 0.05

// convert returns the results of one value, likeliest first.
func (c *conversion) convert(value string) ([]conversionJSON, error) {
	if c.site != nil {
		return c.convertSite(value)
	}
	readings := c.ranker.RankForm(c.from, value, c.facility, c.formats)
	var results []conversionJSON
	first := readings.Err // why the likeliest reading gives no result
	for i := range readings.Cards {
		text, err := c.to.Text(&readings.Cards[i])
		if err != nil && len(results) == 0 && readings.Probability[i] >= dropped && errors.Is(err, formats.ErrMissing) {
			return nil, fmt.Errorf("convert %q from %s to %s: %w; or name another --format", clip(value, 40), c.from.Name, c.to.Name, err)
		}
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		results = append(results, conversionJSON{
			Input: value, Format: readings.Cards[i].Format.ID, From: c.from.Name, Value: text, To: c.to.Name,
			Probability: readings.Probability[i],
		})
	}
	if len(results) == 0 {
		if first == nil {
			first = errors.New("no format has it in this form; name the --format to learn why")
		}
		return nil, fmt.Errorf("convert %q from %s to %s: %w", clip(value, 40), c.from.Name, c.to.Name, first)
	}
	return results, nil
}

// convertSite returns the result of a value that is printed on one of the site's cards: the first of them that it fits, if no
// other of them gives another result.
func (c *conversion) convertSite(value string) ([]conversionJSON, error) {
	var results []conversionJSON
	var why error
	for _, p := range c.site {
		card, err := readPrint(c.cat, p, value, c.facility)
		if err != nil {
			why = cmp.Or(why, err)
			continue
		}
		text, err := c.to.Text(&card)
		if err != nil {
			return nil, fmt.Errorf("convert %q to %s: %w", clip(value, 40), c.to.Name, err)
		}
		r := conversionJSON{Input: value, Format: p.Format, From: p.Printed, Value: text, To: c.to.Name, Probability: 1}
		if len(results) > 0 && results[0].Value != text {
			settles := "--format"
			if results[0].Format == p.Format {
				settles = "--facility"
			}
			return nil, fmt.Errorf("convert %q: can be two cards at this site, one of %s and one of %s; give %s", clip(value, 40), results[0].Format, p.Format, settles)
		}
		results = append(results, r)
	}
	if len(results) == 0 {
		return nil, fmt.Errorf("convert %q: is the print of none of the site's cards (%w); name its form with --from", clip(value, 40), why)
	}
	return results[:1], nil
}

// readPrint reads a number as it is printed on a population's cards. A facility that it leaves out is the one given, or else the
// one that all these cards have. A number that the site file does not list, or of another facility than that given, is none of
// them.
func readPrint(cat formats.Catalogue, p formats.Population, value, facility string) (formats.Card, error) {
	form, _ := formats.FormByName(p.Printed) // the site file was checked
	if facility == "" && len(p.Facilities) == 1 {
		facility = fmt.Sprint(p.Facilities[0])
	}
	var why error
	for _, f := range cat.Find(p.Format) {
		card, err := rank.ReadForm(f, form, value, facility)
		if err == nil && !p.Belongs(&card) {
			err = fmt.Errorf("the site file does not list it among its cards of %s", p.Format)
		}
		if err == nil {
			return card, nil
		}
		why = cmp.Or(why, err)
	}
	return formats.Card{}, why
}

// print writes the results for people: the bare value where the format is named, else a ranked list.
func (o *convertOptions) print(conv *conversion, values []string, all []conversionJSON) {
	if conv.formats != nil || conv.site != nil {
		for _, r := range all {
			fmt.Fprintln(o.out, r.Value)
		}
		return
	}
	for rest := all; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].Input == rest[0].Input {
			n++
		}
		if len(values) > 1 {
			fmt.Fprintf(o.out, "%s\n", rest[0].Input)
		}
		o.printReadings(rest[:n])
		rest = rest[n:]
	}
	if differing(all) {
		o.remark("the value fits several formats that give different results; --format ID settles it")
	}
}

// printReadings writes what one value can be, formats that give the same result together.
func (o *convertOptions) printReadings(all []conversionJSON) {
	type group struct {
		value string
		p     float64
		ids   []string
	}
	var groups []group
	width := 0
	for _, r := range all {
		i := slices.IndexFunc(groups, func(g group) bool { return g.value == r.Value })
		if i < 0 {
			i, groups = len(groups), append(groups, group{value: r.Value})
			width = max(width, min(len(r.Value), 50))
		}
		groups[i].p += r.Probability
		groups[i].ids = append(groups[i].ids, r.Format)
	}
	slices.SortStableFunc(groups, func(a, b group) int { return cmp.Compare(b.p, a.p) })
	for _, g := range groups {
		ids := g.ids[0]
		if n := len(g.ids); n > 1 {
			ids = fmt.Sprintf("%s and %d more", strings.Join(g.ids[:min(2, n)], ", "), n-2)
			if n <= 2 {
				ids = strings.Join(g.ids, ", ")
			}
		}
		fmt.Fprintf(o.out, "%s  %-*s  %s\n", percent(g.p), width, g.value, ids)
	}
}

// differing reports whether an input has two different values.
func differing(all []conversionJSON) bool {
	for i := 1; i < len(all); i++ {
		if all[i].Input == all[i-1].Input && !strings.EqualFold(all[i].Value, all[i-1].Value) {
			return true
		}
	}
	return false
}
