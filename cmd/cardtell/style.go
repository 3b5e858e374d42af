package main

import (
	"os"

	"golang.org/x/term"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

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
