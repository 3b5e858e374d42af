package list

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Dialect is how a CSV file separates and quotes its cells.
type Dialect struct {
	Delimiter byte
	Quote     byte
	Escape    bool // a quote inside quotes is written \" and not ""
	OldMac    bool // lines end in a carriage return alone
	QuoteAll  bool // numbers stand in quotes as well
	QuoteText bool // texts stand in quotes, numbers do not
}

// String describes the dialect to people.
func (d Dialect) String() string {
	s := delimiterName(d.Delimiter) + " between cells"
	if d.Quote != '"' {
		s += fmt.Sprintf(", %c as quote", d.Quote)
	}
	if d.Escape {
		s += ", backslash before a quote"
	}
	return s
}

// delimiterNames are what people call them.
var delimiterNames = map[byte]string{',': "comma", ';': "semicolon", '\t': "tab", '|': "bar"}

func delimiterName(b byte) string { return cmp.Or(delimiterNames[b], fmt.Sprintf("%q", b)) }

// delimiters are those looked for, the likelier first where two fit as well.
var delimiters = []byte{',', ';', '\t', '|', '^', '~'}

// sniffRows is how many rows are looked at: enough for a file that begins with a title and notes.
const sniffRows = 300

// Sniff finds the dialect in the beginning of a file: the delimiter and quote under which rows have the same number of
// cells and cells look like words and numbers. Never by the first line alone: it may be a title.
func Sniff(sample []byte) Dialect {
	d := Dialect{Delimiter: ',', Quote: '"', OldMac: !bytes.ContainsRune(sample, '\n') && bytes.ContainsRune(sample, '\r')}
	if sep, ok := separatorLine(sample); ok {
		d.Delimiter = sep
		sample = sample[bytes.IndexAny(sample, "\r\n")+1:]
		return d.withQuoting(sample)
	}
	best, bestScore := d, -1.0
	for _, quote := range quotesIn(sample) {
		for _, delimiter := range delimiters {
			try := d
			try.Delimiter, try.Quote = delimiter, quote
			try = try.withEscape(sample)
			if s := try.score(sample); s > bestScore+1e-9 {
				best, bestScore = try, s
			}
		}
	}
	return best.withQuoting(sample)
}

// separatorLine reads a first line sep=; that spreadsheets write to say which delimiter follows.
func separatorLine(sample []byte) (sep byte, ok bool) {
	line, _, found := bytes.Cut(sample, []byte("\n"))
	line = bytes.TrimRight(line, "\r")
	if found && len(line) == 5 && bytes.EqualFold(line[:4], []byte("sep=")) {
		return line[4], true
	}
	return 0, false
}

// quotesIn returns the quotes to try: the double one, and the single one where some cell begins with it and some cell,
// perhaps another, ends with it. A cell has a delimiter beside it, or the edge of a line.
func quotesIn(sample []byte) []byte {
	begins, ends := bytes.HasPrefix(sample, []byte{'\''}), bytes.HasSuffix(sample, []byte{'\''})
	for _, edge := range append([]byte("\r\n"), delimiters...) {
		begins = begins || bytes.Contains(sample, []byte{edge, '\''})
		ends = ends || bytes.Contains(sample, []byte{'\'', edge})
	}
	if begins && ends {
		return []byte{'"', '\''}
	}
	return []byte{'"'}
}

// withEscape finds whether quotes inside quotes are written with a backslash: where there is such a sign, by which way
// reads better.
func (d Dialect) withEscape(sample []byte) Dialect {
	d.Escape = false
	if !bytes.Contains(sample, []byte{'\\', d.Quote}) {
		return d
	}
	other := d
	other.Escape = true
	if other.score(sample) > d.score(sample) {
		return other
	}
	return d
}

