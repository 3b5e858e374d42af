package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/conversion"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/layout"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

type formatsOptions struct {
	*app
	forms bool
}

func (a *app) formatsCommand() *cobra.Command {
	o := formatsOptions{app: a}
	c := &cobra.Command{
		Use: "formats [list|show ID|check FILE]",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				if cat, err := o.catalogue(); err == nil && len(cat.Find(args[0])) > 0 {
					return fmt.Errorf("%q: is a format; write cardtell formats show %s", args[0], args[0])
				}
			}
			return manual.NoSuchCommand(c, args)
		},
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
			Use: "list", Args: manual.NoSuchCommand,
			RunE: func(*cobra.Command, []string) error { return o.list() },
		},
		&cobra.Command{
			Use: "show ID", Args: manual.OneArgument("format"),
			RunE: func(_ *cobra.Command, args []string) error { return o.show(args[0]) },
		},
		&cobra.Command{
			Use: "check FILE", Args: manual.OneArgument("definition file"),
			RunE: func(_ *cobra.Command, args []string) error { return o.check(args[0]) },
		},
	)
	return c
}

func (o *formatsOptions) list() error {
	cat, err := o.catalogue()
	if err != nil {
		return err
	}
	return o.report(layout.CatalogueJSON(cat), func() {
		for _, id := range cat.IDs() {
			o.printEntry(id, layout.ShortDescription(cat.Find(id)[0]))
		}
	}, false)
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
	return o.report(layout.FormsJSON(), func() {
		fmt.Fprintf(o.out, "Forms of card numbers, with the 26-bit card of facility 150, number 46143:\n\n")
		for _, f := range formats.Forms() {
			o.printEntry(f.Name, f.Description)
			if f.Example != "" {
				o.printEntry("", f.Example)
			}
		}
	}, false)
}

func (o *formatsOptions) show(id string) error {
	cat, err := o.catalogue()
	if err != nil {
		return err
	}
	found, err := conversion.Formats(cat, id)
	if err != nil {
		return err
	}
	return o.report(layout.FormatJSON(found),
		func() { layout.Format(o.out, found, o.style()) }, false)
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
	return o.report(layout.CatalogueJSON(cat), func() {
		for _, id := range cat.IDs() {
			fmt.Fprintf(o.out, "%s: good, %d bits\n", id, cat.Find(id)[0].Layout.Len())
		}
	}, false)
}
