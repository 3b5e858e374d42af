package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/near"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

const convertHelp = `Turns a card number from one form into another.

What a value was taken for comes with the answer, with the probability that
identify gives it. A result above 99 % is printed alone; else all are, with what
would settle it, and the exit code is 1. Nothing that does not fit is cut.

Forms: ` + "`cardtell formats --forms`" + ` lists them. Common ones are pair (150,46143),
joined (15046143), number (46143), decimal (9876543), hex, bits and bits-hex.
With a site file, only its cards count; --door picks what its controller wants.`

type convertOptions struct {
	*app
	from, to, format, facility, door string

	dash string // before the names of options in errors: "--", or nothing where they are keys of a request
}

func (a *app) convertCommand() *cobra.Command {
	o := convertOptions{app: a, dash: "--"}
	c := &cobra.Command{
		Use:   "convert VALUE… --to FORM",
		Short: "Turns a card number from one form into another",
		Long:  convertHelp,
		Example: `  cardtell convert 26:32D687E --to pair
  cardtell convert 150,46143 --from pair --to decimal10 --format 26-8-16
  cardtell convert 46143 --from number --to bits --format 26-8-16 --facility 150`,
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	f := c.Flags()
	f.StringVar(&o.from, "from", "", "the `FORM` that the values are in, where you know it")
	f.StringVar(&o.to, "to", "", "the `FORM` that is wanted")
	f.StringVar(&o.format, "format", "", "the `ID` of the cards' format")
	f.StringVar(&o.facility, "facility", "", "the facility `F`, where the values leave it out")
	f.StringVar(&o.door, "door", "", "with --site: the form that the door `NAME` wants")
	return c
}

// conversion is what is asked for, once flags and site file are put together.
type conversion struct {
	from, to formats.Form      // from has no name where the value says what it is
	formats  []*formats.Format // nil: any
	named    bool              // the formats are those of --format
	facility string
	site     []formats.Population // whose cards alone count, if any
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
	all, sure := make([]conversionJSON, 0, len(values)), true
	var answers []conversionAnswer
	for _, v := range values {
		answer, err := conv.convert(v)
		if err != nil {
			return err
		}
		sure = sure && answer.sure()
		all, answers = append(all, answer.results...), append(answers, answer)
	}
	if o.json {
		err = o.printJSON(map[string]any{"results": all})
	} else {
		o.print(conv, answers)
	}
	if err == nil && !sure {
		err = errNo
	}
	return err
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
	if k.cat, k.site, err = a.known(); err == nil {
		k.ranker, err = a.rankerOf(k.cat, k.site)
	}
	return k, err
}

func (o *convertOptions) settleWith(k knowledge) (conv *conversion, err error) {
	if err := o.fromSite(k.site); err != nil {
		return nil, err
	}
	conv = &conversion{facility: o.facility, site: k.site.Cards, ranker: k.ranker}
	if o.from != "" {
		if conv.from, err = formByName(o.dash+"from", o.from); err != nil {
			return nil, err
		}
	}
	if conv.to, err = formByName(o.dash+"to", o.to); err != nil {
		return nil, err
	}
	for _, p := range conv.site {
		conv.formats = append(conv.formats, k.cat.Find(p.Format)...)
	}
	if o.format != "" {
		conv.named = true
		if conv.formats, err = findFormat(k.cat, o.format); err != nil {
			return nil, err
		}
		if o.facility != "" && conv.formats[0].Facility() < 0 {
			return nil, fmt.Errorf("convert: --facility %q: format %s has no facility field; leave it out",
				say.Clip(o.facility, 40),
				o.format)
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
	if o.from == "" {
		return nil // the value is weighed with all that the site file says
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
		return form, fmt.Errorf("%s: no form; name one, such as pair, decimal or bits-hex (cardtell formats --forms lists all)", flag)
	}
	var names []string
	for _, f := range formats.Forms() {
		names = append(names, f.Name)
	}
	return form, fmt.Errorf("%s %q: no such form; nearest: %s", flag, say.Clip(name, 40), near.List(name, names, 3))
}

// findFormat returns the formats of an id.
func findFormat(cat formats.Catalogue, id string) ([]*formats.Format, error) {
	found := cat.Find(id)
	if len(found) == 0 {
		return nil, fmt.Errorf("format %q: no such format; nearest: %s", say.Clip(id, 40), near.List(id, cat.IDs(), 3))
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
	Taken       string  `json:"taken,omitempty"` // what the value was taken for, where --from does not say
}
