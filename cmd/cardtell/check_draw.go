package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
)

// draw writes the cards of the problems that were listed as a drawing: both parties of a clash, so that it shows in
// which bits they differ, the number that was probably meant, and each card that a number can be.
func (c *checker) draw(write func(picture.Sheet, io.Writer) error) error {
	sheet := picture.Sheet{Title: "Problems of " + c.table.Name}
	left := 0
	some, _ := c.First(found.ShownOfKind)
	for _, f := range some {
		plates := c.plates(f)
		if len(sheet.Plates)+len(plates) > maxPlates {
			left++
			continue
		}
		for k := range plates {
			plates[k].Number = len(sheet.Plates) + 1
			sheet.Plates = append(sheet.Plates, plates[k])
		}
	}
	if len(sheet.Plates) == 0 {
		c.app.remark("%s: not written: no problem has a card to draw", c.flags.draw)
		return nil
	}
	if err := c.app.replaceFile(c.flags.draw, func(w io.Writer) error { return write(sheet, w) }); err != nil {
		return err
	}
	words := say.Count(len(sheet.Plates), "picture")
	if left > 0 {
		words += fmt.Sprintf("; %s more than a drawing takes", say.Count(left, "problem"))
	}
	c.app.remark("%s: %s", c.flags.draw, words)
	return nil
}

// plates returns the cards of a problem, the first with the problem in words.
func (c *checker) plates(f *roster.Finding) (plates []picture.Plate) {
	add := func(line, text int32, number, remark string) {
		p := picture.Plate{Seen: strings.TrimSpace(number) + remark}
		if name := c.Name(text); name != "" {
			p.Seen = say.Clip(name, 40) + ", " + p.Seen
		}
		p.Seen = fmt.Sprintf("line %d: %s", line, p.Seen)
		for _, card := range c.canBe(number) {
			p.Card = &card
			plates = append(plates, p)
		}
	}
	switch f.Kind {
	case roster.SameCard, roster.Clash, roster.SameName:
		add(int32(f.Other), f.With, c.Number(f.With), "")
		add(int32(f.Line), f.Text, c.Number(f.Text), "")
	case roster.Mistyped:
		add(int32(f.Line), f.Text, f.Meant, " (as it was probably meant)")
	case roster.NotEnterable, roster.Unusable:
		if f.Text >= 0 {
			add(int32(f.Line), f.Text, c.Number(f.Text), "")
		}
	}
	if len(plates) > 0 {
		plates[0].Evidence = []string{c.Words(f).Message}
	}
	return plates
}

// canBe returns the card that a number is, or each that it can be where that is the problem; none where it is no card
// of the site.
func (c *checker) canBe(number string) (cards []formats.Card) {
	var seen reading.Seen
	err := c.plan.Read([]byte(number), &seen)
	if err == nil {
		return []formats.Card{seen.Card()}
	}
	if e, ok := errors.AsType[*reading.Error](err); !ok || e.Kind != reading.Ambiguous {
		return nil
	}
	c.plan.Each([]byte(number), func(s *reading.Seen) bool {
		if card := s.Card(); !slices.Contains(cards, card) {
			cards = append(cards, card)
		}
		return true
	})
	return cards
}
