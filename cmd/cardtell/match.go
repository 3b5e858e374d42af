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

// matchFlags are the flags of match.
type matchFlags struct {
	table   tableFlags // of the events
	list    string
	listCol string
	names   []string
	numbers numberFlags // of the list
	shown   []string
	door    string
	rule    string
	out     string
	redact  bool
	all     bool
}

const matchLong = `Finds the holders of cards in a controller's events.

EVENTS is an export of events, LIST the list of cardholders; both CSV or XLSX.
An event whose card is on the list gets its holder. Other cards are put
together and compared with the list by the rules that make numbers differ:
another form, byte or bit order, another format, a facility that differs or is
left out, one bit read wrong or lost, a number typed wrong. For each the
likeliest holder is given, with a probability and what to do to make sure.`

const matchExample = `  cardtell match testdata/demo/events.csv --list testdata/demo/staff.csv \
    --site testdata/demo/site.toml --door "Yard gate"
  cardtell match testdata/demo/events.csv -c Card -o named.csv \
    --list testdata/demo/staff.csv --list-column "Card no" \
    --format 26-8-16 --from pair --shown decimal10`

func (a *app) matchCommand() *cobra.Command {
	f := &matchFlags{}
	c := &cobra.Command{
		Use:     "match EVENTS --column C --list LIST --list-column C",
		Short:   "Finds the holders of unknown cards in a controller's events",
		Long:    matchLong,
		Example: matchExample,
		Args:    exactly(1, "match takes one file of EVENTS"),
		RunE:    func(_ *cobra.Command, args []string) error { return a.match(args[0], f) },
	}
	flags := c.Flags()
	f.table.register(flags)
	flags.StringVar(&f.list, "list", "", "the `LIST` of cardholders")
	flags.StringVar(&f.listCol, "list-column", "", "the `COLUMN` of LIST with the card numbers (found by its head)")
	flags.StringArrayVar(&f.names, "names", nil, "the `COLUMN` of LIST with the names; may repeat (found by its head)")
	f.numbers.register(flags)
	flags.StringSliceVar(&f.shown, "shown", nil, "the `FORM` in which the events have the numbers (by the door, or as in LIST)")
	flags.StringVar(&f.door, "door", "", "the `NAME` of the events' door in the site file")
	flags.StringVar(&f.rule, "rule", "", "the rule in `FILE` makes list numbers event numbers; relate finds such")
	flags.StringVarP(&f.out, "output", "o", "", "write the events with the holder of each to `OUT`")
	flags.BoolVar(&f.all, "all", false, "list every unknown card; else the most frequent ones")
	flags.BoolVar(&f.redact, "redact", false, "mask the card numbers in all that is written")
	return c
}

// holder is a cardholder of the list.
type holder struct {
	name   string
	number string // as the list has it
	line   int
	key    reading.Key
	format *formats.Format
	data   uint64 // data bits, where whole
	width  int
	whole  bool
	num    uint64 // card number
	hasNum bool
}

// unknownCard is a card of events that is not on the list.
type unknownCard struct {
	value  string
	events int
	first  int // line
	last   int
	reason string // why it can't be read, "" where it can
	ways   []way
	own    bool   // the number is in one of the site's blocks
	stray  strays // how likely the number is for a card that is not on the list

	facility uint64 // as the door shows the card; for the rule of another facility
	strange  strays // how likely it is that the card is a stranger's, as learned
	best     verdict
}

// verdict is who an unknown card most likely is.
type verdict struct {
	holder      int // -1: nobody on the list
	rule        int
	probability float64
}

// matcher matches one file of events.
type matcher struct {
	app     *app
	flags   *matchFlags
	site    site.Site
	list    *reading.Plan // how the list has numbers
	shown   *reading.Plan // how the events have them
	masks   *masks
	rule    *ruleConverter   // nil where none is given
	byShown map[string]int32 // by what the rule makes of the list's numbers, without zeros before it
	holders []holder
	byKey   map[reading.Key]int32
	byText  map[string]int32 // by the card in the form that the list has it in, with all its zeros
	index   ruleIndex
	formats []*formats.Format // of the site, and others of their lengths
	cat     formats.Catalogue

	column    int // of the events, with the card numbers
	rows      int
	known     int
	ragged    []int // lines of events with too many or too few cells
	listRows  int
	listWrong int
	seen      []bool // holders who were seen
	unknown   map[string]*unknownCard
	order     []*unknownCard // most events first
	evidence  evidence
	input     string
}

func (f *matchFlags) check() error {
	switch {
	case f.list == "":
		return fmt.Errorf("--list: no list of cardholders; give --list FILE")
	case f.out == "-":
		return fmt.Errorf("-o -: the answer goes to standard output; write the events to a file")
	case len(f.shown) > 0 && f.door != "":
		return fmt.Errorf("--shown: a door's form is in the site file; leave --shown or --door out")
	}
	return nil
}

