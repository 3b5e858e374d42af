package main

import (
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/drawn"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
	"github.com/cardtell/cardtell/formats/site"
)

// checkFlags are the flags of check.
type checkFlags struct {
	table   tableFlags
	numbers numberFlags
	names   []string
	doors   []string
	next    int
	all     bool
	redact  bool
	draw    string
	out     string
	given   string // the options that batch takes as well, as they were written
}

func (a *app) checkCommand() *cobra.Command {
	f := &checkFlags{}
	c := &cobra.Command{
		Use:  "check FILE",
		Args: manual.OneArgument("list"),
		RunE: func(c *cobra.Command, args []string) error {
			if c.Flags().Changed("next") && f.next < 1 {
				return fmt.Errorf("check: --next %d: nothing is wanted; write 1 or more", f.next)
			}
			f.given = asGiven(c.Flags(), "as-is column delimiter encoding facility format formats from header-row no-header "+
				"quote ragged sheet")
			return a.check(args[0], f)
		},
	}
	flags := c.Flags()
	f.table.register(flags)
	f.numbers.register(flags)
	flags.StringArrayVar(&f.names, "names", nil, "the `COLUMN` with the names; may repeat (by its heading)")
	flags.StringArrayVar(&f.doors, "door", nil, "check for the door `NAME` alone; may repeat (every door of the site file)")
	flags.IntVar(&f.next, "next", 0, "propose `N` new card numbers")
	flags.StringVarP(&f.out, "output", "o", "", "write the new numbers for every door to `OUT`, CSV or XLSX by its name")
	flags.BoolVar(&f.all, "all", false, "list every problem, and not just the first of each kind")
	flags.StringVar(&f.draw, "draw", "", "draw the cards that the listed problems are about, into `FILE`, .svg or .html")
	flags.BoolVar(&f.redact, "redact", false, "mask the card numbers in all that is written")
	return c
}

// check looks for flags that contradict one another.
func (f *checkFlags) check() error {
	switch {
	case f.redact && f.out != "":
		return fmt.Errorf("check: -o %q: new numbers can't be masked; leave --redact out", say.Clip(f.out, 60))
	case f.redact && f.draw != "":
		return fmt.Errorf("check: --draw %q: a drawing shows the numbers that --redact masks; leave one of them out",
			say.Clip(f.draw, 60))
	}
	if err := f.numbers.ofColumns(f.table.columns); err != nil {
		return fmt.Errorf("check: %w", err)
	}
	return nil
}

func (a *app) check(name string, f *checkFlags) error {
	write, err := drawn.Writer("--draw", f.draw)
	if err != nil {
		return err
	}
	if err := f.check(); err != nil {
		return err
	}
	cat, s, err := a.known()
	if err != nil {
		return err
	}
	opt := f.numbers.Options
	if len(opt.Forms) == 0 {
		opt.Second = s.DoorForms()
	}
	if len(s.Cards) == 0 && opt.Format == "" {
		_, err := newPlan(cat, s, opt)
		return err
	}
	if len(f.doors) > 0 {
		if s.Doors, err = a.doorsNamed(s, f.doors); err != nil {
			return err
		}
	}
	f.table.secret = f.redact
	t, err := a.openTable(name, &f.table)
	if err != nil {
		return err
	}
	defer t.close()
	c := &checker{app: a, flags: f, table: t}
	c.List = found.List{All: f.all, Masks: found.NewMasks(f.redact), Reason: c.reason}
	if err := c.columns(); err != nil {
		return err
	}
	if s, c.plan, err = a.planOf(cat, s, opt, t); err != nil {
		return err
	}
	if c.Roster, err = roster.New(s, c.plan, len(c.names) > 0); err != nil {
		return err
	}
	defer debug.SetGCPercent(debug.SetGCPercent(littleGarbage))
	if err := c.read(); err != nil {
		return err
	}
	t.bar.Stop()
	c.Findings = c.Check()
	c.AtDoors = c.Doors()
	if write != nil {
		if err := c.draw(write); err != nil {
			return err
		}
	}
	return c.report()
}

// littleGarbage is how much garbage, in percent of what is kept, is let lie: all rows of a list are kept, and make
// little of it.
const littleGarbage = 10

// checker checks one list.
type checker struct {
	found.List
	app   *app
	flags *checkFlags
	table *table
	plan  *reading.Plan
	numberColumns
	names  []int
	others found.Others
}

