package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// serial is a chip's serial number, which no reader has seen: the ranking of formats says nothing about it for people,
// who get what it is and what readers send of it.
type serial struct {
	bits wiegand.Bits
	cat  formats.Catalogue
}

// aloneSerial returns the chip's serial that one card was given as and nothing else, nil for any other question.
func aloneSerial(cards []formats.Sightings, cat formats.Catalogue) *serial {
	if len(cards) != 1 || len(cards[0]) != 1 || !serialAlone(cards[0]) {
		return nil
	}
	return &serial{cards[0][0].Bits, cat}
}

// Serials reports whether of no card more is known than its chip's serial.
func (k *Kind) Serials() bool {
	return !slices.ContainsFunc(k.Cards, func(s formats.Sightings) bool { return !serialAlone(s) })
}

// serialsText says what several serials are: of those no reading is likelier than another, since each reader has its
// own.
func (a *Answer) serialsText(v View) []say.Section {
	s := say.Section{Title: v.Style.Bold("Chips' serial numbers, and nothing that was read of the cards:"), Least: 3}
	for i, card := range a.Cards {
		s.Items = append(s.Items, say.Hang(fmt.Sprintf("  card %-3d ", i+1), string(formats.AppendSerial(nil, card[0].Bits))+
			"  "+strings.Join(formats.SerialFacts(card[0].Bits)[:1], ""), v.Style.Width))
	}
	return []say.Section{a.takenSection(), s, say.Listed("To be surer:", []string{
		"ask about one alone: the answer says what readers send of it",
		"present each card at the reader, and write READ=SERIAL"}, v.Style, 2, cutFirst)}
}

// serialAlone reports whether of a card nothing is known but its chip's serial, of which a format has a part: that is
// what a controller shows, and no facility and number that somebody gave out.
func serialAlone(s formats.Sightings) bool {
	return !slices.ContainsFunc(s, func(t formats.Sighting) bool { return t.Kind != formats.Serial })
}

func (s *serial) write(w *object.Writer) {
	w.Object("serial", func() {
		w.Text("uid", string(formats.AppendSerial(nil, s.bits)))
		w.Texts("facts", formats.SerialFacts(s.bits))
		object.List(w, "reads", formats.SerialReads(s.bits, s.cat), func(r *formats.SerialRead) {
			w.Int("length", r.Bits.Len())
			w.Text("part", r.Part) // which bytes in which order
			w.Text("read", r.Bits.Hex())
			w.Text("format", r.Card.Format.ID)
			writeForms(w, &r.Card, true)
		})
	})
}

func (s *serial) facts(v View) say.Section {
	return say.Listed("A chip's serial number, "+string(formats.AppendSerial(nil, s.bits)), formats.SerialFacts(s.bits),
		v.Style, 3, cutFirst)
}

// table is a line for each part of the serial that a reader can send. Readers of 32 and of 34 bits send the same
// number. Forms that go beyond the width are left to a long answer.
func (s *serial) table(v View) say.Section {
	t := say.Section{Title: v.Style.Bold("What a reader set to so many bits sends (which of these is its own setting):"),
		Least: 4, Turn: cutNumbers}
	var names []string // the forms of the site's doors, each once
	for _, d := range v.Doors {
		if d.Enter != "" && !slices.Contains(names, d.Enter) {
			names = append(names, d.Enter)
		}
	}
	n := len(names)
	lines := aligned(s.rows(names))
	for wide := func(line string) bool { return len(line) > v.Style.Width-2 }; !v.Verbose && n > 1 &&
		slices.ContainsFunc(lines, wide); {
		n--
		lines = aligned(s.rows(names[:n]))
	}
	if n < len(names) {
		lines = append(lines, "(as "+strings.Join(names[n:], ", ")+" too: --verbose)")
	}
	for _, line := range lines {
		t.Items = append(t.Items, []string{"  " + picture.Clean(line)})
	}
	return t
}

// rows writes the reads in forms, or as most controllers show them where none is named: facility and number if they
// have both, and one decimal.
func (s *serial) rows(names []string) [][]string {
	rows := [][]string{append([]string{"bits", "bytes", "read"}, names...)}
	if names == nil {
		rows[0] = append(rows[0], "number")
	}
	for _, r := range formats.SerialReads(s.bits, s.cat) {
		row := []string{fmt.Sprint(r.Bits.Len()), r.Part, r.Bits.Hex()}
		switch row[0] {
		case "32":
			row[0] = "32, 34"
		case "34":
			continue
		}
		for _, name := range names {
			row = append(row, cmp.Or(inForm(&r.Card, name), "-"))
		}
		if names == nil {
			pair, decimal := inForm(&r.Card, "pair"), inForm(&r.Card, "decimal")
			if pair != "" && decimal != "" {
				pair += " or "
			}
			row = append(row, pair+decimal)
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
