package main

import (
	"fmt"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

// plainWidth is the width of text that does not go to a terminal: it never changes, so that scripts and tests can rely
// on it.
const plainWidth = 80

// style says how to print for people: in colour on a terminal, unless --no-color or NO_COLOR says otherwise; plain and
// 80 columns wide elsewhere.
func (a *app) style() picture.Style {
	s := picture.Style{Width: a.width}
	if a.terminal == nil || !term.IsTerminal(int(a.terminal.Fd())) {
		return s
	}
	if width, _, err := term.GetSize(int(a.terminal.Fd())); err == nil && width > 0 {
		s.Width = max(40, min(width, 120))
	}
	s.Color = !a.noColor && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	return s
}

// wrapWords breaks text into lines of at most width columns. A word that is longer stays whole: it may be a number.
// What would steer a terminal shows as U+FFFD: names and descriptions come from files of others.
func wrapWords(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Split(picture.Clean(text), " ") {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, strings.TrimRight(line, " ")), word
		}
	}
	return append(lines, line)
}

// clip shortens text to width columns, with an ellipsis where something is left out.
func clip(text string, width int) string {
	if utf8.RuneCountInString(text) <= width || width < 2 {
		return text
	}
	runes := []rune(text)
	return strings.TrimRight(string(runes[:width-1]), " ") + "…"
}

// count writes a number and what it is of, in the plural where it is not one.
func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
