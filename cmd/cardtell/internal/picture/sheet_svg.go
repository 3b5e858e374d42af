package picture

import (
	"fmt"
	"io"

	"github.com/cardtell/cardtell/wiegand"
)

// Sizes of text in user units. A character of a fixed-width font takes 0.6 of its size.
const (
	bodySize   = 11.0
	bodyLine   = 15.0
	nameColumn = 150.0 // room for the names of forms
	platePad   = 14.0
	plateSpace = 18.0 // between plates
)

// bodyColumns returns how many characters of body text fit a width.
func bodyColumns(width float64) int { return int(width / (0.61 * bodySize)) }

// WriteSVG writes the sheet as one drawing. The same sheet makes the same bytes. The error is that of w.
func (s Sheet) WriteSVG(w io.Writer) error {
	y, width := platePad, (&Plate{narrow: s.Narrow}).width()
	var body []node
	if s.Title != "" {
		body = append(body, label(0, y+12, "start", "18", Clean(s.Title)).with("font-weight", "bold"))
		y += 30
	}
	for i := range s.Plates {
		p := s.Plates[i]
		p.narrow = s.Narrow
		part, bottom := p.draw(y)
		body = append(body, part...)
		y = bottom + plateSpace
	}
	for _, n := range s.Notes {
		part, bottom := bulletsIn(0, y, width, n.Title, n.Lines)
		body, y = append(body, part...), bottom
	}
	body = append(body, el("path", "d", fmt.Sprintf("M0 %sH%s", num(y), num(width)), "stroke", hairline, "stroke-width",
		"1"))
	bottom := y + 16
	foot := []string{Key, Caution}
	if s.Narrow {
		foot = foot[1:]
	}
	for _, text := range foot {
		part, to := paragraph(0, bottom, width, text)
		body, bottom = append(body, part...), to
	}
	height := bottom + platePad
	root := el("svg", "xmlns", "http://www.w3.org/2000/svg",
		"viewBox", fmt.Sprintf("%s 0 %s %s", num(-platePad), num(width+2*platePad), num(height)),
		"width", num(width+2*platePad), "height", num(height), "font-family", "monospace", "fill", ink,
		"role", "img", "aria-labelledby", "title desc")
	title, desc := el("title", "id", "title"), el("desc", "id", "desc")
	title.Text, desc.Text = Clean(s.name()), Clean(s.describe())
	root.add(title, desc, el("rect", "x", num(-platePad), "width", num(width+2*platePad), "height", num(height), "fill",
		"white"))
	root.add(body...)
	return writeSVG(w, root)
}

// name is the sheet's title, or that of its only plate.
func (s *Sheet) name() string {
	if s.Title == "" && len(s.Plates) > 0 {
		return s.Plates[0].Title()
	}
	return s.Title
}

func (s *Sheet) describe() string {
	text := ""
	for i := range s.Plates {
		p := &s.Plates[i]
		text += p.Title() + ". " + p.describe() + " "
	}
	return text + Caution
}

// draw draws a plate from y down: its heading, the ribbon, the lists.
func (p *Plate) draw(y float64) (nodes []node, bottom float64) {
	top := y
	nodes, y = p.heading(y + platePad)
	reads := []wiegand.Bits{{}}
	if p.Card == nil {
		reads = p.Bits
	}
	for _, read := range reads {
		r := newRibbon(p, read)
		part, to := r.draw(y)
		nodes, y = append(nodes, part...), to+8
		if r.wide {
			part, to = list(0, y, p.width(), "Fields", p.fields())
			nodes, y = append(nodes, part...), to
			part, to = p.checkList(y)
			nodes, y = append(nodes, part...), to
		}
	}
	if !p.narrow {
		part, to := p.columns(y)
		nodes, y = append(nodes, part...), to
	}
	frame := el("path", "d", fmt.Sprintf("M0 %sH%s", num(top), num(p.width())), "stroke", ink, "stroke-width", "2")
	return append([]node{frame}, nodes...), y
}

