package drawn

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// Writer picks the kind of drawing by the ending of the file's name, which option gives; nil where there is none.
func Writer(option, name string) (func(picture.Sheet, io.Writer) error, error) {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".svg":
		return picture.Sheet.WriteSVG, nil
	case ".html", ".htm":
		return picture.Sheet.WriteHTML, nil
	}
	if name == "" {
		return nil, nil
	}
	return nil, fmt.Errorf("%s %q: the name ends neither in .svg nor in .html, which say what to write; name it so",
		option, say.Clip(name, 60))
}

// Text draws in text.
func Text(w io.Writer, sheet picture.Sheet, style picture.Style) {
	if sheet.Title != "" {
		fmt.Fprintf(w, "%s\n\n", style.Bold(picture.Clean(sheet.Title)))
	}
	for i := range sheet.Plates {
		p := &sheet.Plates[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		printPlate(w, p, style)
	}
	for _, n := range sheet.Notes {
		say.PrintList(w, n.Title+":", n.Lines, style)
	}
}

func printPlate(w io.Writer, p *picture.Plate, style picture.Style) {
	head := style.Bold(p.Title())
	if p.Chance != "" {
		head += ", " + p.Chance
	}
	fmt.Fprintln(w, head)
	for _, line := range say.Wrap(picture.Clean(p.Seen), style.Width-2) {
		fmt.Fprintf(w, "  %s\n", line)
	}
	if p.Computed {
		say.Print(w, "  ", picture.ComputedWords)
	}
	for _, text := range p.Alarms() {
		for _, line := range say.Wrap(text, style.Width-2) {
			fmt.Fprintf(w, "  %s\n", style.Bad(line))
		}
	}
	fmt.Fprintln(w)
	if p.Card == nil {
		for _, b := range p.Bits {
			picture.Bits(w, b, style)
		}
		return
	}
	if p.Card.Whole() {
		picture.Text(w, p.Card, style)
	} else {
		fmt.Fprintf(w, "  %s (the rest of the read is not known)\n", answer.CardWords(p.Card))
	}
	if p.Card.Record.OK() || p.Repair == "" { // the numbers of a read that is surely bad are nobody's
		fmt.Fprintf(w, "\n%s\n%s\n", style.Bold(p.FormsTitle()+":"), strings.Join(answer.FormLines(p.Card), "\n"))
	}
	say.PrintList(w, "Evidence:", p.Evidence, style)
}

// JSON is what a program needs to draw the same itself, and the file that it was drawn in, "" for none.
func JSON(file string, sheet picture.Sheet) json.RawMessage {
	return object.Of(func(w *object.Writer) {
		w.Text("file", file)
		object.List(w, "drawn", sheet.Plates, func(p *picture.Plate) { writePlate(w, p) })
	})
}

func writePlate(w *object.Writer, p *picture.Plate) {
	bits := ""
	if p.Card != nil {
		bits = p.Read()
	} else if len(p.Bits) > 0 {
		bits = p.Bits[0].String()
	}
	w.Int("card", p.Number) // its place among those asked about, from 1
	w.Text("seen", p.Seen)
	if p.Card != nil {
		w.Text("format", p.Card.Format.ID)
	}
	w.Text("bits", bits) // ? where a bit is not known
	if p.Computed {      // the bits are no read, but those of the number
		w.Bool("computed", true)
	}
	w.Text("chance", p.Chance)
	w.Text("fault", p.Fault+p.Repair)
	w.Int("mark", p.Mark) // the bit that a repair is about
	if p.Card != nil {
		checks := p.Card.Format.Layout.Checks()
		// bits with one purpose, both ends included
		object.List(w, "segments", picture.Segments(p.Card), func(s *picture.Segment) {
			w.Int("first", s.First)
			w.Int("last", s.Last)
			if s.Check >= 0 {
				w.Text("check", checks[s.Check].Kind.String())
			} else {
				w.Text("field", s.Label)
			}
		})
		answer.WriteCard(w, "reading", p.Card)
	}
	w.Texts("evidence", p.Evidence)
}
