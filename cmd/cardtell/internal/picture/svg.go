package picture

import (
	"encoding/xml"
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

// add appends elements inside n.
func (n *node) add(nodes ...node) { n.Nodes = append(n.Nodes, nodes...) }

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
