package list

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// odsPart is where a spreadsheet of the OpenDocument form (ISO/IEC 26300-1) has its cells.
const odsPart = "content.xml"

// openODS opens a spreadsheet of the OpenDocument form, after its parts were checked.
func (r *Reader) openODS(size int64, opt Options) error {
	if r.file == nil || size == 0 {
		return &Error{File: r.Name, Reason: "a spreadsheet can't be read from a pipe; name the file"}
	}
	check := &sheetCheck{file: r.Name}
	z, err := check.archive(r.file, size)
	if err != nil {
		return err
	}
	if manifest, err := check.open(z, "META-INF/manifest.xml"); err == nil {
		text, _ := io.ReadAll(io.LimitReader(manifest, 1<<20)) //nolint:errcheck // it was read to its end before
		manifest.Close()
		if strings.Contains(string(text), "encryption-data") {
			return check.fail("a spreadsheet with a password; open it and save it without one, or as CSV")
		}
	}
	names, hidden, err := odsTables(check, z)
	if err != nil {
		return err
	}
	r.format = "ODS"
	return r.chooseSheet(names, hidden, opt, func(i int, progress Progress) (source, error) {
		part, err := r.openPart(check, z, odsPart, progress)
		if err != nil {
			return nil, err
		}
		s := &odsReader{partReader: part}
		return s, s.toTable(i)
	})
}

// odsTables returns the names of the tables, and which are not shown.
func odsTables(check *sheetCheck, z *zip.Reader) (names []string, hidden []bool, err error) {
	f, err := check.open(z, odsPart)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	t, unseen, style := newTape(f), map[string]bool{}, ""
	for depth := 0; ; t.cut() {
		token, err := t.dec.RawToken()
		switch e := token.(type) {
		case xml.StartElement:
			switch name := e.Name.Local; {
			case name == "style":
				style = attr2(e, "name")
			case name == "table-properties" && attr2(e, "display") == "false":
				unseen[style] = true
			case name == "table":
				if depth++; depth == 1 {
					names, hidden = append(names, attr2(e, "name")), append(hidden, unseen[attr2(e, "style-name")])
				}
			}
		case xml.EndElement:
			if e.Name.Local == "table" {
				depth--
			}
		}
		switch {
		case err == io.EOF: //nolint:errorlint // as the decoder returns it
			return names, hidden, nil
		case err != nil:
			return nil, nil, check.fail("its cells are damaged (%v); open the spreadsheet and save it again", err)
		case len(t.buf) > maxFree:
			return nil, nil, check.fail("one element has more than %d bytes; this is no list", maxFree)
		}
	}
}

// attr2 returns an attribute by its name, whatever the prefix.
func attr2(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// odsReader reads the rows of a table.
type odsReader struct {
	partReader

	blank   int  // rows to give before row, with nothing on them
	repeat  int  // how often row is to be given
	taken   bool // row was read and is to be given
	pending int  // empty cells before the one that comes
	para    []byte
}

// toTable goes to the table with that place among all.
func (s *odsReader) toTable(i int) error {
	for depth, n := 0, -1; ; {
		t, err := s.token()
		if err != nil {
			return err
		}
		switch e := t.(type) {
		case xml.StartElement:
			if e.Name.Local == "table" {
				if depth++; depth == 1 {
					n++
				}
			}
			if n == i {
				return nil
			}
		case xml.EndElement:
			if e.Name.Local == "table" {
				depth--
			}
		}
	}
}

// Next returns the next row. Rows with nothing on them at the end of a table, of which there are as many as it can
// have, are none.
func (s *odsReader) Next() (*Row, error) {
	for !s.taken && !s.ended {
		if err := s.seek(); err != nil {
			return nil, err
		}
	}
	if !s.taken {
		return nil, io.EOF
	}
	if s.line++; s.line > maxRows {
		return nil, s.check.fail("more than %d rows, which a sheet can't have", maxRows)
	}
	if s.blank > 0 {
		s.blank--
		return &Row{Line: s.line, sheet: true, Kind: Blank}, nil
	}
	s.row.Line, s.row.Kind = s.line, Data
	if s.repeat--; s.repeat == 0 {
		s.taken = false
	}
	return s.whole(), nil
}

// seek reads the next row, or to the end of the table.
func (s *odsReader) seek() error {
	t, err := s.token()
	if err != nil {
		return err
	}
	switch e := t.(type) {
	case xml.EndElement:
		if e.Name.Local == "table" {
			s.end()
		}
	case xml.StartElement:
		switch e.Name.Local {
		case "table-row":
			return s.take(e)
		case "table-header-rows", "table-rows", "table-row-group":
		default: // columns, shapes, forms, sources
			return s.skip()
		}
	}
	return nil
}

// skip goes to the end of the element that has begun.
func (s *odsReader) skip() error {
	for depth := 1; depth > 0; {
		t, err := s.token()
		if err != nil {
			return err
		}
		switch t.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		}
	}
	return nil
}

// repeated returns how often a row or cell is there.
func (s *odsReader) repeated(e xml.StartElement, name string, most int) (int, error) {
	v := attr2(e, name)
	if v == "" {
		return 1, nil
	}
	n, err := strconv.Atoi(v)
	if err != nil || n < 1 || n > 2*maxRows {
		return 0, s.check.fail("row %d: repeated %q times; a sheet has at most %d rows", s.line+s.blank+1, cutShort(v),
			maxRows)
	}
	return min(n, most+1), nil
}

