package say

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

// Lines is how many a terminal of the usual smallest size shows, and Screen how many the answer to one question has at
// most: one of them is for the next command.
const (
	Lines  = 24
	Screen = Lines - 1
)

// Section is a part of an answer: items of some lines each, of which the last ones are left out where room is short.
type Section struct {
	Title string     // "" for none
	Items [][]string // lines of each
	Tight bool       // no blank line before it
	Least int        // how many items stay however short room is
	Turn  int        // the section of the highest turn is cut first
}

// lines is how many lines a section takes, with a blank one before it.
func (s *Section) lines() int {
	if len(s.Items) == 0 {
		return 0
	}
	n := 1
	if s.Tight {
		n = 0
	}
	if s.Title != "" {
		n++
	}
	for _, item := range s.Items {
		n += len(item)
	}
	return n
}

// Listed is a section of sentences, each behind a dash.
func Listed(title string, lines []string, style picture.Style, least, turn int) Section {
	s := Section{Title: style.Bold(title), Least: least, Turn: turn}
	for _, line := range lines {
		s.Items = append(s.Items, Hang("  - ", line, style.Width))
	}
	return s
}

// PrintList writes a section of sentences below others, if there are any.
func PrintList(w io.Writer, title string, lines []string, style picture.Style) {
	if len(lines) > 0 {
		out, _ := Fitted([]Section{Listed(title, lines, style, 0, 0)}, 0)
		fmt.Fprint(w, "\n", out)
	}
}

// fit leaves out what does not go into so many lines, and reports whether that was anything.
func fit(all []Section, room int) (cut bool) {
	for {
		n, at := 0, -1
		for i := range all {
			if n += all[i].lines(); n > 0 && n == all[i].lines() && !all[i].Tight {
				n-- // no blank line before the first section
			}
			if len(all[i].Items) > all[i].Least && (at < 0 || all[i].Turn > all[at].Turn) {
				at = i
			}
		}
		if n <= room || at < 0 {
			return cut
		}
		all[at].Items, cut = all[at].Items[:len(all[at].Items)-1], true
	}
}

// More is the last line of an answer of which something was left out.
const More = "\n--verbose shows more of this.\n"

// Fitted writes sections that go into so many lines, and reports whether something was left out, for which there has
// to be room for a line that says so; all of them where room is 0.
func Fitted(all []Section, room int) (string, bool) {
	cut := false
	if room > 0 {
		whole := slices.Clone(all)
		if cut = fit(all, room); cut {
			all = whole
			fit(all, room-strings.Count(More, "\n"))
		}
	}
	var b strings.Builder
	for i := range all {
		if len(all[i].Items) == 0 {
			continue
		}
		if b.Len() > 0 && !all[i].Tight {
			b.WriteByte('\n')
		}
		if all[i].Title != "" {
			b.WriteString(all[i].Title + "\n")
		}
		for _, item := range all[i].Items {
			b.WriteString(strings.Join(item, "\n") + "\n")
		}
	}
	return b.String(), cut
}
