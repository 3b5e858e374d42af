// Package drawn is what draw does: cards in, a sheet of their pictures out; as text, as JSON, or as a file.
package drawn

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/conversion"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// OfLikeliest draws cards as their likeliest readings have them, so many of each. fits is false where no known format
// fits well.
func OfLikeliest(ranker *rank.Ranker, cards []formats.Sightings, title string, top int) (
	sheet picture.Sheet, fits bool, err error,
) {
	a, err := answer.OfCards(ranker, cards)
	if err != nil {
		return sheet, false, err
	}
	sheet.Title = title
	for _, k := range a.Parts() {
		if k.Serials() {
			sheet.Notes = append(sheet.Notes, picture.Note{Title: "Not drawn", Lines: []string{fmt.Sprintf("card %d: %s",
				k.Number(0), serialWords)}})
			continue
		}
		addKind(&sheet, &k, top)
	}
	if len(sheet.Plates) == 0 {
		return sheet, false, fmt.Errorf("draw: %s", serialWords)
	}
	return sheet, a.Fits(), nil
}

// serialWords say why a chip's serial alone is not drawn.
const serialWords = "of a chip's serial no reader has sent a bit yet; identify says what readers send of it, and " +
	"draw --format ID draws it as one format"

// addKind adds cards of one kind to the drawing, under the numbers that they were asked about with.
func addKind(sheet *picture.Sheet, k *answer.Kind, top int) {
	fits, from := answer.Fits(k.Ans), len(sheet.Plates)
	if !fits {
		for i := range k.Cards {
			sheet.Plates = append(sheet.Plates, barePlate(i, k.Cards[i], say.Chance(k.Ans.Unknown)))
		}
	}
	for n := range k.Ans.Candidates[:min(top, len(k.Ans.Candidates))] {
		if !fits && top == 1 {
			break // the picture of a reading that is likely wrong is drawn only where more than one is asked for
		}
		for i := range k.Cards {
			sheet.Plates = append(sheet.Plates, candidatePlate(&k.Ans.Candidates[n], i, k.Cards))
		}
	}
	for i := range sheet.Plates[from:] {
		p := &sheet.Plates[from+i]
		p.Number, p.Evidence = k.Number(p.Number-1), k.Numbered(p.Evidence)
	}
	for _, n := range []picture.Note{{Title: "To be surer", Lines: k.Numbered(k.Settle)},
		{Title: "Take care", Lines: k.Numbered(slices.Concat(k.First, k.Ans.Warnings))}} {
		if len(n.Lines) > 0 {
			sheet.Notes = append(sheet.Notes, n)
		}
	}
}

// seen writes a card as it was given.
func seen(s formats.Sightings) string {
	prefix := map[formats.SightingKind]string{formats.Serial: "chip serial ", formats.Hex: "hex "}
	var parts []string
	for _, t := range s {
		parts = append(parts, prefix[t.Kind]+t.Text)
	}
	return strings.Join(parts, " = ")
}

// barePlate is a card that no known format fits.
func barePlate(i int, s formats.Sightings, chance string) picture.Plate {
	p := picture.Plate{Number: i + 1, Seen: seen(s), Chance: chance}
	for _, t := range s {
		if t.Kind == formats.Read {
			p.Bits = append(p.Bits, t.Bits)
		}
	}
	return p
}

// candidatePlate is the i-th card as a candidate reads it.
func candidatePlate(c *rank.Candidate, i int, cards []formats.Sightings) picture.Plate {
	p := barePlate(i, cards[i], say.Chance(c.Probability))
	if c.Cards[i].Format == nil {
		return p
	}
	p.Card = &c.Cards[i]
	p.Computed = len(p.Bits) == 0
	if i == 0 { // it speaks of all cards together
		p.Evidence = c.Evidence(cards)
	}
	r := c.Repairs[i]
	if sure := c.Sure(cards, i); sure.Known != p.Card.Known && r.Fault == rank.FlippedBit && len(p.Bits) > 0 {
		if card, err := c.Format.Read(p.Bits[0]); err == nil { // which bit it was nobody knows: none is put right
			p.Card = &card
			p.Repair = fmt.Sprintf("Drawn as it came, with what fails: it can be one of %d cards, %s. Present the card again.",
				r.Ways, answer.SureWords(&sure, &c.Cards[i]))
			return p
		}
	}
	if r.Bit > 0 {
		p.Repair = fmt.Sprintf(repairWords[r.Fault], r.Bit)
		if r.Fault != rank.ExtraBit { // its bit is not among those drawn
			p.Mark = r.Bit
		}
	} else if words := c.Fault.Words(); words != "" {
		p.Fault = "Drawn as the card has it: " + words + "."
	}
	return p
}

