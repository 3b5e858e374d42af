package main

import (
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

// screenLines is how many lines the answer to one question has at most: a terminal of the usual smallest size has 24,
// and one of them is for the next command.
const screenLines = 23

// section is a part of an answer: items of some lines each, of which the last ones are left out where room is short.
type section struct {
	title string     // "" for none
	items [][]string // lines of each
	tight bool       // no blank line before it
	least int        // how many items stay however short room is
	turn  int        // the section of the highest turn is cut first
}

// lines is how many lines a section takes, with a blank one before it.
func (s *section) lines() int {
	if len(s.items) == 0 {
		return 0
	}
	n := 1
	if s.tight {
		n = 0
	}
	if s.title != "" {
		n++
	}
	for _, item := range s.items {
		n += len(item)
	}
	return n
}

// listed is a section of sentences, each behind a dash.
func listed(title string, lines []string, style picture.Style, least, turn int) section {
	s := section{title: style.Bold(title), least: least, turn: turn}
	for _, line := range lines {
		item := wrapWords(line, style.Width-4)
		for i := range item {
			item[i] = map[bool]string{true: "  - ", false: "    "}[i == 0] + item[i]
		}
		s.items = append(s.items, item)
	}
	return s
}

// fit leaves out what does not go into so many lines, and reports whether that was anything.
func fit(all []section, room int) (cut bool) {
	for {
		n, at := 0, -1
		for i := range all {
			if n += all[i].lines(); n > 0 && n == all[i].lines() && !all[i].tight {
				n-- // no blank line before the first section
			}
			if len(all[i].items) > all[i].least && (at < 0 || all[i].turn > all[at].turn) {
				at = i
			}
		}
		if n <= room || at < 0 {
			return cut
		}
		all[at].items, cut = all[at].items[:len(all[at].items)-1], true
	}
}

// more is the last line of an answer of which something was left out.
const more = "\n--verbose shows more of this.\n"

// fitted writes sections that go into so many lines, and reports whether something was left out, for which there has
// to be room for a line that says so; all of them where room is 0.
func fitted(all []section, room int) (string, bool) {
	cut := false
	if room > 0 {
		whole := slices.Clone(all)
		if cut = fit(all, room); cut {
			all = whole
			fit(all, room-strings.Count(more, "\n"))
		}
	}
	var b strings.Builder
	for i := range all {
		if len(all[i].items) == 0 {
			continue
		}
		if b.Len() > 0 && !all[i].tight {
			b.WriteByte('\n')
		}
		if all[i].title != "" {
			b.WriteString(all[i].title + "\n")
		}
		for _, item := range all[i].items {
			b.WriteString(strings.Join(item, "\n") + "\n")
		}
	}
	return b.String(), cut
}
