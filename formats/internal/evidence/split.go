package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/logp"
)

// MostWeighed is how many cards the ways of splitting are weighed on: of more, as many are taken evenly from all.
const MostWeighed = 1000

// split splits cards of one length as long as that makes them likelier. p is the probability of all ways to split them
// once that are looked at.
func (s *splitter) split(all []int) (groups [][]int, p float64) {
	if len(all) < leastSplit {
		return [][]int{all}, 0
	}
	some := s.ordered(all)
	if every := len(some) / MostWeighed; every > 1 {
		n := 0
		for i := 0; i < len(some); i, n = i+every, n+1 {
			some[n] = some[i]
		}
		some = some[:n]
	}
	joint, best, ways := s.log(some), math.Inf(-1), logp.NewMix()
	var deal dealing
	for _, d := range s.dealings(some) {
		groups := s.dealt(some, d)
		if s.hopeless(groups) {
			continue
		}
		gain := s.gain(groups, joint)
		if ways.Add(gain); gain > best {
			best, deal = gain, d
		}
	}
	if deal == nil {
		return [][]int{all}, 0
	}
	otherwise := s.otherwise[all[0]]
	parts := s.dealt(all, deal)
	s.lacks -= max(0, best)
	if p = share(ways.Log()); best <= 0 {
		if p > unlikely {
			s.orElse(all, otherwise, Otherwise{parts, p})
		}
		return [][]int{all}, p
	}
	switch {
	case s.looksApart(parts[0], parts[1]), s.lacks > 0: // each card is where it looks it is, or it does not matter
	case len(all) <= mostMoved:
		var refined float64
		if parts, refined = s.refine(all, parts, joint, best); refined > best {
			p = share(logp.Add(refined, ways.Log()))
		}
	default:
		s.doubts = append(s.doubts, all...)
	}
	for _, part := range parts {
		if s.otherwise[part[0]] = otherwise; p < 1-unlikely {
			s.orElse(part, otherwise, Otherwise{[][]int{all}, 1 - p})
		}
		deeper, _ := s.split(part)
		groups = append(groups, deeper...)
	}
	return groups, p
}

// unlikely is a probability of other kinds that changes no answer.
const unlikely = 5e-4

// dealing says which of two groups the card at a place goes to.
type dealing func(at int) bool

// dealt deals cards into two groups.
func (s *splitter) dealt(all []int, d dealing) [][]int {
	groups := [][]int{nil, nil}
	for _, at := range all {
		g := 1
		if d(at) {
			g = 0
		}
		groups[g] = append(groups[g], at)
	}
	return groups
}

// Whether many cards are of two kinds shows on a few of each. If they are, the few make one kind likelier than two by
// e^farFromFew in at most one sample in e^farFromFew.
const (
	fewCards   = 4 // of each kind
	leastMany  = 24
	farFromFew = 9
)

// few takes some cards of a group, evenly.
func few(group []int) []int {
	n := len(group)
	some := make([]int, min(fewCards, n))
	for i := range some {
		some[i] = group[(2*i+1)*n/(2*len(some))]
	}
	return some
}

// hopeless reports whether a few of many cards show that they are hardly of these two kinds.
func (s *splitter) hopeless(groups [][]int) bool {
	a, b := groups[0], groups[1]
	if len(a)+len(b) < leastMany {
		return false
	}
	a, b = few(a), few(b)
	likelier := s.together(a, b) - s.log(bothOf(a, b))
	if likelier < -farFromFew {
		return true
	}
	whole := len(a) == len(groups[0]) || len(b) == len(groups[1]) // the rest are but more of one kind
	return whole && likelier+dealingLog(groups) < math.Log(unlikely)-farFromFew
}

// sketch is a few cards of each of two groups, and all that they can be.
type sketch struct {
	few      [2][]int
	readings [2][]weighed
}

// sketch takes a few of many cards; none of few.
func (s *splitter) sketch(groups [][]int) (k sketch) {
	if min(len(groups[0]), len(groups[1])) < leastMany/2 {
		return k
	}
	for g := range groups {
		k.few[g] = few(s.ordered(groups[g]))
		k.readings[g] = s.readings(k.few[g])
	}
	return k
}

// stays reports whether a few of many cards, this one not among them, show that one is hardly of the other kind.
func (s *splitter) stays(k *sketch, card, from int) bool {
	other := 1 - from
	if len(k.few[from]) == 0 || slices.Contains(k.few[from], card) {
		return false
	}
	here := s.model.together(s.readings(bothOf(k.few[from], []int{card})), k.readings[other])
	there := s.model.together(k.readings[from], s.readings(bothOf(k.few[other], []int{card})))
	return there-here < -farFromFew-doubtful
}

// mostMoved is how many cards there can be for each of them to be tried in the other group.
const mostMoved = 100

// refine moves cards from one group to the other, one by one, as long as that is likelier: cards without a print that
// others are told apart by, and reads that keep a check by chance.
func (s *splitter) refine(all []int, groups [][]int, joint, best float64) ([][]int, float64) {
	var doubts []int
	order, sketch := s.ordered(all), s.sketch(groups)
	for i, tried := 0, 0; tried < len(order); i, tried = (i+1)%len(order), tried+1 {
		card, from := order[i], 0
		if slices.Contains(groups[1], card) {
			from = 1
		}
		if len(groups[from]) == 1 || s.stays(&sketch, card, from) {
			continue
		}
		other := [][]int{nil, nil}
		other[from] = slices.DeleteFunc(slices.Clone(groups[from]), func(i int) bool { return i == card })
		other[1-from] = bothOf(groups[1-from], []int{card})
		gain := s.gain(other, joint)
		if gain > best { // all others are to be tried again
			best, groups, sketch, doubts, tried = gain, other, s.sketch(other), nil, -1
		} else if gain > best-doubtful {
			doubts = append(doubts, card)
		}
	}
	s.doubts = append(s.doubts, doubts...)
	return groups, best
}
