package main

import (
	"fmt"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/roster"
)

// proposal is a block of new numbers.
type proposal struct {
	Format   string  `json:"format"`
	Facility *string `json:"facility,omitempty"`
	First    string  `json:"first"`
	Last     string  `json:"last"`
	Form     string  `json:"form"`
	From     string  `json:"from_card"` // the first and last card in that form
	To       string  `json:"to_card"`
}

// propose finds n new numbers for each population, and writes them where that is wanted. Where one has none, reasons
// say so.
func (c *checker) propose(n int) (found []proposal, reasons []string, err error) {
	if c.masks != nil { // a proposal is numbers and nothing else
		return nil, []string{"the numbers proposed can't be shown with --redact"}, nil
	}
	blocks, short := c.Free(n)
	for _, b := range blocks {
		p := proposal{
			Format: b.Format, First: fmt.Sprint(b.First), Last: fmt.Sprint(b.Last), Form: b.Form, From: b.FirstCard,
			To: b.LastCard,
		}
		if b.HasFacility {
			text := fmt.Sprint(b.Facility)
			p.Facility = &text
		}
		found = append(found, p)
	}
	for i := range short {
		reasons = append(reasons, shortageWords(&short[i]))
	}
	if c.flags.out != "" && len(blocks) > 0 {
		err = c.writeNew(blocks)
	}
	return found, reasons, err
}

// writeNew writes new cards as a list: each as it is printed, and as each door wants it.
func (c *checker) writeNew(blocks []roster.Block) error {
	w, err := list.Create(c.flags.out, c.table.Reader, list.OutOptions{Inputs: c.app.inputs, New: true})
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Commit it does nothing; before it, another failure is reported
	heads := []string{"card", "format"}
	for _, d := range c.doors {
		heads = append(heads, d.Name)
	}
	if err := w.Write(list.NewRow(heads), nil); err != nil {
		return err
	}
	for _, b := range blocks {
		for card := range c.New(b) {
			if err := w.Write(list.NewRow(append([]string{card.Card, b.Format}, card.Doors...)), nil); err != nil {
				return err
			}
		}
	}
	return w.Commit()
}

// shortageWords says why there are no new numbers.
func shortageWords(s *roster.Shortage) string {
	switch s.Reason {
	case roster.NoNumbers:
		return fmt.Sprintf("format %s: no card number of 64 bits or less to count on from", s.Format)
	case roster.ForeignFacility:
		return fmt.Sprintf("format %s: facility %d is not one of the site's; give another --facility, or none", s.Format,
			s.Facility)
	case roster.NoFacility:
		return fmt.Sprintf("format %s: the facility of new cards is not known; give --facility, or facility = in the site file", s.Format)
	case roster.NoneRead:
		return fmt.Sprintf("no row of %d has a card that can be read, so that every number may be somebody's; is it the right sheet and column?", s.Rows)
	case roster.TooManyUnread:
		return fmt.Sprintf("%d rows or more could not be read, so that too many numbers may be somebody's; correct the list first", s.Rows)
	}
	return fmt.Sprintf("format %s: no %d numbers are free in %s; ask for fewer, or order cards of another block",
		s.Format, s.Wanted, say.Clip(formats.FormatRanges(s.Numbers), 40))
}