// repairWords say what a picture of a damaged read shows: one of several reads that it can have been.
var repairWords = map[rank.Fault]string{
	rank.FlippedBit: "Drawn as if bit %d were the one that was misread. It may be another one: present the card again.",
	rank.LostBit:    "Drawn as if bit %d were the one that was lost. It may be another one: present the card again.",
	rank.ExtraBit:   "Drawn as if bit %d of the read were the one too many. It may be another one: present the card again.",
}

// OfFormat draws cards as the format of an id: a read as it is, whether or not its checks hold; a print as the form of
// that format that it most likely is.
func OfFormat(cat formats.Catalogue, id string, cards []formats.Sightings, title string) (
	sheet picture.Sheet, err error,
) {
	found, err := conversion.Formats(cat, id)
	if err != nil {
		return sheet, err
	}
	only := make([]formats.Format, len(found))
	for i := range found {
		only[i] = *found[i]
	}
	alone, err := formats.NewCatalogue(only)
	if err != nil {
		return sheet, err
	}
	ranker, err := rank.New(alone)
	if err != nil {
		return sheet, err
	}
	sheet.Title = title
	for i := range cards {
		p, err := namedPlate(ranker, found, i, cards[i])
		if err != nil {
			return sheet, err
		}
		sheet.Plates = append(sheet.Plates, p)
	}
	return sheet, nil
}

func namedPlate(ranker *rank.Ranker, found []*formats.Format, i int, s formats.Sightings) (picture.Plate, error) {
	p := barePlate(i, s, "")
	ans, err := ranker.Rank([]formats.Sightings{s})
	if err != nil {
		return p, err
	}
	if len(p.Bits) > 0 {
		card, err := ReadAs(found, p.Bits[0])
		if err != nil {
			return p, fmt.Errorf("draw: card %d: %w", i+1, err)
		}
		p.Card = &card
	}
	for k := range ans.Candidates {
		c := &ans.Candidates[k]
		if c.Fault != rank.None || c.Cards[0].Format == nil || p.Card != nil && c.Cards[0].Record != p.Card.Record {
			continue
		}
		p.Card, p.Evidence = &c.Cards[0], c.Evidence([]formats.Sightings{s})
		p.Computed = len(p.Bits) == 0
		return p, nil
	}
	if p.Card == nil {
		return p, fmt.Errorf("draw: card %d: %q: is nothing that format %s can have; leave --format out to see what it can be",
			i+1, say.Clip(p.Seen, 40), found[0].ID)
	}
	if failed := p.Card.Record.Failed(); failed != 0 {
		p.Evidence = []string{p.Card.Format.DescribeChecks(failed) + ": FAILS, so this is a misread, or another format"}
	}
	return p, nil
}

// ReadAs takes a read apart by the format of its length.
func ReadAs(found []*formats.Format, b wiegand.Bits) (formats.Card, error) {
	var lengths []string
	for _, f := range found {
		if f.Layout.Len() == b.Len() {
			return f.Read(b)
		}
		lengths = append(lengths, fmt.Sprint(f.Layout.Len()))
	}
	if n := len(lengths); n > 2 {
		lengths = []string{lengths[0], "…", lengths[n-1]}
	}
	return formats.Card{}, fmt.Errorf("read %s: has %d bits; format %s has %s", say.Clip(b.Hex(), 40), b.Len(),
		found[0].ID,
		strings.Join(lengths, ", "))
}
