package list

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
)

// Kind is what a row of a list is. A number in any but Data is nobody's card.
type Kind uint8

// The kinds of rows.
const (
	Data   Kind = iota // a cardholder
	Blank              // nothing on it
	Title              // before the names of columns
	Header             // the names of columns, or those once more further down
	Total              // a sum or a count of the rows above
	Footer             // a page number, a date of printing, a line of dashes
)

// String returns the kind's name, as JSON has it.
func (k Kind) String() string {
	return [...]string{"data", "blank", "title", "header", "total", "footer"}[k]
}

// PassedOn reports whether rows of the kind belong in an output. Further names of columns, totals and footers do not:
// what reads the output would take their numbers for cards.
func (k Kind) PassedOn() bool { return k == Data || k == Blank || k == Title }

// totalLabel is what the first cell of a total says, and nothing besides but a number. That spreadsheets and reports
// print these is common practice, no source.
var totalLabel = pattern.Lazily(`(?i)^(grand |sub-?|overall |sous-)?(total|totals|sum|count|average|mean|number of|` +
	`summe|zwischensumme|gesamt|gesamtsumme|gesamtzahl|insgesamt|anzahl|somme|totale|suma|totaal|aantal|summa|antal|razem|celkem|итого|всего|合計|nombre|número|numero|liczba|počet|Σ|∑)` +
	`( (général|general|generale|geral|algemeen))?( (number )?(of )?(all )?(cards?|badges?|rows?|records?|entries|people|persons|staff|members|holders|cardholders))?\s*[:=]?\s*[\d.,]*$` +
	`|^\d+ (cards?|badges?|rows?|records?|entries|people|persons|cardholders)( in all| in total)?\.?$`)

// footerLabel is how the first cell of a footer begins.
var footerLabel = pattern.Lazily(`(?i)^(page|seite|p\.)\s*\d+\s*(of|von|/)\s*\d+$` +
	`|^(printed|generated|exported|created|saved|report|as of|data as of)( on| by| at| date)?:?\s+.*\d` +
	`|^(end of (list|report|file|page|data))\b|^\*+ ?end|^(©|\(c\)) ?\d{4}`)

// pageLabel is a page's number in one cell; in two cells it may be somebody's.
var pageLabel = pattern.Lazily(`(?i)^(page|seite|p\.)\s*\d+$`)

// judge tells data from other rows, below the names of columns.
type judge struct {
	head    *Row   // nil where there is none
	first   []byte // what its first cell says
	filled  int    // cells that most rows have something in
	begins  [256]bool
	enabled bool
	rows    int  // of data, so far
	blank   bool // the row before had nothing on it
}

// newJudge makes a judge for rows below head, of which most have filled cells with something in them.
func newJudge(head *Row, filled int) judge {
	j := judge{head: head, filled: filled, enabled: true}
	for _, c := range "TSCNAMGOPREDZILtscnamgopredzil0123456789(*-=_©ИВив合Σ∑" {
		j.begins[string(c)[0]] = true
	}
	if head != nil {
		if v := bytes.TrimSpace(head.Value(0)); len(v) > 0 {
			j.begins[v[0]] = true
			j.first = bytes.Clone(v)
		}
	}
	return j
}

// judge sets the row's kind. Most rows are data by their first cell or two.
func (j *judge) judge(r *Row) {
	if !j.enabled || r.Kind != Data {
		return
	}
	first, n := -1, 0
	for i := range r.cells {
		if c := &r.cells[i]; c.to-c.from > 2 || len(bytes.TrimSpace(r.Value(i))) > 0 {
			if n++; first < 0 {
				first = i
			}
			if n > 2 {
				break
			}
		}
	}
	switch {
	case n > 0:
		j.label(r, first, n)
	case len(r.cells) > 1:
		r.Kind = Blank
	}
	if j.blank = n == 0; n > 0 && r.Kind == Data {
		j.rows++
	}
}

func (j *judge) label(r *Row, first, n int) {
	v := bytes.TrimSpace(r.Value(first))
	if j.blank && n == 2 && j.counted(r, first) {
		r.Kind = Total
		return
	}
	if len(v) == 0 || !j.begins[v[0]] || len(v) > 120 {
		return
	}
	if j.head != nil && first == 0 && bytes.Equal(v, j.first) && r.Len() == j.head.Len() && j.repeats(r) {
		r.Kind = Header
		return
	}
	if strings.IndexByte("-=_*", v[0]) >= 0 && j.ruled(r) {
		r.Kind = Footer
		return
	}
	if n > min(2, max(1, j.filled)) || n == 1 && len(bytes.Trim(v, "0123456789")) == 0 {
		return // a total has something in one or two cells, and words
	}
	text := strings.TrimSpace(r.Text(first))
	switch {
	case r.isTotal(first, n):
		r.Kind = Total
	case n == 1 && (footerLabel().MatchString(text) || pageLabel().MatchString(text)):
		r.Kind = Footer
	case n <= 2 && j.filled > 2 && footerLabel().MatchString(r.joined()):
		r.Kind = Footer
	}
}

