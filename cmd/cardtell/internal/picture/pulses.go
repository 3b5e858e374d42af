package picture

import (
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand/line"
)

// Pulses is a drawing of one read's pulses in time: two lines, the value of each bit under them, and a mark on each bit
// that is outside a limit. Long reads take several rows, all to the same scale.
type Pulses struct {
	Read   line.Read
	Pulses []line.Pulse // of the read, in order of time
	Names  [2]string    // what the recording calls the wires
	Number int          // of the read in its recording, from 1
}

// Sizes, in user units. A row holds the time that bitsInRow bits take on the average.
const (
	bitsInRow  = 32
	rowWidth   = 1000.0
	marginLeft = 150.0
	margin     = 20.0
	rowHeight  = 150.0
	highLevel  = 22.0 // of the first wire, below the row's top
	lowLevel   = 46.0
	wireStep   = 40.0 // from one wire to the next
	bitLine    = 112.0
	lineHeight = 18.0
	thinnest   = 1.5  // a pulse is drawn at least this wide
	numberStep = 17.0 // room that a bit's number needs
)

// row is the part of the time that one row shows.
type row struct {
	from, span time.Duration
	top        float64
}

func (r row) x(at time.Duration) float64 {
	return marginLeft + rowWidth*float64(at-r.from)/float64(r.span)
}

// WriteSVG writes the drawing. The same read makes the same bytes. The error is that of w.
func (p Pulses) WriteSVG(w io.Writer) error {
	rows := p.rows()
	notes := p.notes()
	height := 60 + rowHeight*float64(len(rows)) + lineHeight*float64(len(notes)+1) + margin
	width := marginLeft + rowWidth + margin
	root := el("svg", "xmlns", "http://www.w3.org/2000/svg", "viewBox", fmt.Sprintf("0 0 %s %s", num(width), num(height)),
		"width", num(width), "height", num(height), "font-family", "monospace", "role", "img", "aria-labelledby", "title desc")
	title, desc := el("title", "id", "title"), el("desc", "id", "desc")
	title.Text, desc.Text = p.title(), p.describe(notes)
	root.Nodes = append(root.Nodes, title, desc,
		el("rect", "width", num(width), "height", num(height), "fill", "white"),
		label(margin, 28, "start", "18", p.title()))
	root.Nodes = append(root.Nodes, scaleBar(rows[0].span)...)
	for _, r := range rows {
		root.Nodes = append(root.Nodes, p.row(r)...)
	}
	y := 60 + rowHeight*float64(len(rows)) + lineHeight
	for i, text := range notes {
		root.Nodes = append(root.Nodes, label(margin, y+lineHeight*float64(i), "start", "13", text))
	}
	return writeSVG(w, root)
}

func (p Pulses) title() string {
	return fmt.Sprintf("Read %d: %d bits, %v, %v", p.Number, p.Read.Bits.Len(), p.Read.Coding, p.Read.Verdict())
}

// describe says in words what the drawing shows.
func (p Pulses) describe(notes []string) string {
	return fmt.Sprintf("Pulses on %s and %s from %v s on, over %v. The bits are %v. %s", p.wireName(0), p.wireName(1),
		p.Read.At.Seconds(), line.Round(p.Read.End-p.Read.At), p.Read.Bits, strings.Join(notes, " "))
}

func (p Pulses) wireName(w line.Wire) string {
	name := p.Read.Coding.WireName(w)
	if given := p.givenName(w); given != "" {
		return fmt.Sprintf("%s (%s)", name, cut(given, 24))
	}
	return name
}

// givenName returns the recording's own name of a wire, without its scope; "" where it says nothing more.
func (p Pulses) givenName(w line.Wire) string {
	given := p.Names[w&1]
	given = given[strings.LastIndexByte(given, '.')+1:]
	if given == p.Read.Coding.WireName(w) {
		return ""
	}
	return given
}

