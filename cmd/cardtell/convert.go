package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/near"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/site"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
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
}

func (a *app) convertCommand() *cobra.Command {
	o := convertOptions{app: a}
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
	cat, err := o.catalogue()
	if err != nil {
		return nil, err
	}
	s, err := o.siteFile(cat)
	if err != nil {
		return nil, err
	}
	if err := o.fromSite(s); err != nil {
		return nil, err
	}
	conv := &conversion{facility: o.facility}
	if conv.from, err = formByName("--from", o.from); err != nil {
		return nil, err
	}
	if conv.to, err = formByName("--to", o.to); err != nil {
		return nil, err
	}
	if o.format != "" {
		if conv.formats, err = findFormat(cat, o.format); err != nil {
			return nil, err
		}
	}
	conv.ranker, err = o.app.ranker()
	return conv, err
}

// fromSite fills in what the flags leave out and the site file settles.
func (o *convertOptions) fromSite(s site.Site) error {
	if o.door != "" {
		if o.site == "" {
			return fmt.Errorf("convert: --door %q needs the site file; give --site FILE", o.door)
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
	if printed := s.Printed(); o.from == "" && len(printed) == 1 {
		o.from = printed[0]
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
		return nil, fmt.Errorf("format %q: not in the catalogue; nearest: %s", clip(id, 40), near.List(id, cat.IDs(), 3))
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

// convert returns the results of one value, likeliest first.
func (c *conversion) convert(value string) ([]conversionJSON, error) {
	readings := c.ranker.RankForm(c.from, value, c.facility, c.formats)
	var results []conversionJSON
	first := readings.Err // why the likeliest reading gives no result
	for i := range readings.Cards {
		text, err := c.to.Text(&readings.Cards[i])
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

// print writes the results for people: the bare value where the format is named, else a ranked list.
func (o *convertOptions) print(conv *conversion, values []string, all []conversionJSON) {
	if conv.formats != nil {
		for _, r := range all {
			fmt.Fprintln(o.out, r.Value)
		}
		return
	}
	width := 0
	for _, r := range all {
		width = max(width, len(r.Value))
	}
	last := ""
	for _, r := range all {
		if r.Input != last && len(values) > 1 {
			fmt.Fprintf(o.out, "%s\n", r.Input)
		}
		last = r.Input
		fmt.Fprintf(o.out, "%s  %-*s  %s\n", percent(r.Probability), width, r.Value, r.Format)
	}
	if distinct(all) {
		o.remark("the value fits several formats that give different results; --format ID settles it")
	}
}

// distinct reports whether an input has two different values.
func distinct(all []conversionJSON) bool {
	for i := 1; i < len(all); i++ {
		if all[i].Input == all[i-1].Input && !strings.EqualFold(all[i].Value, all[i-1].Value) {
			return true
		}
	}
	return false
}
