package list

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/xuri/excelize/v2"
)

// sheetOptions keep the spreadsheet library from putting card numbers into temporary files, which would stay behind if the
// program were killed: sheets are held in memory, and there is no folder to put files into.
func sheetOptions() excelize.Options {
	return excelize.Options{
		UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxUnpacked,
		TmpDir: filepath.Join("/nonexistent", "cardtell-keeps-no-copies"),
	}
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

// newSheetWriter begins a workbook with one sheet, called name where that is not "".
func newSheetWriter(f *File, name string) (*sheetWriter, error) {
	book := excelize.NewFile(sheetOptions())
	if name != "" {
		if err := book.SetSheetName(book.GetSheetName(0), name); err != nil {
			return nil, errors.Join(err, book.Close())
		}
	}
	stream, err := book.NewStreamWriter(book.GetSheetName(0))
	if err != nil {
		return nil, errors.Join(err, book.Close())
	}
	return &sheetWriter{file: f, book: book, stream: stream}, nil
}

// Neutralised implements [Writer]: the cells of a workbook are texts and not run.
func (w *sheetWriter) Neutralised() int { return 0 }

// Notes implements [Writer].
func (w *sheetWriter) Notes() []string { return nil }

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

// Stage implements [Writer].
func (w *sheetWriter) Stage() error {
	if err := w.Finish(); err != nil {
		return err
	}
	return w.file.Stage()
}

// Target implements [Writer].
func (w *sheetWriter) Target() string { return w.file.target }

// Commit implements [Writer].
func (w *sheetWriter) Commit() error {
	if err := w.Finish(); err != nil {
		return err
	}
	return errors.Join(w.book.Close(), w.file.Commit())
}

// Abort implements [Writer].
func (w *sheetWriter) Abort() error { return errors.Join(w.book.Close(), w.file.Abort()) }
