package picture

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// The ribbon is a read drawn as a row of tokens, one a bit, in the order in which they come off the line. A bit of a
// field is a square, a bit of a check a disc; a 1 is filled, a 0 is open, one that is not known is dashed. The digit
// stands in each. Under a field there is a bracket with its name and value: a bar under the card number, a double line
// under the facility, a single line under any other. Each check is a row: a dot for each bit that it covers, a ring for
// the one that it computes, and a tick in a disc where it holds, a cross in a square where it fails. So nothing is said
// by colour alone.

// Sizes, in user units. A sheet is as wide as its page: 760 units are some 180 mm on A4 and 186 on Letter.
const (
	sheetWidth = 760.0
	phoneWidth = 358.0 // as a phone shows it in the size that it is drawn in
	phoneBit   = 21.0  // room for a bit on a phone
	gutter     = 86.0  // at the left, for the names of the rows
	widest     = 27.0  // room for a bit, where there are few
	narrowest  = 15.5  // where there are many; a longer read takes several rows
	between    = 7.0   // room between segments
	digitRow   = 16.0
	markRow    = 10.0 // more, where a bit is pointed at
	nameRow    = 16.0
	valueRow   = 22.0
	checkLine  = 18.0
	ribbonGap  = 14.0 // between the rows of a long read
)

// Colours: dark enough for white digits on them, and apart in grey as well. Blue and red are told apart by those who do
// not see red or green.
const (
	ink      = "#1a1a1a"
	soft     = "#555555"
	blue     = "#005a9c"
	grey     = "#6a6a6a"
	alarm    = "#b3261e"
	hairline = "#9a9a9a"
)

// ribbon is a read being drawn.
type ribbon struct {
	card     *formats.Card // nil where no format fits
	plate    *Plate
	bits     string // 0, 1 or ?
	segments []Segment
	cell     float64 // room for a bit
	fits     bool    // in one row
	failed   map[int]bool
	rows     []int   // the checks that are drawn as rows
	digits   float64 // height of the row of bit numbers
	wide     bool    // some name or value found no room, or there are several rows: the lists say it
}

func newRibbon(p *Plate, read wiegand.Bits) *ribbon {
	r := &ribbon{card: p.Card, plate: p, failed: map[int]bool{}, digits: digitRow}
	if p.Mark > 0 {
		r.digits += markRow
	}
	if p.Card == nil {
		r.bits = read.String()
		r.segments = []Segment{{First: 1, Last: read.Len(), Check: -1, Field: -1}}
	} else {
		r.bits = p.Read()
		r.segments = Segments(p.Card)
		r.checks()
	}
	least := narrowest
	if p.narrow {
		least = phoneBit
	}
	room := p.width() - gutter - between*float64(len(r.segments)-1)
	r.cell = max(least, min(widest, room/float64(len(r.bits))))
	r.fits = r.cell > least
	return r
}

// checks picks the checks to draw, and marks the bits at which one fails.
func (r *ribbon) checks() {
	layout := r.card.Format.Layout
	for i, info := range layout.Checks() {
		if stateOf(r.card, i) != Fails {
			continue
		}
		read, should := r.card.Record.Bits(), r.card.Record.Encode()
		for bit := range claimed(info) {
			// Of bits that never change, those that have.
			r.failed[bit] = info.Kind != wiegand.Fixed || read.Bit(bit-1) != should.Bit(bit-1)
		}
		if info.Kind == wiegand.Digit {
			for bit := range info.Bits.Bits() {
				r.failed[bit] = true
			}
		}
	}
	if r.rows = rowsOf(r.card.Format); len(r.rows) > manyChecks {
		r.rows = nil
	}
}

func (r *ribbon) draw(c *canvas) {
	perRow := 2 * len(r.bits)
	if !r.fits {
		perRow = int((r.plate.width() - gutter) / r.cell)
	}
	for i, line := range wrap(r.segments, perRow) {
		if i > 0 {
			c.y += ribbonGap
		}
		r.line(c, line)
	}
}

// place is where the segments of one row stand.
type place struct {
	Segment
	x, width float64
}

func (r *ribbon) places(line []Segment) []place {
	x := gutter
	var all []place
	for _, s := range line {
		w := r.cell * float64(s.Last-s.First+1)
		all = append(all, place{s, x, w})
		x += w + between
	}
	return all
}

func (r *ribbon) line(c *canvas, segments []Segment) {
	places := r.places(segments)
	name := "read"
	if r.plate.Computed {
		name = "made"
	}
	c.add(gutterLabel(c.y+digitRow-5, "bit"), gutterLabel(c.y+r.digits+r.cell/2+4, name))
	for _, p := range places {
		for bit := p.First; bit <= p.Last; bit++ {
			x := p.x + r.cell*(float64(bit-p.First)+0.5)
			r.numberAt(c, p, bit, x)
			r.token(c, p.Segment, bit, x)
		}
	}
	c.y += r.digits + r.cell + 3
	before := len(c.nodes)
	for _, p := range places {
		r.bracket(c, p)
	}
	if len(c.nodes) > before {
		c.add(gutterLabel(c.y+nameRow+2, "field"), gutterLabel(c.y+nameRow+valueRow-1, "value"))
		c.y += nameRow + valueRow
	}
	c.y += 4
	for _, i := range r.rows {
		r.check(c, i, places)
	}
}

// numberAt writes a bit's number over it: the first of each segment, and every one for which there is room.
func (r *ribbon) numberAt(c *canvas, p place, bit int, x float64) {
	every := 1
	if r.cell < 22 {
		every = 4
	}
	first := bit == p.First
	if !first && (bit%every != 0 || every > 1 && bit-p.First < 2) {
		return
	}
	n := label(x, c.y+digitRow-5, "middle", "9", strconv.Itoa(bit)).with("fill", soft)
	if first {
		n = n.with("font-weight", "bold")
	}
	c.add(n)
}

