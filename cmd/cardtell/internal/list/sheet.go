package list

import (
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/internal/near"
)

// sheetOptions keep the spreadsheet library from putting card numbers into temporary files, which would stay behind if the
// program were killed: sheets are held in memory, and there is no folder to put files into.
func sheetOptions() excelize.Options {
	return excelize.Options{
		UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxUnpacked,
		TmpDir: filepath.Join("/nonexistent", "cardtell-keeps-no-copies"),
	}
}

// openSheet opens a workbook, after its parts were checked.
func (r *Reader) openSheet(size int64, opt Options) (err error) {
	if r.file == nil || size == 0 {
		return &Error{File: r.Name, Reason: "a spreadsheet can't be read from a pipe; name the file"}
	}
	check := &sheetCheck{file: r.Name}
	z, err := check.archive(r.file, size)
	if err != nil {
		return err
	}
	defer r.recovered(&err)
	book, err := excelize.OpenReader(io.NewSectionReader(r.file, 0, size), sheetOptions())
	if err != nil {
		return &Error{File: r.Name, Reason: fmt.Sprintf("no spreadsheet that can be read (%v); open it and save it again", err)}
	}
	r.closers = append(r.closers, book.Close)
	if r.Sheets = book.GetSheetList(); len(r.Sheets) == 0 {
		return &Error{File: r.Name, Reason: "a spreadsheet without sheets; is it the right one?"}
	}
	if r.Sheet = firstShown(book, r.Sheets); opt.Sheet != "" {
		if !slices.Contains(r.Sheets, opt.Sheet) {
			return &Error{File: r.Name, Reason: fmt.Sprintf("sheet %q: no such sheet; there are %s",
				cutShort(opt.Sheet), near.List(strconv.Quote(opt.Sheet), quoteAll(r.Sheets), 8))}
		}
		r.Sheet = opt.Sheet
	}
	if err := check.countStrings(z); err != nil {
		return err
	}
	part, err := check.sheetPart(z, r.Sheet)
	if err != nil {
		return err
	}
	if err := check.sheet(z, part); err != nil {
		return err
	}
	rows, err := newSheetReader(r, book, check.lastRow, opt)
	r.rows = rows
	return err
}

// firstShown returns the first sheet that people see; the first of all where they are all hidden.
func firstShown(book *excelize.File, sheets []string) string {
	for _, name := range sheets {
		if shown, err := book.GetSheetVisible(name); err == nil && shown {
			return name
		}
	}
	return sheets[0]
}

// recovered turns a panic of the spreadsheet library into an error: it reads files that anyone may have made.
func (r *Reader) recovered(err *error) {
	if p := recover(); p != nil {
		*err = &Error{File: r.Name, Reason: fmt.Sprintf("no spreadsheet that can be read (%v); open it and save it again", p)}
	}
}

// sheetReader reads the rows of a sheet twice at once: as stored and as shown. What is stored has all digits; what is shown
// has the leading zeros of a number format, and tells a date from a number.
type sheetReader struct {
	reader   *Reader
	stored   *excelize.Rows
	shown    *excelize.Rows
	line     int
	last     int
	size     int64
	progress Progress
	row      Row
	width    int // of the first row: a sheet leaves out empty cells at a row's end
}

func newSheetReader(r *Reader, book *excelize.File, last int, opt Options) (*sheetReader, error) {
	s := &sheetReader{reader: r, last: last, size: r.before.Size(), progress: opt.Progress}
	for _, rows := range []**excelize.Rows{&s.stored, &s.shown} {
		var err error
		if *rows, err = book.Rows(r.Sheet); err != nil {
			return nil, &Error{File: r.Name, Reason: fmt.Sprintf("sheet %q: %v", r.Sheet, err)}
		}
		r.closers = append(r.closers, (*rows).Close)
	}
	return s, nil
}

// Next returns the next row; one with nothing in it is blank.
func (s *sheetReader) Next() (row *Row, err error) {
	defer s.reader.recovered(&err)
	if !s.stored.Next() || !s.shown.Next() {
		if err := errors.Join(s.stored.Error(), s.shown.Error()); err != nil || s.line < s.last {
			return nil, &Error{File: s.reader.Name, Line: s.line + 1, Reason: fmt.Sprintf("the sheet ends before its row %d; open it and save it again", s.last)}
		}
		return nil, io.EOF
	}
	s.line++
	stored, err := s.stored.Columns(excelize.Options{RawCellValue: true})
	if err != nil {
		return nil, &Error{File: s.reader.Name, Line: s.line, Reason: err.Error()}
	}
	shown, err := s.shown.Columns()
	if err != nil {
		return nil, &Error{File: s.reader.Name, Line: s.line, Reason: err.Error()}
	}
	if s.progress != nil && s.line%1024 == 0 {
		s.progress(1024*s.size/int64(max(s.last, 1)), s.size)
	}
	s.take(stored, shown)
	return &s.row, nil
}

