package list

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
)

// Edit is a cell that is written otherwise than it was read.
type Edit struct {
	Column int // of the row; Before and Add for one more cell at its beginning and at its end
	Value  []byte
}

// Before and Add as a column add a cell before the row, and at its end.
const Before, Add = -2, -1

// rows writes rows that a [Reader] has read, in one kind of file.
type rows interface {
	// Write writes a row. The edits are in rising order of columns, with those before the row first and added ones last.
	// A text that a spreadsheet would run as a formula gets a ' before it.
	Write(row *Row, edits []Edit) error
	// Neutralised returns how many cells would have been run as formulas.
	Neutralised() int
	// Notes says what could not be kept as it was, a sentence each.
	Notes() []string
	// end writes all that is left; nothing can be written after it.
	end() error
	// stop ends what runs beside, before the file is given up.
	stop()
}

// Writer writes rows that a [Reader] has read into a file, or to a stream. Make one with [Create] or [NewCSVWriter].
type Writer struct {
	rows
	file  *File // nil for a stream
	ended bool
}

// WriteNoted writes a row with the line that it had and a note before it.
func (w *Writer) WriteNoted(line, note string, row *Row, edits []Edit) error {
	return w.Write(row, slices.Concat([]Edit{{Before, []byte(line)}, {Before, []byte(note)}}, edits))
}

// finish writes all that is left to the disk, so that Commit has hardly anything left that can fail. Nothing can be
// written after it.
func (w *Writer) finish() error {
	if !w.ended {
		w.ended = true
		if err := w.end(); err != nil {
			return errors.Join(err, w.Abort())
		}
	}
	if w.file == nil {
		return nil
	}
	return w.file.Sync()
}

// stage finishes the file and gives it a name beside the target.
func (w *Writer) stage() error {
	if err := w.finish(); err != nil || w.file == nil {
		return err
	}
	return w.file.Stage()
}

// target returns the file's name; "" for a stream.
func (w *Writer) target() string {
	if w.file == nil {
		return ""
	}
	return w.file.target
}

// Commit puts the file in its place; nothing is there before. It finishes what is not finished.
func (w *Writer) Commit() error {
	if err := w.finish(); err != nil || w.file == nil {
		return err
	}
	return w.file.Commit()
}

// Abort gives the file up. After Commit it does nothing.
func (w *Writer) Abort() error {
	if w.file == nil {
		return nil
	}
	w.stop()
	return w.file.Abort()
}

// OutOptions say how a list is to be written, where not as it was read.
type OutOptions struct {
	Delimiter byte
	Encoding  string
	Inputs    []fs.FileInfo // files that the output must not be
	New       bool          // a workbook of its own, and not a copy of the one that is read
}

// Info returns what the system says of the file that is read, for [OutOptions]; nil for a stream.
func (r *Reader) Info() fs.FileInfo { return r.before }

// Create begins a file of rows read from r: XLSX where its name says so, CSV otherwise, in the dialect and encoding of
// r. From XLSX to XLSX it is a copy of the workbook with other rows in the one sheet. The error is an [*Error] for a
// name that asks for another kind.
func Create(name string, r *Reader, opt OutOptions) (*Writer, error) {
	if kind := notWritten(name); kind != "" {
		return nil, &Error{File: name, Reason: kind + " is not written here; name the file .xlsx or .csv"}
	}
	if !IsXLSX(name) {
		if _, err := opt.encoding(r); err != nil {
			return nil, err
		}
	}
	f, err := NewFile(name, opt.Inputs...)
	if err != nil {
		return nil, err
	}
	w := &Writer{file: f}
	switch {
	case IsXLSX(name) && r.book != nil && !opt.New:
		w.rows, err = newSheetCopy(f, r)
	case IsXLSX(name):
		w.rows, err = newSheet(f, r.Sheet)
	default:
		w.rows, err = newCSVRows(f, f, r, opt)
	}
	if err != nil {
		return nil, errors.Join(err, f.Abort())
	}
	return w, nil
}

// notWritten returns what a name asks for that is not written; "" where it asks for CSV or XLSX.
func notWritten(name string) string {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".ods", ".xls", ".xlsm", ".xlsb", ".pdf":
		return strings.ToUpper(ext[1:])
	}
	return ""
}

func (o OutOptions) encoding(r *Reader) (Encoding, error) {
	if o.Encoding == "" {
		return r.Encoding, nil
	}
	return EncodingByName(o.Encoding)
}

// csvRows writes CSV.
type csvRows struct {
	out     io.Writer
	file    *File // nil for a stream
	dialect Dialect
	buf     []byte            // whole rows
	row     []byte            // the one at hand; at the end of buf where it needs no encoding
	start   int               // of row
	behind  *behind           // writes while the next rows are made; nil until there are many
	same    bool              // rows are passed on as they are
	enc     *encoding.Encoder // of the output, nil for UTF-8
	single  *encoding.Encoder // for edits, where rows are passed on in an encoding of single bytes
	lineEnd []byte            // for rows that have no line end of their own
	risks   int
}

