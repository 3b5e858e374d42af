package main

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// defaultTop is how many candidates are printed unless --top says otherwise.
const defaultTop = 5

// identify ranks what was read: each card once, and cards of one kind together, since they are of one site. With --json each kind
// is one more object, as identify --json prints it.
func (c *capture) identify() error {
	if !c.o.identify || len(c.cards) == 0 {
		return nil
	}
	ranker, err := c.ranker()
	if err != nil {
		return err
	}
	o := identifyOptions{app: c.app, top: defaultTop}
	for _, reads := range byLength(c.cards) {
		cards := make([]formats.Sightings, len(reads))
		for i, b := range reads {
			cards[i] = formats.Sightings{{Kind: formats.Read, Bits: b}}
		}
		several, err := ranker.Kinds(cards)
		if err != nil {
			return err
		}
		for _, places := range several.Groups {
			if err := c.identifyKind(&o, ranker, pick(cards, places)); err != nil {
				return err
			}
		}
	}
	return nil
}

// identifyKind ranks cards of one kind, all of one length.
func (c *capture) identifyKind(o *identifyOptions, ranker *rank.Ranker, cards []formats.Sightings) error {
	ans, err := ranker.Rank(cards)
	if err != nil {
		return err
	}
	settle := ranker.Settle(cards, &ans)
	if c.json {
		return c.printJSON(answerJSON(cards, &ans, settle, o.top))
	}
	fmt.Fprintf(c.out, "\n%s\n\n", o.style().Bold(fmt.Sprintf("The %s of %d bits can be:", count(len(cards), "card"), readLength(cards[0]))))
	v := o.view(cards, &ans, settle)
	_, err = c.out.WriteString(v.text())
	return err
}

// byLength returns each read once, those of one length together, in the order in which they were first seen.
func byLength(reads []wiegand.Bits) [][]wiegand.Bits {
	var groups [][]wiegand.Bits
	seen := map[wiegand.Bits]bool{}
	for _, b := range reads {
		if seen[b] {
			continue
		}
		seen[b] = true
		i := slices.IndexFunc(groups, func(g []wiegand.Bits) bool { return g[0].Len() == b.Len() })
		if i < 0 {
			i, groups = len(groups), append(groups, nil)
		}
		groups[i] = append(groups[i], b)
	}
	return groups
}