func (s *sheetReader) take(stored, shown []string) {
	r := &s.row
	r.Line, r.sheet, r.Blank = s.line, true, true
	r.raw, r.cells = r.raw[:0], r.cells[:0]
	for i, v := range stored {
		if i < len(shown) {
			v = cellText(v, shown[i])
		}
		r.Blank = r.Blank && v == ""
		from := len(r.raw)
		r.raw = append(r.raw, v...)
		r.cells = append(r.cells, cell{from: int32(from), to: int32(len(r.raw))})
	}
	if s.width == 0 && !r.Blank {
		s.width = len(r.cells)
	}
	for len(r.cells) < s.width && !r.Blank {
		end := int32(len(r.raw))
		r.cells = append(r.cells, cell{from: end, to: end})
	}
	if r.Blank {
		r.cells = r.cells[:0]
	}
}

// maxExact is below what a spreadsheet keeps every digit of a number: it has 15.
const maxExact = 1e15

// cellText returns what a cell says, from what is stored and what is shown.
func cellText(stored, shown string) string {
	if stored == shown {
		return stored // a text, or a number in no special format
	}
	v, err := strconv.ParseFloat(stored, 64)
	switch {
	case shown == "TRUE" || shown == "FALSE":
		return shown // stored as 1 or 0, which is no number of a card
	case err != nil || reading.LooksLikeDate(shown):
		return shown
	case strings.TrimLeft(shown, "0") == stored:
		return shown // a number format with leading zeros
	case v != math.Trunc(v) || v < 0:
		return stored
	case v < maxExact:
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'E', -1, 64) // so that nobody takes it for all its digits
}

// sheetWriter writes a workbook of one sheet. Every cell is a text, which a spreadsheet neither rounds nor runs.
type sheetWriter struct {
	file   *File
	book   *excelize.File
	stream *excelize.StreamWriter
	line   int
	cells  []any
	done   bool // nothing more can be written
}

func newSheetWriter(f *File) (*sheetWriter, error) {
	book := excelize.NewFile(sheetOptions())
	stream, err := book.NewStreamWriter(book.GetSheetName(0))
	if err != nil {
		return nil, errors.Join(err, book.Close(), f.Abort())
	}
	return &sheetWriter{file: f, book: book, stream: stream}, nil
}

// Neutralised implements [Writer]: the cells of a workbook are texts and not run.
func (w *sheetWriter) Neutralised() int { return 0 }

// Write implements [Writer].
func (w *sheetWriter) Write(row *Row, edits []Edit) error {
	w.cells = w.cells[:0]
	return w.write(row, edits)
}

// WriteNoted implements [Writer].
func (w *sheetWriter) WriteNoted(line, note string, row *Row, edits []Edit) error {
	w.cells = append(w.cells[:0], line, note)
	return w.write(row, edits)
}

func (w *sheetWriter) write(row *Row, edits []Edit) error {
	for i := range row.cells {
		v := row.Text(i)
		if len(edits) > 0 && edits[0].Column == i {
			v, edits = string(edits[0].Value), edits[1:]
		}
		w.cells = append(w.cells, v)
	}
	for _, e := range edits {
		w.cells = append(w.cells, string(e.Value))
	}
	if w.line++; w.line > maxRows {
		return &Error{File: w.file.target, Line: w.line, Reason: fmt.Sprintf("a sheet has %d rows; write CSV", maxRows)}
	}
	for i, v := range w.cells {
		if s, _ := v.(string); len(s) > excelize.TotalCellChars {
			return &Error{File: w.file.target, Line: row.Line, Reason: fmt.Sprintf("cell %d has more than %d characters, which a sheet can't hold; write CSV", i+1, excelize.TotalCellChars)}
		}
	}
	at, err := excelize.CoordinatesToCellName(1, w.line)
	if err != nil {
		return err
	}
	return w.stream.SetRow(at, w.cells)
}

// Finish implements [Writer].
func (w *sheetWriter) Finish() error {
	if w.done {
		return nil
	}
	w.done = true
	if err := w.stream.Flush(); err != nil {
		return errors.Join(err, w.Abort())
	}
	if err := w.book.Write(w.file); err != nil {
		return errors.Join(err, w.Abort())
	}
	return w.file.Sync()
}

// Commit implements [Writer].
func (w *sheetWriter) Commit() error {
	if err := w.Finish(); err != nil {
		return err
	}
	return errors.Join(w.book.Close(), w.file.Commit())
}

// Abort implements [Writer].
func (w *sheetWriter) Abort() error { return errors.Join(w.book.Close(), w.file.Abort()) }
