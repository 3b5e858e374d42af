package relate

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// addedByLot is the chance that what a rule adds is another for each lot of cards, as a facility is that it puts before
// them: where cards come in boxes, a rule may hold from one number on. A judgement.
const addedByLot = 0.1

// byLot is the chance that the constant of a rule is that of a lot of cards; 0 where it has none. What it takes away
// has to be there, so that cards of another lot are refused.
func (r *Rule) byLot() (step int, chance float64) {
	for i, s := range r.steps {
		switch s.Op {
		case SetFacility:
			return i, 1
		case Add:
			step, chance = i, addedByLot
		}
	}
	return step, chance
}

// lotOf returns the constant in a step of the rule with which it makes B of A; false where there is none.
func (r *Rule) lotOf(step int, p Pair) (c int64, ok bool) {
	x, ok := r.from.parse(p.A)
	y, fits := r.to.parse(p.B)
	if !ok || !fits {
		return 0, false
	}
	for i := range step {
		if x, ok = r.steps[i].apply(x); !ok {
			return 0, false
		}
	}
	for i := len(r.steps) - 1; i > step; i-- {
		undone, lost := r.steps[i].inverse()
		if lost != "" {
			return 0, false
		}
		if y, ok = undone.apply(y); !ok {
			return 0, false
		}
	}
	s := r.steps[step]
	if s.C = int64(y - x); s.Op == SetFacility {
		s.C = int64(y >> uint(s.A))
	}
	back, ok := s.apply(x)
	return s.C, ok && back == y && s.check() == nil
}

// constantBits is what a constant costs to write down: of one that is added its length in bits, and twice the length of
// that, as in a universal code of whole numbers, so that all of them together come to one; a facility is small mostly.
func (s *Step) constantBits() float64 {
	length := math.Log2(math.Abs(float64(s.C)) + 1)
	if s.Op == Add {
		return length + 2*math.Log2(length+1)
	}
	return 1.5 * length
}

// byLots weighs a class by lots of cards that share its constant, as cards of one site share a facility: how likely all
// pairs are those of one lot, and the next card too. What is left of that goes to elsewhere: then the rule is that of
// these cards alone. Pairs of several lots have no rule of all.
func (q *question) byLots(c *class) {
	c.elsewhere, c.lots = math.Inf(-1), math.Inf(-1)
	r := &c.best.rule
	at, chance := r.byLot()
	if chance == 0 {
		return
	}
	step := r.steps[at]
	sizes, own := map[int64]int{}, step.C
	log, slipped := 0.0, math.Log2(typing.MeanErrors())
	for i, s := range c.slips {
		constant, ok := own, s.fits
		if !ok {
			constant, ok = r.lotOf(at, q.pairs[i])
		}
		if !ok {
			log += slipped + math.Log2(s.p)
			continue
		}
		if sizes[constant]++; sizes[constant] == 1 && constant != own {
			step.C = constant
			log -= step.constantBits()
		}
	}
	shared, next := lots(sizes, sizes[own])
	if len(sizes) > 1 {
		one, _ := lots(map[int64]int{own: len(c.slips)}, len(c.slips))
		c.lots = c.prior + log + math.Log2(chance*shared)
		c.weight += math.Log2(1 - chance + chance*one)
		return
	}
	c.elsewhere = c.weight + math.Log2(chance*shared*(1-next))
	c.weight += math.Log2(1 - chance + chance*shared*next)
}

// lots returns how likely cards are shared out among lots of these sizes, by a Chinese restaurant process as facilities
// are, and how likely the next card is of one that has so many.
func lots(sizes map[int64]int, of int) (p, next float64) {
	var all []int
	n := 0
	for _, size := range sizes {
		all, n = append(all, size), n+size
	}
	slices.Sort(all)
	for _, c := range judgement.Concentrations {
		one := c.Share
		for i := range n {
			one /= float64(i) + c.Strength
		}
		for _, size := range all {
			one *= c.Strength
			for k := 1; k < size; k++ {
				one *= float64(k)
			}
		}
		p += one
		next += one * float64(of) / (float64(n) + c.Strength)
	}
	return p, next / p
}
