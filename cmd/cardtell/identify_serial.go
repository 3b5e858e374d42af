package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// serialJSON is what a chip's serial is, and what readers can send of it.
type serialJSON struct {
	UID   string           `json:"uid"`
	Facts []string         `json:"facts"`
	Reads []serialReadJSON `json:"reads"`
}

type serialReadJSON struct {
	Length int       `json:"length"`
	Part   string    `json:"part"` // which bytes in which order
	Read   string    `json:"read"`
	Format string    `json:"format"`
	Forms  textsJSON `json:"forms"`
}

// aloneSerial returns the chip's serial that one card was given as and nothing else.
func aloneSerial(cards []formats.Sightings) (s formats.Sighting, ok bool) {
	if len(cards) != 1 || len(cards[0]) != 1 || !serialAlone(cards[0]) {
		return s, false
	}
	return cards[0][0], true
}

// serialAlone reports whether of a card nothing is known but its chip's serial, of which a format has a part: that is
// what a controller shows, and no facility and number that somebody gave out.
func serialAlone(s formats.Sightings) bool {
	return !slices.ContainsFunc(s, func(t formats.Sighting) bool { return t.Kind != formats.Serial })
}

func newSerialJSON(s formats.Sighting, cat formats.Catalogue) *serialJSON {
	doc := serialJSON{UID: string(formats.AppendSerial(nil, s.Bits)), Facts: formats.SerialFacts(s.Bits)}
	for _, r := range formats.SerialReads(s.Bits, cat) {
		doc.Reads = append(doc.Reads, serialReadJSON{r.Bits.Len(), r.Part, r.Bits.Hex(), r.Card.Format.ID,
			formsJSON(&r.Card)})
	}
	return &doc
}

// serialText writes what a chip's serial is and what readers send of it, in the forms of the site's doors. The
// ranking of formats says nothing about a card that no reader has seen, and is left to the JSON.
func (v *view) serialText(s formats.Sighting, cat formats.Catalogue) string {
	facts := say.Section{Title: v.style.Bold("A chip's serial number, " + string(formats.AppendSerial(nil, s.Bits))),
		Least: 3, Turn: cutFirst}
	for _, line := range formats.SerialFacts(s.Bits) {
		facts.Items = append(facts.Items, say.Listed("", []string{line}, v.style, 0, 0).Items...)
	}
	all := []say.Section{v.takenSection(), facts, v.serialTable(s, cat)}
	room := say.Screen
	if v.verbose {
		room = 0
	}
	out, cut := say.Fitted(all, room)
	if cut {
		out += say.More
	}
	return out
}

// serialTable is a line for each part of the serial that a reader can send. Readers of 32 and of 34 bits send the
// same number. Forms that go beyond the width are left to a long answer.
func (v *view) serialTable(s formats.Sighting, cat formats.Catalogue) say.Section {
	t := say.Section{Title: v.style.Bold("What a reader set to so many bits sends (which of these is its own setting):"),
		Least: 4, Turn: cutNumbers}
	names := v.doorForms()
	lines := aligned(serialRows(s, cat, names))
	for !v.verbose && len(names) > 1 && slices.ContainsFunc(lines,
		func(line string) bool { return len(line) > v.style.Width-2 }) {
		names = names[:len(names)-1]
		lines = aligned(serialRows(s, cat, names))
	}
	if left := v.doorForms()[len(names):]; len(left) > 0 {
		lines = append(lines, "(in the form "+strings.Join(left, ", ")+" too: --verbose)")
	}
	for _, line := range lines {
		t.Items = append(t.Items, []string{"  " + picture.Clean(line)})
	}
	return t
}

func serialRows(s formats.Sighting, cat formats.Catalogue, names []string) [][]string {
	rows := [][]string{append([]string{"bits", "bytes", "read"}, names...)}
	if names == nil {
		rows[0] = append(rows[0], "number")
	}
	for _, r := range formats.SerialReads(s.Bits, cat) {
		row := []string{fmt.Sprint(r.Bits.Len()), r.Part, r.Bits.Hex()}
		switch row[0] {
		case "32":
			row[0] = "32, 34"
		case "34":
			continue
		}
		if names == nil {
			row = append(row, usualNumber(&r.Card))
		}
		for _, name := range names {
			text := "-"
			if form, ok := formats.FormByName(name); ok {
				if t, err := form.Text(&r.Card); err == nil {
					text = t
				}
			}
			row = append(row, text)
		}
		rows = append(rows, row)
	}
	return rows
}

// aligned writes rows of as many cells each in columns.
func aligned(rows [][]string) (lines []string) {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], len(cell))
		}
	}
	for _, row := range rows {
		line := ""
		for i, cell := range row {
			line += fmt.Sprintf("%-*s  ", widths[i], cell)
		}
		lines = append(lines, strings.TrimRight(line, " "))
	}
	return lines
}

// doorForms are the forms of the site's doors, each once; nil where none is known.
func (v *view) doorForms() (names []string) {
	for _, d := range v.doors {
		if d.Enter != "" && !slices.Contains(names, d.Enter) {
			names = append(names, d.Enter)
		}
	}
	return names
}

// usualNumber writes a card as most controllers show it: facility and number if it has both, and one decimal.
func usualNumber(c *formats.Card) string {
	var texts []string
	for _, name := range []string{"pair", "decimal"} {
		form, _ := formats.FormByName(name)
		if text, err := form.Text(c); err == nil {
			texts = append(texts, text)
		}
	}
	return strings.Join(texts, " or ")
}
