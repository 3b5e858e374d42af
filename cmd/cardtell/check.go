package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// checkFlags are the flags of check.
type checkFlags struct {
	table   tableFlags
	numbers numberFlags
	names   []string
	next    int
	all     bool
	redact  bool
	draw    string
}

const checkLong = `Checks a list of cardholders against the site that it is for.

It looks for the same card twice, however it is written; for two cards that a
door can't tell apart, because its form leaves something out; for facilities
and numbers that are not the site's; for numbers that do not fit; for more
cardholders than a door's controller holds; for rows without a name; and for
numbers that are probably typed wrong, with the number that was probably meant.

--next N proposes N new card numbers in a row: free, the site's own, and apart
from all others at every door. --draw draws the bits of the cards that are in
question, such as two which a door can't tell apart.`

const checkExample = `  cardtell check testdata/demo/staff.csv --site testdata/demo/site.toml --next 9
  cardtell check testdata/demo/staff.csv -c B --format 26-8-16 --from pair`

func (a *app) checkCommand() *cobra.Command {
	f := &checkFlags{}
	c := &cobra.Command{
		Use:     "check FILE --column C",
		Short:   "Checks a list of cardholders against a site",
		Long:    checkLong,
		Example: checkExample,
		Args:    exactly(1, "check takes one FILE, - for standard input"),
		RunE: func(c *cobra.Command, args []string) error {
			if c.Flags().Changed("next") && f.next < 1 {
				return fmt.Errorf("check: --next %d: nothing is wanted; write 1 or more", f.next)
			}
			return a.check(args[0], f)
		},
	}
	flags := c.Flags()
	f.table.register(flags)
	f.numbers.register(flags)
	flags.StringArrayVar(&f.names, "names", nil, "the `COLUMN` with the names; may repeat (found by its head)")
	flags.IntVar(&f.next, "next", 0, "propose `N` new card numbers in a row")
	flags.BoolVar(&f.all, "all", false, "list every problem, and not just the first of each kind")
	flags.StringVar(&f.draw, "draw", "", "draw the cards of the problems listed in this `FILE`, .svg or .html")
	flags.BoolVar(&f.redact, "redact", false, "mask the card numbers in all that is written")
	return c
}

func (a *app) check(name string, f *checkFlags) error {
	write, err := sheetWriter("--draw", f.draw)
	if err != nil {
		return err
	}
	if f.redact && f.draw != "" {
		return fmt.Errorf("check: --draw %q: a drawing shows the numbers that --redact masks; leave one of them out", clip(f.draw, 60))
	}
	cat, err := a.catalogue()
	if err != nil {
		return err
	}
	s, err := a.siteFile(cat)
	if err != nil {
		return err
	}
	opt := f.numbers.options()
	if len(opt.Forms) == 0 {
		opt.Second = doorForms(s)
	}
	plan, err := reading.New(cat, s, opt)
	if err != nil {
		return err
	}
	f.table.secret = f.redact
	t, err := a.openTable(name, &f.table)
	if err != nil {
		return err
	}
	defer t.close()
	c := &checker{app: a, flags: f, table: t, site: s, plan: plan, masks: newMasks(f.redact)}
	if err := c.columns(); err != nil {
		return err
	}
	if err := c.read(); err != nil {
		return err
	}
	t.bar.stop()
	c.compare()
	if write != nil {
		if err := c.draw(write); err != nil {
			return err
		}
	}
	return c.report()
}

// doorForms returns the forms in which a list of the site can have a number that is not written as printed: as some door
// wants it. Forms that leave part of a card out are not among them.
func doorForms(s site.Site) []string {
	var forms []string
	for _, d := range s.Doors {
		if d.Enter != "" && !slices.Contains(forms, d.Enter) && !slices.Contains(partForms, d.Enter) {
			forms = append(forms, d.Enter)
		}
	}
	return forms
}

// partForms leave out the facility or the top of a number.
var partForms = []string{"number", "number10", "pair24", "joined24"}

// checker checks one list.
type checker struct {
	app    *app
	flags  *checkFlags
	table  *table
	site   site.Site
	plan   *reading.Plan
	masks  *masks
	column int
	names  []int

	rows     int
	texts    texts
	cards    []cardRow   // readable cards of the site, in the order of rows
	doors    []doorCheck // one for each door that has a form
	findings []finding
	doubtful map[uint64]bool // numbers that those may have
	unread   []string        // the numbers of rows that could not be read, or the whole row
	order    []int32         // cards in the order of their keys
	distinct int             // different cards
}

