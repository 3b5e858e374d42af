package main

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/formats/survey"
)

// batchFlags are the flags of batch.
type batchFlags struct {
	table        tableFlags
	numbers      numberFlags
	to           string
	rule         string
	doors        []string
	fromDoor     string
	out          string
	rejects      string
	name         string
	replace      bool
	split        bool
	dryRun       bool
	redact       bool
	outDelimiter string
	outEncoding  string
}

func (a *app) batchCommand() *cobra.Command {
	f := &batchFlags{}
	c := &cobra.Command{
		Use:  "batch FILE -o OUT",
		Args: manual.OneArgument("list"),
		RunE: func(_ *cobra.Command, args []string) error { return a.batch(args[0], f) },
	}
	flags := c.Flags()
	flags.StringArrayVarP(&f.table.columns, "column", "c", nil,
		"the `COLUMN` with the card numbers: its heading, letter or number; twice for facility and number (by its heading)")
	f.table.registerText(flags)
	f.numbers.register(flags)
	flags.StringVar(&f.rule, "rule", "", "convert by the rule in `FILE`, which relate has found")
	flags.StringVar(&f.to, "to", "", "the `FORM` to convert into (by the door)")
	flags.StringArrayVar(&f.doors, "door", nil, "the `NAME` of a door of the site file; may repeat; all for every door")
	flags.StringVar(&f.fromDoor, "from-door", "", "the list is a back-up of the door of this `NAME`")
	flags.StringVarP(&f.out, "output", "o", "", "write the list to `OUT`, CSV or XLSX by its name; - is standard output")
	flags.StringVar(&f.rejects, "rejects", "", "write rows that can't be converted to `FILE` (OUT.rejects.csv)")
	flags.StringVar(&f.name, "name", "", "`NAME` of the new column (as --to says)")
	flags.BoolVar(&f.replace, "replace", false, "put the new numbers in place of the old ones")
	flags.BoolVar(&f.split, "split", false, "make a row for each card of a row that has several")
	flags.BoolVar(&f.numbers.Any, "any", false, "also convert cards that are in none of the site's blocks")
	flags.BoolVar(&f.dryRun, "dry-run", false, "do everything but write")
	flags.BoolVar(&f.redact, "redact", false, "mask the card numbers in all that is written")
	flags.StringVar(&f.outDelimiter, "out-delimiter", "", "what is between cells in OUT: a `CHARACTER` (as in FILE)")
	flags.StringVar(&f.outEncoding, "out-encoding", "", "`NAME` of the encoding of OUT (as in FILE)")
	return c
}

// target is one output of a batch.
type target struct {
	door    string // "" where no door was named
	to      string // the form
	file    string
	convert *reading.Converter // nil where a rule converts
	writer  *list.Writer       // nil for a dry run
	value   []byte             // of the row at hand
	fragile string             // the first value that a spreadsheet would change
}

// batchJob is a batch that runs.
type batchJob struct {
	numberColumns
	app     *app
	flags   *batchFlags
	table   *table
	cells   []int    // all columns with numbers, rising
	numbers [][]byte // of the row at hand
	plan    *reading.Plan
	rule    *ruleConverter // in place of a plan
	targets []target
	masks   *found.Masks
	rejects *list.Writer
	out     list.OutOptions
	edits   []list.Edit
	masked  []byte
	repair  string // of the card at hand
	readBy  []int  // cards, by the place of their reading
	others  found.Others
	result  found.Batch
}

type problem = found.Problem

func (a *app) batch(name string, f *batchFlags) error {
	cat, s, err := a.known()
	if err != nil {
		return err
	}
	if err := f.check(a.json); err != nil {
		return err
	}
	f.table.noBar, f.table.secret = f.out == "-", f.redact
	t, err := a.openTable(name, &f.table)
	if err != nil {
		return err
	}
	defer t.close()
	job := &batchJob{app: a, flags: f, table: t, masks: found.NewMasks(f.redact)}
	if err := job.find(); err != nil {
		return err
	}
	job.moreCards()
	if err := job.choose(cat, s); err != nil {
		return err
	}
	defer job.abort()
	if err := job.interrupted(); err != nil {
		return err
	}
	if err := job.create(); err != nil {
		return err
	}
	if err := job.run(); err != nil {
		return err
	}
	t.bar.Stop()
	if err := job.commit(); err != nil {
		return err
	}
	return job.report()
}

