package main

import (
	"fmt"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
)

// propose finds n new numbers for each population, and writes them where that is wanted. Where one has none, reasons
// say so.
func (c *checker) propose(n int) (all []found.Proposal, reasons []string, err error) {
	if c.Masks != nil { // a proposal is numbers and nothing else
		return nil, []string{"the numbers proposed can't be shown with --redact"}, nil
	}
	blocks, short := c.Free(n)
	for _, b := range blocks {
		p := found.Proposal{
			Format: b.Format, First: fmt.Sprint(b.First), Last: fmt.Sprint(b.Last), Form: b.Form, From: b.FirstCard,
			To: b.LastCard,
		}
		if b.HasFacility {
			p.Facility = new(fmt.Sprint(b.Facility))
		}
		all = append(all, p)
	}
	for i := range short {
		words := found.ShortageWords(&short[i])
		if v, ok := c.oneFacility(); ok && short[i].Reason == roster.NoFacility {
			words += fmt.Sprintf(", such as %d, which the cards of the list have", v)
		}
		reasons = append(reasons, words)
	}
	if c.flags.out != "" && len(blocks) > 0 {
		err = c.writeNew(blocks)
	}
	return all, reasons, err
}

// oneFacility returns the facility of the first cards of a list in a file, where they have one and the same.
func (c *checker) oneFacility() (facility uint64, ok bool) {
	if c.table.source == "-" { // which can't be read again
		return 0, false
	}
	texts, _, err := c.app.sample(c.table)
	if err != nil {
		return 0, false
	}
	for _, text := range texts {
		var seen reading.Seen
		if c.plan.Read([]byte(text), &seen) != nil {
			continue
		}
		v, has := seen.Facility()
		if !has || ok && v != facility {
			return 0, false
		}
		facility, ok = v, true
	}
	return facility, ok
}

// writeNew writes new cards as a list: each as it is printed, and as each door wants it.
func (c *checker) writeNew(blocks []roster.Block) error {
	w, err := list.Create(c.flags.out, c.table.Reader, list.OutOptions{Inputs: c.app.inputs, New: true})
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Commit it does nothing; before it, another failure is reported
	heads := []string{"card", "format"}
	for _, d := range c.AtDoors {
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