// isTotal reports whether a row is a total: of its n cells with something in them, the first says so, or the second.
func (r *Row) isTotal(first, n int) bool {
	return totalLabel().MatchString(strings.TrimSpace(r.Text(first))) && (n == 1 || r.summed(first)) ||
		n == 2 && r.summedBefore(first)
}

// counted reports whether a row that has two cells with something in them has a word and just the count of the rows
// above: behind an empty row that is a total, in whatever language.
func (j *judge) counted(r *Row, first int) bool {
	if bytes.ContainsFunc(r.Value(first), unicode.IsDigit) {
		return false
	}
	count := strconv.Itoa(j.rows)
	for i := first + 1; i < r.Len(); i++ {
		if v := bytes.TrimSpace(r.Value(i)); len(v) > 0 {
			return string(v) == count
		}
	}
	return false
}

// IsTotal reports whether the cells of a row are a total, a word such as Sum and an amount.
func IsTotal(cells []string) bool {
	first, n := -1, 0
	for i, cell := range cells {
		if strings.TrimSpace(cell) == "" {
			continue
		}
		if n++; first < 0 {
			first = i
		}
	}
	return (n == 1 || n == 2) && NewRow(cells).isTotal(first, n)
}

// totalValue is what a total says: an amount, as no card of facility and number is written, nor one with zeros before
// it.
var totalValue = pattern.Lazily(`^(0|[1-9]\d*|[1-9]\d{0,2}([.,' ]\d{3})+)([.,]\d{1,2})?$`)

// summed reports whether what follows the first cell of a row is an amount: Sum and Count are names of people too.
func (r *Row) summed(first int) bool {
	for i := first + 1; i < r.Len(); i++ {
		if v := bytes.TrimSpace(r.Value(i)); len(v) > 0 && bytes.IndexFunc(v, unicode.IsDigit) >= 0 {
			return totalValue().Match(v)
		}
	}
	return true
}

// summedBefore reports whether the first cell of a row is an amount, and the next one that is not empty says of what.
func (r *Row) summedBefore(first int) bool {
	if !totalValue().MatchString(strings.TrimSpace(r.Text(first))) {
		return false
	}
	for i := first + 1; i < r.Len(); i++ {
		if text := strings.TrimSpace(r.Text(i)); text != "" {
			return totalLabel().MatchString(text)
		}
	}
	return false
}

// repeats reports whether the row is the names of columns once more.
func (j *judge) repeats(r *Row) bool {
	for i := range r.cells {
		if !bytes.Equal(bytes.TrimSpace(r.Value(i)), bytes.TrimSpace(j.head.Value(i))) {
			return false
		}
	}
	return true
}

// ruled reports whether the row is a line drawn with signs.
func (j *judge) ruled(r *Row) bool {
	long := false
	for i := range r.cells {
		v := bytes.TrimSpace(r.Value(i))
		if len(bytes.Trim(v, "-=_*+|")) > 0 {
			return false
		}
		long = long || len(v) >= 3
	}
	return long
}

// joined returns the cells that have something in them, with spaces between.
func (r *Row) joined() string {
	var all []string
	for i := range r.cells {
		if v := strings.TrimSpace(r.Text(i)); v != "" {
			all = append(all, v)
		}
	}
	return strings.Join(all, " ")
}

// filledCells returns how many cells have something in them.
func (r *Row) filledCells() (n int) {
	for i := range r.cells {
		if len(bytes.TrimSpace(r.Value(i))) > 0 {
			n++
		}
	}
	return n
}

// headRows is how many rows are looked at for the names of columns.
const headRows = 50

// Head reads the names of columns and returns the rows before them, blank ones and titles, and the row itself. line is
// where they stand, as [Row.Line] counts; 0 to find them: they are in the first row that is not blank, unless that is a
// title (it has something in half the cells at most that others have) and a row of words follows. The error is an
// [*Error] where there is no such row.
func (r *Reader) Head(line int) (before []*Row, head *Row, err error) {
	if err := r.lookAhead(line); err != nil {
		return nil, nil, err
	}
	usual := usualFilled(r.queue)
	at := slices.IndexFunc(r.queue, func(row *Row) bool { return row.Line == line })
	if line == 0 {
		at = findHead(r.queue, usual)
	}
	switch {
	case len(r.queue) == 0 || at < 0 && line == 0:
		return nil, nil, &Error{File: r.Name, Reason: noRows}
	case at < 0 || r.queue[at].filledCells() == 0:
		return nil, nil, &Error{File: r.Name, Line: line, Reason: "--header-row: no row with something in it begins there; " +
			"give the line of the headings"}
	}
	before, head = r.queue[:at], r.queue[at]
	for _, row := range before {
		if row.Kind = Title; row.filledCells() == 0 {
			row.Kind = Blank
		}
	}
	r.queue = r.queue[at+1:]
	head.Kind = Header
	r.judgeBelow(head, usual)
	r.fit(head)
	return before, head, nil
}