// check looks for flags that contradict one another.
func (f *batchFlags) check(json bool) error {
	switch {
	case f.out == "" && !f.dryRun:
		return fmt.Errorf("-o: no output; give -o OUT, or --dry-run to try")
	case f.rejects == "-":
		return fmt.Errorf("--rejects -: rejects need a file; with -o - and no --rejects they go to standard error")
	case f.out == "-" && json:
		return fmt.Errorf("-o -: --json has standard output for itself; write to a file")
	case f.out == "-" && (len(f.doors) > 1 || slices.Contains(f.doors, "all")):
		return fmt.Errorf("-o -: several doors need a file each; give -o FILE")
	case f.to != "" && len(f.doors) > 0:
		return fmt.Errorf("--to %s: the site file says what a door takes; leave --to or --door out", f.to)
	case f.rule != "" && (f.to != "" || len(f.doors) > 0 || len(f.numbers.Forms) > 0 || f.numbers.Format != ""):
		return fmt.Errorf("--rule %s: a rule says all of it; leave --from, --to, --format and --door out", f.rule)
	case len(f.table.columns) > 2 && !f.split:
		return fmt.Errorf("--column: given too often; give the facility's and the number's, or --split where each has cards of its own")
	case len(f.table.columns) > 1 && f.split && f.replace:
		return fmt.Errorf("--split: a row for each card of several columns has one new number; leave --replace out")
	case f.paired() && f.rule != "":
		return fmt.Errorf("--rule %s: a rule reads one number; leave the second --column out", f.rule)
	case f.paired() && f.replace:
		return fmt.Errorf("--replace: two columns can't be replaced by one; leave --replace out")
	case f.to == "" && f.rule == "" && len(f.doors) == 0:
		return fmt.Errorf("--to: how the new numbers are to be written is not given; give --to FORM, --rule FILE, or --site FILE and --door NAME")
	case f.to != "" && !isForm(f.to):
		return fmt.Errorf("--to %q: no such form; %s", say.Clip(f.to, 40), reading.FormHint(f.to))
	case f.name != "" && f.replace:
		return fmt.Errorf("--name: has no effect beside --replace; leave one of them out")
	case f.paired():
		return f.numbers.ofColumns(f.table.columns)
	}
	return nil
}

func isForm(name string) bool { _, ok := formats.FormByName(name); return ok }

// paired reports whether facility and number are in two columns.
func (f *batchFlags) paired() bool { return len(f.table.columns) == 2 && !f.split }

// find finds the columns of the numbers; the facility's comes before that of the number.
func (j *batchJob) find() (err error) {
	if j.cells, err = j.table.named(j.app); err != nil {
		return err
	}
	if j.second, j.column = -1, j.cells[0]; j.flags.paired() {
		j.second, j.column = j.cells[0], j.cells[1]
	}
	slices.Sort(j.cells)
	j.table.text = j.valueOf
	return nil
}

// moreCards says which other columns have card numbers by their heads: a second card of a cardholder is not converted.
func (j *batchJob) moreCards() {
	for _, i := range list.CardColumns(j.table.heads) {
		if name := strconv.Quote(j.table.heads[i]); !slices.Contains(j.cells, i) && !j.table.flags.secret {
			j.warn(fmt.Sprintf("column %q has card numbers too by its heading; they are passed on as they are, and --column %s "+
				"converts those; --split --column %s --column %s makes a row for each", cutShort(j.table.heads[i]), name,
				strconv.Quote(j.table.heads[j.column]), name))
		}
	}
}

// aside says which column has the facility by its head, where numbers are read without it.
func (j *batchJob) aside(plan *reading.Plan) {
	f := j.flags
	has := func(r reading.Reading) bool { return r.Format.Facility() >= 0 }
	if j.second >= 0 || f.split || f.numbers.Facility != "" || !slices.ContainsFunc(plan.Readings(), has) {
		return
	}
	for i, h := range j.table.heads {
		if !slices.Contains(j.cells, i) && list.IsFacility(h) {
			j.warn(fmt.Sprintf("column %q has the facility by its heading, and the numbers are read without it; "+
				"if they are written apart, give --column %s --column %s", cutShort(h), strconv.Quote(h), strconv.Quote(j.table.heads[j.column])))
		}
	}
}

