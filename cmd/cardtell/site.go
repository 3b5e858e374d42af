package main

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"strings"

	"github.com/spf13/cobra"

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
		if a.json {
			return a.printJSON(map[string]string{"toml": string(text)})
		}
		_, err := a.out.Write(text)
		return err
	}
	if exists(f.out) {
		return fmt.Errorf("-o %s: the file is there already, and may be somebody's work; write to another one", f.out)
	}
	if err := a.replaceText(f.out, text); err != nil {
		return err
	}
	if a.json {
		return a.printJSON(map[string]string{"toml": string(text), "file": f.out})
	}
	fmt.Fprintf(a.out, "%s written\n\nwhat to do:\n", f.out)
	say.Print(a.out, "  - ", "open it in a text editor, look it through, and add the doors")
	if f.from != "" {
		say.Print(a.out, "  - ", fmt.Sprintf("then: cardtell check %s --site %s", inShell(f.from), inShell(f.out)))
	}
	return nil
}

// proposeSite makes a site file from a list.
func (a *app) proposeSite(f *siteFlags) ([]byte, error) {
	if f.from == "-" && (f.format == "" || f.form == "") {
		return nil, fmt.Errorf("--from -: a list from standard input is read once; give --format and --printed with it")
	}
	cat, err := a.catalogue()
	if err != nil {
		return nil, err
	}
	var failed error
	found, err := survey.New(cat, a.columnOf(f, &failed), survey.Options{Format: f.format, Form: f.form})
	if err = cmp.Or(failed, err); err != nil {
		return nil, err
	}
	s := site.Site{Name: "My site", Cards: found.Cards()}
	if len(s.Cards) == 0 {
		return nil, &list.Error{File: f.from, Reason: "no kind of card can be told from its numbers" +
			doubtWords(found.Doubts, 0) +
			"; is it the right column? --format ID and --printed FORM say what the cards are"}
	}
	return append(s.Append(nil, surveyWords(f.from, &found)...), doorsToFill...), nil
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
		column, err := t.numbers(said, f.table.columns)
		said = nil
		if err == nil {
			err = t.each(func(row *list.Row, _ bool) error {
				if row.Kind == list.Data && !yield(row.Line, string(column.value(row))) {
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

// surveyWords says what was found, as comments of a site file.
func surveyWords(name string, found *survey.Survey) []string {
	words := []string{fmt.Sprintf("What %s shows; cardtell reads it with --site FILE.", name)}
	for i := range found.Kinds {
		k := &found.Kinds[i]
		how := ""
		if len(k.Likely) > 0 {
			how = fmt.Sprintf(" (%s sure)", say.Chance(k.Probability))
		}
		words = append(words, fmt.Sprintf("Format %s%s, written as %s: %d of %s.", k.Format.ID, how, k.Form, k.Rows,
			say.Count(found.Rows, "row")))
		if can := likelyWords(k.Likely); len(can) > 1 {
			words = append(words, "  It can also be "+strings.Join(can[1:],
				", ")+": \"cardtell identify\" with the read of one card settles that.")
		}
		if len(k.Likely) > 0 && len(k.Likely[0].Alike) > 0 {
			words = append(words, fmt.Sprintf("  A list does not tell it from %s: the numbers come out alike.",
				strings.Join(k.Likely[0].Alike, ", ")))
		}
		switch {
		case len(k.Cards) == 0:
			words = append(words, "  They are among the other cards of that format below.")
		case k.Serials:
			words = append(words, "  The numbers are or may be chip serials, which are not bought in blocks: any number is taken for one of these cards.")
		default:
			words = append(words, "  The blocks are the numbers that were seen: make them those that were bought.")
		}
		for _, o := range k.Odd {
			words = append(words, fmt.Sprintf("  Left out: facility %d, on %s only (line %d); is it typed wrong?", o.Facility,
				say.Count(o.Cards, "card"), o.Line))
		}
	}
	if n := found.Rows - found.Read; n > 0 {
		words = append(words, fmt.Sprintf("%s of none of these kinds, which check lists%s.", say.Count(n, "row"),
			doubtWords(found.Doubts, 0.5)))
	}
	return words
}

// likelyWords names the formats that numbers can have, but for the least likely.
func likelyWords(likely []survey.Likely) (words []string) {
	for _, l := range likely[:min(3, len(likely))] {
		if l.Probability > 0.02 {
			what := l.Format
			if l.Part {
				what = "the last digits of " + what
			}
			words = append(words, fmt.Sprintf("%s (%s)", what, say.Chance(l.Probability)))
		}
	}
	return words
}

// doubtWords says what numbers of no settled kind can be, where some format is at least so likely.
func doubtWords(doubts []survey.Doubt, least float64) string {
	var words []string
	for _, d := range doubts {
		if can := likelyWords(d.Likely); can != nil && d.Likely[0].Probability > least {
			words = append(words, fmt.Sprintf("those like %s can be %s", say.Clip(d.Example, 24), strings.Join(can, ", ")))
		}
	}
	if words == nil {
		return ""
	}
	return "; " + strings.Join(words, "; ")
}
