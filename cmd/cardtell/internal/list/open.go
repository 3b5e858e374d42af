package list

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
)

// Options say how a list is written, where that is not to be found out.
type Options struct {
	Delimiter byte     // 0: found out
	Quote     byte     // 0: found out
	Encoding  string   // "": found out
	Sheet     string   // of a spreadsheet; "": the first
	Columns   bool     // unused rows of another width are an error
	Progress  Progress // told of every block that was read; may be nil
}

// source gives rows, one after the other.
type source interface{ Next() (*Row, error) }

// Progress is told how many bytes were read, of how many in all; all is 0 where that is not known.
type Progress func(n, all int64)

// Reader reads the rows of a list. Close it after use.
type Reader struct {
	Name     string // of the file
	Sheet    string // of the spreadsheet's sheet that is read; "" for CSV
	Sheets   []string
	Dialect  Dialect
	Encoding Encoding

	format   string    // of a spreadsheet: XLSX or ODS
	book     *xlsxBook // of XLSX
	preamble []byte    // what stands before the first row: byte order mark, sep= line
	rows     source
	queue    []*Row // rows that Head has looked at
	later    error  // what came instead of the row after those
	judge    judge
	end      []byte // how the file ends its lines, once that was asked for
	ahead    *ahead // nil where rows are read one by one
	skipped  string // what is said of sheets before the one that is read
	file     *os.File
	before   fs.FileInfo
	closers  []func() error
}

// sampleSize is how much of a file its dialect and encoding are found from. A name with a letter that is not ASCII may
// come late; what is not seen here is passed on as it is all the same.
const sampleSize = 1 << 20

// Open opens a list. The error is an [*Error] for a file that is no list, an [*fs.PathError] for one that can't be
// read.
func Open(name string, opt Options) (*Reader, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = &fs.PathError{Op: "read", Path: name, Err: errors.New("is a folder, not a list")}
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	r := &Reader{Name: name, file: f, before: info, closers: []func() error{f.Close}}
	size := int64(0)
	if info.Mode().IsRegular() {
		size = info.Size()
	}
	if err := r.open(f, size, opt); err != nil {
		r.Close()
		return nil, err
	}
	return r, nil
}

// From reads a list that is CSV from a stream. name is what errors call it.
func From(name string, src io.Reader, opt Options) (*Reader, error) {
	r := &Reader{Name: name}
	return r, r.open(src, 0, opt)
}

func (r *Reader) open(src io.Reader, size int64, opt Options) error {
	sample, err := io.ReadAll(io.LimitReader(src, sampleSize))
	if err != nil {
		return err
	}
	whole := len(sample) < sampleSize
	switch kind, reason := sniffFile(sample); {
	case reason != "":
		return &Error{File: r.Name, Reason: reason}
	case kind != "csv" && (opt.Delimiter != 0 || opt.Quote != 0 || opt.Encoding != ""):
		return &Error{File: r.Name, Reason: "a spreadsheet has no delimiter, quote or encoding; leave those of CSV out"}
	case kind == "xlsx":
		return r.openSheet(size, opt)
	case kind == "ods":
		return r.openODS(size, opt)
	case IsSheet(r.Name):
		return &Error{File: r.Name, Reason: "named as a spreadsheet, and does not begin like one; is it damaged, or CSV by another name?"}
	}
	switch {
	case len(sample) == 0:
		return &Error{File: r.Name, Reason: "the file is empty; is it the right one?"}
	case opt.Sheet != "":
		return &Error{File: r.Name, Reason: fmt.Sprintf("is CSV, and has no sheet %q; leave that out", cutShort(opt.Sheet))}
	}
	if opt.Progress != nil { // a sheet tells of its rows
		opt.Progress(int64(len(sample)), size)
	}
	return r.openCSV(sample, whole, &counter{src: src, size: size, progress: opt.Progress}, opt)
}

// sniffFile tells a spreadsheet from a text by its first bytes, and names what can't be read. The numbers are those of
// a local file header by ISO/IEC 21320-1, and what old binary spreadsheets begin with (common practice, no source).
func sniffFile(head []byte) (kind, reason string) {
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("PK\x05\x06")):
		start := head[:min(len(head), 200)]
		switch {
		case bytes.Contains(start, []byte("opendocument.spreadsheet")):
			return "ods", ""
		case bytes.Contains(start, []byte("opendocument")):
			return "", "an OpenDocument file that is no spreadsheet; a list is CSV, XLSX or ODS"
		}
		return "xlsx", ""
	case bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		if bytes.Contains(head, []byte("E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00")) {
			return "", "a spreadsheet with a password; open it and save it without one, or as CSV"
		}
		return "", "a spreadsheet in the old binary form (XLS); open it and save it as XLSX or CSV"
	case bytes.HasPrefix(head, []byte("%PDF-")):
		return "", "a PDF file; a list is CSV, XLSX or ODS"
	case bytes.HasPrefix(head, []byte("\x1f\x8b")):
		return "", "a compressed file (gzip); unpack it first"
	}
	return "csv", ""
}

