package main

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
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
	placed, err := c.placed(ranker)
	if err != nil {
		return err
	}
	for _, same := range byLength(placed) {
		cards := make([]formats.Sightings, len(same))
		for i, b := range same {
			cards[i] = formats.Sightings{{Kind: formats.Read, Bits: b}}
		}
		several, err := ranker.Kinds(cards)
		if err != nil {
			return err
		}
		for _, places := range several.Groups {
			if err := c.identifyKind(&o, ranker, answer.Pick(cards, places)); err != nil {
				return err
			}
		}
	}
	return nil
}

// How many lost bits of one read are tried in every way, and beside how many good reads.
const mostLost, besideReads = 3, 64

// placed returns the cards that were read, those with lost pulses put right where their checks, and the other cards,
// leave one way.
func (c *capture) placed(ranker *rank.Ranker) ([]wiegand.Bits, error) {
	all := slices.Clone(c.seen.Cards)
	for i, b := range all {
		p, ok := c.seen.Open[b]
		if !ok || p.Open.OnesCount() > mostLost {
			continue
		}
		right, ok, err := c.putRight(ranker, p)
		if err != nil {
			return nil, err
		}
		if ok {
			all[i] = right
			c.remark("the read %s with a lost bit is taken for %s: nothing else fits the checks and the reader's pace; "+
				"present the card again to be sure", b.Hex(), right.Hex())
		}
	}
	return all, nil
}

// putRight weighs what the lost bits of a read can have been.
func (c *capture) putRight(ranker *rank.Ranker, p reads.Placed) (right wiegand.Bits, ok bool, err error) {
	ways := []wiegand.Bits{p.Bits}
	for i := range p.Bits.Len() {
		if p.Open.Bit(i) == 0 {
			continue
		}
		for k := range ways {
			ways = append(ways, ways[k].WithBit(i, 1-ways[k].Bit(i)))
		}
	}
	var open []formats.Spelling
	for _, b := range ways {
		open = append(open, formats.Spelling{As: b.String(), Sightings: formats.Sightings{{Kind: formats.Read, Bits: b}},
			Weight: 1})
	}
	spelled := [][]formats.Spelling{open}
	for _, b := range c.seen.Cards {
		if c.seen.Sound[b] && b.Len() == p.Bits.Len() && len(spelled) <= besideReads {
			spelled = append(spelled, []formats.Spelling{{As: "read", Sightings: formats.Sightings{{Kind: formats.Read,
				Bits: b}}, Weight: 1}})
		}
	}
	ans, err := ranker.RankSpellings(spelled)
	if err != nil || ans.Taken[0].Probability < say.Surely || !answer.Fits(&ans.Answer) {
		return right, false, err
	}
	return ans.Taken[0].Cards[0][0].Bits, true, nil
}

// identifyKind ranks cards of one kind, all of one length.
func (c *capture) identifyKind(o *identifyOptions, ranker *rank.Ranker, cards []formats.Sightings) error {
	a, err := answer.OfKind(ranker, cards)
	if err != nil {
		return err
	}
	if !c.json {
		fmt.Fprintf(c.out, "\n%s\n\n", o.style().Bold(fmt.Sprintf("The %s of %d bits can be:",
			say.Count(len(cards), "card"), a.Length())))
	}
	return o.print(&a)
}

// byLength returns each read once, those of one length together, in the order in which they were first seen.
func byLength(all []wiegand.Bits) [][]wiegand.Bits {
	var groups [][]wiegand.Bits
	seen := map[wiegand.Bits]bool{}
	for _, b := range all {
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
