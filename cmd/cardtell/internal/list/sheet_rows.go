package list

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// sheetReader reads the rows of a sheet.
type sheetReader struct {
	partReader
	book *xlsxBook

	prefix string // of the names of its elements
	begin  []byte // the sheet up to its rows
	next   int    // of the row that the file has next; 0 where that is not known
	start  xml.StartElement
	xml    xmlRow
	value  []byte
	text   plainText
}

// xmlRow is a row as a workbook has it.
type xmlRow struct {
	attrs []byte // of the row, without its number
	raw   []byte // the values of the cells as they stand in the file
	cells []xmlCell
}

// xmlCell is a cell of an xmlRow.
type xmlCell struct {
	column, style int32
	from, to      int32  // its value in raw
	kind          string // the attribute t
	lost          bool   // it had a formula for many cells, of which only the value is kept
}

func (x *xmlRow) clone() *xmlRow {
	if x == nil {
		return nil
	}
	return &xmlRow{attrs: slices.Clone(x.attrs), raw: slices.Clone(x.raw), cells: slices.Clone(x.cells)}
}

func newSheetReader(r *Reader, b *xlsxBook, i int, progress Progress) (*sheetReader, error) {
	if b.sheets[i].part == "" {
		return nil, b.check.fail("sheet %q is named and not there; open the spreadsheet and save it again",
			cutShort(b.sheets[i].name))
	}
	part, err := r.openPart(b.check, b.zip, b.sheets[i].part, progress)
	if err != nil {
		return nil, err
	}
	s := &sheetReader{partReader: part, book: b}
	for {
		t, err := s.tape.dec.RawToken()
		if err != nil {
			return nil, s.damaged(err)
		}
		if e, ok := t.(xml.StartElement); ok && e.Name.Local == "sheetData" {
			s.prefix, s.begin = e.Name.Space, slices.Clone(s.tape.buf[:s.tape.at()])
			s.tape.cut()
			return s, nil
		}
		if s.tape.at() > maxFree {
			return nil, b.check.fail("the sheet has no rows; is it the right one?")
		}
	}
}

// Next returns the next row; rows that the file leaves out are blank.
func (s *sheetReader) Next() (*Row, error) {
	if s.next == 0 && !s.ended {
		if err := s.seek(); err != nil {
			return nil, err
		}
	}
	if s.ended {
		return nil, io.EOF
	}
	s.line++
	r := &s.row
	r.Line, r.sheet, r.xml = s.line, true, nil
	r.raw, r.cells, r.Kind = r.raw[:0], r.cells[:0], Data
	if s.line < s.next {
		r.Kind = Blank
		return r, nil
	}
	s.next = 0
	if err := s.take(); err != nil {
		return nil, err
	}
	for len(r.cells) > 0 && r.cells[len(r.cells)-1].from == r.cells[len(r.cells)-1].to {
		r.cells = r.cells[:len(r.cells)-1]
	}
	if len(r.cells) == 0 {
		r.Kind = Blank
	}
	return s.whole(), nil
}

// seek goes to the next row that the file has.
func (s *sheetReader) seek() error {
	for {
		t, err := s.token()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.EndElement:
			if t.Name.Local == "sheetData" {
				s.end()
				return nil
			}
		case xml.StartElement:
			if t.Name.Local != "row" {
				continue
			}
			s.start, s.next = t, s.line+1
			if n := attr(t, "r"); n != "" {
				if s.next, err = strconv.Atoi(n); err != nil || s.next < 1 || s.next > maxRows {
					return s.check.fail("row %q; a sheet has rows 1 to %d", cutShort(n), maxRows)
				}
			}
			switch {
			case s.next <= s.line:
				return s.check.fail("row %d comes after row %d; open the spreadsheet and save it again", s.next, s.line)
			case s.next > maxRows:
				return s.check.fail("more than %d rows, which a sheet can't have", maxRows)
			}
			return nil
		}
	}
}

// take reads the row that seek has found.
func (s *sheetReader) take() error {
	x := &s.xml
	x.attrs, x.raw, x.cells = x.attrs[:0], x.raw[:0], x.cells[:0]
	for _, a := range s.start.Attr {
		if a.Name.Local == "r" || a.Name.Local == "spans" {
			continue
		}
		x.attrs = append(x.attrs, ' ')
		if a.Name.Space != "" {
			x.attrs = append(append(x.attrs, a.Name.Space...), ':')
		}
		value := strings.ReplaceAll(string(appendText(nil, a.Value)), `"`, "&quot;")
		x.attrs = append(append(append(append(x.attrs, a.Name.Local...), `="`...), value...), '"')
	}
	s.row.xml = x
	for {
		t, err := s.token()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.EndElement:
			if t.Name.Local == "row" {
				return nil
			}
		case xml.StartElement:
			if t.Name.Local != "c" {
				continue
			}
			if err := s.cell(t); err != nil {
				return err
			}
			if len(s.row.raw) > maxLine || len(x.raw) > 4*maxLine {
				return &Error{File: s.check.file, Line: s.line, Reason: fmt.Sprintf("a row of more than %d bytes; is this a list?",
					maxLine)}
			}
		}
	}
}

