package list

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
)

// sheetCopy writes a copy of the workbook that is read: all its parts as they are, but for the one sheet, of which the
// rows are written as they come and everything around them as it is. Cells that change become texts, in the style that
// they had.
type sheetCopy struct {
	file   *File
	book   *xlsxBook
	zip    *zip.Writer
	out    *bufio.Writer // the sheet
	rest   []*zip.File   // parts that come after it
	prefix string
	plan   sheetPlan
	row    []byte
	line   int // written last
	gaps   int // rows that are left empty
	lost   int // formulas of which the value is kept
}

// dimension says how far a sheet goes, which changes with its rows; it may be left out.
var dimension = pattern.Lazily(`<(?:\w+:)?dimension\b[^>]*/>`)

// newSheetCopy begins the copy of the workbook of r.
func newSheetCopy(f *File, r *Reader) (*sheetCopy, error) {
	s, ok := r.rows.(*sheetReader)
	if !ok {
		return nil, errors.ErrUnsupported
	}
	return copyBook(f, r.book, r.Sheet, s)
}

// newSheet begins a workbook with one sheet, called name where that is not "". It is a copy of an empty one that the
// spreadsheet library makes: the library's own writer would hold the rows in memory, or put card numbers into temporary
// files.
func newSheet(f *File, name string) (*sheetCopy, error) {
	text, err := emptyBook(name)
	if err != nil {
		return nil, err
	}
	b := &xlsxBook{check: &sheetCheck{file: f.target}}
	if b.zip, err = zip.NewReader(bytes.NewReader(text), int64(len(text))); err != nil {
		return nil, err
	}
	if err := b.parse(); err != nil {
		return nil, err
	}
	r := &Reader{Name: f.target}
	defer r.Close() //nolint:errcheck // it is in memory
	s, err := newSheetReader(r, b, 0, nil)
	if err != nil {
		return nil, err
	}
	return copyBook(f, b, b.sheets[0].name, s)
}

// copyBook begins the copy of a workbook with other rows in one of its sheets.
func copyBook(f *File, b *xlsxBook, sheet string, s *sheetReader) (*sheetCopy, error) {
	w := &sheetCopy{file: f, book: b, zip: zip.NewWriter(f), prefix: s.prefix}
	if w.prefix != "" {
		w.prefix += ":"
	}
	part := ""
	for _, one := range b.sheets {
		if one.name == sheet {
			part = one.part
		}
	}
	var err error
	if w.plan, err = b.plan(part, w.prefix); err != nil {
		return nil, err
	}
	for i, p := range b.zip.File {
		if !strings.EqualFold(p.Name, part) {
			if err := w.copyPart(p); err != nil {
				return nil, err
			}
			continue
		}
		to, err := w.zip.CreateHeader(&zip.FileHeader{Name: p.Name, Method: zip.Deflate, Modified: p.Modified})
		if err != nil {
			return nil, err
		}
		w.out, w.rest = bufio.NewWriterSize(to, 1<<16), b.zip.File[i+1:]
		_, err = w.out.Write(dimension().ReplaceAll(s.begin, nil))
		return w, err
	}
	return nil, b.check.fail("sheet %q is named and not there; open the spreadsheet and save it again", cutShort(sheet))
}

// calcChain is the order of computing of formulas, which spreadsheets make anew where it is missing.
const calcChain = "xl/calcChain.xml"

var calcChainEntry = pattern.Lazily(`<(?:\w+:)?(?:Override|Relationship)\b[^>]*calcChain\.xml"[^>]*/>`)

// copyPart copies a part of the workbook as it is. Where cells with formulas may be gone, it leaves out the list of
// those.
func (w *sheetCopy) copyPart(p *zip.File) error {
	if !w.plan.formulas || p.Name != calcChain && p.Name != "[Content_Types].xml" &&
		p.Name != "xl/_rels/workbook.xml.rels" {
		return w.zip.Copy(p)
	}
	if p.Name == calcChain {
		return nil
	}
	f, err := p.Open()
	if err != nil {
		return err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxFree))
	if err != nil {
		return err
	}
	to, err := w.zip.CreateHeader(&zip.FileHeader{Name: p.Name, Method: zip.Deflate, Modified: p.Modified})
	if err != nil {
		return err
	}
	_, err = to.Write(calcChainEntry().ReplaceAll(text, nil))
	return err
}

// Neutralised implements rows: cells that change are texts and not run.
func (w *sheetCopy) Neutralised() int { return 0 }

// Notes implements rows.
func (w *sheetCopy) Notes() (all []string) {
	if w.gaps > 0 {
		all = append(all, counted(w.gaps, "row")+" of the sheet left empty where rows are not in the output, "+
			"since other things in the workbook refer to rows by their place")
	}
	if w.lost > 0 {
		all = append(all, counted(w.lost, "cell")+" of the sheet with the value in place of a formula that it shared with others")
	}
	return all
}

