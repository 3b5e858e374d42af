package picture

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand/line"
)

// Pulses is a drawing of one read's pulses in time: two lines, the value of each bit under them, and a mark on each bit
// that is outside a limit. It is as wide as a telephone's screen and goes on in rows, all to the same scale.
type Pulses struct {
	Read   line.Read
	Pulses []line.Pulse // of the read, in order of time
	// all changes around the read, spikes among them, of wires that idle high; without them the pulses are drawn
	Edges  []line.Edge
	Names  [2]string // what the recording calls the wires
	Number int       // of the read in its recording, from 1
}

// Sizes, in user units, which are pixels unless somebody enlarges the drawing. A row holds the time that bitsInRow bits
// take on the average, or as many bits as there is room for.
const (
	bitsInRow  = 8
	pageWidth  = 390.0
	margin     = 10.0
	marginLeft = 58.0
	rowWidth   = pageWidth - marginLeft - margin
	rowHeight  = 128.0
	highLevel  = 22.0 // of the first wire, below the row's top
	lowLevel   = 42.0
	wireStep   = 32.0 // from one wire to the next
	bitLine    = 102.0
	lineHeight = 16.0
	thinnest   = 1.5  // each level is drawn at least this wide
	bitStep    = 13.0 // room that a bit's value needs
	mostInRow  = 24   // bits with room for all of their values
	numberStep = 18.0 // room that a bit's number needs
	textColumn = 51   // signs of small text in a line
	headColumn = 38   // and of the title
)

// row is the part of the time that one row shows.
type row struct {
	from, to time.Duration
	scale    float64 // units to a nanosecond
	top      float64
	first, n int // pulses in it
}

func (r row) x(at time.Duration) float64 {
	return marginLeft + r.scale*float64(max(0, min(at, r.to)-r.from))
}

// WriteSVG writes the drawing. The same read makes the same bytes. The error is that of w.
func (p Pulses) WriteSVG(w io.Writer) error {
	heads, small := fold(p.title(), headColumn), p.smallPrint()
	top := margin + 20*float64(len(heads)) + 22
	rows := p.rows(top)
	y := top + rowHeight*float64(len(rows)) + lineHeight
	height := y + lineHeight*float64(len(small)) + margin
	var c canvas
	c.add(el("rect", "width", num(pageWidth), "height", num(height), "fill", "white"))
	for i, text := range heads {
		c.add(label(margin, margin+16+20*float64(i), "start", "16", text))
	}
	c.add(scaleBar(rows[0].scale, top-18)...)
	for _, r := range rows {
		p.row(&c, r)
	}
	for i, text := range small {
		c.add(label(margin, y+lineHeight*float64(i), "start", "12", text))
	}
	return writeSVG(w, c.picture("", p.title(), p.describe(p.notes()), "viewBox",
		pathOf("0 0 %s %s", pageWidth, height), "width", num(pageWidth), "height", num(height),
		"font-family", "monospace"))
}

// smallPrint returns what stands under the drawing, in lines.
func (p Pulses) smallPrint() (lines []string) {
	for w := range line.Wire(2) {
		if given := p.givenName(w); given != "" {
			lines = append(lines, fold(Clean(fmt.Sprintf("%s is %s.", p.Read.Coding.WireName(w), given)), textColumn)...)
		}
	}
	for _, note := range p.notes() {
		lines = append(lines, fold(Clean(note), textColumn)...)
	}
	return lines
}

func (p Pulses) title() string {
	return fmt.Sprintf("Read %d: %d bits, %v, %v", p.Number, p.Read.Bits.Len(), p.Read.Coding, p.Read.Verdict())
}

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
func (p Pulses) rows(top float64) (rows []row) {
	from, to := p.Read.At, p.Read.End
	pad := max((to-from)/time.Duration(max(1, 2*len(p.Pulses))), 50*time.Microsecond)
	from, to = from-pad, to+pad
	span := (to-from)/time.Duration(max(1, (len(p.Pulses)+bitsInRow-1)/bitsInRow)) + 1
	for first := 0; from < to; {
		r := row{from: from, to: from + span, scale: rowWidth / float64(span), top: top + rowHeight*float64(len(rows)),
			first: first}
		for first < len(p.Pulses) && p.Pulses[first].At < r.to {
			if r.n == mostInRow {
				r.to = p.Pulses[first].At
				break
			}
			first++
			r.n++
		}
		if r.to <= from { // more pulses at one and the same time than there is room for
			r.to = from + 1
		}
		rows, from = append(rows, r), r.to
	}
	return rows
}