// cell reads a cell up to its end.
func (s *sheetReader) cell(t xml.StartElement) error {
	x := xmlCell{column: int32(len(s.row.cells)), from: int32(len(s.xml.raw)), kind: kindOfCell(attr(t, "t"))}
	at := attr(t, "r")
	if column := strings.TrimRight(at, "0123456789"); at != "" {
		i, ok := byPlace(column, "letter")
		if !ok || i >= maxColumns {
			return s.check.fail("row %d has a cell in column %s; a list has at most %d columns", s.line, cutShort(column),
				maxColumns)
		}
		if i < len(s.row.cells) {
			return s.check.fail("row %d: cell %s comes after one to its right; open the spreadsheet and save it again",
				s.line, cutShort(at))
		}
		x.column = int32(i)
	}
	if style, err := strconv.Atoi(attr(t, "s")); err == nil && style >= 0 && style < len(s.book.formats) {
		x.style = int32(style)
	}
	if err := s.values(&x); err != nil {
		return err
	}
	x.to = int32(len(s.xml.raw))
	for int32(len(s.row.cells)) < x.column {
		s.row.add("", Text)
	}
	text, holds, err := s.meaning(&x)
	s.row.add(text, holds)
	s.xml.cells = append(s.xml.cells, x)
	return err
}

// kindOfCell returns a cell's kind without keeping the file's own copy of it.
func kindOfCell(t string) string {
	for _, k := range [...]string{"s", "str", "inlineStr", "b", "e", "d"} {
		if t == k {
			return k
		}
	}
	return ""
}

// values reads what is inside a cell: v or is, and f. Their bytes are kept as they are, but for a formula that says
// what is in other cells too: without the row where it stands they would be lost.
func (s *sheetReader) values(x *xmlCell) error {
	inside, shared := "", false
	s.value = s.value[:0]
	s.text.reset()
	for {
		before := s.tape.at()
		t, err := s.tape.dec.RawToken()
		if err != nil {
			return s.damaged(err)
		}
		keep := inside != "" && !(inside == "f" && shared)
		switch t := t.(type) {
		case xml.StartElement:
			switch name := t.Name.Local; {
			case inside == "" && (name == "v" || name == "is" || name == "f"):
				inside = name
				shared = name == "f" && attr(t, "t") != "" && attr(t, "t") != "normal"
				x.lost = x.lost || shared
				keep = !shared
			}
			s.text.token(t)
		case xml.CharData:
			if inside == "v" {
				s.value = append(s.value, t...)
			}
			s.text.token(t)
		case xml.EndElement:
			if t.Name.Local == "c" {
				return nil
			}
			if t.Name.Local == inside {
				inside = ""
			}
			s.text.token(t)
		}
		if keep {
			s.xml.raw = append(s.xml.raw, s.tape.buf[before:s.tape.at()]...)
		}
	}
}

// meaning returns what a cell says.
func (s *sheetReader) meaning(x *xmlCell) (string, Holds, error) {
	v := strings.TrimSpace(string(s.value))
	switch x.kind {
	case "s":
		n, err := strconv.Atoi(v)
		if err != nil || n < 0 || n >= len(s.book.texts.ends) {
			if v == "" {
				return "", Text, nil
			}
			return "", Text, s.check.fail("row %d refers to text %q, which is not there; open the spreadsheet and save it again", s.line, cutShort(v))
		}
		return s.book.texts.get(n), Text, nil
	case "str":
		return unescapeSigns(string(s.value)), Text, nil
	case "inlineStr":
		return unescapeSigns(string(s.text.text)), Text, nil
	case "b":
		if v == "1" {
			return "TRUE", Truth, nil
		}
		return "FALSE", Truth, nil
	case "e":
		return v, Fault, nil
	case "d":
		return strings.Replace(v, "T", " ", 1), Date, nil
	}
	if v == "" {
		return "", Text, nil
	}
	f := numberFormat{}
	if int(x.style) < len(s.book.formats) {
		f = s.book.formats[x.style]
	}
	text, holds := f.text(v, s.book.use1904)
	return text, holds, nil
}