// cardRow is one cardholder's card.
type cardRow struct {
	key  reading.Key
	line int32
	text int32 // of its name and number
}

// doorCheck is what a door's controller would show for each card.
type doorCheck struct {
	door    site.Door
	convert *reading.Converter
	shared  int      // the door whose hashes are this one's too: it has the same form; -1 where none
	hashes  []uint64 // of what is shown, one for each card; 0 where the card can't be written so
	clashes int
	without int // cards that can't be entered
}

// findingKind is what is wrong, and the order in which people are told.
type findingKind uint8

// The kinds of finding. Those of rows that can't be read come from package reading.
const (
	sameCard findingKind = iota
	clash
	mistyped
	sameName
	noName
	notEnterable
	overCapacity
	unusable // the number itself; what it is, is in reading
)

// findingNames are what JSON calls the kinds.
var findingNames = []string{"duplicate", "collision", "typing", "typing", "no-name", "no-form", "capacity", ""}

// finding is something wrong. Its words are made when it is told: there can be as many as rows.
type finding struct {
	kind  findingKind
	door  int16
	line  int32
	other int32 // line of the other party
	text  int32 // of the row
	with  int32 // text of the other party's row
	what  reading.Kind
	note  string
}

// nameHeads are what columns of names are called.
var nameHeads = []string{
	"name", "full name", "cardholder", "card holder", "holder", "employee", "person", "user", "member", "first name", "forename",
	"given name", "last name", "surname", "family name",
}

// columns finds the columns of numbers and names.
func (c *checker) columns() error {
	var err error
	if c.column, err = c.table.cards(c.app, c.flags.table.column); err != nil {
		return err
	}
	for _, name := range c.flags.names {
		i, err := c.table.find(name)
		if err != nil {
			return err
		}
		c.names = append(c.names, i)
	}
	if c.flags.names == nil {
		for i, h := range c.table.heads {
			if slices.Contains(nameHeads, strings.ToLower(strings.TrimSpace(h))) {
				c.names = append(c.names, i)
			}
		}
	}
	for i, d := range c.site.Doors {
		fm, ok := formats.FormByName(d.Enter)
		if !ok {
			continue
		}
		convert, err := reading.NewConverter(c.plan, fm)
		if err != nil {
			return fmt.Errorf("door %q: %w", d.Name, err)
		}
		dc := doorCheck{door: d, convert: convert, shared: -1}
		for k := range c.doors {
			if c.site.Doors[i].Enter == c.doors[k].door.Enter && dc.shared < 0 {
				dc.shared = k
			}
		}
		c.doors = append(c.doors, dc)
	}
	return nil
}

// read reads all rows.
func (c *checker) read() error {
	var seen reading.Seen
	for {
		row, err := c.table.next()
		switch {
		case errors.Is(err, io.EOF):
			return c.table.Unchanged()
		case errors.Is(err, errRagged):
			c.rows++
			c.add(finding{kind: unusable, what: kindRagged, line: int32(row.Line), text: -1, note: c.table.raggedReason(row)})
			c.keepUnread(strings.Join(row.Texts(), " ; "))
			continue
		case err != nil:
			return err
		case row.Blank:
			continue
		}
		c.rows++
		c.row(row, &seen)
	}
}

// keepUnread keeps what a row that could not be read has, for the numbers that are not free because of it.
func (c *checker) keepUnread(text string) {
	if len(c.unread) <= maxUnread {
		c.unread = append(c.unread, text)
	}
}

func (c *checker) add(f finding) { c.findings = append(c.findings, f) }

func (c *checker) row(row *list.Row, seen *reading.Seen) {
	value := row.Value(c.column)
	text := c.texts.add(c.name(row), value)
	line := int32(row.Line)
	if len(c.names) > 0 && c.texts.name(text) == "" {
		c.add(finding{kind: noName, line: line, text: text})
	}
	if err := c.plan.Read(value, seen); err != nil {
		var e *reading.Error
		kind := reading.Unreadable
		if errors.As(err, &e) {
			kind = e.Kind
		}
		c.add(finding{kind: unusable, what: kind, line: line, text: text})
		c.keepUnread(string(value))
		return
	}
	c.cards = append(c.cards, cardRow{key: seen.Key(), line: line, text: text})
	for i := range c.doors {
		c.doors[i].add(seen)
	}
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

func (d *doorCheck) add(seen *reading.Seen) {
	if d.shared >= 0 {
		return
	}
	h, ok := d.hash(seen)
	if !ok {
		h = 0
	}
	d.hashes = append(d.hashes, h)
}