// choose finds out what the numbers are and what they are to become.
func (j *batchJob) choose(cat formats.Catalogue, s site.Site) error {
	f := j.flags
	if f.rule != "" {
		return j.chooseRule(cat)
	}
	if f.fromDoor != "" {
		d, err := doorOf(s, j.app.site, f.fromDoor)
		if err != nil {
			return err
		}
		f.numbers.Forms = []string{d.Enter}
	}
	if len(s.Cards) == 0 && f.numbers.Format == "" {
		if err := j.guess(cat); err != nil {
			return err
		}
	}
	opt := f.numbers.Options
	if len(opt.Forms) == 0 {
		opt.Second = s.DoorForms() // not to convert by, but to say what would
	}
	s, plan, err := j.app.planOf(cat, s, opt, j.table)
	if err != nil {
		return err
	}
	j.plan, j.readBy = plan, make([]int, len(plan.Readings()))
	j.aside(plan)
	if j.table.head != nil {
		var seen reading.Seen
		if err := plan.Read(j.value(j.table.head), &seen); err == nil {
			c := seen.Card()
			return &list.Error{File: j.table.Name, Line: j.table.head.Line, Reason: fmt.Sprintf(headIsCard,
				" ("+j.masks.Value(reading.Describe(&c))+")")}
		}
	}
	doors, err := j.doors(s)
	if err != nil {
		return err
	}
	for _, d := range doors {
		fm, _ := formats.FormByName(d.Enter)
		convert, err := reading.NewConverter(plan, fm)
		if err != nil {
			return err
		}
		j.targets = append(j.targets, target{door: d.Name, to: fm.Name, file: f.outputOf(d, len(doors)), convert: convert})
	}
	return j.columnIsNew()
}

func (j *batchJob) chooseRule(cat formats.Catalogue) error {
	f := j.flags
	var err error
	if j.rule, err = j.app.newRuleConverter(f.rule, cat, f.numbers.AsIs); err != nil {
		return err
	}
	samples, _, err := j.app.sample(j.table)
	if err != nil {
		return err
	}
	j.rule.loose = j.rule.shape.LosesZeros(different(samples, settledBy))
	if j.table.head != nil {
		if _, err := j.rule.Convert(nil, j.table.head.Number(j.column)); err == nil {
			return &list.Error{File: j.table.Name, Line: j.table.head.Line,
				Reason: fmt.Sprintf(headIsCard, "")}
		}
	}
	j.targets = []target{{to: "converted", file: f.out}}
	return j.columnIsNew()
}

// columnIsNew returns an error where the list has a column of the new one's name: two of one name can't be told apart.
func (j *batchJob) columnIsNew() error {
	if j.flags.replace || j.table.head == nil {
		return nil
	}
	for _, t := range j.targets {
		name := cmp.Or(j.flags.name, t.to)
		if slices.ContainsFunc(j.table.heads, func(h string) bool { return strings.EqualFold(strings.TrimSpace(h), name) }) {
			return &list.Error{File: j.table.Name, Line: j.table.head.Line, Reason: fmt.Sprintf(
				"there is a column %q already; --name gives the new one another name, --replace puts the numbers in place of the old ones", name)}
		}
	}
	return nil
}

// doors returns the doors to convert for; one without a name where a form is given.
func (j *batchJob) doors(s site.Site) ([]site.Door, error) {
	f := j.flags
	if f.to != "" {
		return []site.Door{{Enter: f.to}}, nil
	}
	return j.app.doorsNamed(s, f.doors)
}

