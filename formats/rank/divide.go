package rank

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// Divide tells cards of several kinds apart, given the answer for all of them as cards of one kind, and returns an
// answer for each group where there are several, nil where there is one. What an answer says, and ans, too, has the
// probability with which it holds however the cards are dealt out, and the rest is Several. Of texts that can be meant
// otherwise, all of that is as probable as that they are meant so, and the rest is none of these. The error is that of
// Rank.
func (r *Ranker) Divide(cards []formats.Sightings, ans *Answer) (k Kinds, answers []Answer, err error) {
	found, err := r.model.KindsGiven(cards, ans.joint, new(evidence.Memory))
	if k = Kinds(found); err != nil {
		return k, nil, err
	}
	all := []*Answer{ans}
	if len(k.Groups) > 1 {
		if answers, err = r.rankParts(cards, k.Groups); err != nil {
			return k, nil, err
		}
		r.apart(answers, func(i, j int) bool {
			return readOf(cards[k.Groups[i][0]]).Len() == readOf(cards[k.Groups[j][0]]).Len()
		})
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
		d := division{r: r, ans: all[i], places: group, left: 1}
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
	if len(k.Groups) == 1 {
		return k, nil, nil
	}
	ans.throughout(&k, answers)
	if ans.meant > 0 {
		k.Probability *= ans.meant
		for _, own := range all {
			own.given(ans.meant)
		}
	}
	return k, answers, nil
}

// throughout makes an answer for all cards as those of one kind what holds of all of them, given answers for each of
// their kinds: it is right where they are of one, or where each answer says the same. What another way of meaning texts
// says has nothing to do with the kinds of this one.
func (ans *Answer) throughout(k *Kinds, kinds []Answer) {
	several := k.Probability
	if ans.meant > 0 {
		several *= ans.meant
	}
	all := slices.Concat(k.Groups...)
	slices.Sort(all)
	sum := 0.0
	scale := func(p *float64, way int, likewise func(g int) float64) {
		same := several
		for g := range kinds {
			same *= likewise(g)
		}
		if way == 0 {
			*p *= 1 - k.Probability
		}
		*p += same
		sum += *p
	}
	alike := make([][][]*Candidate, len(kinds))
	for g := range kinds {
		alike[g] = ans.likewise(all, &kinds[g], k.Groups[g])
	}
	for i := range ans.Candidates {
		c := &ans.Candidates[i]
		scale(&c.Probability, c.way, func(g int) (p float64) {
			for _, one := range alike[g][i] {
				p += one.Probability
			}
			return p
		})
	}
	for i := range ans.Frames {
		f := &ans.Frames[i]
		scale(&f.Probability, 0, func(g int) float64 { return kinds[g].frame(f.Format) })
	}
	scale(&ans.Unknown, 0, func(g int) float64 { return kinds[g].Unknown })
	ans.Several = max(0, 1-sum)
	ans.sort()
}

// likewise returns for each candidate what an answer for some of the cards has that says the same of them, given the
// places of both. What several candidates say counts for the first of them, so that nothing counts twice.
func (ans *Answer) likewise(places []int, part *Answer, own []int) [][]*Candidate {
	alike := make([][]*Candidate, len(ans.Candidates))
	for k := range part.Candidates {
		one := &part.Candidates[k]
		i := slices.IndexFunc(ans.Candidates, func(c Candidate) bool { return c.agrees(one, places, own) })
		if i >= 0 {
			alike[i] = append(alike[i], one)
		}
	}
	return alike
}

// given makes an answer one that holds with a probability; if it does not hold, it is none of what it says.
func (a *Answer) given(p float64) {
	for i := range a.Candidates {
		a.Candidates[i].Probability *= p
	}
	for i := range a.Frames {
		a.Frames[i].Probability *= p
	}
	a.Several *= p
	a.Unknown = p*a.Unknown + max(1-p, 0)
}

// rankParts answers for each part of the cards.
func (r *Ranker) rankParts(cards []formats.Sightings, parts [][]int) ([]Answer, error) {
	all := make([]Answer, len(parts))
	for i, part := range parts {
		if err := r.RankInto(&all[i], cardsAt(cards, part)); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// cardsAt returns the cards in these places.
func cardsAt(cards []formats.Sightings, places []int) []formats.Sightings {
	some := make([]formats.Sightings, len(places))
	for k, at := range places {
		some[k] = cards[at]
	}
	return some
}

// division is an answer for a group of cards that is put together from all ways to deal them out.
type division struct {
	r       *Ranker
	ans     *Answer
	places  []int   // of the group's cards
	left    float64 // the probability of the ways that are not added yet, of which the group itself is one
	more    []float64
	frames  []float64
	unknown float64
	apart   *Otherwise // the likeliest way in which the group is of several kinds
	chance  float64    // and its probability
}

// add adds what another way says, given the answer for each of its parts.
func (d *division) add(o Otherwise, parts []Answer) {
	p := d.left * o.Probability
	d.left -= p
	if d.more == nil {
		d.more, d.frames = make([]float64, len(d.ans.Candidates)), make([]float64, len(d.ans.Frames))
	}
	all := 1.0
	if len(parts) > 1 {
		all = parts[0].none() * d.r.beside(evidence.Reading{}, &parts[1])
		for i := range parts[0].Candidates {
			c := &parts[0].Candidates[i]
			all += c.Probability * d.r.beside(c.reading(), &parts[1])
		}
	}
	all = max(all, hardlyBeside)
	alike := make([][][]*Candidate, len(parts))
	for k := range parts {
		alike[k] = d.ans.likewise(d.places, &parts[k], o.Parts[k])
	}
	for i := range d.ans.Candidates {
		d.more[i] += p * d.same(i, alike) / all
	}
	for i, f := range d.ans.Frames {
		same := p / all
		for k := range parts {
			same *= parts[k].frame(f.Format)
		}
		d.frames[i] += same
	}
	same := p / all
	for k := range parts {
		same *= parts[k].Unknown
	}
	if d.unknown += same; len(o.Parts) > 1 && p > d.chance {
		d.apart, d.chance = &o, p
	}
}

// finish gives the answer its probabilities.
func (d *division) finish() {
	ans := d.ans
	ans.Unknown = d.left*ans.Unknown + d.unknown
	rest := 1 - ans.Unknown
	for i := range ans.Candidates {
		c := &ans.Candidates[i]
		c.Probability = d.left*c.Probability + d.more[i]
		rest -= c.Probability
	}
	for i := range ans.Frames {
		f := &ans.Frames[i]
		f.Probability = d.left*f.Probability + d.frames[i]
		rest -= f.Probability
	}
	if ans.Several = max(rest, 0); d.apart != nil && ans.Several >= worthSaying {
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
const worthSaying = 0.02

// same is the probability of all that says of the cards what the i-th candidate says, given what does in the answers
// for one part of them or for two.
func (d *division) same(i int, alike [][][]*Candidate) (p float64) {
	for _, a := range alike[0][i] {
		if len(alike) == 1 {
			p += a.Probability
			continue
		}
		for _, b := range alike[1][i] {
			p += a.Probability * b.Probability * d.r.model.Beside(a.reading(), b.reading())
		}
	}
	return p
}

// frame is the probability of a frame with other parts than any table has.
func (a *Answer) frame(f *formats.Format) float64 {
	if at := slices.IndexFunc(a.Frames, func(g Frame) bool { return g.Format == f }); at >= 0 {
		return a.Frames[at].Probability
	}
	return 0
}

// none is the probability that no format of the catalogue fits, in any frame.
func (a *Answer) none() float64 {
	p := a.Unknown
	for i := range a.Frames {
		p += a.Frames[i].Probability
	}
	return p
}

func (c *Candidate) reading() evidence.Reading {
	return evidence.NewReading(c.Format, c.Fault, c.Printed)
}

// beside is how much likelier a reading is beside what an answer says of another kind of card than by itself.
func (r *Ranker) beside(one evidence.Reading, other *Answer) float64 {
	p := other.none() * r.model.Beside(one, evidence.Reading{})
	for i := range other.Candidates {
		c := &other.Candidates[i]
		p += c.Probability * r.model.Beside(one, c.reading())
	}
	return p
}

// hardlyBeside is how little can be left of an answer for that to be said: less is the error of sums.
const hardlyBeside = 1e-6

// each gives every probability of an answer a weight, by what it is that of, and makes them add up to 1 again; not
// where nothing would be left.
func (a *Answer) each(weight func(evidence.Reading) float64) {
	none := weight(evidence.Reading{})
	sum, each := none*a.none(), make([]float64, len(a.Candidates))
	for i := range a.Candidates {
		c := &a.Candidates[i]
		each[i] = c.Probability * weight(c.reading())
		sum += each[i]
	}
	if sum < hardlyBeside {
		return
	}
	for i := range a.Candidates {
		a.Candidates[i].Probability = each[i] / sum
	}
	for i := range a.Frames {
		a.Frames[i].Probability *= none / sum
	}
	a.Unknown *= none / sum
}

// apart gives answers for several kinds of card what it says of each that the others are kinds of their own. Only those
// of one length can be taken for one kind.
func (r *Ranker) apart(all []Answer, oneLength func(i, j int) bool) {
	alone := make([]Answer, len(all))
	for i := range all {
		alone[i] = all[i]
		alone[i].Candidates, alone[i].Frames = slices.Clone(all[i].Candidates), slices.Clone(all[i].Frames)
	}
	for i := range all {
		all[i].each(func(one evidence.Reading) float64 {
			p := 1.0
			for k := range alone {
				if k != i && oneLength(i, k) {
					p *= r.beside(one, &alone[k])
				}
			}
			return p
		})
		all[i].sort()
	}
}

// agrees reports whether two candidates have one format and the same cards, given the places of theirs, both in rising
// order. A read that one of them puts right is as either has it.
func (c *Candidate) agrees(d *Candidate, places, others []int) bool {
	if c.Format != d.Format {
		return false
	}
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
