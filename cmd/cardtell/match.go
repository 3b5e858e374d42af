package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// matchFlags are the flags of match.
type matchFlags struct {
	table    tableFlags // of the events
	list     string
	listCols []string
	names    []string
	numbers  numberFlags // of the list
	shown    []string
	door     string
	rule     string
	out      string
	redact   bool
	all      bool
	shows    []string // numbers that a door shows, in place of events
}

func (a *app) matchCommand() *cobra.Command {
	f := &matchFlags{}
	c := &cobra.Command{
		Use: "match EVENTS|NUMBER… --list LIST",
		Args: func(c *cobra.Command, args []string) error {
			if f.numbersAlone(args) {
				return nil
			}
			return manual.OneArgument("file of events, or number that a door shows")(c, args)
		},
		RunE: func(_ *cobra.Command, args []string) error { return a.match(args[0], f) },
	}
	flags := c.Flags()
	f.table.register(flags)
	flags.StringVar(&f.list, "list", "", "the `LIST` of cardholders")
	flags.StringArrayVar(&f.listCols, "list-column", nil,
		"the `COLUMN` of LIST with the card numbers; the facility's and the number's, where they have one each (by its heading)")
	flags.StringArrayVar(&f.names, "names", nil, "the `COLUMN` of LIST with the names; may repeat (by its heading)")
	f.numbers.register(flags)
	flags.StringSliceVar(&f.shown, "shown", nil,
		"the `FORM` in which the events have the numbers (by the door, or as in LIST)")
	flags.StringVar(&f.door, "door", "", "the `NAME` of the events' door in the site file (any)")
	flags.StringVar(&f.rule, "rule", "", "the rule in `FILE` turns the list's numbers into the events'; relate finds it")
	flags.StringVarP(&f.out, "output", "o", "", "write the events with the holder of each to `OUT`")
	flags.BoolVar(&f.all, "all", false, "list every unknown card; else the most frequent ones")
	flags.BoolVar(&f.redact, "redact", false, "mask the card numbers in all that is written")
	return c
}

// numbersAlone takes arguments for numbers that a door shows, and reports whether they are: none is a file, and each
// can be a card.
func (f *matchFlags) numbersAlone(args []string) bool {
	for _, arg := range args {
		if _, err := formats.Spellings(arg); err != nil || arg == "-" || exists(arg) {
			return false
		}
	}
	f.shows = args
	return len(args) > 0
}

// matcher matches one file of events.
type matcher struct {
	found.Events
	app           *app
	plan          *reading.Plan // of the list
	flags         *matchFlags
	numberColumns // of the events
}

func (f *matchFlags) check(siteFile string) error {
	switch {
	case f.door != "" && siteFile == "":
		return fmt.Errorf("--door %q: doors are in a site file; give --site FILE", say.Clip(f.door, 40))
	case f.list == "":
		return fmt.Errorf("--list: no list of cardholders; give --list FILE")
	case f.out == "-":
		return fmt.Errorf("-o -: the answer goes to standard output; write the events to a file")
	case len(f.shown) > 0 && f.door != "":
		return fmt.Errorf("--shown: the site file says what a door shows; leave --shown or --door out")
	}
	return nil
}

func (a *app) match(name string, f *matchFlags) error {
	if err := f.check(a.site); err != nil {
		return err
	}
	f.table.secret = f.redact
	cat, s, err := a.known()
	if err != nil {
		return err
	}
	if len(f.shows) > 0 && (f.out != "" || len(f.table.columns) > 0) {
		return fmt.Errorf("match: %q: is a number, and -o and --column are about a file of events; leave them out, or name one",
			say.Clip(name, 40))
	}
	if f.out != "" && name == "-" {
		return fmt.Errorf("-o: events from standard input can't be read a second time; name a file")
	}
	if err := f.numbers.ofColumns(f.listCols); err != nil {
		return fmt.Errorf("match: %w", err)
	}
	holders, err := a.openHolders(f)
	if err != nil {
		return err
	}
	defer holders.table.close()
	if s, err = a.shown(cat, s, f.numbers.Options, holders.table); err != nil {
		return err
	}
	opt, err := f.plans(a.site, cat, s)
	if err != nil {
		return err
	}
	if opt.Rule, err = a.ruleOf(f, cat); err != nil {
		return err
	}
	m := &matcher{app: a, plan: opt.List, flags: f}
	m.Events = found.Events{Matcher: match.New(opt), Output: f.out, All: f.all, Masks: found.NewMasks(f.redact)}
	events := f.table
	events.noHeader = events.noHeader && len(f.shows) == 0 && !a.headed(name, events)
	if err := m.readList(holders); err != nil {
		return err
	}
	f.table = events
	if len(f.shows) > 0 {
		m.ask(f.shows)
	} else if err := m.readEvents(name); err != nil {
		return err
	}
	m.Order = m.Weigh()
	if f.out != "" {
		if err := m.write(name); err != nil {
			return err
		}
	}
	return m.report()
}