// token draws a bit.
func (r *ribbon) token(c *canvas, s Segment, bit int, x float64) {
	value, size, color := r.bits[bit-1], r.cell-3, r.color(s)
	fill, text := "white", ink
	if value == '1' {
		fill, text = color, "white"
	}
	outline := []string{"fill", fill, "stroke", color, "stroke-width", "1.4"}
	if value == '?' || bit == r.plate.Mark {
		outline = append(outline, "stroke-dasharray", "3 2")
	}
	center := c.y + r.digits + r.cell/2
	if s.Check >= 0 {
		c.add(circle(x, center, size/2, outline...))
	} else {
		c.add(square(x, center, size, "rx", "2.5").with(outline...))
	}
	if r.failed[bit] {
		c.add(square(x, center, size+5, "fill", "none", "stroke", alarm, "stroke-width", "2.5"))
	}
	if bit == r.plate.Mark {
		c.add(filled(alarm, "M%s %sl5 -8h-10z", x, c.y+r.digits-1))
	}
	digit := label(x, center+r.cell*0.2, "middle", num(r.cell*0.58), string(value)).with("fill", text)
	if value == '1' {
		digit = digit.with("font-weight", "bold")
	}
	c.add(digit)
}

// color is that of a segment's bits.
func (r *ribbon) color(s Segment) string {
	switch {
	case s.Check >= 0, s.Label == wiegand.FieldNumber:
		return ink
	case s.Label == wiegand.FieldFacility:
		return blue
	}
	return grey
}

// bracket draws what a field's bits are: nothing for a check, whose row says it.
func (r *ribbon) bracket(c *canvas, p place) {
	if p.Field < 0 {
		return
	}
	color, from, to := r.color(p.Segment), p.x+2, p.x+p.width-2
	bar := func(dy, width float64) node { return stroke(color, num(width), "M%s %sH%s", from, c.y+dy, to) }
	name := p.Label
	switch p.Label {
	case wiegand.FieldNumber:
		c.add(bar(2, 4))
	case wiegand.FieldFacility:
		c.add(bar(0.6, 1.3), bar(3.6, 1.3))
	case wiegand.FieldUnknown:
		c.add(bar(2, 1.3).with("stroke-dasharray", "2 3"))
		name = "?"
	default:
		c.add(bar(2, 1.3))
	}
	center := (from + to) / 2
	if text := shorten(name, int((p.width+between-2)/6.7)); text != "" {
		c.add(label(center, c.y+nameRow+2, "middle", "11", text).with("fill", color))
		r.wide = r.wide || text != name
	}
	value := p.Value
	if value == "" && !r.card.Known.Has(p.Field) {
		value = "?"
	}
	below, room := c.y+nameRow+valueRow, p.width+between-2
	switch {
	case value == "":
	case float64(len(value))*9.7 <= room:
		c.add(label(center, below-1, "middle", "16", value).with("font-weight", "bold", "fill", ink))
	case float64(len(value))*6.7 <= room:
		c.add(label(center, below-2, "middle", "11", value).with("font-weight", "bold", "fill", ink))
	default:
		r.wide = true // the list of fields has it: a number is never cut
	}
}

// check draws a row of a check: what it covers, what it computes, whether it holds. Nothing where this row has none of
// its bits.
func (r *ribbon) check(c *canvas, i int, places []place) {
	info, y := r.card.Format.Layout.Checks()[i], c.y+8
	covered := slices.Collect(info.Bits.Bits())
	var dots []node
	from, to := 0.0, 0.0
	state := stateOf(r.card, i)
	color, dash := ink, "none"
	if state == Fails {
		color, dash = alarm, "4 3"
	}
	for _, p := range places {
		for bit := p.First; bit <= p.Last; bit++ {
			if !slices.Contains(covered, bit) {
				continue
			}
			if to = p.x + r.cell*(float64(bit-p.First)+0.5); len(dots) == 0 {
				from = to
			}
			if bit == info.Bit {
				dots = append(dots, circle(to, y, 5, "fill", "white", "stroke", color, "stroke-width", "2"))
			} else {
				dots = append(dots, circle(to, y, 2.6, "fill", color))
			}
		}
	}
	if len(dots) == 0 {
		return
	}
	c.add(stroke(color, "1.2", "M%s %sH%s", from, y, to).with("stroke-dasharray", dash))
	c.add(dots...)
	c.add(stateMark(6, y, state)...)
	text := label(16, y+4, "start", "11", fmt.Sprintf("%s %v", info.Kind, state)).with("fill", color)
	if state == Fails {
		text = text.with("font-weight", "bold")
	}
	c.add(text)
	c.y += checkLine
}

// stateMark is a tick in a disc, a cross in a square, or an open ring, about x and y.
func stateMark(x, y float64, s State) []node {
	switch s {
	case Holds:
		return []node{circle(x, y, 6, "fill", ink), stroke("white", "1.7", "M%s %sl2 2.6l4 -5", x-3, y+0.2)}
	case Fails:
		return []node{square(x, y, 12, "fill", alarm), stroke("white", "1.8", "M%s %sl6 6m0 -6l-6 6", x-3, y-3)}
	}
	return []node{circle(x, y, 5.3, "fill", "white", "stroke", ink, "stroke-width", "1.3", "stroke-dasharray", "2 2")}
}

func gutterLabel(y float64, text string) node {
	return label(gutter-10, y, "end", "10", text).with("fill", soft)
}
