package list

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// maxLine is the longest row that is read, in bytes. A row of a real list has a few hundred; without a limit a file
// with no line ends would be held in memory whole.
const maxLine = 1 << 20

// csvReader takes rows of a CSV file apart without copying them.
type csvReader struct {
	name    string
	dialect Dialect
	src     io.Reader
	decode  func([]byte) string
	wide    bool // src decodes: U+FFFD marks what it could not

	buf  []byte // bytes read, of which those before pos are done with
	pos  int
	eof  bool
	line int    // line ends seen
	end  []byte // the first of them
	row  Row
	nul  bool // there was a NUL byte in what was read
	open bool // the row read last has a quote that is never closed
}

// readSize is how much is read at once.
const readSize = 1 << 18

// fill reads more, moving what is not done with to the front.
func (r *csvReader) fill() error {
	if r.pos > 0 {
		r.buf = r.buf[:copy(r.buf, r.buf[r.pos:])]
		r.pos = 0
	}
	if cap(r.buf)-len(r.buf) < readSize/2 {
		r.buf = append(make([]byte, 0, 2*cap(r.buf)+readSize), r.buf...)
	}
	n, err := r.src.Read(r.buf[len(r.buf):cap(r.buf)])
	r.nul = r.nul || bytes.IndexByte(r.buf[len(r.buf):len(r.buf)+n], 0) >= 0
	r.buf = r.buf[:len(r.buf)+n]
	if errors.Is(err, io.EOF) {
		r.eof = true
		return nil
	}
	return err
}

// Next returns the next row; io.EOF after the last.
func (r *csvReader) Next() (*Row, error) {
	for scan := 0; ; {
		n, after, whole := r.lineAt(scan)
		switch {
		case whole:
			return r.take(n, after)
		case r.eof && r.pos == len(r.buf):
			return nil, io.EOF
		case r.eof:
			return r.take(len(r.buf)-r.pos, len(r.buf)-r.pos)
		case len(r.buf)-r.pos > maxLine:
			return nil, r.fail(r.line+1, fmt.Sprintf("a row of more than %d bytes; is this a list, and are its quotes closed?",
				maxLine))
		}
		scan = n
		if err := r.fill(); err != nil {
			return nil, err
		}
	}
}

func (r *csvReader) fail(line int, reason string) error {
	return &Error{File: r.name, Line: line, Reason: reason}
}

// lineAt looks for the end of the row that begins at pos. whole is false where the buffer ends before it; n is then
// where to go on looking. Otherwise the row has n bytes and its line end goes up to after.
func (r *csvReader) lineAt(scan int) (n, after int, whole bool) {
	b := r.buf[r.pos:]
	end := lineEnd(r.dialect)
	i := bytes.IndexByte(b[scan:], end)
	if i < 0 {
		if bytes.IndexByte(b, r.dialect.Quote) >= 0 {
			return 0, 0, false
		}
		return len(b), 0, false
	}
	i += scan
	if bytes.IndexByte(b[:i], r.dialect.Quote) >= 0 {
		if i = r.quotedEnd(b, end); i < 0 {
			return 0, 0, false
		}
	}
	after = i + 1
	if i > 0 && end == '\n' && b[i-1] == '\r' {
		i--
	}
	return i, after, true
}

// quotedEnd returns where a row with quotes ends: at the first line end outside quotes; -1 where that is not in b.
func (r *csvReader) quotedEnd(b []byte, end byte) int {
	d := &r.dialect
	start := true
	for i := 0; i < len(b); i++ {
		switch c := b[i]; {
		case c == end:
			return i
		case c == d.Quote && start:
			if i, _ = r.closing(b, i); i < 0 {
				return -1
			}
			start = false
		default:
			start = c == d.Delimiter || start && c == ' ' && d.Delimiter != ' '
		}
	}
	return -1
}

