package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

const formatsHelp = `Shows the catalogue of card formats, and checks definition files.

  formats             lists all formats, and those of every --formats FILE
  formats show ID     shows one: its bits, fields, checks, forms and source
  formats check FILE  reads a definition file and says what is wrong with it
  formats --forms     lists the forms in which card numbers are written`

type formatsOptions struct {
	*app
	forms bool
}

func (a *app) formatsCommand() *cobra.Command {
	o := formatsOptions{app: a}
	c := &cobra.Command{
		Use:   "formats [list|show ID|check FILE]",
		Short: "Shows the catalogue of card formats",
		Long:  formatsHelp,
		Example: `  cardtell formats show 26-8-16
  cardtell formats --forms`,
		Args: manual.NoSuchCommand,
		RunE: func(*cobra.Command, []string) error {
			if o.forms {
				return o.listForms()
			}
			return o.list()
		},
	}
	c.Flags().BoolVar(&o.forms, "forms", false, "list the forms of card numbers instead")
	c.AddCommand(
		&cobra.Command{
			Use: "list", Short: "Lists all formats", Args: manual.NoSuchCommand,
			Example: "  cardtell formats list\n  cardtell formats list --json",
			RunE:    func(*cobra.Command, []string) error { return o.list() },
		},
		&cobra.Command{
			Use: "show ID", Short: "Shows one format", Args: manual.OneArgument("format"),
			Example: "  cardtell formats show 26-8-16\n  cardtell formats show fascn-200 --json",
			RunE:    func(_ *cobra.Command, args []string) error { return o.show(args[0]) },
		},
		&cobra.Command{
			Use: "check FILE", Short: "Checks a definition file", Args: manual.OneArgument("definition file"),
			Example: "  cardtell formats check formats/catalogue.toml\n  cardtell formats check formats/catalogue.toml --json",
			RunE:    func(_ *cobra.Command, args []string) error { return o.check(args[0]) },
		},
	)
	return c
}

type formatJSON struct {
	ID          string            `json:"id"`
	Description string            `json:"description"`
	Lengths     []int             `json:"lengths"`
	Kind        string            `json:"kind"`
	Standing    string            `json:"standing"`
	Source      string            `json:"source"`
	Weight      float64           `json:"weight"`
	Fields      []fieldJSON       `json:"fields,omitempty"`
	Checks      []layoutCheckJSON `json:"checks,omitempty"`
	Forms       []string          `json:"forms,omitempty"`
}

type fieldJSON struct {
	Name   string `json:"name"`
	Bits   string `json:"bits"`
	Coding string `json:"coding"`
	Order  string `json:"order"`
	Value  string `json:"value,omitempty"`
}

type layoutCheckJSON struct {
	Kind string `json:"kind"`
	Bit  int    `json:"bit,omitempty"`
	Bits string `json:"bits"`
}

// summary describes the formats of one id, which differ in length only.
func summary(found []*formats.Format) formatJSON {
	f := found[0]
	doc := formatJSON{
		ID: f.ID, Description: f.Description, Kind: f.Kind.String(), Standing: f.Standing.String(), Source: f.Source,
	}
	for _, one := range found {
		doc.Lengths = append(doc.Lengths, one.Layout.Len())
		doc.Weight += one.Weight
	}
	return doc
}

func (o *formatsOptions) list() error {
	cat, err := o.catalogue()
	if err != nil {
		return err
	}
	var all []formatJSON
	for _, id := range cat.IDs() {
		all = append(all, summary(cat.Find(id)))
	}
	if o.json {
		return o.printJSON(map[string]any{"formats": all})
	}
	for _, f := range all {
		o.printEntry(f.ID, answer.ShortDescription(cat.Find(f.ID)[0]))
	}
	return nil
}

// nameWidth is the column at which descriptions begin.
const nameWidth = 22

// printEntry writes a name and what it means, on as many lines as that takes.
func (o *formatsOptions) printEntry(name, text string) {
	if len(name) > nameWidth-2 {
		fmt.Fprintln(o.out, name)
		name = ""
	}
	say.Print(o.out, fmt.Sprintf("%-*s", nameWidth, name), text)
}

func (o *formatsOptions) listForms() error {
	if o.json {
		type formJSON struct {
			Name        string `json:"name"`
			Description string `json:"description"`
			Example     string `json:"example,omitempty"`
		}
		var all []formJSON
		for _, f := range formats.Forms() {
			all = append(all, formJSON{f.Name, f.Description, f.Example})
		}
		return o.printJSON(map[string]any{"forms": all})
	}
	fmt.Fprintf(o.out, "Forms of card numbers, with the 26-bit card of facility 150, number 46143:\n\n")
	for _, f := range formats.Forms() {
		o.printEntry(f.Name, f.Description)
		if f.Example != "" {
			o.printEntry("", f.Example)
		}
	}
	return nil
}

