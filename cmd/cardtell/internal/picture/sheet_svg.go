package picture

import (
	"fmt"
	"io"
	"slices"
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
	c, width := canvas{y: platePad}, (&Plate{narrow: s.Narrow}).width()
	paper := el("rect", "x", num(-platePad), "width", num(width+2*platePad))
	c.add(paper)
	if s.Title != "" {
		c.add(label(0, c.y+12, "start", "18", Clean(s.Title)).with("font-weight", "bold"))
		c.y += 30
	}
	for i := range s.Plates {
		p := s.Plates[i]
		p.narrow = s.Narrow
		p.draw(&c)
		c.y += plateSpace
	}
	for _, n := range s.Notes {
		c.bullets(0, width, n.Title, n.Lines)
	}
	c.add(el("path", "d", pathOf("M0 %sH%s", c.y, width), "stroke", hairline, "stroke-width", "1"))
	c.y += 16
	if !s.Narrow {
		c.paragraph(0, width, Key)
	}
	c.paragraph(0, width, Caution)
	height := c.y + platePad
	c.nodes[0] = paper.with("height", num(height), "fill", "white")
	return writeSVG(w, c.picture("", s.name(), s.describe(),
		"viewBox", pathOf("%s 0 %s %s", -platePad, width+2*platePad, height),
		"width", num(width+2*platePad), "height", num(height), "font-family", "monospace", "fill", ink))
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

// draw draws a plate: its heading, the ribbon, the lists.
func (p *Plate) draw(c *canvas) {
	c.add(el("path", "d", pathOf("M0 %sH%s", c.y, p.width()), "stroke", ink, "stroke-width", "2"))
	c.y += platePad
	p.heading(c)
	for _, read := range p.reads() {
		r := newRibbon(p, read)
		r.draw(c)
		c.y += 8
		if r.wide {
			c.list(0, p.width(), "Fields", p.Fields())
			c.checks(p.Checks())
		}
	}
	if !p.narrow {
		p.columns(c)
	}
}

// heading writes what the plate shows, and how sure it is.
func (p *Plate) heading(c *canvas) {
	c.add(label(0, c.y+10, "start", "17", p.Reading()).with("font-weight", "bold"))
	if p.Chance != "" {
		c.add(label(p.width(), c.y+10, "end", "17", p.Chance).with("font-weight", "bold"))
	}
	if words, state := p.verdict(); words != "" {
		x, room := 18.0, 12.0
		if p.narrow {
			c.y += 18
		} else if x, room = p.width()-0.61*12*float64(columns(words)), 10; p.Chance != "" {
			x -= 0.61*17*float64(columns(p.Chance)) + 22
		}
		c.add(stateMark(x-room, c.y+5, state)...)
		c.add(label(x, c.y+9, "start", "12", words))
	}
	c.y += 28
	c.paragraph(0, p.width(), p.Subtitle())
	c.paragraph(0, p.width(), fmt.Sprintf("Card %d: %s", p.Number, Clean(p.Seen)))
	for _, text := range p.Alarms() {
		c.add(filled(alarm, "M6 %sl6 10h-12z", c.y-10))
		c.paragraph(16, p.width()-16, text)
	}
}

// columns writes the number forms, and beside them the evidence; below them where a form needs the room.
func (p *Plate) columns(c *canvas) {
	const half = sheetWidth/2 - 12
	forms := p.Forms()
	room := bodyColumns(half - nameColumn)
	if slices.ContainsFunc(forms, func(f entry) bool { return columns(f.Text) > room }) {
		c.list(0, sheetWidth, p.FormsTitle(), forms)
		c.bullets(0, sheetWidth, "Evidence", p.Evidence)
		return
	}
	top := c.y
	c.list(0, half, p.FormsTitle(), forms)
	left := c.y
	c.y = top
	c.bullets(sheetWidth/2+12, half, "Evidence", p.Evidence)
	c.y = max(left, c.y)
}

// checks writes checks as a list, with their marks.
func (c *canvas) checks(checks []checkRow) {
	if len(checks) == 0 {
		return
	}
	c.listTitle(0, "Checks")
	for _, check := range checks {
		c.add(stateMark(6, c.y-4, check.State)...)
		text := label(18, c.y, "start", num(bodySize), fmt.Sprintf("%s: %v", check.Words, check.State))
		if check.State == Fails {
			text = text.with("font-weight", "bold", "fill", alarm)
		}
		c.add(text)
		c.y += bodyLine
	}
	c.y += 6
}

func (c *canvas) listTitle(x float64, text string) {
	c.add(label(x, c.y+10, "start", "12", text).with("font-weight", "bold"))
	c.y += 10 + bodyLine + 1
}

// list writes names and what they are. A text that is longer than its line goes on in the next: nothing is cut.
func (c *canvas) list(x, width float64, title string, rows []entry) {
	if len(rows) == 0 {
		return
	}
	c.listTitle(x, title)
	column := nameColumn
	for _, r := range rows {
		column = max(column, 0.61*bodySize*float64(columns(r.Name)+2))
	}
	for _, r := range rows {
		c.add(label(x, c.y, "start", num(bodySize), r.Name).with("fill", soft))
		c.paragraph(x+column, width-column, r.Text)
	}
	c.y += 6
}

func (c *canvas) bullets(x, width float64, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	c.listTitle(x, title)
	for _, text := range lines {
		c.add(el("rect", "x", num(x+1), "y", num(c.y-6), "width", "5", "height", "2", "fill", ink))
		c.paragraph(x+14, width-14, text)
	}
	c.y += 6
}

// paragraph writes a text on as many lines as it takes; the canvas is at the first one's base line, and at the end at
// that of the line after.
func (c *canvas) paragraph(x, width float64, text string) {
	for _, line := range fold(Clean(text), bodyColumns(width)) {
		c.add(label(x, c.y, "start", num(bodySize), line))
		c.y += bodyLine
	}
}