func (p Pulses) row(c *canvas, r row) {
	for w := range line.Wire(2) {
		y := r.top + float64(w)*wireStep
		c.add(label(marginLeft-8, y+lowLevel-6, "end", "13", p.Read.Coding.WireName(w)),
			stroke("black", "1.5", p.wave(r, w)))
	}
	p.bits(c, r)
}

// scaleBar shows how long a round time is, on the right.
func scaleBar(scale, y float64) []node {
	unit := time.Duration(1) // the greatest power of ten that is no more than a fifth of the row
	for 10*float64(unit) <= rowWidth/scale/5 {
		unit *= 10
	}
	length := scale * float64(unit)
	right := pageWidth - margin
	left := right - length
	return []node{
		stroke("black", "1.5", "M%s %sv10M%s %sv10M%s %sH%s", left, y, right, y, left, y+5, right),
		label(right-length-8, y+9, "end", "12", unit.String()),
	}
}

// isLow tells whether a wire is drawn low during a pulse. DATA is shown for as long as CLOCK is low, when it counts.
func (p Pulses) isLow(q line.Pulse, w line.Wire) bool {
	if p.Read.Coding == line.ClockAndData {
		return w == line.Clock || q.Bit == 1
	}
	return q.Wire == w
}

// wave draws the level of a wire over one row: as it was recorded, or low in each pulse.
func (p Pulses) wave(r row, w line.Wire) string {
	high, low := r.top+highLevel+float64(w)*wireStep, r.top+lowLevel+float64(w)*wireStep
	y, x := high, marginLeft
	var d strings.Builder
	change := func(at time.Duration, isLow bool) {
		to := high
		if isLow {
			to = low
		}
		switch {
		case to == y || at >= r.to:
			return
		case at < r.from:
			y = to
			return
		case d.Len() == 0:
			fmt.Fprintf(&d, "M%s %s", num(marginLeft), num(y))
		}
		x = min(max(r.x(at), x+thinnest), marginLeft+rowWidth)
		y = to
		fmt.Fprintf(&d, "H%sV%s", num(x), num(y))
	}
	for _, e := range p.Edges {
		if e.Wire == w {
			change(e.At, e.Level == line.Low)
		}
	}
	if len(p.Edges) == 0 {
		for _, q := range p.Pulses {
			if p.isLow(q, w) && q.At >= r.from && q.At < r.to {
				change(q.At, true)
				change(min(q.At+max(q.Width, 1), r.to-1), false)
			}
		}
	}
	if d.Len() == 0 {
		fmt.Fprintf(&d, "M%s %s", num(marginLeft), num(y))
	}
	fmt.Fprintf(&d, "H%s", num(max(x, r.x(r.to))))
	return d.String()
}

// places returns where the values of a row's bits stand: under their pulses, or beside one another where those are too
// close.
func (p Pulses) places(r row) []float64 {
	at := make([]float64, r.n)
	for i := range at {
		q := p.Pulses[r.first+i]
		at[i] = r.x(q.At + q.Width/2)
		if i > 0 {
			at[i] = max(at[i], at[i-1]+bitStep)
		}
	}
	right := pageWidth - margin - bitStep/2
	for i := len(at) - 1; i >= 0 && at[i] > right; i-- {
		at[i], right = right, right-bitStep
	}
	return at
}

// bits writes the value of each bit under its pulse, with its number, and a box and a triangle around those out of
// limits.
func (p Pulses) bits(c *canvas, r row) {
	last := -numberStep
	for i, x := range p.places(r) {
		q := p.Pulses[r.first+i]
		value := label(x, r.top+bitLine, "middle", "15", strconv.Itoa(int(q.Bit)))
		under := r.x(q.At + q.Width/2)
		if max(x-under, under-x) > bitStep/4 {
			c.add(stroke("black", "0.5", "M%s %sL%s %s", under, r.top+lowLevel+wireStep+3, x, r.top+bitLine-14))
		}
		if q.Faults != 0 {
			value = value.with("font-weight", "bold")
			c.add(el("rect", "x", num(x-bitStep/2+0.5), "y", num(r.top+bitLine-13), "width", num(bitStep-1), "height", "17",
				"fill", "none", "stroke", "black", "stroke-width", "1.5"),
				filled("black", "M%s %sl5 9h-10z", under, r.top+6))
		}
		c.add(value)
		if n := r.first + i; (n%4 == 0 || q.Faults != 0) && x-last >= numberStep {
			c.add(label(x, r.top+bitLine+15, "middle", "9", strconv.Itoa(n+1)))
			last = x
		}
	}
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
	if p.Read.Coding == line.ClockAndData && len(p.Edges) == 0 {
		notes = append(notes, "DATA is drawn while CLOCK is low, when it counts.")
	}
	return notes
}