func (o *formatsOptions) show(id string) error {
	cat, err := o.catalogue()
	if err != nil {
		return err
	}
	found, err := findFormat(cat, id)
	if err != nil {
		return err
	}
	f := example(found)
	if o.json {
		return o.printJSON(o.detail(found, f))
	}
	o.printFormat(found, f)
	return nil
}

// example returns the one of the formats that has an example to show, or the first.
func example(found []*formats.Format) *formats.Format {
	for _, f := range found {
		if len(f.Examples) > 0 {
			return f
		}
	}
	return found[0]
}

func (o *formatsOptions) detail(found []*formats.Format, f *formats.Format) formatJSON {
	doc := summary(found)
	for _, field := range f.Layout.Spec().Fields {
		doc.Fields = append(doc.Fields, fieldJSON{
			Name: field.Name, Bits: field.Bits.String(), Coding: field.Coding.String(), Order: field.Order.String(),
			Value: field.Constant,
		})
	}
	for _, c := range f.Layout.Checks() {
		doc.Checks = append(doc.Checks, layoutCheckJSON{Kind: c.Kind.String(), Bit: c.Bit, Bits: c.Bits.String()})
	}
	for _, form := range formats.Forms() {
		if ok, _ := form.Fits(f); ok {
			doc.Forms = append(doc.Forms, form.Name)
		}
	}
	return doc
}

func (o *formatsOptions) printFormat(found []*formats.Format, f *formats.Format) {
	w, style := o.out, o.style()
	doc := o.detail(found, f)
	about := strings.Join(say.Hang(fmt.Sprintf("%-8s  ", doc.ID), doc.Description, style.Width), "\n")
	fmt.Fprintln(w, strings.Replace(about, doc.ID, style.Bold(doc.ID), 1))
	standing := doc.Standing
	if doc.Source != "" {
		standing += " (" + doc.Source + ")"
	}
	fmt.Fprintln(w, strings.Join(say.Hang("standing  ", standing, style.Width), "\n"))
	if len(found) > 1 {
		fmt.Fprintf(w, "length    %d to %d bits; shown for %d\n", found[0].Layout.Len(), found[len(found)-1].Layout.Len(),
			f.Layout.Len())
	}
	fmt.Fprintf(w, "\n%s\n", style.Bold("Fields"))
	for _, field := range doc.Fields {
		fmt.Fprintf(w, "  %-14s bits %s%s\n", field.Name, field.Bits, fieldNotes(field))
	}
	o.printChecks(f, style)
	fmt.Fprintf(w, "\n%s\n", style.Bold("Forms"))
	fmt.Fprintln(w, strings.Join(say.Hang("  ", strings.Join(doc.Forms, ", "), style.Width), "\n"))
	for _, e := range f.Examples[:min(1, len(f.Examples))] {
		if c, err := f.Read(e.Read); err == nil {
			fmt.Fprintf(w, "\n%s  %s\n\n", style.Bold("Example"), e.Read.Hex())
			picture.Text(w, &c, style)
		}
	}
}

func fieldNotes(f fieldJSON) string {
	notes := ""
	if f.Coding != wiegand.Binary.String() {
		notes += ", " + f.Coding
	}
	if f.Order != wiegand.MSBFirst.String() {
		notes += ", last bit first"
	}
	if f.Value != "" {
		notes += ", always " + f.Value
	}
	if f.Name == wiegand.FieldUnknown {
		notes += ", kept as they are"
	}
	return notes
}

// printChecks lists the checks; many of one kind are summed up.
func (o *formatsOptions) printChecks(f *formats.Format, style picture.Style) {
	checks := f.Layout.Checks()
	if len(checks) == 0 {
		fmt.Fprintf(o.out, "\nNo checks: any read of %d bits fits.\n", f.Layout.Len())
		return
	}
	fmt.Fprintf(o.out, "\n%s\n", style.Bold("Checks"))
	count := map[wiegand.CheckKind]int{}
	for _, c := range checks {
		count[c.Kind]++
	}
	said := map[wiegand.CheckKind]bool{}
	for _, c := range checks {
		switch {
		case count[c.Kind] <= 4:
			fmt.Fprintf(o.out, "  %s\n", picture.CheckWords(c))
		case !said[c.Kind]:
			fmt.Fprintf(o.out, "  %d times %s parity or digits, the first over bits %s\n", count[c.Kind], c.Kind, c.Bits)
			said[c.Kind] = true
		}
	}
}

func (o *formatsOptions) check(name string) error {
	text, err := o.readSmall(name, maxDefinitions)
	if err != nil {
		return err
	}
	all, err := formats.ParseDefinitions(name, text)
	if err != nil {
		return err
	}
	cat, err := formats.NewCatalogue(all)
	if err != nil {
		return err
	}
	var docs []formatJSON
	for _, id := range cat.IDs() {
		docs = append(docs, summary(cat.Find(id)))
	}
	if o.json {
		return o.printJSON(map[string]any{"formats": docs})
	}
	for _, d := range docs {
		fmt.Fprintf(o.out, "%s: good, %d bits\n", d.ID, d.Lengths[0])
	}
	return nil
}
