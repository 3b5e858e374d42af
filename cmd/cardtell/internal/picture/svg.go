package picture

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// node is an element of an SVG file; encoding/xml escapes its text and attributes.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    string     `xml:",chardata"`
	Nodes   []node
}

// el returns an element with attributes given as name and value by turns.
func el(name string, attrs ...string) node {
	n := node{XMLName: xml.Name{Local: name}}
	for i := 0; i+1 < len(attrs); i += 2 {
		n.Attrs = append(n.Attrs, xml.Attr{Name: xml.Name{Local: attrs[i]}, Value: attrs[i+1]})
	}
	return n
}

// num writes a coordinate, to a tenth.
func num(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func label(x, y float64, anchor, size, text string) node {
	n := el("text", "x", num(x), "y", num(y), "text-anchor", anchor, "font-size", size)
	n.Text = text
	return n
}

// pathOf writes where a path goes: each %s of the steps is a coordinate.
func pathOf(steps string, at ...float64) string {
	texts := make([]any, len(at))
	for i, v := range at {
		texts[i] = num(v)
	}
	return fmt.Sprintf(steps, texts...)
}

// stroke is a path that is drawn as a line.
func stroke(color, width, steps string, at ...float64) node {
	return el("path", "d", pathOf(steps, at...), "fill", "none", "stroke", color, "stroke-width", width)
}

// filled is a path that goes around what is filled.
func filled(color, steps string, at ...float64) node {
	return el("path", "d", pathOf(steps, at...), "fill", color)
}

func circle(x, y, r float64, attrs ...string) node {
	return el("circle", "cx", num(x), "cy", num(y), "r", num(r)).with(attrs...)
}

// square is a square about x and y.
func square(x, y, side float64, attrs ...string) node {
	return el("rect", "x", num(x-side/2), "y", num(y-side/2), "width", num(side), "height", num(side)).with(attrs...)
}

// canvas is a drawing from the top down: what is on it, and where it goes on.
type canvas struct {
	nodes []node
	y     float64
}

func (c *canvas) add(nodes ...node) { c.nodes = append(c.nodes, nodes...) }

// picture is what is on a canvas as an element of its own, with a name and words for those who hear it.
func (c *canvas) picture(id, name, words string, attrs ...string) node {
	root := el("svg", "xmlns", "http://www.w3.org/2000/svg").with(attrs...)
	root = root.with("role", "img", "aria-labelledby", id+"title "+id+"desc")
	title, desc := el("title", "id", id+"title"), el("desc", "id", id+"desc")
	title.Text, desc.Text = Clean(name), Clean(words)
	root.Nodes = append([]node{title, desc}, c.nodes...)
	return root
}

// with returns n with more attributes.
func (n node) with(attrs ...string) node {
	n.Attrs = append(n.Attrs[:len(n.Attrs):len(n.Attrs)], el("", attrs...).Attrs...)
	return n
}

// writeSVG writes a stand-alone file. The error is that of w.
func writeSVG(w io.Writer, root node) error {
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", " ")
	if err := enc.Encode(root); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// Clean returns a text from outside as one line that shows what it says: control characters, which XML cannot hold, and
// those that turn the direction of writing, which could show the digits of a number in another order, become U+FFFD.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t', r == '\n', r == '\r':
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r == 0xFFFE, r == 0xFFFF:
			return unicode.ReplacementChar
		}
		return r
	}, s)
}

// columns returns how many columns of a fixed-width font a text takes.
func columns(s string) int {
	n := 0
	for _, r := range s {
		switch {
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		case width.LookupRune(r).Kind() == width.EastAsianWide, width.LookupRune(r).Kind() == width.EastAsianFullwidth:
			n += 2
		default:
			n++
		}
	}
	return n
}

// fold breaks a text into lines of at most n columns, between words where there are any, and through a word only where
// it is longer than a line.
func fold(s string, n int) []string {
	var lines []string
	line := ""
	for word := range strings.SplitSeq(s, " ") {
		for {
			gap := min(len(line), 1)
			if columns(line)+gap+columns(word) <= n {
				line += " "[:gap] + word
				break
			}
			if line != "" {
				lines, line = append(lines, line), ""
				continue
			}
			head := headOf(word, n)
			lines, word = append(lines, head), word[len(head):]
		}
	}
	return append(lines, line)
}

// headOf returns as much of a word as n columns hold, at least one character.
func headOf(word string, n int) string {
	for i := range word {
		if i > 0 && columns(word[:i])+1 > n {
			return word[:i]
		}
	}
	return word
}