// take makes a row of the next n bytes; its line end goes up to after.
func (r *csvReader) take(n, after int) (*Row, error) {
	row := &r.row
	raw := r.buf[r.pos : r.pos+n]
	row.Line, row.raw, row.end, row.decode = r.line+1, raw, r.buf[r.pos+n:r.pos+after], r.decode
	row.slash = r.dialect.Escape
	row.cells, row.Kind = row.cells[:0], Data
	if err := r.sound(raw); err != nil {
		return nil, err
	}
	r.pos += after
	if r.line++; r.end == nil {
		r.end = bytes.Clone(row.end)
	}
	if len(raw) == 0 {
		row.Kind = Blank
	}
	if bytes.IndexByte(raw, r.dialect.Quote) < 0 {
		r.split(raw)
		return row, nil
	}
	r.line += bytes.Count(raw, []byte{lineEnd(r.dialect)})
	return row, r.splitQuoted(raw)
}

func lineEnd(d Dialect) byte {
	if d.OldMac {
		return '\r'
	}
	return '\n'
}

// sound refuses a row with a NUL byte, or with what its encoding has no meaning for.
func (r *csvReader) sound(raw []byte) error {
	if r.nul && bytes.IndexByte(raw, 0) >= 0 {
		return r.fail(r.line+1, "a NUL byte: no text, or UTF-16; in that case give --encoding utf-16le or utf-16be")
	}
	if r.wide {
		if i := bytes.Index(raw, []byte("\uFFFD")); i >= 0 {
			return r.fail(r.line+1, fmt.Sprintf("character %d is none in this encoding; is it damaged, or would another --encoding do?", i+1))
		}
	}
	return nil
}

// split takes a row without quotes apart.
func (r *csvReader) split(raw []byte) {
	from := 0
	cells := r.row.cells
	d := r.dialect.Delimiter
	for i, c := range raw {
		if c == d {
			cells = append(cells, cell{from: int32(from), to: int32(i)})
			from = i + 1
		}
	}
	r.row.cells = append(cells, cell{from: int32(from), to: int32(len(raw))})
}

// splitQuoted takes a row with quotes apart. A quote that is not at a cell's beginning is a sign like any other. After
// a closing quote only spaces may come before the delimiter.
func (r *csvReader) splitQuoted(raw []byte) error {
	d := &r.dialect
	for from := 0; ; {
		start := from
		for d.Delimiter != ' ' && start < len(raw) && raw[start] == ' ' {
			start++
		}
		if start == len(raw) || raw[start] != d.Quote {
			to := bytes.IndexByte(raw[from:], d.Delimiter)
			if to < 0 {
				r.row.cells = append(r.row.cells, cell{from: int32(from), to: int32(len(raw))})
				return nil
			}
			r.row.cells = append(r.row.cells, cell{from: int32(from), to: int32(from + to)})
			from += to + 1
			continue
		}
		end, escaped := r.closing(raw, start)
		if end < 0 {
			r.open = true
			return r.fail(r.row.Line, fmt.Sprintf("cell %d begins with a quote that is never closed; close it, or name another --quote", len(r.row.cells)+1))
		}
		to := end + 1
		for to < len(raw) && raw[to] == ' ' && d.Delimiter != ' ' {
			to++
		}
		if to < len(raw) && raw[to] != d.Delimiter {
			return r.fail(r.row.Line, fmt.Sprintf("cell %d goes on after its closing quote; a quote inside quotes is written twice", len(r.row.cells)+1))
		}
		r.row.cells = append(r.row.cells, cell{from: int32(start), to: int32(to), quoted: true, escaped: escaped})
		if to == len(raw) {
			return nil
		}
		from = to + 1
	}
}

// closing returns where the quote that opens at start is closed, -1 where it is not.
func (r *csvReader) closing(raw []byte, start int) (end int, escaped bool) {
	d := &r.dialect
	for i := start + 1; i < len(raw); i++ {
		switch c := raw[i]; {
		case d.Escape && c == '\\' && i+1 < len(raw):
			i, escaped = i+1, true
		case c == d.Quote && !d.Escape && i+1 < len(raw) && raw[i+1] == d.Quote:
			i, escaped = i+1, true
		case c == d.Quote:
			return i, escaped
		}
	}
	return -1, false
}
