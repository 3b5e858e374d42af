package rank

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/formats"
)

// Divide tells cards of several kinds apart, given the answer for all of them as cards of one kind, and returns an
// answer for each group where there are several. None of the answers is for granted then: what each says holds as far
// as it does however the cards are dealt out, and the rest goes to Unknown. So it is with ans where all cards are in
// one group, but may be of two kinds; answers is nil then. The error is that of Rank.
func (r *Ranker) Divide(cards []formats.Sightings, ans *Answer) (k Kinds, answers []Answer, err error) {
	if k, err = r.Kinds(cards); err != nil {
		return k, nil, err
	}
	all := []*Answer{ans}
	if len(k.Groups) > 1 {
		if answers, err = r.rankParts(cards, k.Groups); err != nil {
			return k, nil, err
		}
		all = all[:0]
		for i := range answers {
			all = append(all, &answers[i])
		}
	}
	whole := *ans // as cards of one kind
	whole.Candidates, whole.Frames = slices.Clone(ans.Candidates), slices.Clone(ans.Frames)
	for i, group := range k.Groups {
		if len(k.Otherwise[i]) == 0 {
			continue
		}
		d := division{ans: all[i], places: group, left: 1}
		for _, o := range k.Otherwise[i] {
			parts := []Answer{whole}
			if len(o.Parts) > 1 || len(o.Parts[0]) < len(cards) {
				if parts, err = r.rankParts(cards, o.Parts); err != nil {
					return k, nil, err
				}
			}
			d.add(o, parts)
		}
		d.finish()
	}
	return k, answers, nil
}

// rankParts answers for each part of the cards.
func (r *Ranker) rankParts(cards []formats.Sightings, parts [][]int) ([]Answer, error) {
	all := make([]Answer, len(parts))
	for i, part := range parts {
		some := make([]formats.Sightings, len(part))
		for k, at := range part {
			some[k] = cards[at]
		}
		if err := r.RankInto(&all[i], some); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// division is an answer for a group of cards that is put together from all ways to deal them out.
type division struct {
	ans    *Answer
	places []int   // of the group's cards
	left   float64 // the probability of the ways that are not added yet, of which the group itself is one
	more   []float64
	frames []float64
	apart  *Otherwise // the likeliest way in which the group is of several kinds
	chance float64    // and its probability
}

// add adds what another way says, given the answer for each of its parts.
func (d *division) add(o Otherwise, parts []Answer) {
	p := d.left * o.Probability
	d.left -= p
	if d.more == nil {
		d.more, d.frames = make([]float64, len(d.ans.Candidates)), make([]float64, len(d.ans.Frames))
	}
	for i := range d.ans.Candidates {
		same := p
		for k := range parts {
			same *= parts[k].share(&d.ans.Candidates[i], d.places, o.Parts[k])
		}
		d.more[i] += same
	}
	for i, f := range d.ans.Frames {
		same := p
		for k := range parts {
			at := slices.IndexFunc(parts[k].Frames, func(g Frame) bool { return g.Format == f.Format })
			if at < 0 {
				same = 0
				break
			}
			same *= parts[k].Frames[at].Probability
		}
		d.frames[i] += same
	}
	if len(o.Parts) > 1 && p > d.chance {
		d.apart, d.chance = &o, p
	}
}

// finish gives the answer its probabilities.
func (d *division) finish() {
	ans, before := d.ans, d.ans.Unknown
	ans.Unknown = 1
	for i := range ans.Candidates {
		c := &ans.Candidates[i]
		c.Probability = d.left*c.Probability + d.more[i]
		ans.Unknown -= c.Probability
	}
	for i := range ans.Frames {
		f := &ans.Frames[i]
		f.Probability = d.left*f.Probability + d.frames[i]
		ans.Unknown -= f.Probability
	}
	if ans.Unknown = max(ans.Unknown, before*d.left); d.apart != nil && ans.Unknown-before >= worthSaying {
		few := slices.MinFunc(d.apart.Parts, func(a, b []int) int { return len(a) - len(b) })
		var cards []int
		for i, at := range d.places {
			if slices.Contains(few, at) {
				cards = append(cards, i+1)
			}
		}
		ans.Warnings = append(ans.Warnings, fmt.Sprintf("%s may be of another kind than the rest (%.0f %%): no one answer is "+
			"for all then; ask about each kind by itself", named(cards), 100*d.chance))
	}
	ans.sort()
}

// worthSaying is the least probability of cards of several kinds that is told.
const worthSaying = 0.005

// share is the probability that the answer for some cards gives to what a candidate says of those of them that are
// among its own, given the places of its cards and of those of the answer.
func (a *Answer) share(c *Candidate, own, places []int) (p float64) {
	for i := range a.Candidates {
		d := &a.Candidates[i]
		if d.Format == c.Format && d.agrees(c, places, own) {
			p += d.Probability
		}
	}
	return min(p, 1)
}

// agrees reports whether two candidates have the same cards, given the places of theirs, both in rising order. A read
// that one of them puts right is as either has it.
func (c *Candidate) agrees(d *Candidate, places, others []int) bool {
	k := 0
	for i, at := range places {
		for k < len(others) && others[k] < at {
			k++
		}
		if k < len(others) && others[k] == at && c.Repairs[i].Fault.Wiring() && d.Repairs[k].Fault.Wiring() &&
			!sameCard(c.Cards[i], d.Cards[k]) {
			return false
		}
	}
	return true
}
