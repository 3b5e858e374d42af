package main

import (
	"fmt"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// identify ranks what was read: each card once, and cards of one kind together, since they are of one site. With
// --json each kind is one more object, as identify --json prints it.
func (c *capture) identify() error {
	if !c.o.identify || len(c.seen.Cards) == 0 {
		return nil
	}
	ranker, err := c.ranker()
	if err != nil {
		return err
	}
	o := identifyOptions{app: c.app, top: defaultTop}
	placed, right, err := c.seen.PutRight(ranker)
	if err != nil {
		return err
	}
	for _, r := range right {
		c.remark("the read %s with a lost bit is taken for %s: nothing else fits the checks and the reader's pace; "+
			"present the card again to be sure", r.Read.Hex(), r.As.Hex())
	}
	for _, same := range reads.ByLength(placed) {
		cards := make([]formats.Sightings, len(same))
		for i, b := range same {
			cards[i] = formats.Sightings{{Kind: formats.Read, Bits: b}}
		}
		a, err := answer.OfCards(ranker, cards)
		if err != nil {
			return err
		}
		if !c.json {
			fmt.Fprintf(c.out, "\n%s\n\n", o.style().Bold(fmt.Sprintf("The %s of %d bits can be:",
				say.Count(len(cards), "card"), same[0].Len())))
		}
		if err := o.print(&a); err != nil {
			return err
		}
	}
	return nil
}