// heading writes what the plate shows, and how sure it is.
func (p *Plate) heading(y float64) (nodes []node, bottom float64) {
	nodes = append(nodes, label(0, y+10, "start", "17", p.reading()).with("font-weight", "bold"))
	if p.Chance != "" {
		nodes = append(nodes, label(p.width(), y+10, "end", "17", p.Chance).with("font-weight", "bold"))
	}
	if words, state := p.verdict(); words != "" && p.narrow {
		y += 18
		nodes = append(nodes, stateMark(6, y+5, state)...)
		nodes = append(nodes, label(18, y+9, "start", "12", words))
	} else if words != "" {
		x := p.width() - 0.61*12*float64(columns(words))
		if p.Chance != "" {
			x -= 0.61*17*float64(columns(p.Chance)) + 22
		}
		nodes = append(nodes, stateMark(x-10, y+5, state)...)
		nodes = append(nodes, label(x, y+9, "start", "12", words))
	}
	y += 28
	part, y := paragraph(0, y, p.width(), p.subtitle())
	nodes = append(nodes, part...)
	part, y = paragraph(0, y, p.width(), fmt.Sprintf("Card %d: %s", p.Number, Clean(p.Seen)))
	nodes = append(nodes, part...)
	for _, text := range []string{p.Fault, p.Repair} {
		if text != "" {
			part, to := paragraph(16, y, p.width()-16, text)
			nodes = append(nodes, el("path", "d", fmt.Sprintf("M6 %sl6 10h-12z", num(y-10)), "fill", alarm))
			nodes, y = append(nodes, part...), to
		}
	}
	return nodes, y
}

// columns writes the number forms, and beside them the evidence; below them where a form needs the room.
func (p *Plate) columns(y float64) (nodes []node, bottom float64) {
	const half = sheetWidth/2 - 12
	forms := p.forms()
	room := bodyColumns(half - nameColumn)
	for _, f := range forms {
		if columns(f.Text) > room {
			nodes, y = list(0, y, sheetWidth, p.FormsTitle(), forms)
			part, to := bulletsIn(0, y, sheetWidth, "Evidence", p.Evidence)
			return append(nodes, part...), to
		}
	}
	left, a := list(0, y, half, p.FormsTitle(), forms)
	right, b := bulletsIn(sheetWidth/2+12, y, half, "Evidence", p.Evidence)
	return append(left, right...), max(a, b)
}

// checkList writes the checks as a list, with their marks.
func (p *Plate) checkList(y float64) (nodes []node, bottom float64) {
	checks := p.checks()
	if len(checks) == 0 {
		return nil, y
	}
	nodes, y = listTitle(0, y, "Checks")
	for _, c := range checks {
		nodes = append(nodes, stateMark(6, y-4, c.State)...)
		text := label(18, y, "start", num(bodySize), fmt.Sprintf("%s: %v", c.Words, c.State))
		if c.State == Fails {
			text = text.with("font-weight", "bold", "fill", alarm)
		}
		nodes, y = append(nodes, text), y+bodyLine
	}
	return nodes, y + 6
}

func listTitle(x, y float64, text string) (nodes []node, bottom float64) {
	return []node{label(x, y+10, "start", "12", text).with("font-weight", "bold")}, y + 10 + bodyLine + 1
}

// list writes names and what they are. A text that is longer than its line goes on in the next: nothing is cut.
func list(x, y, width float64, title string, rows []entry) (nodes []node, bottom float64) {
	if len(rows) == 0 {
		return nil, y
	}
	nodes, y = listTitle(x, y, title)
	column := nameColumn
	for _, r := range rows {
		column = max(column, 0.61*bodySize*float64(columns(r.Name)+2))
	}
	for _, r := range rows {
		nodes = append(nodes, label(x, y, "start", num(bodySize), r.Name).with("fill", soft))
		for _, line := range fold(Clean(r.Text), bodyColumns(width-column)) {
			nodes, y = append(nodes, label(x+column, y, "start", num(bodySize), line)), y+bodyLine
		}
	}
	return nodes, y + 6
}

func bulletsIn(x, y, width float64, title string, lines []string) (nodes []node, bottom float64) {
	if len(lines) == 0 {
		return nil, y
	}
	nodes, y = listTitle(x, y, title)
	for _, text := range lines {
		nodes = append(nodes, el("rect", "x", num(x+1), "y", num(y-6), "width", "5", "height", "2", "fill", ink))
		part, to := paragraph(x+14, y, width-14, text)
		nodes, y = append(nodes, part...), to
	}
	return nodes, y + 6
}

// paragraph writes a text on as many lines as it takes; y is the first one's base line, bottom that of the line after.
func paragraph(x, y, width float64, text string) (nodes []node, bottom float64) {
	for _, line := range fold(Clean(text), bodyColumns(width)) {
		nodes, y = append(nodes, label(x, y, "start", num(bodySize), line)), y+bodyLine
	}
	return nodes, y
}
