package list

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"
)

// Limits of a spreadsheet, so that a small file can't claim all memory. A list of a million rows and six columns unpacks to
// some 300 MB.
const (
	maxParts    = 10_000  // files in the archive
	maxUnpacked = 2 << 30 // bytes, all parts together
	maxRatio    = 200     // of unpacked to packed bytes, once that is more than maxFree
	maxFree     = 64 << 20
	maxColumns  = 1024
	maxRows     = 1 << 20 // what a spreadsheet has
)

// sheetCheck is what was found in the parts of a workbook. The spreadsheet library reads a damaged sheet as a shorter one,
// without an error; so every part is read to its end first, where the archive's checksum is compared, and the sheet's XML is
// walked to the end of its data.
type sheetCheck struct {
	file    string
	strings int // shared strings there are
	lastRow int
}

func (s *sheetCheck) fail(format string, args ...any) error {
	return &Error{File: s.file, Reason: fmt.Sprintf(format, args...)}
}

// archive checks sizes and checksums of all parts.
func (s *sheetCheck) archive(src io.ReaderAt, size int64) (*zip.Reader, error) {
	z, err := zip.NewReader(src, size)
	if err != nil {
		return nil, s.fail("no sound spreadsheet (%v); open it and save it again", err)
	}
	if len(z.File) > maxParts {
		return nil, s.fail("%d parts; a spreadsheet has at most %d", len(z.File), maxParts)
	}
	total := int64(0)
	for _, part := range z.File {
		n, err := s.part(part, maxUnpacked-total)
		if err != nil {
			return nil, err
		}
		total += n
		if total > maxFree && total/max(size, 1) > maxRatio {
			return nil, s.fail("unpacks to more than %d times its size; this is no list", maxRatio)
		}
	}
	return z, nil
}

// part reads one part to its end.
func (s *sheetCheck) part(part *zip.File, room int64) (int64, error) {
	if part.UncompressedSize64 > uint64(room) ||
		part.UncompressedSize64 > maxFree && part.UncompressedSize64/max(part.CompressedSize64, 1) > maxRatio {
		return 0, s.fail("part %q unpacks to %d bytes; this is no list", cutShort(part.Name), part.UncompressedSize64)
	}
	if part.Flags&1 != 0 {
		return 0, s.fail("part %q is encrypted; save the spreadsheet without a password", cutShort(part.Name))
	}
	f, err := part.Open()
	if err != nil {
		return 0, s.fail("part %q: %v; open the spreadsheet and save it again", cutShort(part.Name), err)
	}
	defer f.Close()
	n, err := io.Copy(io.Discard, io.LimitReader(f, room+1))
	switch {
	case err != nil:
		return 0, s.fail("part %q is damaged (%v); open the spreadsheet and save it again", cutShort(part.Name), err)
	case n > room:
		return 0, s.fail("unpacks to more than %d bytes; this is no list", int64(maxUnpacked))
	}
	return n, nil
}