func (c *checker) columns() error {
	var err error
	if c.numberColumns, err = c.table.numbers(c.app); err != nil {
		return err
	}
	c.table.text = c.text
	for _, name := range c.flags.names {
		i, err := c.table.find(name)
		if err != nil {
			return err
		}
		c.names = append(c.names, i)
	}
	if c.flags.names == nil {
		for i, h := range c.table.heads {
			if list.IsName(h) {
				c.names = append(c.names, i)
			}
		}
	}
	return nil
}

func (c *checker) read() error {
	c.app.stdin.Once()
	for _, row := range c.table.before {
		c.others.Add(row, c.flags.redact)
	}
	return c.table.each(func(row *list.Row, ragged bool) error {
		switch {
		case ragged:
			c.AddUnread(row.Line, found.Ragged, c.table.raggedReason(row), strings.Join(row.Texts(), " ; "))
		case row.Kind == list.Data:
			c.Add(roster.Row{Line: row.Line, Name: c.name(row), Number: c.value(row)})
		default:
			c.others.Add(row, c.flags.redact)
		}
		return nil
	})
}

// name returns the names of a row with a space between them.
func (c *checker) name(row *list.Row) []byte {
	if len(c.names) == 1 && row.Text(c.names[0]) != "" {
		return []byte(strings.TrimSpace(row.Text(c.names[0])))
	}
	var parts []string
	for _, i := range c.names {
		if v := strings.TrimSpace(row.Text(i)); v != "" {
			parts = append(parts, v)
		}
	}
	return []byte(strings.Join(parts, " "))
}

// reason says why a number of this kind can't be used.
func (c *checker) reason(kind reading.Kind, number string) string {
	var seen reading.Seen
	err := c.plan.Read([]byte(number), &seen)
	if e, ok := errors.AsType[*reading.Error](err); ok {
		return c.Masks.Message(e.Kind, e.Reason+toSettle(e), number)
	}
	if err == nil && seen.Reading.Second() && c.Masks == nil {
		return otherForm(c.plan, &seen)
	}
	return found.Words(kind)
}

func (c *checker) report() error {
	r := c.Summary()
	r.Input, r.NoCards, r.Others = c.table.Describe(), c.others, c.others.Rows
	for _, i := range c.names {
		r.Names = append(r.Names, c.table.heads[i])
	}
	r.Wanted = c.flags.next
	if c.flags.next > 0 {
		var err error
		if r.Next, r.NoNext, err = c.propose(c.flags.next); err != nil {
			return err
		}
		if len(r.Next) > 0 {
			r.Output = c.flags.out
		}
	}
	if c.app.json {
		r.Problems, r.Unlisted = c.Listed(found.ListedOfKind)
	}
	return c.app.report(&r, func() {
		r.Elsewhere = c.table.elsewhere(c.column, c.plan)
		c.Print(c.app.out, &r, c.batchCommand())
	}, len(c.Findings) > 0 || len(r.NoNext) > 0)
}

// batchCommand is the command that converts the list for the doors that it was checked for.
func (c *checker) batchCommand() string {
	command := fmt.Sprintf("cardtell batch %s%s --site %s", inShell(c.table.source), c.flags.given, inShell(c.app.site))
	doors := c.flags.doors
	if len(doors) == 0 {
		doors = []string{site.EveryDoor}
	}
	for _, name := range doors {
		command += " --door " + inShell(name)
	}
	return command + " -o OUT.xlsx"
}

// asGiven returns those of the options that were given, as they are written in a command.
func asGiven(flags *pflag.FlagSet, names string) (text string) {
	flags.Visit(func(f *pflag.Flag) {
		if !slices.Contains(strings.Fields(names), f.Name) {
			return
		}
		values := []string{f.Value.String()}
		if all, ok := f.Value.(pflag.SliceValue); ok {
			values = all.GetSlice()
		}
		for _, v := range values {
			if text += " --" + f.Name; f.Value.Type() != "bool" {
				text += " " + inShell(v)
			}
		}
	})
	return text
}

// inShell returns a file's name as it is written in a command.
func inShell(name string) string {
	if strings.ContainsAny(name, " '\"\\$&;()*?!#|<>`") {
		return strconv.Quote(name)
	}
	return name
}
