package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/atonce"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Taken is what texts are taken for, and how probable it is that they are meant so.
type Taken struct {
	As          []string            // of each text, in words
	Cards       []formats.Sightings // of each text
	Probability float64
}

// TextAnswer is the posterior over everything that texts can be: how they are meant, and what the cards are then.
type TextAnswer struct {
	Answer         // over all ways of meaning them; the warnings are those of the likeliest
	Taken  []Taken // the likeliest first; they add up to 1
}

// Way returns the place in Taken of the likeliest way to the candidate at that place of Candidates, from 0; -1 where
// there is no such candidate.
func (a *TextAnswer) Way(candidate int) int {
	if candidate < 0 || candidate >= len(a.Candidates) {
		return -1
	}
	return a.Candidates[candidate].way
}

// RankTexts answers for cards of one site, each as somebody wrote it down. Texts that can be meant in several ways are
// all meant in the same one, or those that are written alike are; prints beside them change nothing in that. Where
// prints beside reads do not follow from them, they can have more on them than the card's number: one of an order or a
// year, a check digit, the facility behind the number. For other texts that can be meant in one way, the answer is that
// of Rank. The error is that of [formats.Spellings] or of Rank.
func (r *Ranker) RankTexts(texts []string) (TextAnswer, error) {
	spelled := make([][]formats.Spelling, len(texts))
	for i, text := range texts {
		var err error
		if spelled[i], err = formats.Spellings(text); err != nil {
			return TextAnswer{}, err
		}
	}
	return r.RankSpellings(spelled)
}

// RankSpellings is RankTexts for texts whose spellings are known. The error is that of Rank, as for a text without a
// spelling.
func (r *Ranker) RankSpellings(spelled [][]formats.Spelling) (TextAnswer, error) {
	for i, all := range spelled {
		if len(all) == 0 {
			return TextAnswer{}, &CardError{Card: i + 1, Reason: "no spelling; use formats.Spellings"}
		}
		for _, s := range all {
			if !(s.Weight > 0) || math.IsInf(s.Weight, 1) {
				return TextAnswer{}, &CardError{Card: i + 1,
					Reason: fmt.Sprintf("a spelling of weight %v; it must be a number above 0", s.Weight)}
			}
		}
	}
	a := asking{r, new(evidence.Memory)}
	ways, bare, err := a.waysOf(r.asPrinted(spelled))
	if err != nil {
		return TextAnswer{}, err
	}
	return a.rankWays(ways, bare)
}

// asPrinted makes it unusual that a text in hex is a chip's serial, where the site file says that its cards show their
// number in hex: what is typed is what a card shows.
func (r *Ranker) asPrinted(spelled [][]formats.Spelling) [][]formats.Spelling {
	if !slices.ContainsFunc(r.model.Site, func(p Population) bool { return p.Printed == "hex" }) {
		return spelled
	}
	out := slices.Clone(spelled)
	for i, all := range out {
		if !slices.ContainsFunc(all, isHex) {
			continue
		}
		out[i] = slices.Clone(all)
		for k := range all {
			if all[k].Sightings[0].Kind == formats.Serial {
				out[i][k].Weight *= judgement.SerialBesideHex
			}
		}
	}
	return out
}

// weigh answers for the cards of each way, once for those that are the same, as where the two texts of a card are.
func (r *asking) weigh(ways []*way) error {
	first, keys := map[string]*way{}, make([]string, len(ways))
	var own []string
	for i, w := range ways {
		keys[i] = evidence.Key(w.taken.Cards)
		if first[keys[i]] == nil {
			first[keys[i]], own = w, append(own, keys[i])
		}
	}
	errs := make([]error, len(own))
	atonce.Do(len(own), func(i int) {
		w := first[own[i]]
		errs[i] = r.model.Explain(w.taken.Cards, r.memory, nil, func(work *evidence.Work) {
			w.seen = work.Total()
			r.memory.Keep(own[i], work)
			r.answer(work, &w.ans)
		})
	})
	for i, w := range ways {
		w.seen, w.ans = first[keys[i]].seen, first[keys[i]].ans
	}
	return cmp.Or(errs...)
}

// compare makes the probability of the cards that of one kind or of one for each length.
func (r *asking) compare(ways []*way) error {
	logs, err := r.evidence(ways, nil)
	for i, w := range ways {
		w.seen = logs[i]
	}
	return err
}

// compareApart makes it that of one kind or of several of one length, too, where it was asked whether the prints have
// more on them, since what looks so can be another kind. The likeliest way comes first: of others that are far less
// likely it does not matter how much.
func (r *asking) compareApart(ways []*way) error {
	if err := r.compare(ways); err != nil {
		return err
	}
	total := func(w *way) float64 { return w.log + w.rests + w.seen }
	best := slices.MaxFunc(ways, func(a, b *way) int { return cmp.Compare(total(a), total(b)) })
	log, kinds, err := r.model.Apart(best.taken.Cards, r.memory, nil, logp.Never)
	if err != nil {
		return err
	}
	best.seen = log
	least, errs := total(best), make([]error, len(ways))
	atonce.Do(len(ways), func(i int) {
		if w := ways[i]; w != best {
			w.seen, _, errs[i] = r.model.Apart(w.taken.Cards, r.memory, kinds, least-w.log-w.rests)
		}
	})
	return cmp.Or(errs...)
}

