package main

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
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

const siteLong = `Writes a site file to begin with: what cards are in use, and what each door
wants.

Without --from it is an example with comments. With --from FILE it is what a
list of cardholders shows: the format, the facilities, and the blocks of
numbers. What it can't show, such as the doors, is left for you to fill in.

--door NAME --shows CARD=SHOWN finds the form that a door wants, from a card
of the site file and what the door shows for it.`

func (a *app) siteCommand() *cobra.Command {
	f := &siteFlags{}
	c := &cobra.Command{
		Use:   "site",
		Short: "Writes a site file, or proposes one from a list",
		Long:  siteLong,
		Example: `  cardtell site -o site.toml
  cardtell site --from testdata/demo/staff.csv -c "Card no"
  cardtell site --site testdata/demo/site.toml --door Gate \
    --shows 121,00014=0007929870`,
		Args: exactly(0, "site takes no arguments; a list is --from FILE"),
		RunE: func(*cobra.Command, []string) error { return a.siteCmd(f) },
	}
	flags := c.Flags()
	f.table.register(flags)
	flags.StringVar(&f.from, "from", "", "propose what the list `FILE` shows")
	flags.StringVar(&f.format, "format", "", "`ID` of the cards' format (found out)")
	flags.StringVar(&f.form, "printed", "", "the `FORM` of the numbers (found out)")
	flags.StringVarP(&f.out, "output", "o", "", "`FILE` to write (standard output)")
	flags.StringVar(&f.door, "door", "", "the `NAME` of the door that --shows is about")
	flags.StringArrayVar(&f.shows, "shows", nil, "a card and what the door shows for it, `CARD=SHOWN`; may repeat")
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
	fmt.Fprintf(a.out, "written %s\n", f.out)
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
	sure, err := a.settleNumbers(cat, f)
	if err != nil {
		return nil, err
	}
	plan, err := newPlan(cat, site.Site{}, reading.Options{Format: f.format, Forms: []string{f.form}, Any: true})
	if err != nil {
		return nil, err
	}
	found, err := a.survey(f, plan)
	if err != nil {
		return nil, err
	}
	cards, comments := found.populations(f.format, f.form)
	ofNumbers := "The blocks are the numbers that were seen: make them those that were bought."
	if k := cat.Find(f.format)[0].Kind; k == formats.KindSerial || k == formats.KindEither { // they are scattered: a block would be nearly all there are
		ofNumbers = "The numbers are or may be chip serials, which are not bought in blocks: any number is taken for one of these cards."
		for i := range cards {
			cards[i].Numbers = nil
		}
	}
	comments = append([]string{
		fmt.Sprintf("What %s shows; cardtell reads it with --site FILE.", f.from),
		fmt.Sprintf("Format %s%s, numbers in the form %s: %d of %s can be read so.", f.format, sure, f.form, found.read, count(found.rows, "row")),
		ofNumbers,
	}, comments...)
	s := site.Site{Name: "My site", Cards: cards}
	return append(s.Append(nil, comments...), doorsToFill...), nil
}

const doorsToFill = `
# A list does not show what the doors want. Take the # away and fill in; repeat for every door.
# [[doors]]
# name     = "North stair"
# enter    = "pair"               # the form in which its controller wants a card typed in
# capacity = 250                  # how many cardholders it holds: see its manual
`

// settleNumbers finds the format and form of a column, where they are not given. sure says how sure that is.
func (a *app) settleNumbers(cat formats.Catalogue, f *siteFlags) (sure string, err error) {
	if f.format != "" && f.form != "" {
		return "", nil
	}
	samples, err := a.sampleColumn(f.from, &f.table)
	if err != nil {
		return "", err
	}
	if f.format == "" {
		var forms []string
		for _, fm := range formats.Forms() {
			if f.form == "" || f.form == fm.Name {
				forms = append(forms, fm.Name)
			}
		}
		id, p, err := guessFormat(cat, samples, forms, sureToShow)
		if err != nil {
			return "", err
		}
		f.format, sure = id, fmt.Sprintf(" (%s sure)", percent(p))
	}
	if f.form == "" {
		f.form = reading.UsualForm(cat, f.format, samples)
	}
	if f.form == "" {
		return "", fmt.Errorf("--printed: no form of format %s reads these numbers; is it the right column?", f.format)
	}
	return sure, nil
}

