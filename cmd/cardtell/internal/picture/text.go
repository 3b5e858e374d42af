package picture

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Style says how a picture in text looks.
type Style struct {
	Width int  // columns, at least 40
	Color bool // with terminal colours; the picture says the same without
}

// Terminal colours: bold for what counts, red for what fails, faint for what only helps.
const (
	bold  = "1"
	red   = "31"
	faint = "2"
)

// paint returns text in a terminal colour, or as it is.
func (s Style) paint(code, text string) string {
	if !s.Color || text == "" {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

// Bold paints what counts.
func (s Style) Bold(text string) string { return s.paint(bold, text) }

// Bad paints what fails.
func (s Style) Bad(text string) string { return s.paint(red, text) }

// faint paints what only helps.
func (s Style) faint(text string) string { return s.paint(faint, text) }

const (
	indent   = 2
	manyRows = 3 // checks that are drawn with a row of marks each; more are summed up
)

// Text draws the read of a card: bit numbers, bits, what they are, their values, and the checks. A card whose read is
// not wholly known is not drawn.
func Text(w io.Writer, c *formats.Card, s Style) {
	if !c.Whole() {
		return
	}
	segments, rows := Segments(c), len(rowsOf(c.Format))
	for i, line := range wrap(segments, max(s.Width, 40)-indent) {
		if i > 0 {
			fmt.Fprintln(w)
		}
		drawLine(w, c, line, s)
		if rows <= manyRows {
			drawMarks(w, c, line, s, len(line) < len(segments))
		}
	}
	if rows > manyRows || wide(segments, s) {
		fmt.Fprintln(w)
		drawFields(w, c)
		drawSums(w, c, s, rows > manyRows)
		return
	}
	apart := "\n"
	for i, info := range c.Format.Layout.Checks() { // what has no row of marks
		if c.Record.Failed().Has(i) && info.Kind != wiegand.Even && info.Kind != wiegand.Odd {
			fmt.Fprint(w, apart)
			drawCheck(w, c, i, s)
			apart = ""
		}
	}
}

// Bits draws a read of no known format: bit numbers and bits, in groups of eight.
func Bits(w io.Writer, b wiegand.Bits, s Style) {
	perLine := (max(s.Width, 40) - indent) / 9
	for first := 0; first < b.Len(); first += 8 * perLine {
		var numbers, ones textRow
		for at := first; at < min(b.Len(), first+8*perLine); at += 8 {
			if at > first {
				ones.add(" ", " ")
			}
			numbers.put(ones.width, fmt.Sprint(at+1))
			text := b.Slice(at, min(b.Len(), at+8)).String()
			ones.add(text, s.Bold(text))
		}
		fmt.Fprintf(w, "%*s%s\n%*s%s\n\n", indent, "", s.faint(numbers.text.String()), indent, "", ones.text.String())
	}
}

// wide reports whether the read takes more than one line, or a value more room than its bits, so that values and checks
// are better listed than drawn.
func wide(segments []Segment, s Style) bool {
	for i, seg := range segments {
		if i < len(segments)-1 && len(seg.Value) > seg.Last-seg.First+1 {
			return true
		}
	}
	return len(wrap(segments, max(s.Width, 40)-indent)) > 1
}

// wrap cuts segments into lines of at most width columns, with one column between segments.
func wrap(segments []Segment, width int) [][]Segment {
	var lines [][]Segment
	var line []Segment
	used := 0
	for _, seg := range segments {
		for {
			n := seg.Last - seg.First + 1
			gap := min(len(line), 1)
			room := width - used - gap
			if n <= room {
				line = append(line, seg)
				used += gap + n
				break
			}
			if n > width && room >= 8 { // too long for any line: cut it here
				head, tail := seg, seg
				head.Last = seg.First + room - 1
				tail.First, tail.Value = head.Last+1, ""
				line, seg = append(line, head), tail
			}
			lines, line, used = append(lines, line), nil, 0
		}
	}
	return append(lines, line)
}

// drawLine writes the rows of bit numbers, bits, labels and values.
func drawLine(w io.Writer, c *formats.Card, line []Segment, s Style) {
	bits := c.Record.Bits()
	var numbers, ones, names, values textRow
	for i, seg := range line {
		if i > 0 {
			ones.add(" ", " ")
		}
		at := ones.width
		numbers.put(at, fmt.Sprint(seg.First))
		text, paint := bits.Slice(seg.First-1, seg.Last).String(), s.Bold
		if seg.Check >= 0 {
			if paint = s.faint; c.Record.Failed().Has(seg.Check) {
				paint = s.Bad
			}
		}
		ones.add(text, paint(text))
		n := seg.Last - seg.First + 1
		names.put(at, shorten(strings.ReplaceAll(seg.Label, wiegand.FieldUnknown, "?"), n))
		if len(seg.Value) <= n || i == len(line)-1 {
			values.put(at, seg.Value) // one that has no room is in the list of fields; a number is never cut
		}
	}
	for i, row := range []*textRow{&numbers, &ones, &names, &values} {
		text := strings.TrimRight(row.text.String(), " ")
		if i == 0 {
			text = s.faint(text)
		}
		if text != "" {
			fmt.Fprintf(w, "%*s%s\n", indent, "", text)
		}
	}
}

// shorten cuts a label to n columns.
func shorten(text string, n int) string {
	if len(text) <= n {
		return text
	}
	if n < 3 {
		return text[:1]
	}
	return text[:n-1] + "~"
}

// textRow is a line of text under construction, with its width apart from the colours in it.
type textRow struct {
	text  strings.Builder
	width int
}

func (r *textRow) add(plain, painted string) {
	r.text.WriteString(painted)
	r.width += len(plain)
}

// put adds text at a column, unless something is there already.
func (r *textRow) put(at int, text string) {
	if text == "" || at < r.width || (at == r.width && at > 0) {
		return
	}
	text = strings.Repeat(" ", at-r.width) + text
	r.add(text, text)
}

// drawMarks writes a row for each parity check: the bits that it covers are marked =, the one that it computes ^.
func drawMarks(w io.Writer, c *formats.Card, line []Segment, s Style, wrapped bool) {
	for i, info := range c.Format.Layout.Checks() {
		if info.Kind != wiegand.Even && info.Kind != wiegand.Odd {
			continue
		}
		covered := slices.Collect(info.Bits.Bits())
		var marks strings.Builder
		for k, seg := range line {
			if k > 0 {
				marks.WriteByte(' ')
			}
			for bit := seg.First; bit <= seg.Last; bit++ {
				switch {
				case bit == info.Bit:
					marks.WriteByte('^')
				case slices.Contains(covered, bit):
					marks.WriteByte('=')
				default:
					marks.WriteByte(' ')
				}
			}
		}
		words := fmt.Sprintf("  %s %s", info.Kind, stateOf(c, i))
		if wrapped || marks.Len()+indent+len(words) > s.Width {
			words = ""
		}
		text := strings.TrimRight(marks.String(), " ")
		if text == "" {
			continue
		}
		if words != "" {
			text += strings.Repeat(" ", marks.Len()-len(text)) + words
		}
		if c.Record.Failed().Has(i) {
			text = s.Bad(text)
		}
		fmt.Fprintf(w, "%*s%s\n", indent, "", text)
	}
}

func drawFields(w io.Writer, c *formats.Card) {
	for i, field := range c.Format.Layout.Spec().Fields {
		value := c.Text(i)
		if field.Name == wiegand.FieldUnknown {
			value = c.Record.Value(i).String() + " (kept as it is)"
		}
		fmt.Fprintf(w, "%*s%-13s bits %-9s %s\n", indent, "", field.Name, short(field.Bits), value)
	}
}

// drawSums says of each kind of check how many hold, and lists those that fail. Where rows of marks were drawn, those
// checks are listed one by one instead.
func drawSums(w io.Writer, c *formats.Card, s Style, many bool) {
	for i, info := range c.Format.Layout.Checks() {
		if c.Record.Failed().Has(i) || (!many && info.Kind != wiegand.Digit) {
			drawCheck(w, c, i, s)
		}
	}
	if !many {
		return
	}
	var parts []string
	for _, sum := range sumsOf(c) {
		parts = append(parts, fmt.Sprintf("%s %d of %d", sum.kind, sum.all-sum.failed, sum.all))
	}
	fmt.Fprintf(w, "%*schecks that hold: %s\n", indent, "", strings.Join(parts, ", "))
}

func drawCheck(w io.Writer, c *formats.Card, check int, s Style) {
	text := fmt.Sprintf("%s: %s", CheckWords(c.Format.Layout.Checks()[check]), stateOf(c, check))
	if c.Record.Failed().Has(check) {
		text = s.Bad(text)
	}
	fmt.Fprintf(w, "%*s%s\n", indent, "", text)
}
