package main

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/progress"
)

// tableFlags say which list a command reads and how it is written.
type tableFlags struct {
	columns   []string
	sheet     string
	delimiter string
	quote     string
	encoding  string
	noHeader  bool
	headerRow int // 0: found out
	ragged    bool
	secret    bool // nothing of the list is to be shown
	noBar     bool // something else is written on the terminal meanwhile
}

// columnUsage is how columns of numbers are named.
const columnUsage = "the `COLUMN` with the card numbers: its heading, letter or number; the facility's and the number's, " +
	"where they have one each (by its heading)"

func (t *tableFlags) register(flags *pflag.FlagSet) {
	flags.StringArrayVarP(&t.columns, "column", "c", nil, columnUsage)
	t.registerText(flags)
}

// registerText registers what is about the file and not about a column.
func (t *tableFlags) registerText(flags *pflag.FlagSet) {
	flags.StringVar(&t.sheet, "sheet", "", "`NAME` of the sheet of an XLSX or ODS file (the first shown that has a list)")
	flags.StringVar(&t.delimiter, "delimiter", "",
		"what is between the cells of a CSV file: a `CHARACTER`, or comma, semicolon, tab, bar (found out)")
	flags.StringVar(&t.quote, "quote", "", "the quote of a CSV file: a `CHARACTER` (found out)")
	flags.StringVar(&t.encoding, "encoding", "", "`NAME` of a CSV file's encoding, such as windows-1252 (found out)")
	flags.BoolVar(&t.noHeader, "no-header", false, "the first row is a card, not headings")
	flags.IntVar(&t.headerRow, "header-row", 0, "the `LINE` where the headings stand (found out)")
	flags.BoolVar(&t.ragged, "ragged", false,
		"reject rows with too many or too few cells, where they are an error otherwise")
}

func (t *tableFlags) options() (list.Options, error) {
	opt := list.Options{Encoding: t.encoding, Sheet: t.sheet}
	switch {
	case t.headerRow < 0:
		return opt, fmt.Errorf("--header-row %d: lines count from 1", t.headerRow)
	case t.headerRow > 0 && t.noHeader:
		return opt, fmt.Errorf("--header-row %d: --no-header says that there is none; leave one of them out", t.headerRow)
	}
	var err error
	if t.delimiter != "" {
		if opt.Delimiter, err = list.DelimiterByName(t.delimiter); err != nil {
			return opt, fmt.Errorf("--delimiter: %w", err)
		}
	}
	if t.quote != "" {
		if len(t.quote) != 1 || t.quote[0] >= 0x80 {
			return opt, fmt.Errorf("--quote %q: write one ASCII character", t.quote)
		}
		opt.Quote = t.quote[0]
	}
	if t.encoding != "" {
		if _, err := list.EncodingByName(t.encoding); err != nil {
			return opt, fmt.Errorf("--encoding: %w", err)
		}
	}
	return opt, nil
}

// table is an open list of which the head was read.
type table struct {
	*list.Reader
	source string // as it was named: a file, or "-"
	flags  *tableFlags
	heads  []string
	before []*list.Row            // titles and blank rows above the head
	head   *list.Row              // nil where there is none
	first  []string               // the cells of the first row, where there is no head
	text   func(*list.Row) string // the number of a row, once its columns are known
	sample []string               // numbers of the first rows, where those said how to read the others
	width  int
	bar    *progress.Bar
}

// errEnough is returned by what [table.each] calls, to read no more rows; each returns it.
var errEnough = errors.New("enough rows")

// openTable opens a list, "-" for standard input, and reads its head.
func (a *app) openTable(name string, flags *tableFlags) (*table, error) {
	opt, err := flags.options()
	if err != nil {
		return nil, err
	}
	t := &table{source: name, flags: flags}
	if !flags.noBar && !a.quiet {
		t.bar = progress.On(a.err)
	}
	opt.Progress = t.bar.Add
	if name == "-" {
		a.keepInput()
		t.Reader, err = list.From("standard input", a.stdin.Reader(), opt)
	} else {
		t.Reader, err = list.Open(name, opt)
	}
	if err != nil {
		t.bar.Stop()
		return nil, err
	}
	if info := t.Info(); info != nil {
		a.inputs = append(a.inputs, info)
	}
	if err := t.readHead(); err != nil {
		t.close()
		return nil, err
	}
	return t, nil
}