// survey is what a list shows.
type survey struct {
	rows, read int
	numbers    map[uint64][]uint64 // by facility; under 0 where there is none
	lines      map[uint64]int      // the first line of each facility
	facility   bool                // facilities are known
}

func (a *app) survey(f *siteFlags, plan *reading.Plan) (survey, error) {
	s := survey{numbers: map[uint64][]uint64{}, lines: map[uint64]int{}}
	t, err := a.openTable(f.from, &f.table)
	if err != nil {
		return s, err
	}
	defer t.close()
	column, err := t.cards(a, f.table.column)
	if err != nil {
		return s, err
	}
	var seen reading.Seen
	for {
		row, err := t.next()
		switch {
		case errors.Is(err, io.EOF):
			if s.read == 0 {
				return s, &list.Error{File: t.Name, Reason: fmt.Sprintf("no row has a number of format %s in the form %s; is it the right column?", f.format, f.form)}
			}
			return s, t.Unchanged()
		case err != nil && !errors.Is(err, errRagged):
			return s, err
		case row.Blank:
			continue
		}
		if s.rows++; plan.Read(row.Value(column), &seen) != nil {
			continue
		}
		s.add(&seen, row.Line)
	}
}

func (s *survey) add(seen *reading.Seen, line int) {
	s.read++
	facility, ok := seen.Facility()
	s.facility = s.facility || ok
	if s.lines[facility] == 0 {
		s.lines[facility] = line
	}
	number, ok := seen.Number()
	if !ok || len(s.numbers[facility]) >= maxSurveyed {
		return
	}
	s.numbers[facility] = append(s.numbers[facility], number)
}

// maxSurveyed is how many numbers of a facility are looked at: they only give blocks.
const maxSurveyed = 1 << 21

// fewOfFacility is how few cards of a facility are taken for mistakes, in a list where another one has twenty times as many.
const fewOfFacility = 2

// populations makes a population of each facility. Facilities of a card or two are left out, with a comment.
func (s *survey) populations(format, form string) (cards []formats.Population, comments []string) {
	var facilities []uint64
	most := 0
	for v, numbers := range s.numbers {
		facilities = append(facilities, v)
		most = max(most, len(numbers))
	}
	slices.Sort(facilities)
	for _, v := range facilities {
		numbers := s.numbers[v]
		if n := len(numbers); n <= fewOfFacility && most >= 20*n {
			comments = append(comments, fmt.Sprintf("Left out: facility %d, on %s only (line %d); is it typed wrong?", v, count(n, "card"), s.lines[v]))
			continue
		}
		p := formats.Population{Format: format, Printed: form, Numbers: blocks(numbers)}
		if s.facility {
			p.Facilities = []uint64{v}
		}
		cards = append(cards, p)
	}
	return cards, comments
}

// blockGap is from how many missing numbers on a new block begins, at least: packs of cards have 100 or fewer.
const blockGap = 100

// maxBlocks is how many blocks are worth writing down.
const maxBlocks = 40

// blocks puts numbers together that are near one another.
func blocks(numbers []uint64) []formats.Range {
	slices.Sort(numbers)
	numbers = slices.Compact(numbers)
	if len(numbers) == 0 {
		return nil
	}
	gaps := make([]uint64, 0, len(numbers))
	for i := 1; i < len(numbers); i++ {
		gaps = append(gaps, numbers[i]-numbers[i-1])
	}
	slices.Sort(gaps)
	limit := uint64(blockGap)
	if len(gaps) > 0 {
		limit = max(limit, 20*gaps[len(gaps)/2])
	}
	all := []formats.Range{{First: numbers[0], Last: numbers[0]}}
	for _, n := range numbers[1:] {
		last := &all[len(all)-1]
		if n-last.Last <= limit {
			last.Last = n
		} else {
			all = append(all, formats.Range{First: n, Last: n})
		}
	}
	if len(all) > maxBlocks {
		return []formats.Range{{First: numbers[0], Last: numbers[len(numbers)-1]}}
	}
	return all
}