// Write implements rows.
func (w *sheetCopy) Write(row *Row, edits []Edit) error {
	n := w.line + 1
	if w.plan.fixed {
		n = row.Line
		w.gaps += n - w.line - 1
	}
	if w.line = n; n > maxRows {
		return &Error{File: w.file.target, Line: n, Reason: fmt.Sprintf("a sheet has %d rows; write CSV", maxRows)}
	}
	noted := len(edits) > 0 && edits[0].Column == Before
	if row.xml == nil && row.Kind == Blank && !noted {
		return nil // a row that the file leaves out
	}
	number := strconv.Itoa(n)
	w.row = w.row[:0]
	w.put("<", w.prefix, `row r="`, number, `"`)
	var err error
	if row.xml != nil && !noted {
		w.row = append(append(w.row, row.xml.attrs...), '>')
		err = w.changed(number, row, edits)
	} else {
		w.row = append(w.row, '>')
		err = w.anew(number, row, edits)
	}
	if err != nil {
		return err
	}
	w.put("</", w.prefix, "row>")
	_, err = w.out.Write(w.row)
	return err
}

// put appends to the row at hand.
func (w *sheetCopy) put(parts ...string) {
	for _, p := range parts {
		w.row = append(w.row, p...)
	}
}

// changed appends the cells of a row of the workbook, with the edits.
func (w *sheetCopy) changed(number string, row *Row, edits []Edit) error {
	style, added := int32(0), int32(row.Len())
	cells := row.xml.cells
	for len(cells) > 0 || len(edits) > 0 {
		column := added
		if len(edits) > 0 && edits[0].Column != Add {
			column = int32(edits[0].Column)
		}
		var c *xmlCell
		if len(cells) > 0 && (len(edits) == 0 || cells[0].column <= column) {
			c, cells = &cells[0], cells[1:]
			style = c.style
		}
		if len(edits) == 0 || c != nil && c.column < column {
			w.appendCell(number, c, row.xml.raw)
			continue
		}
		if err := w.appendEdit(number, column, style, edits[0].Value, row); err != nil {
			return err
		}
		if edits[0].Column == Add {
			added++
		}
		edits = edits[1:]
	}
	return nil
}

// anew appends the cells of a row that is from elsewhere as texts, after those before it.
func (w *sheetCopy) anew(number string, row *Row, edits []Edit) error {
	column := int32(0)
	put := func(v []byte) error {
		column++
		return w.appendEdit(number, column-1, 0, v, row)
	}
	for ; len(edits) > 0 && edits[0].Column == Before; edits = edits[1:] {
		if err := put(edits[0].Value); err != nil {
			return err
		}
	}
	for i := range row.cells {
		v := []byte(nil)
		if len(edits) > 0 && edits[0].Column == i {
			v, edits = edits[0].Value, edits[1:]
		} else {
			v = []byte(row.Text(i))
		}
		if err := put(v); err != nil {
			return err
		}
	}
	for _, e := range edits {
		if err := put(e.Value); err != nil {
			return err
		}
	}
	return nil
}

// begin begins a cell.
func (w *sheetCopy) begin(number string, column, style int32, kind string) {
	w.put("<", w.prefix, `c r="`, Letters(int(column)), number, `"`)
	if style != 0 {
		w.put(` s="`, strconv.Itoa(int(style)), `"`)
	}
	if kind != "" {
		w.put(` t="`, kind, `"`)
	}
}

func (w *sheetCopy) appendCell(number string, c *xmlCell, raw []byte) {
	w.begin(number, c.column, c.style, c.kind)
	if c.lost {
		w.lost++
	}
	if c.from == c.to {
		w.put("/>")
		return
	}
	w.row = append(append(w.row, '>'), raw[c.from:c.to]...)
	w.put("</", w.prefix, "c>")
}

// cellCharacters is how many characters a cell can hold. From memory.
const cellCharacters = 32767

// appendEdit appends a cell with a text.
func (w *sheetCopy) appendEdit(number string, column, style int32, v []byte, row *Row) error {
	if len(v) > cellCharacters {
		return &Error{File: w.file.target, Line: row.Line, Reason: fmt.Sprintf(
			"cell %d has more than %d characters, which a sheet can't hold; write CSV", column+1, cellCharacters)}
	}
	if len(v) == 0 && style == 0 {
		return nil
	}
	w.begin(number, column, style, "inlineStr")
	w.put("><", w.prefix, "is><", w.prefix, `t xml:space="preserve">`)
	w.row = appendText(w.row, string(v))
	w.put("</", w.prefix, "t></", w.prefix, "is></", w.prefix, "c>")
	return nil
}

// end implements rows.
func (w *sheetCopy) end() error {
	_, err := w.out.Write(w.plan.tail)
	if err == nil {
		err = w.out.Flush()
	}
	for _, p := range w.rest {
		if err == nil {
			err = w.copyPart(p)
		}
	}
	if err == nil {
		err = w.zip.Close()
	}
	return err
}

// stop implements rows.
func (w *sheetCopy) stop() {}