func (a *app) match(name string, f *matchFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	f.table.secret = f.redact
	cat, err := a.catalogue()
	if err != nil {
		return err
	}
	s, err := a.siteFile(cat)
	if err != nil {
		return err
	}
	if f.out != "" && name == "-" {
		return fmt.Errorf("-o: events from standard input can't be read a second time; name a file")
	}
	m := &matcher{app: a, flags: f, site: s, masks: newMasks(f.redact), cat: cat, unknown: map[string]*unknownCard{}}
	if err := m.plans(); err != nil {
		return err
	}
	if f.rule != "" {
		if m.rule, err = a.newRuleConverter(f.rule, cat, f.numbers.asIs); err != nil {
			return err
		}
		m.byShown = map[string]int32{}
	}
	if err := m.readList(); err != nil {
		return err
	}
	if err := m.readEvents(name); err != nil {
		return err
	}
	m.weigh()
	if f.out != "" {
		if err := m.write(name); err != nil {
			return err
		}
	}
	return m.report()
}

// plans makes the plans of how the list and the events have their numbers.
func (m *matcher) plans() error {
	f := m.flags
	opt := f.numbers.options()
	opt.Any, opt.Others = true, true // a card of another facility is one to explain
	listOpt := opt
	if len(listOpt.Forms) == 0 {
		listOpt.Second = doorForms(m.site)
	}
	var err error
	if m.list, err = reading.New(m.cat, m.site, listOpt); err != nil {
		return err
	}
	opt.Forms = f.shown
	if f.door != "" {
		d, err := m.site.Door(f.door)
		if err != nil {
			return err
		}
		if d.Enter == "" {
			return fmt.Errorf("%s:%d: door %q: has no form; add enter = \"FORM\"", m.app.site, d.Line, d.Name)
		}
		opt.Forms = []string{d.Enter}
	}
	if len(opt.Forms) == 0 {
		opt.Forms = f.numbers.from
	}
	m.shown, err = reading.New(m.cat, m.site, opt)
	return err
}

// readList reads the cardholders.
func (m *matcher) readList() error {
	flags := m.flags.table
	flags.column, flags.sheet, flags.ragged = m.flags.listCol, "", true
	if list.IsXLSX(m.flags.list) {
		flags.delimiter, flags.quote, flags.encoding = "", "", "" // of the events
	}
	t, err := m.app.openTable(m.flags.list, &flags)
	if err != nil {
		return err
	}
	defer t.close()
	c := &checker{app: m.app, flags: &checkFlags{names: m.flags.names, table: flags}, table: t, plan: m.list}
	if err := c.columns(); err != nil {
		return err
	}
	m.byKey, m.byText = map[reading.Key]int32{}, map[string]int32{}
	for {
		row, err := t.next()
		switch {
		case errors.Is(err, io.EOF):
			if len(m.holders) == 0 {
				return &list.Error{File: t.Name, Reason: "no row has a card number that can be read; is it the right column, and the right form?"}
			}
			m.seen = make([]bool, len(m.holders))
			return t.Unchanged()
		case errors.Is(err, errRagged):
			m.listRows++
			m.listWrong++
			continue
		case err != nil:
			return err
		case row.Blank:
			continue
		}
		m.listRows++
		m.addHolder(row, c)
	}
}

func (m *matcher) addHolder(row *list.Row, c *checker) {
	var seen reading.Seen
	if m.list.Read(row.Value(c.column), &seen) != nil {
		m.listWrong++
		return
	}
	h := holder{name: string(c.name(row)), number: strings.TrimSpace(row.Text(c.column)), line: row.Line, key: seen.Key(), format: seen.Reading.Format}
	h.data, h.width, h.whole = seen.Data()
	h.num, h.hasNum = seen.Number()
	i := int32(len(m.holders))
	m.holders = append(m.holders, h)
	if _, ok := m.byKey[h.key]; !ok {
		m.byKey[h.key] = i
		c := seen.Card()
		if text, err := seen.Reading.Form.Text(&c); err == nil {
			m.byText[text] = i
		}
	}
	if m.rule != nil {
		if shown, err := m.rule.Convert(nil, row.Value(c.column)); err == nil {
			m.byShown[strings.TrimLeft(string(shown), "0")] = i
		}
	}
	if f := seen.Reading.Format; !slices.Contains(m.formats, f) {
		m.formats = append(m.formats, f)
	}
}

// find returns the holder of a card as it is shown, -1 where nobody on the list has it. Where two formats of the site can be
// shown so, it is the one that is on the list.
func (m *matcher) find(value []byte) int32 {
	if m.rule != nil {
		if i, ok := m.byShown[strings.TrimLeft(strings.TrimSpace(string(value)), "0")]; ok {
			return i
		}
	}
	found := int32(-1)
	m.shown.Each(value, func(s *reading.Seen) bool {
		if i, ok := m.byKey[m.list.KeyOfSeen(s)]; ok {
			found = i
		}
		return found < 0
	})
	return found
}
