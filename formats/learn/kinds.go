package learn

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// readings is what the cards can be as a kind beside another one, each with its probability; the rest is no format.
func (p *posterior) readings() (all []evidence.Reading, probs []float64) {
	for i := range p.entries {
		if e := &p.entries[i]; e.format != nil {
			all, probs = append(all, e.kind), append(probs, math.Exp(e.Log-p.total))
		}
	}
	return all, probs
}

// apart gives kinds of one length, each weighed by itself, what it says of each that the others are kinds of their own,
// as rank does.
func apart(kinds []*posterior) {
	factors := make([][]float64, len(kinds)) // of the entries of each; nil of one that is alone of its length
	for n, p := range kinds {
		for k, other := range kinds {
			if k == n || other.s.Length != p.s.Length {
				continue
			}
			if factors[n] == nil {
				factors[n] = slices.Repeat([]float64{1}, len(p.entries))
			}
			readings, probs := other.readings()
			for i := range p.entries {
				if p.entries[i].format != nil {
					factors[n][i] *= beside(p.model, p.entries[i].kind, readings, probs)
				}
			}
		}
	}
	for n, p := range kinds {
		if factors[n] != nil {
			p.weigh(factors[n])
		}
	}
}

// beside is how much likelier cards are of one kind beside those of another one, which can be several things.
func beside(m *evidence.Model, one evidence.Reading, others []evidence.Reading, probs []float64) float64 {
	sum, none := 0.0, 1.0
	for k := range others {
		sum += probs[k] * m.Beside(one, others[k])
		none -= probs[k]
	}
	return sum + max(0, none)*m.Beside(one, evidence.Reading{})
}

// hardlyBeside is how little can be left of a kind beside others for that to be said of it: less is the error of sums.
const hardlyBeside = 1e-6

// weigh makes each entry so many times as likely, and chooses anew; not where nothing would be left.
func (p *posterior) weigh(factors []float64) {
	sum := 1.0
	for i, f := range factors {
		sum += math.Exp(p.entries[i].Log-p.total) * (f - 1)
	}
	if sum < hardlyBeside {
		return
	}
	hasPrints := p.prints() > 0
	for i, f := range factors {
		e := &p.entries[i]
		if e.format != nil && e.form == "" && hasPrints {
			p.unrelated(math.Exp(e.Log-p.total)*(f-1), p.s)
		}
		e.Log += math.Log(f)
	}
	p.total += math.Log(sum)
	p.unknown, p.whole, p.apart = p.unknown/sum, p.whole/sum, p.apart/sum
	p.choose()
}

// hardlyDealt is the probability of another way to deal cards out below which nothing is weighed in it: that what was
// learned is wrong then changes an answer by no more.
const hardlyDealt = 0.005

// dealt returns the probability that the answer holds however the cards are dealt out, as rank does: because they are
// dealt out so, or because it is right of each part of them where they are not. several is that of the ways in which
// there are several kinds and it is not right.
func (s *sample) dealt(p *posterior, otherwise []evidence.Otherwise) (prob, several float64, err error) {
	left := 1.0
	for _, o := range otherwise {
		this, right := left*o.Probability, 0.0
		if left -= this; this > hardlyDealt {
			if right, err = s.rightOf(p, o.Parts); err != nil {
				return 0, 0, err
			}
		}
		if prob += this * right; len(o.Parts) > 1 {
			several += this * (1 - right)
		}
	}
	return prob + left*p.prob, several, nil
}

// rightOf returns the probability that the answer is right of all of one or two parts, given that they are of so many
// kinds.
func (s *sample) rightOf(p *posterior, parts [][]int) (float64, error) {
	kinds := make([]*posterior, len(parts))
	for k, part := range parts {
		for _, places := range s.byLength(part) {
			if s.reads[places[0]].Bits.Len() != p.s.Length {
				continue
			}
			one, err := infer(p.model, s, places)
			if err != nil {
				return 0, err
			}
			kinds[k] = one
		}
		if kinds[k] == nil {
			return 0, nil
		}
	}
	best := p.answer()
	first := kinds[0]
	readings, probs := kinds[len(kinds)-1].readings()
	all, right := 1.0, 0.0
	for i := range first.entries {
		e := &first.entries[i]
		own, both := math.Exp(e.Log-first.total), 1.0
		if len(kinds) == 1 {
			if best.isOf(e) {
				right += own
			}
			continue
		}
		if e.format != nil {
			all += own * (beside(p.model, e.kind, readings, probs) - 1)
		}
		if !best.isOf(e) {
			continue
		}
		both = 0
		for k := range kinds[1].entries {
			if o := &kinds[1].entries[k]; best.isOf(o) {
				both += math.Exp(o.Log-kinds[1].total) * p.model.Beside(e.kind, o.kind)
			}
		}
		right += own * both
	}
	return right / max(all, hardlyBeside), nil
}

// isOf reports whether an entry has the same layout, whatever is printed on the cards of its part.
func (a *entry) isOf(e *entry) bool {
	if a.format != nil && a.format == e.format {
		return a.wiring == e.wiring && a.before == e.before && a.after == e.after
	}
	return a.holds(e)
}