// fit makes the first row of a spreadsheet, which has no cells beyond its last full one, and those below as wide as the
// widest that was looked at: a note may stand beside the list, in a column without a name.
func (r *Reader) fit(first *Row) {
	sheet, ok := r.rows.(interface{ fit(width int) })
	if !ok {
		return
	}
	width := first.Len()
	for _, row := range r.queue {
		if row.Kind == Data {
			width = max(width, row.Len())
		}
	}
	sheet.fit(width)
	first.pad(width)
	for _, row := range r.queue {
		if row.Kind == Data {
			row.pad(width)
		}
	}
}

// Headless says that there are no names of columns, and returns the first row that is not blank, which comes again. The
// error is an [*Error] where there is none.
func (r *Reader) Headless() (*Row, error) {
	if err := r.lookAhead(0); err != nil {
		return nil, err
	}
	at := slices.IndexFunc(r.queue, func(row *Row) bool { return row.filledCells() > 0 })
	if at < 0 {
		return nil, &Error{File: r.Name, Reason: noRows}
	}
	r.judgeBelow(nil, usualFilled(r.queue))
	r.fit(r.queue[at])
	return r.queue[at], nil
}

// judgeBelow judges the rows below head, also those that were looked at.
func (r *Reader) judgeBelow(head *Row, usual int) {
	r.judge = newJudge(head, usual)
	for _, row := range r.queue {
		r.judge.judge(row)
	}
}

const noRows = "there are no rows in it; is it the right one?"

// lookAhead fills the queue, up to the line where the head is said to be.
func (r *Reader) lookAhead(line int) error {
	for len(r.queue) < headRows || line > 0 && r.queue[len(r.queue)-1].Line < line {
		if line > 0 && len(r.queue) > 0 && r.queue[len(r.queue)-1].Line >= line {
			return nil
		}
		if len(r.queue) >= 10_000 {
			return &Error{File: r.Name, Line: line, Reason: "--header-row: the headings are in the first 10,000 rows"}
		}
		row, err := r.rows.Next()
		if err != nil {
			if len(r.queue) > 0 { // it comes again when its row is read
				r.later = err
				return nil
			}
			return eofIsNil(err)
		}
		r.queue = append(r.queue, row.Clone())
	}
	return nil
}

// usualFilled returns how many cells have something in them in most rows, a cell of a fuller row counting as much as
// one of another: a short list may have as many titles as rows.
func usualFilled(rows []*Row) int {
	counts := map[int]int{}
	usual := 0
	for _, row := range rows {
		n := row.filledCells()
		if counts[n] += n; counts[n] > counts[usual] || counts[n] == counts[usual] && n > usual {
			usual = n
		}
	}
	return usual
}

// findHead returns where the names of columns are, -1 where all rows are blank.
func findHead(rows []*Row, usual int) int {
	first := slices.IndexFunc(rows, func(r *Row) bool { return r.filledCells() > 0 })
	for i := first; i >= 0 && i < len(rows); i++ {
		n := rows[i].filledCells()
		if n == 0 || n <= max(1, usual/2) && usual > 1 || n < usual && rows[i].remarks() {
			continue
		}
		if i == first || rows[i].words() {
			return i
		}
		break
	}
	return first
}

// remarks reports whether the row says something of the whole list, such as "Date:" and a date beside it, or "By:" and
// a name.
func (r *Row) remarks() bool {
	labels := 0
	for i := range r.cells {
		if strings.HasSuffix(strings.TrimSpace(r.Text(i)), ":") {
			labels++
		}
	}
	text := r.joined()
	label, value, found := strings.Cut(text, ": ")
	return found && !strings.ContainsFunc(label, unicode.IsDigit) && strings.ContainsFunc(value, unicode.IsDigit) ||
		labels > 0 && 2*labels == r.filledCells() || footerLabel().MatchString(text)
}

// words reports whether the row can be names of columns: no cell is a number or a date. A sign alone, such as #, can be
// one.
func (r *Row) words() bool {
	for i := range r.cells {
		v := strings.TrimSpace(r.Text(i))
		number := strings.ContainsFunc(v, unicode.IsDigit) && !strings.ContainsFunc(v, unicode.IsLetter)
		if number || r.Holds(i) == Number || r.Holds(i) == Date {
			return false
		}
	}
	return true
}

// pad gives a row of a spreadsheet the empty cells at its end, which the file leaves out.
func (r *Row) pad(width int) {
	for len(r.cells) < width {
		r.add("", Text)
	}
}

// Summary returns what stands in the row, quoted and cut short; "" where it is blank.
func (r *Row) Summary() string {
	if r.Kind == Blank {
		return ""
	}
	return strconv.Quote(cutShort(r.joined()))
}
