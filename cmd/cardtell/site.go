package main

import (
	"cmp"
	"errors"
	"fmt"
	"iter"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/formats/survey"
)

// siteFlags are the flags of site.
type siteFlags struct {
	table  tableFlags
	from   string
	format string
	form   string
	out    string
	door   string
	shows  []string
}

func (a *app) siteCommand() *cobra.Command {
	f := &siteFlags{}
	c := &cobra.Command{
		Use: "site [FILE]",
		Args: func(c *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return nil
			case len(args) > 1 || f.from != "":
				return fmt.Errorf("site: %q: follows the list; name one at a time", say.Clip(args[len(args)-1], 40))
			}
			return c.Flags().Set("from", args[0]) // as other commands take a list
		},
		RunE: func(*cobra.Command, []string) error { return a.siteCmd(f) },
	}
	flags := c.Flags()
	f.table.register(flags)
	flags.StringVar(&f.from, "from", "", "propose what the list `FILE` shows; the same as FILE alone")
	flags.StringVar(&f.format, "format", "", "`ID` of the cards' format (found out)")
	flags.StringVar(&f.form, "printed", "", "the `FORM` of the numbers (found out)")
	flags.StringVarP(&f.out, "output", "o", "", "write the site file to `FILE` (standard output)")
	flags.StringVar(&f.door, "door", "", "the `NAME` of the door that --shows is about")
	flags.StringArrayVar(&f.shows, "shows", nil, "what the door shows for a card, as `CARD=SHOWN`; may repeat")
	return c
}

func (a *app) siteCmd(f *siteFlags) error {
	if len(f.shows) > 0 || f.door != "" {
		return a.doorShows(f)
	}
	text := []byte(site.Starter)
	if f.from != "" {
		var err error
		if text, err = a.proposeSite(f); err != nil {
			return err
		}
	}
	if f.out == "" || f.out == "-" {
		return a.report(map[string]string{"toml": string(text)}, func() { a.out.Write(text) }, false)
	}
	if exists(f.out) {
		return fmt.Errorf("-o %s: the file is there already, and may be somebody's work; write to another one", f.out)
	}
	if err := a.replaceText(f.out, text); err != nil {
		return err
	}
	return a.report(map[string]string{"toml": string(text), "file": f.out}, func() {
		fmt.Fprintf(a.out, "%s written\n\nwhat to do:\n", f.out)
		say.Print(a.out, "  - ", "open it in a text editor, look it through, and add the doors")
		if f.from != "" {
			say.Print(a.out, "  - ", fmt.Sprintf("then: cardtell check %s --site %s", inShell(f.from), inShell(f.out)))
		}
	}, false)
}

func (a *app) proposeSite(f *siteFlags) ([]byte, error) {
	if f.from == "-" && (f.format == "" || f.form == "") {
		return nil, fmt.Errorf("--from -: a list from standard input is read once; give --format and --printed with it")
	}
	cat, err := a.catalogue()
	if err != nil {
		return nil, err
	}
	form := f.form
	if len(f.table.columns) == 2 { // facility and number
		form = cmp.Or(form, "pair")
	}
	var failed error
	seen, err := survey.New(cat, a.columnOf(f, &failed), survey.Options{Format: f.format, Form: form})
	if err = cmp.Or(failed, err); err != nil {
		return nil, err
	}
	s := site.Site{Name: "My site", Cards: seen.Cards()}
	if len(s.Cards) == 0 {
		return nil, &list.Error{File: f.from, Reason: "no kind of card can be told from its numbers" +
			found.DoubtWords(seen.Doubts, 0) +
			"; is it the right column? --format ID and --printed FORM say what the cards are"}
	}
	return append(s.Append(nil, found.SurveyWords(f.from, &seen)...), doorsToFill...), nil
}

const doorsToFill = `
# A list does not show what the doors want. Take the # away and fill in; repeat for every door.
# What a door shows for one card tells: cardtell site --site FILE --door NAME --shows CARD=SHOWN
# [[doors]]
# name     = "North stair"
# enter    = "pair"               # the form in which its controller wants a card typed in
# capacity = 250                  # how many cardholders it holds: see its manual
`

// columnOf returns the numbers of a list with their lines, anew each time that it is ranged over. What goes wrong is
// put into failed.
func (a *app) columnOf(f *siteFlags, failed *error) iter.Seq2[int, string] {
	said := a // which column it is: once
	return func(yield func(int, string) bool) {
		t, err := a.openTable(f.from, &f.table)
		if err != nil {
			*failed = err
			return
		}
		defer t.close()
		column, err := t.numbers(said)
		said = nil
		if err == nil {
			err = t.each(func(row *list.Row, _ bool) error {
				if row.Kind == list.Data && !yield(row.Line, column.text(row)) {
					return errEnough
				}
				return nil
			})
		}
		if !errors.Is(err, errEnough) {
			*failed = err
		}
	}
}