// ruleOf returns the rule that makes a number of the list what the events have for it; nil where none is given.
func (a *app) ruleOf(f *matchFlags, cat formats.Catalogue) (func(number []byte) ([]byte, bool), error) {
	if f.rule == "" {
		return nil, nil
	}
	rule, err := a.newRuleConverter(f.rule, cat, f.numbers.AsIs)
	if err != nil {
		return nil, err
	}
	rule.loose = true // it only says whose a card may be
	return func(number []byte) ([]byte, bool) {
		shown, err := rule.Convert(nil, number)
		return shown, err == nil
	}, nil
}

// plans says how the list and the events have their numbers.
func (f *matchFlags) plans(siteFile string, cat formats.Catalogue, s site.Site) (match.Options, error) {
	shown := f.shown
	if f.door != "" && !strings.EqualFold(f.door, site.EveryDoor) { // which may be any, as where none is named
		d, err := doorOf(s, siteFile, f.door)
		if err != nil {
			return match.Options{}, err
		}
		shown = []string{d.Enter}
	}
	if len(shown) == 0 && len(f.table.columns) == 2 {
		shown = []string{"pair"}
	}
	opt, err := match.ForSite(cat, s, f.numbers.Options, shown...)
	return opt, planError(err)
}

// headed reports whether a list has names of columns for sure, whatever --no-header says of the other one: the column
// of its numbers was found by its heading.
func (a *app) headed(name string, flags tableFlags) bool {
	flags.noHeader = false
	t, err := a.openTable(name, &flags)
	if err != nil {
		return false
	}
	defer t.close()
	c, err := t.numbers(nil)
	return err == nil && (slices.Contains(list.CardColumns(t.heads), c.column) || len(flags.columns) > 0 &&
		strings.EqualFold(strings.TrimSpace(t.heads[c.column]), strings.TrimSpace(flags.columns[len(flags.columns)-1])))
}

// openHolders opens the list of cardholders.
func (a *app) openHolders(f *matchFlags) (*checker, error) {
	flags := f.table
	flags.columns, flags.sheet, flags.ragged, flags.headerRow = f.listCols, "", true, 0
	if list.IsSheet(f.list) {
		flags.delimiter, flags.quote, flags.encoding = "", "", "" // of the events
	}
	flags.noHeader = flags.noHeader && !a.headed(f.list, flags)
	t, err := a.openTable(f.list, &flags)
	if err != nil {
		return nil, err
	}
	c := &checker{app: a, flags: &checkFlags{names: f.names}, table: t}
	if err := c.columns(); err != nil {
		t.close()
		return nil, err
	}
	return c, nil
}

func (m *matcher) readList(c *checker) error {
	t := c.table
	plan, err := m.app.settled(m.plan, t)
	if err != nil {
		return err
	}
	m.app.stdin.Once()
	m.SettleList(plan)
	err = t.each(func(row *list.Row, ragged bool) error {
		if row.Kind != list.Data {
			return nil
		}
		m.ListRows++
		if ragged || m.AddHolder(match.Row{Line: row.Line, Name: string(c.name(row)), Value: c.value(row)}) != nil {
			m.ListWrong++
		}
		return nil
	})
	if err == nil && len(m.Holders()) == 0 {
		return &list.Error{File: t.Name, Reason: "no row has a card number that can be read; is it the right column, and are they written as --from says?"}
	}
	return err
}

func (m *matcher) report() error {
	r := m.Summary()
	return m.app.report(&r, func() { m.Print(m.app.out, &r) }, r.Rejected > 0)
}