// take reads a row.
func (s *odsReader) take(e xml.StartElement) error {
	n, err := s.repeated(e, "number-rows-repeated", maxRows)
	if err != nil {
		return err
	}
	r := &s.row
	r.raw, r.cells, r.sheet, s.pending = r.raw[:0], r.cells[:0], true, 0
	for {
		t, err := s.token()
		if err != nil {
			return err
		}
		switch e := t.(type) {
		case xml.EndElement:
			if len(r.cells) == 0 {
				s.blank += n
				return nil
			}
			s.taken, s.repeat = true, n
			return nil
		case xml.StartElement:
			if e.Name.Local != "table-cell" && e.Name.Local != "covered-table-cell" {
				err = s.skip()
			} else {
				err = s.cell(e)
			}
			if err != nil {
				return err
			}
		}
	}
}

// cell reads a cell, as often as it is repeated. Empty ones count only where another one follows.
func (s *odsReader) cell(e xml.StartElement) error {
	n, err := s.repeated(e, "number-columns-repeated", maxRows)
	if err != nil {
		return err
	}
	kind, value := attr2(e, "value-type"), ""
	switch kind {
	case "float", "percentage", "currency":
		value = attr2(e, "value")
	case "date", "time", "boolean":
		value = attr2(e, kind+"-value")
	}
	shown, err := s.shown()
	if err != nil {
		return err
	}
	text, holds := odsText(kind, value, shown)
	if text == "" {
		s.pending += n
		return nil
	}
	line := s.line + s.blank + 1
	if len(s.row.cells)+s.pending+n > maxColumns {
		return s.check.fail("row %d has a cell in column %d; a list has at most %d columns", line,
			len(s.row.cells)+s.pending+n, maxColumns)
	}
	for ; s.pending > 0; s.pending-- {
		s.row.add("", Text)
	}
	for range n {
		if s.row.add(text, holds); len(s.row.raw) > maxLine {
			return &Error{File: s.check.file, Line: line, Reason: fmt.Sprintf("a row of more than %d bytes; is this a list?", maxLine)}
		}
	}
	return nil
}

// shown reads what a cell shows: its paragraphs, a line each. A remark that hangs on the cell, or a picture in it, is
// no part of that.
func (s *odsReader) shown() (string, error) {
	s.para = s.para[:0]
	paragraphs, inside := 0, 0
	for {
		t, err := s.token()
		if err != nil {
			return "", err
		}
		switch e := t.(type) {
		case xml.StartElement:
			switch name := e.Name.Local; {
			case name == "p" && inside == 0:
				if paragraphs++; paragraphs > 1 {
					s.para = append(s.para, '\n')
				}
				inside = 1
				continue
			case inside == 0 || name == "annotation" || name == "ruby-text":
				if err := s.skip(); err != nil {
					return "", err
				}
				continue
			case name == "s":
				n, _ := strconv.Atoi(attr2(e, "c")) //nolint:errcheck // one where it does not say
				s.para = append(s.para, strings.Repeat(" ", min(max(n, 1), 1024))...)
			case name == "tab":
				s.para = append(s.para, '\t')
			case name == "line-break":
				s.para = append(s.para, '\n')
			}
			inside++
		case xml.CharData:
			if inside > 0 {
				s.space(e)
			}
		case xml.EndElement:
			if inside == 0 {
				return string(s.para), nil // of the cell
			}
			inside--
		}
		if len(s.para) > maxLine {
			return "", s.check.fail("row %d has a cell of more than %d bytes; is this a list?", s.line+s.blank+1, maxLine)
		}
	}
}

// space appends text; white space is one space, however much of it there is, since more has elements of its own
// (ISO/IEC 26300-1, 6.1.2).
func (s *odsReader) space(text []byte) {
	for _, c := range text {
		if c == '\t' || c == '\n' || c == '\r' {
			c = ' '
		}
		if c != ' ' || len(s.para) > 0 && s.para[len(s.para)-1] != ' ' {
			s.para = append(s.para, c)
		}
	}
}

// odsText returns what a cell says, from its kind, its value and what it shows.
func odsText(kind, value, shown string) (string, Holds) {
	switch kind {
	case "float", "percentage", "currency":
		f := numberFormat{}
		text, holds := f.text(value, false)
		if holds == Number && kind == "float" && patternShown(text, shown) {
			return strings.TrimSpace(shown), Number
		}
		return text, holds
	case "date":
		return strings.Replace(value, "T", " ", 1), Date
	case "time":
		return odsClock(value, shown), Time
	case "boolean":
		return strings.ToUpper(value), Truth
	}
	if strings.HasPrefix(shown, "#") && strings.HasSuffix(shown, "!") {
		return shown, Fault
	}
	return shown, Text
}

// patternShown reports whether a number is shown by a pattern of digits: the same digits, perhaps after zeros, with
// signs between that are not those of thousands.
func patternShown(digits, shown string) bool {
	var all strings.Builder
	signs, run, thousands := 0, 0, true
	for _, c := range strings.TrimSpace(shown) {
		switch {
		case c >= '0' && c <= '9':
			all.WriteRune(c)
			run++
		case strings.ContainsRune(",.-/ '\u00A0\u202F\u2019:", c):
			if signs > 0 && run != 3 || run == 0 || run > 3 {
				thousands = false
			}
			signs, run = signs+1, 0
		default:
			return false
		}
	}
	if strings.TrimLeft(all.String(), "0") != strings.TrimLeft(digits, "0") {
		return false
	}
	return signs == 0 || run != 3 || !thousands || len(all.String()) > len(digits)
}

// odsClock returns a duration such as PT10H30M00S as a time of day; what it shows where that is another one.
func odsClock(value, shown string) string {
	var h, m, sec int64
	if n, err := fmt.Sscanf(value, "PT%dH%dM%dS", &h, &m, &sec); err != nil || n != 3 {
		return shown
	}
	return fmt.Sprintf(clock, h, m, sec)
}