func (r *Reader) openCSV(sample []byte, whole bool, rest io.Reader, opt Options) (err error) {
	if opt.Encoding != "" {
		r.Encoding, err = EncodingByName(opt.Encoding)
	} else {
		r.Encoding, err = detectEncoding(sample, whole)
	}
	if err != nil {
		return &Error{File: r.Name, Reason: err.Error()}
	}
	src := r.Encoding.reader(io.MultiReader(bytes.NewReader(sample), rest))
	if r.Encoding.wide != nil { // sample the text, not the bytes
		if sample, err = io.ReadAll(io.LimitReader(src, sampleSize)); err != nil {
			return err
		}
		src = io.MultiReader(bytes.NewReader(sample), src)
	}
	body := bytes.TrimPrefix(sample, []byte(utf8BOM))
	r.Dialect = Sniff(body)
	if opt.Delimiter != 0 || opt.Quote != 0 {
		r.Dialect = r.Dialect.with(opt, body)
	}
	lines := 0
	if _, ok := separatorLine(body); ok {
		body = body[bytes.IndexByte(body, '\n')+1:]
		lines = 1
	}
	r.preamble = sample[:len(sample)-len(body)]
	if _, err := io.CopyN(io.Discard, src, int64(len(r.preamble))); err != nil {
		return err
	}
	r.rows = &csvReader{
		name: r.Name, dialect: r.Dialect, src: src, decode: r.Encoding.text(), wide: r.Encoding.wide != nil, line: lines,
	}
	return nil
}

// with returns the dialect with what the options say.
func (d Dialect) with(opt Options, body []byte) Dialect {
	if opt.Delimiter != 0 {
		d.Delimiter = opt.Delimiter
	}
	if opt.Quote != 0 {
		d.Quote = opt.Quote
	}
	return d.withEscape(body).withQuoting(body)
}

// Next returns the next row; io.EOF after the last one. The error is an [*Error] with the line for a row that can't be
// taken apart. It is an [*fs.PathError] where the file could not be read on.
func (r *Reader) Next() (*Row, error) {
	switch {
	case len(r.queue) > 0:
		row := r.queue[0]
		r.queue = r.queue[1:]
		return row, nil
	case r.later != nil:
		return nil, r.later
	case r.ahead != nil:
		return r.ahead.next()
	}
	return r.read()
}

// read reads a row and finds out what it is.
func (r *Reader) read() (*Row, error) {
	row, err := r.rows.Next()
	if err == nil {
		r.judge.judge(row)
	}
	return row, err
}

// lineEnd returns how the file ends its lines, as far as was read when it was first asked for.
func (r *Reader) lineEnd() []byte {
	if r.end != nil {
		return r.end
	}
	r.end = []byte("\n")
	if rows, ok := r.rows.(*csvReader); ok && len(rows.end) > 0 {
		r.end = rows.end
	}
	return r.end
}

// Unchanged returns an error where the file has changed since it was opened: what was read is then neither the old list
// nor the new one.
func (r *Reader) Unchanged() error {
	if r.file == nil || !r.before.Mode().IsRegular() {
		return nil
	}
	now, err := r.file.Stat()
	if err != nil {
		return err
	}
	if now.Size() != r.before.Size() || !now.ModTime().Equal(r.before.ModTime()) {
		return &fs.PathError{Op: "read", Path: r.Name,
			Err: errors.New("was changed while it was read; run the command again")}
	}
	return nil
}

// Close closes the list.
func (r *Reader) Close() error {
	r.ahead.stop()
	r.ahead = nil
	var errs []error
	for i := len(r.closers) - 1; i >= 0; i-- {
		errs = append(errs, r.closers[i]())
	}
	r.closers = nil
	return errors.Join(errs...)
}

// Describe says in one line how the list was read.
func (r *Reader) Describe() string {
	if r.Sheet != "" {
		s := fmt.Sprintf("%s, sheet %q", r.format, cutShort(r.Sheet))
		if others := len(r.Sheets) - 1; others > 0 {
			s += fmt.Sprintf(" of %d (--sheet NAME for another)", len(r.Sheets))
		}
		return s + r.skipped
	}
	s := fmt.Sprintf("CSV, %s, %s", r.Dialect, r.Encoding.Name)
	if r.Encoding.Note != "" {
		s += " (" + r.Encoding.Note + ")"
	}
	return s
}

// counter tells of what is read.
type counter struct {
	src      io.Reader
	size     int64
	progress Progress
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.src.Read(p)
	if c.progress != nil && n > 0 {
		c.progress(int64(n), c.size)
	}
	return n, err
}

// IsXLSX reports whether a file name asks for a spreadsheet.
func IsXLSX(name string) bool { return strings.HasSuffix(strings.ToLower(name), ".xlsx") }

// IsSheet reports whether a file name is that of a spreadsheet.
func IsSheet(name string) bool { return IsXLSX(name) || IsODS(name) }

// IsODS reports whether a file name is that of a spreadsheet of the OpenDocument form, which is read and not written.
func IsODS(name string) bool { return strings.HasSuffix(strings.ToLower(name), ".ods") }

// eofIsNil returns err, and nothing at the end of a list.
func eofIsNil(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}