// cut shortens a name that would run out of its place.
func cut(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

// rows divides the read's time. Each row begins and ends a little outside of its pulses.
func (p Pulses) rows() []row {
	n := max(1, (len(p.Pulses)+bitsInRow-1)/bitsInRow)
	from, to := p.Read.At, p.Read.End
	pad := max((to-from)/time.Duration(max(1, 2*len(p.Pulses))), 50*time.Microsecond)
	span := (to-from+2*pad)/time.Duration(n) + 1
	rows := make([]row, n)
	for i := range rows {
		rows[i] = row{from: from - pad + span*time.Duration(i), span: span, top: 50 + rowHeight*float64(i)}
	}
	return rows
}

// row draws both wires and the bits of one row.
func (p Pulses) row(r row) (nodes []node) {
	for w := range line.Wire(2) {
		y := r.top + float64(w)*wireStep
		nodes = append(nodes, label(marginLeft-10, y+lowLevel-6, "end", "13", cut(p.Read.Coding.WireName(w), 16)))
		if given := p.givenName(w); given != "" {
			nodes = append(nodes, label(marginLeft-10, y+lowLevel+7, "end", "11", cut(given, 20)))
		}
		nodes = append(nodes, el("path", "d", p.wave(r, w), "fill", "none", "stroke", "black", "stroke-width", "1.5"))
	}
	return append(nodes, p.bits(r)...)
}

// scaleBar shows how long a round time is, at the top on the right.
func scaleBar(span time.Duration) []node {
	unit := time.Duration(1) // the greatest power of ten that is no more than a fifth of the row
	for unit*10 <= span/5 {
		unit *= 10
	}
	length := rowWidth * float64(unit) / float64(span)
	right := marginLeft + rowWidth
	return []node{
		el("path", "d", fmt.Sprintf("M%s 16v10M%s 16v10M%s 21H%s", num(right-length), num(right), num(right-length), num(right)),
			"fill", "none", "stroke", "black", "stroke-width", "1.5"),
		label(right-length-8, 26, "end", "13", unit.String()),
	}
}

// isLow tells whether a wire is drawn low during a pulse. DATA is shown for as long as CLOCK is low, when it counts.
func (p Pulses) isLow(q line.Pulse, w line.Wire) bool {
	if p.Read.Coding == line.ClockAndData {
		return w == line.Clock || q.Bit == 1
	}
	return q.Wire == w
}

// wave draws the level of a wire over one row.
func (p Pulses) wave(r row, w line.Wire) string {
	high, low := r.top+highLevel+float64(w)*wireStep, r.top+lowLevel+float64(w)*wireStep
	var d strings.Builder
	fmt.Fprintf(&d, "M%s %s", num(marginLeft), num(high))
	x := marginLeft
	for _, q := range p.Pulses {
		if !p.isLow(q, w) || q.At < r.from || q.At >= r.from+r.span {
			continue
		}
		from := max(x, r.x(q.At))
		to := min(max(r.x(q.At+q.Width), from+thinnest), marginLeft+rowWidth)
		fmt.Fprintf(&d, "H%sV%sH%sV%s", num(from), num(low), num(to), num(high))
		x = to
	}
	fmt.Fprintf(&d, "H%s", num(marginLeft+rowWidth))
	return d.String()
}

// bits writes the value of each bit under its pulse, with its number, and a box and a triangle around those out of limits.
func (p Pulses) bits(r row) (nodes []node) {
	last := -numberStep
	for i, q := range p.Pulses {
		if q.At < r.from || q.At >= r.from+r.span {
			continue
		}
		x := r.x(q.At + q.Width/2)
		value := label(x, r.top+bitLine, "middle", "15", strconv.Itoa(int(q.Bit)))
		if q.Faults != 0 {
			value.Attrs = append(value.Attrs, xml.Attr{Name: xml.Name{Local: "font-weight"}, Value: "bold"})
			nodes = append(nodes,
				el("rect", "x", num(x-7), "y", num(r.top+bitLine-14), "width", "14", "height", "18",
					"fill", "none", "stroke", "black", "stroke-width", "1.5"),
				el("path", "d", fmt.Sprintf("M%s %sl5 9h-10z", num(x), num(r.top+6)), "fill", "black"))
		}
		nodes = append(nodes, value)
		if (i%4 == 0 || q.Faults != 0) && x-last >= numberStep {
			nodes = append(nodes, label(x, r.top+bitLine+17, "middle", "10", strconv.Itoa(i+1)))
			last = x
		}
	}
	return nodes
}

// notes says under the drawing what the marks mean, and the read's timing.
func (p Pulses) notes() []string {
	t := line.TimingOf(p.Pulses)
	var notes []string
	for i, v := range []line.Stats{t.Width, t.Interval} {
		if v.N > 0 {
			notes = append(notes, fmt.Sprintf([]string{"Pulses %v to %v wide, mean %v.", "Intervals %v to %v, mean %v."}[i],
				line.Round(v.Min), line.Round(v.Max), line.Round(v.Mean)))
		}
	}
	for _, w := range p.Read.Warnings(p.Pulses) {
		notes = append(notes, "▲ "+w+".")
	}
	if p.Read.Coding == line.ClockAndData {
		notes = append(notes, "DATA is drawn while CLOCK is low, when it counts.")
	}
	return notes
}
