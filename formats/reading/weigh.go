package reading

import (
	"bytes"
	"cmp"
	"math"
	"slices"
)

// What a text can be is weighed as everywhere: by how usual the form is in this list, and by how probable the card is among those that
// the site uses.
const (
	// certain is the share from which a card is taken where a text can be another one too. One row in a hundred thousand may be wrong.
	certain = 0.99999

	// asDoor is how usual it is that a list has numbers in the form of a door, against that in which they are printed.
	asDoor = 0.05

	// asMended is how usual it is that a cell lost something that has to be put back.
	asMended = 0.05
)

// candidate is a card that a text can be.
type candidate struct {
	seen   Seen
	weight float64 // of the forms that give it
	share  float64 // of all that the text can be
}

// candidates appends the different cards that a value can be, the likeliest first. Where there are none, the error says why.
func (p *Plan) candidates(value []byte, all []candidate) (_ []candidate, worst error) {
	settled := false // by a card of a block, in the form that the list should have
	for i := range p.readings {
		r := &p.readings[i]
		if r.second && settled {
			continue
		}
		var one candidate
		if err := r.read(value, p, &one.seen); err != nil {
			worst = nearer(worst, err)
			continue
		}
		one.weight = r.weight
		if one.seen.Repair != "" {
			one.weight *= asMended
		} else if !r.second && r.blocks && r.inBlocks(&one.seen) {
			settled = true
		}
		at := slices.IndexFunc(all, func(c candidate) bool { return same(&c.seen, &one.seen) })
		if at < 0 {
			all = append(all, one)
			continue
		}
		if all[at].seen.Repair != "" && one.seen.Repair == "" {
			all[at].seen = one.seen
		}
		all[at].weight += one.weight
	}
	share(all, len(bytes.TrimSpace(value)))
	return all, worst
}

// usual is how many rows the forms weigh that no row speaks for, and beyond from which share on a row of the sample says where numbers lie.
// It must be told by what is known beforehand: a column that explained itself would grow sure of anything.
const usual, beyond = 2.0, 0.999

// Settled returns the plan with what a sample of a list's numbers says: how usual each form is in it, and where the numbers lie of cards
// whose blocks are not known. So what is likely for the column is likely for each row.
func (p *Plan) Settled(sample []string) *Plan {
	q := *p
	q.readings = slices.Clone(p.readings)
	before, rows := 0.0, 0.0
	for i := range q.readings {
		before += q.readings[i].weight
	}
	for i := range q.readings {
		q.readings[i].weight *= usual / before
	}
	for _, text := range sample {
		all, _ := p.candidates([]byte(text), nil)
		rows += float64(min(1, len(all)))
		for i := range all {
			c := &all[i]
			r := &q.readings[c.seen.Reading.index]
			r.weight += c.share
			if n, ok := c.seen.Number(); ok && c.share > beyond && !r.blocks {
				r.numbers = append(r.numbers, n)
			}
		}
	}
	for i := range q.readings {
		q.readings[i].weight /= rows + usual
		slices.Sort(q.readings[i].numbers)
		q.readings[i].numbers = slices.Compact(q.readings[i].numbers)
	}
	return &q
}

// share works out how probable each of the cards is that a text can be, and sorts them. length is that of the text.
func share(all []candidate, length int) {
	if len(all) == 1 {
		all[0].share = 1
		return
	}
	top := math.Inf(-1)
	for i := range all {
		c := all[i].seen.Card()
		if written, err := all[i].seen.Reading.Form.Text(&c); err == nil && len(written) != length {
			all[i].weight *= asMended // not as the form writes it
		}
		all[i].share = math.Log(all[i].weight) + all[i].seen.Reading.values.LogGiven(&c, all[i].seen.Reading.numbers)
		top = max(top, all[i].share)
	}
	sum := 0.0
	for i := range all {
		all[i].share = math.Exp(all[i].share - top)
		sum += all[i].share
	}
	for i := range all {
		all[i].share /= sum
	}
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.share, a.share) })
}