// rankWays weighs each way, and puts their answers together by how probable each is; bare are the likeliest by the
// reads alone.
func (r *asking) rankWays(ways, bare []*way) (out TextAnswer, err error) {
	if err = r.weigh(ways); err == nil && len(ways) > 1 {
		err = r.compare(ways)
	}
	if err != nil {
		return out, err
	}
	more, err := r.furtherWays(ways, bare)
	if err == nil && len(more) > 0 {
		if err = r.weigh(more); err == nil {
			ways = append(ways, more...)
			err = r.compareApart(ways)
		}
	}
	if err != nil {
		return out, err
	}
	logs := make([]float64, len(ways))
	for i, w := range ways {
		w.log += w.rests + w.seen
		logs[i] = w.log
	}
	total := logp.Sum(logs)
	for _, w := range ways {
		w.taken.Probability = min(1, math.Exp(w.log-total)) // sums of thousands of cards are not exact
	}
	slices.SortStableFunc(ways, func(a, b *way) int { return cmp.Compare(b.log, a.log) })
	if len(ways) == 1 {
		one := ways[0]
		one.taken.Probability = 1
		return TextAnswer{one.ans, []Taken{one.taken}}, nil
	}
	out.First, out.Warnings, out.joint = ways[0].ans.First, ways[0].ans.Warnings, ways[0].ans.joint
	for i, w := range ways {
		out.Taken = append(out.Taken, w.taken)
		out.merge(i, &w.ans, w.taken.Probability)
		if slices.EqualFunc(w.taken.Cards, ways[0].taken.Cards, slices.Equal) {
			out.meant += w.taken.Probability
		}
	}
	out.finish()
	return out, nil
}

// furtherWays returns the ways in which prints have more on them than the number: of the likeliest way, and of those
// that are likeliest by the reads alone; and the others that ways hardly less likely have. The error is that of Rank.
func (r *asking) furtherWays(ways, bare []*way) (all []*way, err error) {
	bases := []*way{slices.MaxFunc(ways, func(a, b *way) int { return cmp.Compare(a.log+a.seen, b.log+b.seen) })}
	for _, w := range bare {
		if w == bases[0] {
			continue
		}
		if bases = append(bases, w); !slices.Contains(ways, w) {
			if err = r.weigh([]*way{w}); err != nil {
				return nil, err
			}
		}
	}
	for _, base := range bases {
		more, err := r.besides(base)
		if err != nil {
			return nil, err
		}
		more = r.likely(append(more, base))
		all = append(all, slices.DeleteFunc(more, func(w *way) bool { return w == base })...)
	}
	for _, w := range ways {
		if w.log+w.seen > bases[0].log+bases[0].seen-hardlyLess {
			all = append(all, w.others...)
		}
	}
	return all, nil
}

// merge adds the answer of one way.
func (a *TextAnswer) merge(way int, ans *Answer, p float64) {
	a.Unknown += p * ans.Unknown
	for _, f := range ans.Frames {
		f.Probability *= p
		if at := slices.IndexFunc(a.Frames, func(g Frame) bool { return g.Format == f.Format }); at >= 0 {
			a.Frames[at].Probability += f.Probability
			continue
		}
		a.Frames = append(a.Frames, f)
	}
	for _, c := range ans.Candidates {
		c.Probability, c.way = p*c.Probability, way
		at := slices.IndexFunc(a.Candidates, func(d Candidate) bool {
			return d.Format == c.Format && d.Fault == c.Fault && slices.EqualFunc(d.Cards, c.Cards, sameCard)
		})
		if at >= 0 { // the same cards, by another way; the likelier way was first
			a.Candidates[at].Probability += c.Probability
			continue
		}
		a.Candidates = append(a.Candidates, c)
	}
}

// finish leaves out what is too small to show, shares that out, and sorts.
func (a *TextAnswer) finish() {
	a.Candidates = slices.DeleteFunc(a.Candidates, func(c Candidate) bool { return c.Probability < shownFrom })
	a.Frames = slices.DeleteFunc(a.Frames, func(f Frame) bool { return f.Probability < shownFrom })
	sum := a.Unknown
	for i := range a.Candidates {
		sum += a.Candidates[i].Probability
	}
	for i := range a.Frames {
		sum += a.Frames[i].Probability
	}
	for i := range a.Candidates {
		a.Candidates[i].Probability /= sum
	}
	for i := range a.Frames {
		a.Frames[i].Probability /= sum
	}
	a.Unknown /= sum
	a.sort()
}

// sort puts the likeliest first.
func (a *Answer) sort() {
	all := a.Candidates
	for i := range all { // few, and sorted mostly
		for ; i > 0 && (all[i].Probability > all[i-1].Probability ||
			all[i].Probability == all[i-1].Probability && all[i].Format.ID < all[i-1].Format.ID); i-- {
			all[i], all[i-1] = all[i-1], all[i]
		}
	}
	slices.SortStableFunc(a.Frames, byProbability)
}

// byProbability compares frames: the likeliest comes first.
func byProbability(f, g Frame) int {
	return cmp.Or(cmp.Compare(g.Probability, f.Probability), strings.Compare(f.Format.ID, g.Format.ID))
}

// Facility returns how probable a card with its facility is, beside the same card of which the facility is not known,
// as the model has it for cards of its format that are printed in the form of that name.
func (r *Ranker) Facility(form string, known, filled *formats.Card) float64 {
	var with, without []float64
	for i, f := range r.model.Formats() {
		if f.ID == known.Format.ID && f.Layout.Len() == known.Format.Layout.Len() {
			with = append(with, r.model.PrintedAs(i, form, filled))
			without = append(without, r.model.PrintedAs(i, form, known))
		}
	}
	if len(with) == 0 {
		return 0
	}
	return math.Exp(logp.Sum(with) - logp.Sum(without))
}
