package list

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/near"
)

// xlsxBook is an XLSX file as far as it is not rows. The rows of a sheet are read as they stream by, so that a million
// of them need no more memory than a thousand; the spreadsheet library, which writes new workbooks, would hold the
// file, and read a sheet that was cut off as a shorter one.
type xlsxBook struct {
	check   *sheetCheck
	zip     *zip.Reader
	sheets  []sheetOf
	names   bool // parts of the workbook have names, other than those that spreadsheets make for themselves
	use1904 bool
	formats []numberFormat // by a cell's style
	texts   texts
}

// sheetOf is a sheet of a workbook.
type sheetOf struct {
	name   string
	part   string // where in the archive it is
	hidden bool
}

// openSheet opens a workbook, after its parts were checked.
func (r *Reader) openSheet(size int64, opt Options) error {
	if r.file == nil || size == 0 {
		return &Error{File: r.Name, Reason: "a spreadsheet can't be read from a pipe; name the file"}
	}
	b := &xlsxBook{check: &sheetCheck{file: r.Name}}
	var err error
	if b.zip, err = b.check.archive(r.file, size); err != nil {
		return err
	}
	if err := b.parse(); err != nil {
		return err
	}
	r.format, r.book = "XLSX", b
	names := make([]string, len(b.sheets))
	hidden := make([]bool, len(b.sheets))
	for i, s := range b.sheets {
		names[i], hidden[i] = s.name, s.hidden
	}
	return r.chooseSheet(names, hidden, opt, func(i int, progress Progress) (source, error) {
		return newSheetReader(r, b, i, progress)
	})
}

// chooseSheet opens the sheet that is named; else the first one shown that has a list in it; else the first shown.
func (r *Reader) chooseSheet(names []string, hidden []bool, opt Options,
	open func(i int, progress Progress) (source, error)) error {
	if r.Sheets = names; len(names) == 0 {
		return &Error{File: r.Name, Reason: "a spreadsheet without sheets; is it the right one?"}
	}
	at := slices.Index(names, opt.Sheet)
	if opt.Sheet != "" && at < 0 {
		return &Error{File: r.Name, Reason: fmt.Sprintf("sheet %q: no such sheet; there are %s",
			cutShort(opt.Sheet), near.List(strconv.Quote(opt.Sheet), quoteAll(names), 8))}
	}
	if opt.Sheet == "" {
		first := max(slices.Index(hidden, false), 0)
		at = first
		for i := first; i < len(names) && len(names) > 1; i++ {
			if hidden[i] && i != first {
				continue
			}
			rows, err := open(i, nil)
			if err != nil {
				return err
			}
			if isList(rows) {
				at = i
				break
			}
		}
		if at != first {
			r.skipped = fmt.Sprintf("; sheet %q before it is no list", cutShort(names[first]))
		}
	}
	rows, err := open(at, opt.Progress)
	r.Sheet, r.rows = names[at], rows
	return err
}

// isList reports whether the rows look like a list: names of columns, two or more, and a row as wide below them. A
// damaged one is left to be told of when it is read.
func isList(rows source) bool {
	var seen []*Row
	for len(seen) < headRows {
		row, err := rows.Next()
		if err != nil {
			if eofIsNil(err) != nil {
				return true
			}
			break
		}
		seen = append(seen, row.Clone())
	}
	usual := usualFilled(seen)
	at := findHead(seen, usual)
	if at < 0 || usual < 2 || seen[at].filledCells() < 2 || !seen[at].words() {
		return false
	}
	for _, row := range seen[at+1:] {
		if row.filledCells() >= 2 {
			return true
		}
	}
	return false
}

// parse reads what a workbook says of itself (ECMA-376 part 1, 18.2 and 18.8, and part 2, 9.3).
func (b *xlsxBook) parse() error {
	var book struct {
		Pr struct {
			Date1904 string `xml:"date1904,attr"`
		} `xml:"workbookPr"`
		Sheets []struct {
			Name  string     `xml:"name,attr"`
			State string     `xml:"state,attr"`
			Attrs []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
		Names []struct {
			Name string `xml:"name,attr"`
		} `xml:"definedNames>definedName"`
	}
	if err := b.check.parse(b.zip, "xl/workbook.xml", &book); err != nil {
		return err
	}
	targets, err := b.relations("xl/_rels/workbook.xml.rels")
	if err != nil {
		return err
	}
	b.use1904 = book.Pr.Date1904 == "1" || book.Pr.Date1904 == "true"
	for _, n := range book.Names {
		b.names = b.names || !strings.HasPrefix(n.Name, "_xlnm.")
	}
	for _, s := range book.Sheets {
		one := sheetOf{name: s.Name, hidden: s.State == "hidden" || s.State == "veryHidden"}
		for _, a := range s.Attrs {
			if target, ok := targets[a.Value]; ok && a.Name.Local == "id" {
				one.part = strings.TrimPrefix(path.Join("/xl", absolute(target)), "/")
			}
		}
		b.sheets = append(b.sheets, one)
	}
	if err := b.parseStyles(); err != nil {
		return err
	}
	return b.parseTexts()
}

// relations returns the targets of a part by their ids.
func (b *xlsxBook) relations(part string) (map[string]string, error) {
	var rels struct {
		All []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if err := b.check.parse(b.zip, part, &rels); err != nil {
		return nil, err
	}
	all := map[string]string{}
	for _, r := range rels.All {
		all[r.ID] = r.Target
	}
	return all, nil
}

// parseStyles reads the number formats of cells; there may be none.
func (b *xlsxBook) parseStyles() error {
	var styles struct {
		Formats []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			ID int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if b.check.find(b.zip, "xl/styles.xml") == nil {
		return nil
	}
	if err := b.check.parse(b.zip, "xl/styles.xml", &styles); err != nil {
		return err
	}
	formats := map[int]numberFormat{}
	for _, f := range styles.Formats {
		formats[f.ID] = parseFormat(f.Code)
	}
	for _, c := range styles.Cells {
		f, ok := formats[c.ID]
		if !ok {
			f = builtinFormat(c.ID)
		}
		b.formats = append(b.formats, f)
	}
	return nil
}

// texts are the texts that cells share, one after the other.
type texts struct {
	all  []byte
	ends []uint32
}

func (t *texts) get(i int) string {
	from := uint32(0)
	if i > 0 {
		from = t.ends[i-1]
	}
	return string(t.all[from:t.ends[i]])
}

// parseTexts reads the shared texts; there may be none.
func (b *xlsxBook) parseTexts() error {
	if b.check.find(b.zip, "xl/sharedStrings.xml") == nil {
		return nil
	}
	f, err := b.check.open(b.zip, "xl/sharedStrings.xml")
	if err != nil {
		return err
	}
	defer f.Close()
	t := newTape(f)
	var text plainText
	for {
		token, err := t.dec.RawToken()
		if eofIsNil(err) == nil && err != nil {
			return nil
		}
		if err != nil {
			return b.check.fail("its texts are damaged (%v); open the spreadsheet and save it again", err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			if e.Name.Local == "si" {
				text.reset()
			}
		case xml.EndElement:
			if e.Name.Local == "si" {
				b.texts.all = append(b.texts.all, unescapeSigns(string(text.text))...)
				b.texts.ends = append(b.texts.ends, uint32(len(b.texts.all)))
			}
		}
		text.token(token)
		t.cut()
	}
}
