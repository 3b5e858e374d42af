//go:build !js

package picture

import (
	_ "embed"
	"encoding/xml"
	"fmt"
	"html/template"
	"io"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

//go:embed sheet.html
var sheetHTML string

// sheetTemplate escapes whatever comes from outside for the place where it stands; [Clean] goes over it before, since a
// control character has no escape.
var sheetTemplate = template.Must(template.New("sheet").Funcs(template.FuncMap{"clean": Clean}).Parse(sheetHTML))

// plateHTML is a plate as the template takes it.
type plateHTML struct {
	*Plate
	ID      string
	Verdict string
	Fails   bool
	Figures []figureHTML
	Full    bool // fields and checks are listed below the drawing
}

// figureHTML is a read drawn twice: for paper and a desk, and for a phone. A page shows one of them.
type figureHTML struct{ Wide, Narrow template.HTML }

// WriteHTML writes the sheet as one page that needs no other file and asks nothing of the network. It prints on A4 and
// on Letter, and is well-formed XML as well. The same sheet makes the same bytes. The error is that of w.
func (s Sheet) WriteHTML(w io.Writer) error {
	doc := struct {
		Title, Heading, Caution, Key string
		Plates                       []plateHTML
		Notes                        []Note
		Dense                        bool
	}{Title: s.name(), Heading: s.Title, Caution: Caution, Key: Key, Notes: s.Notes, Dense: len(s.Plates) > manyPlates}
	for i := range s.Plates {
		p, err := newPlateHTML(&s.Plates[i], i+1, doc.Dense)
		if err != nil {
			return err
		}
		doc.Plates = append(doc.Plates, p)
	}
	return sheetTemplate.Execute(w, doc)
}

// newPlateHTML draws a plate. In a dense sheet, fields and checks are listed only where a drawing has no room for all
// of them.
func newPlateHTML(p *Plate, i int, dense bool) (plateHTML, error) {
	doc := plateHTML{Plate: p, ID: fmt.Sprintf("p%d", i), Full: !dense}
	words, state := p.verdict()
	doc.Verdict, doc.Fails = words, state == Fails
	for k, read := range p.reads() {
		narrow := *p
		narrow.narrow = true
		wide, cut, err := p.figure(read, fmt.Sprintf("%s-%d", doc.ID, k+1))
		if err != nil {
			return doc, err
		}
		small, cutSmall, err := narrow.figure(read, fmt.Sprintf("%s-%d-phone", doc.ID, k+1))
		if err != nil {
			return doc, err
		}
		doc.Figures = append(doc.Figures, figureHTML{wide, small})
		doc.Full = doc.Full || cut || cutSmall
	}
	return doc, nil
}

// figure draws the ribbon as SVG inside a page; cut is true where some name or value found no room in it. All text in
// it goes through encoding/xml, so that it is safe to put in as it is.
func (p *Plate) figure(read wiegand.Bits, id string) (drawn template.HTML, cut bool, err error) {
	r, c := newRibbon(p, read), canvas{y: 2}
	r.draw(&c)
	root := c.picture(id+"-", p.Title(), p.describe(), "viewBox", pathOf("-2 0 %s %s", p.width()+4, c.y+4),
		"font-family", "monospace", "fill", ink)
	var b strings.Builder
	if err := xml.NewEncoder(&b).Encode(root); err != nil {
		return "", false, err
	}
	return template.HTML(b.String()), r.wide || len(r.rows) == 0, nil
}

// Mark is the sign of a state, to be read beside its word.
func (s State) Mark() string { return []string{"○", "✓", "✗"}[min(s, Fails)] }
