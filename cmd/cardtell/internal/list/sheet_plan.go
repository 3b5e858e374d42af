package list

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
)

// sheetPlan is what has to be known of a workbook before the first row of a copy is written.
type sheetPlan struct {
	formulas bool   // the sheet has formulas
	fixed    bool   // something refers to rows by their place
	tail     []byte // the sheet from the end of its rows
}

// placed are parts of a sheet that refer to rows by their place (ECMA-376 part 1, 18.3.1).
var placed = pattern.Lazily(`<(?:\w+:)?(?:mergeCell|hyperlink|tablePart|drawing|legacyDrawing|oleObject|control|conditionalFormatting|dataValidation)[ >/]`)

// plan looks through the sheet in part, and for what in others refers to its rows.
func (b *xlsxBook) plan(part, prefix string) (p sheetPlan, err error) {
	p.fixed = b.names
	for _, one := range b.zip.File {
		switch {
		case strings.HasPrefix(one.Name, "xl/charts/"), strings.HasPrefix(one.Name, "xl/pivotCache/"):
			p.fixed = true
		case one.Name == "xl/vbaProject.bin":
			return p, b.check.fail("has macros, which an XLSX file can't have; save it as XLSX first, or write CSV")
		case strings.EqualFold(one.Name, part):
			if err := b.scan(one, prefix, &p); err != nil {
				return p, err
			}
		case strings.HasPrefix(one.Name, "xl/worksheets/") && strings.HasSuffix(one.Name, ".xml"):
			other := sheetPlan{}
			if err := b.scan(one, "", &other); err != nil {
				return p, err
			}
			p.fixed = p.fixed || other.formulas
		}
	}
	p.fixed = p.fixed || p.formulas || placed().Match(p.tail)
	if len(p.tail) == 0 {
		return p, b.check.fail("the sheet has no end of its rows; open the spreadsheet and save it again")
	}
	return p, nil
}

// scan looks for formulas in a sheet and takes what follows its rows.
func (b *xlsxBook) scan(part *zip.File, prefix string, p *sheetPlan) error {
	f, err := part.Open()
	if err != nil {
		return b.check.fail("part %q: %v; open the spreadsheet and save it again", cutShort(part.Name), err)
	}
	defer f.Close()
	end, formula, buf := []byte("</"+prefix+"sheetData>"), []byte("<"+prefix+"f"), make([]byte, 0, 1<<16)
	for {
		n, err := f.Read(buf[len(buf):cap(buf)])
		buf = buf[:len(buf)+n]
		if len(p.tail) > 0 {
			p.tail, buf = append(p.tail, buf...), buf[:0]
		} else if i := bytes.Index(buf, end); i >= 0 {
			p.formulas = p.formulas || hasElement(buf[:i], formula)
			p.tail, buf = bytes.Clone(buf[i:]), buf[:0]
		} else if p.formulas = p.formulas || hasElement(buf, formula); len(buf) > 64 {
			buf = buf[:copy(buf, buf[len(buf)-64:])]
		}
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return b.check.fail("part %q is damaged (%v); open the spreadsheet and save it again", cutShort(part.Name), err)
		case len(p.tail) > maxFree:
			return b.check.fail("more than %d bytes after the rows of a sheet; this is no list", maxFree)
		}
	}
}

// hasElement reports whether an element begins in b, of which begin is the tag without what follows its name.
func hasElement(b, begin []byte) bool {
	for {
		i := bytes.Index(b, begin)
		if i < 0 || i+len(begin) >= len(b) {
			return false
		}
		if b = b[i+len(begin):]; b[0] == '>' || b[0] == ' ' || b[0] == '/' {
			return true
		}
	}
}