// NewCSVWriter writes rows read from r to a stream, in its dialect and encoding but for what opt says.
func NewCSVWriter(out io.Writer, r *Reader, opt OutOptions) (*Writer, error) {
	rows, err := newCSVRows(out, nil, r, opt)
	if err != nil {
		return nil, err
	}
	return &Writer{rows: rows}, nil
}

// newCSVRows writes rows to a file, or to a stream where that is nil.
func newCSVRows(out io.Writer, file *File, r *Reader, opt OutOptions) (*csvRows, error) {
	e, err := opt.encoding(r)
	if err != nil {
		return nil, err
	}
	w := &csvRows{out: out, file: file, dialect: r.Dialect, lineEnd: r.lineEnd(), same: r.Sheet == "" && e.Name == r.Encoding.Name}
	if r.Sheet != "" {
		w.dialect, w.lineEnd = Dialect{Delimiter: ',', Quote: '"'}, []byte("\r\n") // RFC 4180
	}
	if opt.Delimiter != 0 && opt.Delimiter != w.dialect.Delimiter {
		w.dialect.Delimiter, w.same = opt.Delimiter, false
	}
	switch {
	case !w.same:
		w.enc = e.encoder()
		if r.Sheet != "" && e.encoder() == nil {
			w.buf = append(w.buf, utf8BOM...) // or a spreadsheet would take it for another encoding
		}
	case e.single != nil:
		w.single = e.encoder()
	default:
		w.enc = e.encoder()
	}
	if !w.same {
		return w, nil
	}
	if w.enc == nil {
		w.buf = append(w.buf, r.preamble...)
		return w, nil
	}
	w.buf, err = w.enc.Bytes(r.preamble)
	return w, err
}

// Neutralised implements rows.
func (w *csvRows) Neutralised() int { return w.risks }

// Notes implements rows.
func (w *csvRows) Notes() []string { return nil }

// Write implements rows.
func (w *csvRows) Write(row *Row, edits []Edit) error {
	if len(edits) == 1 && edits[0].Column == Add && row.safe && w.same && w.enc == nil && !row.sheet && len(row.raw) > 0 {
		return w.writeAdded(row, edits[0].Value)
	}
	w.begin()
	end := row.end
	for ; len(edits) > 0 && edits[0].Column == Before; edits = edits[1:] {
		w.row = append(w.appendEdit(w.row, edits[0].Value, false), w.dialect.Delimiter)
		if len(end) == 0 { // more may follow
			end = w.lineEnd
		}
	}
	w.append(row, edits)
	return w.finish(row, end)
}

// writeAdded is Write of a row as it was read and one more cell, which is what nearly all rows of a large list are.
func (w *csvRows) writeAdded(row *Row, v []byte) error {
	b := append(append(w.buf, row.raw...), w.dialect.Delimiter)
	letters, delimiters := false, false
	for _, c := range v {
		switch {
		case c >= '0' && c <= '9':
		case c >= 'A' && c <= 'Z':
			letters = true
		case c == w.dialect.Delimiter && c == ',':
			delimiters = true
		default: // which may be anything
			w.row, w.start = b, len(w.buf)
			w.row = w.appendEdit(w.row, v, w.dialect.forces(v))
			return w.finish(row, row.end)
		}
	}
	quoted := delimiters || w.dialect.QuoteAll && len(v) > 0 || w.dialect.QuoteText && letters
	if quoted {
		b = append(b, w.dialect.Quote)
	}
	b = append(b, v...)
	if quoted {
		b = append(b, w.dialect.Quote)
	}
	if w.buf = append(b, row.end...); len(w.buf) < blockSize {
		return nil
	}
	return w.hand()
}

// begin begins a row.
func (w *csvRows) begin() {
	w.row, w.start = w.row[:0], 0
	if w.enc == nil {
		w.row, w.start = w.buf, len(w.buf)
	}
}

func (w *csvRows) append(row *Row, edits []Edit) {
	if w.same && !row.sheet {
		w.passOn(row, edits)
	} else {
		w.anew(row, edits)
	}
	if len(w.row) == w.start && row.Kind != Blank { // one cell with nothing in it: without quotes it would be no row
		w.row = append(w.row, w.dialect.Quote, w.dialect.Quote)
	}
}

// finish ends a row and writes the rows that have come together, if they are many.
func (w *csvRows) finish(row *Row, end []byte) error {
	if row.sheet || !w.same && len(end) > 0 {
		end = w.lineEnd
	}
	w.row = append(w.row, end...)
	if w.enc == nil {
		w.buf = w.row
	} else {
		b, err := w.enc.Bytes(w.row)
		if err != nil {
			return &Error{File: w.name(), Line: row.Line,
				Reason: fmt.Sprintf("%s can't be written in this encoding; --out-encoding utf-8 would do", w.culprit())}
		}
		w.buf = append(w.buf, b...)
	}
	if len(w.buf) < blockSize {
		return nil
	}
	return w.hand()
}