// score says how well a sample reads in this dialect, 0 to 2.
func (d Dialect) score(sample []byte) float64 {
	counts := map[int]int{}
	rows, cells, clean := 0, 0, 0
	sound := d.rows(sample, func(r *Row) {
		if r.Kind != Data {
			return
		}
		rows++
		counts[r.Len()]++
		for i := range r.cells {
			cells++
			if looksClean(r.Value(i), r.cells[i].quoted) {
				clean++
			}
		}
	})
	if rows == 0 {
		return 0
	}
	usual, n := 0, 0
	for columns, times := range counts {
		if times > n || times == n && columns > usual {
			usual, n = columns, times
		}
	}
	consistency := float64(n) / float64(rows)
	if usual == 1 {
		consistency /= 4 // one column fits every delimiter that is not there
	}
	if !sound {
		consistency /= 2
	}
	return consistency * (1 + float64(clean)/float64(cells)) / (1 + 0.01*float64(max(usual-20, 0)))
}

// looksClean reports whether a cell looks like one: no delimiter but a comma in it, no stray quote, no space before it.
func looksClean(v []byte, quoted bool) bool {
	if quoted {
		return true
	}
	return !bytes.ContainsAny(v, ";\t|\"^~") && (len(v) == 0 || v[0] != ' ') && !bytes.HasSuffix(v, []byte("'")) &&
		!bytes.HasPrefix(v, []byte("'"))
}

// rows reads the rows of a sample, leaving out the last one where it may be cut. It reports whether all of them can be
// taken apart.
func (d Dialect) rows(sample []byte, visit func(*Row)) bool {
	r := csvReader{dialect: d, buf: sample, eof: true}
	for range sniffRows {
		row, err := r.Next()
		if err != nil {
			return errors.Is(err, io.EOF) || r.open // the end may just cut a row
		}
		if len(row.end) == 0 && row.Line > 1 {
			return true
		}
		visit(row)
	}
	return true
}

// withQuoting finds which cells the file quotes without need, so that new cells can be quoted alike.
func (d Dialect) withQuoting(sample []byte) Dialect {
	numbersQuoted, numbersBare, textQuoted := 0, 0, 0
	d.rows(sample, func(r *Row) {
		for i, c := range r.cells {
			v := r.Value(i)
			switch {
			case len(v) == 0 || d.needsQuotes(v):
			case allDigits(v) && c.quoted:
				numbersQuoted++
			case allDigits(v):
				numbersBare++
			case c.quoted:
				textQuoted++
			}
		}
	})
	d.QuoteAll = numbersQuoted > numbersBare || textQuoted > 0 && numbersQuoted+numbersBare == 0
	d.QuoteText = !d.QuoteAll && textQuoted > 0
	return d
}

func allDigits(v []byte) bool {
	return len(v) > 0 && !slices.ContainsFunc(v, func(c byte) bool { return c < '0' || c > '9' })
}

// needsQuotes reports whether a value would be read otherwise without quotes.
func (d Dialect) needsQuotes(v []byte) bool {
	if len(v) == 0 {
		return false
	}
	for _, c := range v {
		if c == d.Delimiter || c == d.Quote || c == '\n' || c == '\r' {
			return true
		}
	}
	return v[0] == ' ' || v[len(v)-1] == ' '
}

// appendCell appends a value as a cell. force puts quotes around it in any case.
func (d Dialect) appendCell(dst, v []byte, force bool) []byte {
	if !force && !d.needsQuotes(v) {
		return append(dst, v...)
	}
	dst = append(dst, d.Quote)
	if bytes.IndexByte(v, d.Quote) < 0 && !d.Escape {
		return append(append(dst, v...), d.Quote)
	}
	for _, c := range v {
		switch {
		case d.Escape && (c == d.Quote || c == '\\'):
			dst = append(dst, '\\')
		case c == d.Quote:
			dst = append(dst, c)
		}
		dst = append(dst, c)
	}
	return append(dst, d.Quote)
}

// DelimiterByName returns the delimiter that a person names: one character, or comma, semicolon, tab, bar, space.
func DelimiterByName(name string) (byte, error) {
	for b, known := range delimiterNames {
		if strings.EqualFold(name, known) {
			return b, nil
		}
	}
	switch strings.ToLower(name) {
	case `\t`:
		return '\t', nil
	case "space":
		return ' ', nil
	}
	if len(name) != 1 || name[0] >= 0x80 || strings.ContainsAny(name, "\r\n\x00\"\\") {
		return 0, fmt.Errorf("delimiter %q: write one ASCII character, or comma, semicolon, tab, bar, space", cutShort(name))
	}
	return name[0], nil
}
