package reading

import (
	"iter"
	"maps"
	"slices"
)

// OddFacility reports whether n cards of a facility are more likely typed wrong, or something else, than cards: they
// are few beside most cards that have another one. No system gives out cards of facility 0 beside others: that is what
// a number by itself looks like, and common practice without a source.
func OddFacility(facility uint64, n, most int) bool {
	return n <= fewOfFacility && most >= 20*n || facility == 0 && most >= 5*n
}

// Counted returns the plan with what a whole list says of facilities, where nothing else does: a card of a facility
// that is odd by [OddFacility] is refused, as one of none of the list's kinds. It is for a plan that is settled.
func (p *Plan) Counted(texts iter.Seq[string]) *Plan {
	if !p.counts() {
		return p
	}
	counts := make([]map[uint64]int, len(p.readings)) // by the first reading of each format
	var s Seen
	for text := range texts {
		if p.Read([]byte(text), &s) != nil {
			continue
		}
		if v, ok := s.Facility(); ok {
			if at := s.Reading.first; counts[at] == nil {
				counts[at] = map[uint64]int{v: 1}
			} else {
				counts[at][v]++
			}
		}
	}
	q := *p
	q.readings = slices.Clone(p.readings)
	for i := range q.readings {
		r, of := &q.readings[i], counts[q.readings[i].first]
		most := slices.Max(append(slices.Collect(maps.Values(of)), 0))
		usual := slices.DeleteFunc(slices.Sorted(maps.Keys(of)),
			func(v uint64) bool { return OddFacility(v, of[v], most) })
		if !r.open() || len(usual) == len(of) {
			continue
		}
		known := *r.cards
		known.Facilities = usual
		r.cards, r.counted = &known, true
	}
	return &q
}

// counts reports whether facilities are to be counted.
func (p *Plan) counts() bool {
	return !p.any && !p.asIs && slices.ContainsFunc(p.readings, func(r Reading) bool { return r.open() })
}

// open reports whether nothing says which facilities the reading's cards have.
func (r *Reading) open() bool {
	return r.Format.Facility() >= 0 && len(r.population.Facilities) == 0 && r.facility == ""
}