// doorsNamed returns the doors of those names, upper and lower case alike; every door of the site file for all.
func (a *app) doorsNamed(s site.Site, names []string) ([]site.Door, error) {
	if a.site == "" {
		return nil, fmt.Errorf("--door %q: doors are in a site file; give --site FILE", names[0])
	}
	if len(names) == 1 && strings.EqualFold(names[0], site.EveryDoor) {
		names = nil
		for _, d := range s.Doors {
			names = append(names, d.Name)
		}
	}
	var doors []site.Door
	for _, name := range names {
		d, err := doorOf(s, a.site, name)
		if err != nil {
			return nil, err
		}
		doors = append(doors, d)
	}
	if len(doors) == 0 {
		return nil, fmt.Errorf("%s: no doors; add each as [[doors]]", a.site)
	}
	return doors, nil
}

// doorOf returns a door of a site file that wants cards in a form.
func doorOf(s site.Site, file, name string) (site.Door, error) {
	d, err := s.Door(name)
	if err == nil && d.Enter == "" {
		err = fmt.Errorf("%s:%d: door %q: what its controller takes is not given; add enter = \"FORM\", such as \"decimal10\"", file, d.Line, d.Name)
	}
	return d, err
}

// outputOf returns the file of a door: the output, or one named after the door where there are several.
func (f *batchFlags) outputOf(d site.Door, doors int) string {
	if doors == 1 || f.out == "" {
		return f.out
	}
	ext := filepath.Ext(f.out)
	return strings.TrimSuffix(f.out, ext) + "." + slug(d.Name) + ext
}

// slug makes a door's name part of a file's: letters and digits of any script in lower case, with dashes between.
func slug(name string) string {
	between := func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }
	return cmp.Or(strings.Join(strings.FieldsFunc(strings.ToLower(name), between), "-"), "door")
}

// distinct returns an error where two of the files to write are one: the second would take the place of the first, and
// its rows would be lost.
func (j *batchJob) distinct() error {
	if j.flags.out == "" {
		return nil
	}
	seen := map[string]target{}
	for _, t := range j.targets {
		if other, ok := seen[placeOf(t.file)]; ok {
			return fmt.Errorf("doors %q and %q: would have one file, %s; convert for them one by one", other.door, t.door,
				t.file)
		}
		seen[placeOf(t.file)] = t
	}
	if t, ok := seen[placeOf(j.rejectsFile())]; ok {
		return fmt.Errorf("--rejects %s: would take the place of the output %s; name another file", j.rejectsFile(), t.file)
	}
	return nil
}

// placeOf is what two names of one file have in common. Where case makes no difference to the system it must make none
// here, and elsewhere two files that only case tells apart are better refused as well.
func placeOf(name string) string { return strings.ToLower(list.Place(name)) }

// guess takes the format from the first rows, where they leave hardly a doubt.
func (j *batchJob) guess(cat formats.Catalogue) error {
	f := j.flags
	if len(f.numbers.Forms) == 0 {
		return fmt.Errorf("--from: how the list writes its numbers is not given; give --from FORM, such as pair (121,00017) or number (17), or --site FILE" + siteFromList)
	}
	samples, _, err := j.app.sample(j.table)
	if err != nil {
		return err
	}
	id, p, err := guessFormat(cat, different(samples, survey.ColumnSample), f.numbers.Forms)
	if err != nil {
		return err
	}
	f.numbers.Format = id
	j.app.remark("format %s taken from the numbers (%.1f %%); --format ID settles it", id, 100*p)
	return nil
}

// valueOf is the first number of a row, "" where it has none.
func (j *batchJob) valueOf(row *list.Row) string {
	if j.read(row); len(j.numbers) == 0 {
		return ""
	}
	return string(j.numbers[0])
}

// sample opens a list once more and returns its first numbers, most of a small one; whole says that they are all.
func (a *app) sample(of *table) (texts []string, whole bool, err error) {
	t, err := a.openTable(of.source, of.flags)
	if err != nil {
		return nil, false, err
	}
	defer t.close()
	rows := 0
	err = t.each(func(row *list.Row, _ bool) error {
		if row.Kind == list.Data {
			if v := strings.TrimSpace(of.text(row)); v != "" {
				texts = append(texts, v)
			}
		}
		if rows++; rows == sampledRows {
			return errEnough
		}
		return nil
	})
	if errors.Is(err, errEnough) {
		return texts, false, nil
	}
	return texts, true, err
}

// cutShort returns what a message repeats of an input.
func cutShort(s string) string { return say.Clip(s, 48) }