// blockSize is how much is written at once.
const blockSize = 1 << 17

// hand hands the rows that have come together to the goroutine that writes them. A stream is written as it comes.
func (w *csvRows) hand() (err error) {
	if w.file == nil {
		return w.flush()
	}
	if w.behind == nil {
		w.behind = newBehind(w.file)
	}
	w.buf, err = w.behind.write(w.buf)
	return err
}

func (w *csvRows) name() string {
	if w.file != nil {
		return w.file.target
	}
	return "output"
}

// culprit returns the first character of the row that the encoding lacks.
func (w *csvRows) culprit() string {
	for _, r := range string(w.row) {
		if _, err := w.enc.String(string(r)); err != nil {
			return strconv.QuoteRune(r)
		}
	}
	return "a character"
}

// end implements rows.
func (w *csvRows) end() error { return w.flush() }

// stop implements rows.
func (w *csvRows) stop() {
	w.behind.end() //nolint:errcheck // what it wrote is given up
	w.behind = nil
}

func (w *csvRows) flush() error {
	b := w.behind
	w.behind = nil
	if err := b.end(); err != nil {
		return err
	}
	if len(w.buf) == 0 {
		return nil
	}
	_, err := w.out.Write(w.buf)
	w.buf = w.buf[:0]
	return err
}

// passOn appends a row as it was read but for the edits, and for texts that a spreadsheet would run.
func (w *csvRows) passOn(row *Row, edits []Edit) {
	pos := int32(0)
	for i := range row.cells {
		if row.safe && (len(edits) == 0 || edits[0].Column == Add) {
			break
		}
		c := &row.cells[i]
		switch {
		case len(edits) > 0 && edits[0].Column == i:
			w.row = append(w.row, row.raw[pos:c.from]...)
			w.row = w.appendEdit(w.row, edits[0].Value, w.force(row, c, edits[0].Value))
			edits, pos = edits[1:], c.to
		case row.begins(c) && risky(row.Value(i)):
			w.risks++
			w.row = append(w.row, row.raw[pos:c.from]...)
			w.row = w.dialect.appendCell(w.row, append([]byte{'\''}, row.Value(i)...), c.quoted)
			pos = c.to
		}
	}
	w.row = append(w.row, row.raw[pos:]...)
	for _, e := range edits {
		w.row = append(w.row, w.dialect.Delimiter)
		w.row = w.appendEdit(w.row, e.Value, w.dialect.forces(e.Value))
	}
}

// force reports whether the cell that takes the place of c has quotes: where c had them without need, and where the
// file's habit is to put them.
func (w *csvRows) force(row *Row, c *cell, v []byte) bool {
	if !c.quoted {
		return false
	}
	old := row.unquote(row.raw[c.from:c.to], c.escaped)
	return !w.dialect.needsQuotes(old) || w.dialect.forces(v)
}

// forces reports whether the file's habit is to put quotes around such a value.
func (d Dialect) forces(v []byte) bool {
	return d.QuoteAll && len(v) > 0 || d.QuoteText && len(v) > 0 && !allDigits(v)
}

// appendEdit appends a value that is UTF-8 as a cell.
func (w *csvRows) appendEdit(dst, v []byte, force bool) []byte {
	if w.single != nil && !ascii(v) {
		var all []byte
		for _, r := range string(v) {
			b, err := w.single.String(string(r))
			if err != nil {
				b = "?" // only in names of columns and in notes, which are ours
			}
			all = append(all, b...)
		}
		v = all
	}
	return w.appendText(dst, v, force)
}

func (w *csvRows) appendText(dst, v []byte, force bool) []byte {
	if risky(v) {
		w.risks++
		v = append([]byte{'\''}, v...)
	}
	return w.dialect.appendCell(dst, v, force)
}

func ascii(v []byte) bool {
	return !slices.ContainsFunc(v, func(c byte) bool { return c >= utf8.RuneSelf })
}

// anew appends a row cell by cell, for another dialect or encoding.
func (w *csvRows) anew(row *Row, edits []Edit) {
	if row.Kind == Blank {
		return
	}
	for i := range row.cells {
		if i > 0 {
			w.row = append(w.row, w.dialect.Delimiter)
		}
		v := []byte(row.Text(i))
		if len(edits) > 0 && edits[0].Column == i {
			v, edits = edits[0].Value, edits[1:]
		}
		w.row = w.appendEdit(w.row, v, row.cells[i].quoted && w.dialect.forces(v))
	}
	for _, e := range edits {
		w.row = append(w.row, w.dialect.Delimiter)
		w.row = w.appendEdit(w.row, e.Value, w.dialect.forces(e.Value))
	}
}
