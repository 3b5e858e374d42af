package reading

import (
	"iter"
	"maps"
	"slices"
)

// OddFacilities returns the facilities, rising, whose cards are more likely typed wrong, or something else: there are
// few of them beside one that most have. No system gives out cards of facility 0 beside one that a quarter of the list
// has: that is what a number by itself looks like, and common practice without a source. cards has how many each has.
func OddFacilities(cards map[uint64]int) (odd []uint64) {
	most, all := 0, 0
	for _, n := range cards {
		most, all = max(most, n), all+n
	}
	for v, n := range cards {
		if n <= fewOfFacility && most >= 20*n || v == 0 && most >= 5*n && 4*most >= all {
			odd = append(odd, v)
		}
	}
	slices.Sort(odd)
	return odd
}

// Counted returns the plan with what a whole list says of facilities, where nothing else does: a card of a facility
// that is one of [OddFacilities] is refused, as one of none of the list's kinds. It is for a plan that is settled.
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
		odd := OddFacilities(of)
		if !r.open() || len(odd) == 0 {
			continue
		}
		known := *r.cards
		known.Facilities = slices.DeleteFunc(slices.Sorted(maps.Keys(of)),
			func(v uint64) bool { return slices.Contains(odd, v) })
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