// open opens a part by its path in the archive, whatever its case.
func (s *sheetCheck) open(z *zip.Reader, name string) (io.ReadCloser, error) {
	name = strings.TrimPrefix(path.Clean("/"+strings.ReplaceAll(name, `\`, "/")), "/")
	for _, part := range z.File {
		if strings.EqualFold(strings.ReplaceAll(part.Name, `\`, "/"), name) {
			return part.Open()
		}
	}
	return nil, s.fail("part %q is not there; open the spreadsheet and save it again", cutShort(name))
}

// sheetPart returns where in the archive a sheet's XML is: the workbook gives its relation, and that its place (ECMA-376 part
// 1, 18.2.19 and part 2, 9.3).
func (s *sheetCheck) sheetPart(z *zip.Reader, sheet string) (string, error) {
	var book struct {
		Sheets []struct {
			Name  string     `xml:"name,attr"`
			Attrs []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	var rels struct {
		All []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if err := errors.Join(s.parse(z, "xl/workbook.xml", &book), s.parse(z, "xl/_rels/workbook.xml.rels", &rels)); err != nil {
		return "", err
	}
	for _, one := range book.Sheets {
		for _, a := range one.Attrs {
			for _, rel := range rels.All {
				if one.Name == sheet && a.Name.Local == "id" && a.Value == rel.ID {
					return strings.TrimPrefix(path.Join("/xl", absolute(rel.Target)), "/"), nil
				}
			}
		}
	}
	return "", s.fail("sheet %q is named and not there; open the spreadsheet and save it again", cutShort(sheet))
}

// absolute makes a target that begins at the archive's root one that begins at /xl, where others do.
func absolute(target string) string {
	if strings.HasPrefix(target, "/") {
		return "../" + target
	}
	return target
}

func (s *sheetCheck) parse(z *zip.Reader, name string, v any) error {
	f, err := s.open(z, name)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := xml.NewDecoder(io.LimitReader(f, maxFree)).Decode(v); err != nil {
		return s.fail("part %q is damaged (%v); open the spreadsheet and save it again", name, err)
	}
	return nil
}

// countStrings counts the shared strings of a workbook; there may be none.
func (s *sheetCheck) countStrings(z *zip.Reader) error {
	f, err := s.open(z, "xl/sharedStrings.xml")
	if err != nil {
		return nil //nolint:nilerr // a workbook without texts has none
	}
	defer f.Close()
	d := xml.NewDecoder(f)
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return s.fail("its texts are damaged (%v); open the spreadsheet and save it again", err)
		}
		if e, ok := t.(xml.StartElement); ok && e.Name.Local == "si" {
			s.strings++
		}
	}
}

// sheet walks a sheet's XML to the end of its data.
func (s *sheetCheck) sheet(z *zip.Reader, name string) error {
	f, err := s.open(z, name)
	if err != nil {
		return err
	}
	defer f.Close()
	w := sheetWalk{check: s, dec: xml.NewDecoder(f)}
	for !w.ended {
		t, err := w.dec.RawToken()
		if err != nil {
			return s.fail("the sheet is damaged after row %d (%v); open the spreadsheet and save it again", s.lastRow, err)
		}
		if err := w.token(t); err != nil {
			return err
		}
	}
	return nil
}

// sheetWalk is where the walk through a sheet is.
type sheetWalk struct {
	check   *sheetCheck
	dec     *xml.Decoder
	shared  bool // the cell is the number of a shared string
	inValue bool
	value   []byte
	ended   bool
}

func (w *sheetWalk) token(t xml.Token) error {
	switch t := t.(type) {
	case xml.StartElement:
		switch t.Name.Local {
		case "row":
			return w.row(t)
		case "c":
			return w.cell(t)
		case "v":
			w.inValue, w.value = true, w.value[:0]
		}
	case xml.CharData:
		if w.inValue && w.shared {
			w.value = append(w.value, t...)
		}
	case xml.EndElement:
		switch t.Name.Local {
		case "v":
			return w.endValue()
		case "sheetData":
			w.ended = true
		}
	}
	return nil
}

func (w *sheetWalk) row(t xml.StartElement) error {
	n := w.check.lastRow + 1
	if r := attr(t, "r"); r != "" {
		var err error
		if n, err = strconv.Atoi(r); err != nil || n < 1 || n > maxRows {
			return w.check.fail("row %q; a sheet has rows 1 to %d", cutShort(r), maxRows)
		}
		if n <= w.check.lastRow {
			return w.check.fail("row %d comes after row %d; open the spreadsheet and save it again", n, w.check.lastRow)
		}
	}
	w.check.lastRow = n
	return nil
}

func (w *sheetWalk) cell(t xml.StartElement) error {
	w.shared = attr(t, "t") == "s"
	column := strings.TrimRight(attr(t, "r"), "0123456789")
	if i, ok := byPlace(column, "letter"); column != "" && (!ok || i >= maxColumns) {
		return w.check.fail("row %d has a cell in column %s; a list has at most %d columns", w.check.lastRow, cutShort(column), maxColumns)
	}
	return nil
}

func (w *sheetWalk) endValue() error {
	w.inValue = false
	if !w.shared {
		return nil
	}
	if n, err := strconv.Atoi(strings.TrimSpace(string(w.value))); err != nil || n < 0 || n >= w.check.strings {
		return w.check.fail("row %d refers to text %q, which is not there; open the spreadsheet and save it again",
			w.check.lastRow, cutShort(string(w.value)))
	}
	return nil
}

func attr(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}
