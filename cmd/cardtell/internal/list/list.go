// Package list reads and writes lists of cardholders: CSV in whatever dialect and encoding it comes, and XLSX.
//
// [Open] finds out how a file is written and returns a [Reader] of its rows; [Create] returns a [Writer] that puts them,
// changed where asked, into a file that appears only when it is complete. A CSV row is passed on byte for byte but for the
// cells that change, so that nothing is lost which this package has no idea of.
package list

import (
	"bytes"
	"fmt"
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
	Line  int  // where it begins in the file, from 1; the row number of a spreadsheet
	Blank bool // a line with nothing on it: it is no cardholder, and only passed on

	raw    []byte // as in the file, without the line end; the cells of a spreadsheet one after the other
	end    []byte // the line end as in the file, empty where the file ends without one
	cells  []cell
	scrape []byte // values of quoted cells that have quotes inside
	slash  bool   // a quote inside quotes is written with a backslash
	sheet  bool   // from a spreadsheet: raw is no line of text
	decode func([]byte) string
}

// cell is a cell's place in a row's bytes, quotes included.
type cell struct {
	from, to int32
	quoted   bool
	escaped  bool // there are quotes or backslashes inside
}

// Len returns the number of cells.
func (r *Row) Len() int { return len(r.cells) }

// Value returns what stands in cell i, without quotes, in the file's own encoding; nil where there is no such cell. It is
// valid until the next call of Value for an escaped cell, or the next row.
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

// Texts returns all cells as text.
func (r *Row) Texts() []string {
	all := make([]string, r.Len())
	for i := range all {
		all[i] = r.Text(i)
	}
	return all
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
		from := int32(len(r.raw))
		r.raw = append(r.raw, s...)
		r.cells = append(r.cells, cell{from: from, to: int32(len(r.raw))})
	}
	return r
}
