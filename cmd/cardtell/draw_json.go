package main

import (
	"encoding/json"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

// drawnJSON is the document of draw: what a program needs to draw the same itself.
type drawnJSON struct {
	File  string      `json:"file,omitempty"`
	Drawn []plateJSON `json:"drawn"`
}

type plateJSON struct {
	Card     int             `json:"card"` // its place among those asked about, from 1
	Seen     string          `json:"seen"`
	Format   string          `json:"format,omitempty"`
	Bits     string          `json:"bits,omitempty"`     // ? where a bit is not known
	Computed bool            `json:"computed,omitempty"` // the bits are no read, but those of the number
	Chance   string          `json:"chance,omitempty"`
	Fault    string          `json:"fault,omitempty"`
	Mark     int             `json:"mark,omitempty"` // the bit that a repair is about
	Segments []segmentJSON   `json:"segments,omitempty"`
	Reading  json.RawMessage `json:"reading,omitempty"`
	Evidence []string        `json:"evidence,omitempty"`
}

// segmentJSON is a run of bits with one purpose, from 1, both ends included.
type segmentJSON struct {
	First int    `json:"first"`
	Last  int    `json:"last"`
	Field string `json:"field,omitempty"`
	Check string `json:"check,omitempty"`
}

func sheetJSON(sheet picture.Sheet) []plateJSON {
	all := []plateJSON{}
	for i := range sheet.Plates {
		all = append(all, newPlateJSON(&sheet.Plates[i]))
	}
	return all
}

func newPlateJSON(p *picture.Plate) plateJSON {
	doc := plateJSON{Card: p.Number, Seen: p.Seen, Computed: p.Computed, Chance: p.Chance, Mark: p.Mark,
		Evidence: p.Evidence, Fault: p.Fault + p.Repair}
	if p.Card == nil {
		if len(p.Bits) > 0 {
			doc.Bits = p.Bits[0].String()
		}
		return doc
	}
	doc.Format, doc.Bits, doc.Reading = p.Card.Format.ID, p.Read(), answer.AppendCard(nil, p.Card)
	checks := p.Card.Format.Layout.Checks()
	for _, s := range picture.Segments(p.Card) {
		seg := segmentJSON{First: s.First, Last: s.Last}
		if s.Check >= 0 {
			seg.Check = checks[s.Check].Kind.String()
		} else {
			seg.Field = s.Label
		}
		doc.Segments = append(doc.Segments, seg)
	}
	return doc
}
