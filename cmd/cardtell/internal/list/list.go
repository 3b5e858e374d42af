// Package list reads and writes lists of cardholders: CSV in whatever dialect and encoding it comes, and XLSX; ODS is
// read. Rows say what they are ([Kind]), and cells of spreadsheets what they hold ([Holds]).
//
// [Open] finds out how a file is written and returns a [Reader] of its rows; [Create] returns a [Writer] that puts
// them, changed where asked, into a file that appears only when it is complete. A CSV row is passed on byte for byte
// but for the cells that change, and a workbook but for the rows of one sheet, so that nothing is lost which this
// package has no idea of.
package list

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Error says in which file and line something is wrong with a list, and what would do.
type Error struct {
	File   string
	Line   int // from 1; 0 where it is the whole file's
	Reason string
}

// Error returns one line.
func (e *Error) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Reason)
	}
	return fmt.Sprintf("%s: %s", e.File, e.Reason)
}

// Row is one row of a list. It is valid until the next one is read.
type Row struct {
	Line int  // where it begins in the file, from 1; the row number of a spreadsheet
	Kind Kind // what it is: a cardholder, or something else

	raw    []byte  // as in the file, without the line end; the cells of a spreadsheet one after the other
	xml    *xmlRow // as an XLSX file has it; nil elsewhere
	end    []byte  // the line end as in the file, empty where the file ends without one
	cells  []cell
	scrape []byte // values of quoted cells that have quotes inside
	safe   bool   // no cell begins as a formula does; false where that was not looked at
	slash  bool   // a quote inside quotes is written with a backslash
	sheet  bool   // from a spreadsheet: raw is no line of text
	decode func([]byte) string
}

// cell is a cell's place in a row's bytes, quotes included.
type cell struct {
	from, to int32
	quoted   bool
	escaped  bool // there are quotes or backslashes inside
	holds    Holds
}

// Holds is what a spreadsheet says that a cell is. A cell of CSV is a text, whatever stands in it.
type Holds uint8

// What a cell can hold.
const (
	Text   Holds = iota
	Number       // Value is what a person sees where the format is a pattern of digits, and what is stored elsewhere
	Date         // Value is YYYY-MM-DD, with hh:mm:ss where it has a time: it is no number of a card, however it is shown
	Time         // Value is hh:mm:ss
	Truth        // TRUE or FALSE
	Fault        // what a formula shows that has failed, such as #REF!
)

// String returns the kind's name with an article.
func (h Holds) String() string {
	return [...]string{"a text", "a number", "a date", "a time", "a truth value", "an error of a formula"}[h]
}

// Holds returns what cell i holds; Text where there is no such cell.
func (r *Row) Holds(i int) Holds {
	if i < 0 || i >= len(r.cells) {
		return Text
	}
	return r.cells[i].holds
}

// Len returns the number of cells.
func (r *Row) Len() int { return len(r.cells) }

// Value returns what stands in cell i, without quotes, in the file's own encoding; nil where there is no such cell. It
// is valid until the next call of Value for an escaped cell, or the next row.
func (r *Row) Value(i int) []byte {
	if i < 0 || i >= len(r.cells) {
		return nil
	}
	c := &r.cells[i]
	b := r.raw[c.from:c.to]
	if !c.quoted {
		return b
	}
	return r.unquote(b, c.escaped)
}

// unquote returns what stands between the quotes: b begins with one, and has spaces after the last one at most.
func (r *Row) unquote(b []byte, escaped bool) []byte {
	quote := b[0]
	end := bytes.LastIndexByte(b, quote)
	b = b[1:max(end, 1)]
	if !escaped {
		return b
	}
	mark := quote // what stands before a quote that is meant
	if r.slash {
		mark = '\\'
	}
	r.scrape = r.scrape[:0]
	for i := 0; i < len(b); i++ {
		if b[i] == mark && i+1 < len(b) && (b[i+1] == quote || b[i+1] == mark) {
			i++
		}
		r.scrape = append(r.scrape, b[i])
	}
	return r.scrape
}

// Text returns what stands in cell i as text, "" where there is no such cell.
func (r *Row) Text(i int) string {
	b := r.Value(i)
	if r.decode == nil {
		return strings.ToValidUTF8(string(b), "\uFFFD")
	}
	return r.decode(b)
}

// Number returns the cell as a number is read: its value, in UTF-8. It is valid until the next row is read.
func (r *Row) Number(i int) []byte {
	v := r.Value(i)
	if r.decode == nil || bytes.IndexFunc(v, func(c rune) bool { return c >= utf8.RuneSelf }) < 0 {
		return v
	}
	return []byte(r.decode(v))
}

// Texts returns all cells as text.
func (r *Row) Texts() []string {
	all := make([]string, r.Len())
	for i := range all {
		all[i] = r.Text(i)
	}
	return all
}

// Clone returns a copy of the row that stays valid.
func (r *Row) Clone() *Row {
	c := *r
	c.raw, c.end, c.cells, c.scrape = bytes.Clone(r.raw), bytes.Clone(r.end), slices.Clone(r.cells), nil
	c.xml = r.xml.clone()
	return &c
}

// add appends a cell of a row that has no line of text.
func (r *Row) add(v string, holds Holds) {
	from := int32(len(r.raw))
	r.raw = append(r.raw, v...)
	r.cells = append(r.cells, cell{from: from, to: int32(len(r.raw)), holds: holds})
}

// maxQuoted is how much of an input an error repeats, in bytes.
const maxQuoted = 48

func cutShort(s string) string {
	if len(s) <= maxQuoted {
		return s
	}
	n := maxQuoted
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}

// NewRow makes a row of texts that come from no file.
func NewRow(texts []string) *Row {
	r := &Row{sheet: true}
	for _, s := range texts {
		r.add(s, Text)
	}
	return r
}
