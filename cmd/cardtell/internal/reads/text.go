package reads

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/line"
)

// Print writes a read for people, with its number.
func (e *Entry) Print(w io.Writer, number int) {
	var head []string
	if e.Time != nil {
		head = append(head, fmt.Sprintf("at %.4f s", *e.Time))
	}
	if e.Address != nil {
		head = append(head, fmt.Sprintf("address %d", *e.Address))
	}
	if e.Reader != nil {
		head = append(head, fmt.Sprintf("reader %d", *e.Reader))
	}
	if e.Length > 0 {
		head = append(head, say.Count(e.Length, "bit"))
	}
	if e.Came.Len() > 0 {
		head = append(head, e.Came.Hex())
	}
	first := strings.Join(head, "   ")
	if n := len(head) - 1; n > 0 && len(first)+5 > say.Width { // a long read in hex has a line of its own
		first = strings.Join(head[:n], "   ") + "\n     " + head[n]
	}
	fmt.Fprintf(w, "#%-4d%s\n", number, first)
	if e.Came.Len() > 0 {
		say.Print(w, "     ", grouped(e.Came.String()))
	}
	if e.what != "" {
		say.Print(w, "     ", e.what)
	}
	if e.Verdict != "" {
		say.Print(w, "     ", e.Verdict+timingText(e.timing))
	}
	for _, warning := range e.Warnings {
		say.Print(w, "     - ", warning)
	}
	if e.Mended != nil {
		say.Print(w, "     ", e.Mended.text())
	}
	switch {
	case e.Double:
		fmt.Fprintf(w, "     list: card %d again\n", e.Row)
	case e.Row > 0:
		fmt.Fprintf(w, "     list: card %d\n", e.Row)
	case e.Rejected != "":
		say.Print(w, "     ", "list: "+e.Rejected)
	}
	fmt.Fprintln(w)
}

func grouped(bits string) string {
	var groups []string
	for group := range slices.Chunk([]byte(bits), 8) {
		groups = append(groups, string(group))
	}
	return strings.Join(groups, " ")
}

func timingText(t line.Timing) string {
	s := ""
	if t.Width.N > 0 {
		s += "; pulses " + rangeText(t.Width)
	}
	if t.Interval.N > 0 {
		s += "; intervals " + rangeText(t.Interval)
	}
	return s
}

func rangeText(s line.Stats) string {
	lo, hi := line.Round(s.Min), line.Round(s.Max)
	if lo == hi {
		return lo.String()
	}
	return fmt.Sprintf("%v to %v, mean %v", lo, hi, line.Round(s.Mean))
}

// text says what the pace gives back.
func (m *mendedJSON) text() string {
	s := fmt.Sprintf("by the reader's pace it is %s: %s", say.Count(m.Length, "bit"), grouped(m.Bits))
	if len(m.Open) > 0 {
		s += " (? where a pulse is lost)"
	}
	return s
}