// readHead reads the names of columns, or counts the columns where they have none.
func (t *table) readHead() (err error) {
	if !t.flags.noHeader {
		if t.before, t.head, err = t.Reader.Head(t.flags.headerRow); err == nil {
			t.width, t.heads = t.head.Len(), t.head.Texts()
		}
		return err
	}
	first, err := t.Reader.Headless()
	if err != nil {
		return err
	}
	t.width, t.first = first.Len(), first.Texts()
	for i := range t.width {
		t.heads = append(t.heads, "column "+strconv.Itoa(i+1))
	}
	return nil
}

// cards returns the position of the column of card numbers: the one that is named or, where none is, the one that is
// called so; that is said, since it is a guess, unless a is nil.
func (t *table) cards(a *app, want string) (int, error) {
	if want != "" {
		i, err := t.find(want)
		if said := list.Shadowed(t.heads, want); err == nil && said != "" && a != nil {
			a.remark("%s: %s", t.Name, said)
		}
		return i, err
	}
	i, err := list.CardColumn(t.heads)
	if err != nil && t.head == nil {
		err = t.headless()
	}
	if err != nil {
		return 0, t.atHead(err)
	}
	if a != nil {
		name := strconv.Quote(t.heads[i])
		if t.flags.secret {
			name = strconv.Itoa(i + 1)
		}
		a.remark("%s: the card numbers are taken from column %s", t.Name, name)
	}
	return i, nil
}

// headless says of a list without names which columns there are.
func (t *table) headless() error {
	words := make([]string, len(t.first))
	for i, cell := range t.first {
		words[i] = fmt.Sprintf("%d (%q)", i+1, cutShort(cell))
	}
	return fmt.Errorf("--column: no heading says which; there are %s: --column NUMBER, "+
		"or twice where facility and number are apart", strings.Join(words, ", "))
}

// find returns the position of a column, with the file in its error.
func (t *table) find(want string) (int, error) {
	i, err := list.FindColumn(t.heads, want)
	return i, t.atHead(err)
}

// atHead puts file and line to an error about the columns.
func (t *table) atHead(err error) error {
	if err != nil {
		line := 0
		if t.head != nil {
			line = t.head.Line
		}
		if t.flags.secret { // where a list has no head, its first row is somebody's card
			err = errors.New("--column: no heading says which; write its letter or number, since --redact shows no headings")
		}
		return &list.Error{File: t.Name, Line: line, Reason: err.Error()}
	}
	return nil
}

// each calls use for every row below the head, also for one that is no cardholder. ragged says that a row has too many
// or too few cells, where those are to be rejected; elsewhere they are an error. So is a file that has changed
// meanwhile.
func (t *table) each(use func(row *list.Row, ragged bool) error) error {
	for {
		row, err := t.Reader.Next()
		switch {
		case errors.Is(err, io.EOF):
			return t.Unchanged()
		case err != nil:
			return err
		}
		ragged := row.Len() != t.width && row.Kind == list.Data
		if ragged && !t.flags.ragged {
			return &list.Error{File: t.Name, Line: row.Line, Reason: t.raggedReason(row) +
				"; correct it, or --ragged rejects such rows"}
		}
		if err := use(row, ragged); err != nil {
			return err
		}
	}
}

func (t *table) raggedReason(row *list.Row) string {
	if t.Reader.Sheet != "" && row.Len() > t.width {
		return fmt.Sprintf("column %s has something in it, and no heading", list.Letters(row.Len()-1))
	}
	reason := fmt.Sprintf("%d cells where the first row has %d", row.Len(), t.width)
	if t.Reader.Dialect.Delimiter != ',' || row.Len() <= t.width {
		return reason
	}
	for i := 1; i < row.Len(); i++ {
		if digits(row.Text(i-1)) && digits(row.Text(i)) {
			return reason + ", for a comma between two numbers parts them; " +
				"save the list with semicolons between cells, or as XLSX" +
				map[bool]string{true: "; --delimiter ; takes each line for one cell"}[t.width == 1]
		}
	}
	return reason
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

func (t *table) close() {
	t.Reader.Close() //nolint:errcheck // it was only read
	t.bar.Stop()
}
