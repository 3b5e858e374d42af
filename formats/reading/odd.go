package reading

import (
	"fmt"
	"iter"
	"maps"
	"slices"
)

// OddFacilities returns the facilities, rising, whose cards are more likely typed wrong, or something else: there are
// few of them beside one that most have, or one that a quarter has and that is a slip away. No system gives out cards
// of facility 0 beside one that a quarter of the list has: that is what a number by itself looks like, and common
// practice without a source. cards has how many each has.
func OddFacilities(cards map[uint64]int) (odd []uint64) {
	most, all := 0, 0
	for _, n := range cards {
		most, all = max(most, n), all+n
	}
	for v, n := range cards {
		slip := false
		for other, m := range cards {
			slip = slip || m >= 5*n && 4*m >= all && (slipped(v, other, "%d") || slipped(v, other, "%02X"))
		}
		if n <= fewOfFacility && (most >= 20*n || slip) || v == 0 && most >= 5*n && 4*most >= all {
			odd = append(odd, v)
		}
	}
	slices.Sort(odd)
	return odd
}

// slipped reports whether two numbers differ in one digit, that may be one too many, or in two that are swapped.
func slipped(v, other uint64, format string) bool {
	a, b := fmt.Sprintf(format, v), fmt.Sprintf(format, other)
	for a != "" && b != "" && a[0] == b[0] {
		a, b = a[1:], b[1:]
	}
	for a != "" && b != "" && a[len(a)-1] == b[len(b)-1] {
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	return max(len(a), len(b)) == 1 || len(a) == 2 && len(b) == 2 && a[0] == b[1] && a[1] == b[0]
}

// Counted returns the plan with what a whole list says of facilities, where nothing else does: a card of a facility
// that is one of [OddFacilities] is refused, as one of none of the list's kinds. It is for a plan that is settled.
func (p *Plan) Counted(texts iter.Seq[string]) *Plan {
	if !p.counts() {
		return p
	}
	counts := make([]map[uint64]int, len(p.readings)) // by the first reading of each format
	count := func(s *Seen) bool {
		v, ok := s.Facility()
		if at := s.Reading.first; ok && counts[at] == nil {
			counts[at] = map[uint64]int{v: 1}
		} else if ok {
			counts[at][v]++
		}
		return true
	}
	var s Seen
	for text := range texts {
		if p.Read([]byte(text), &s) == nil {
			count(&s)
		} else {
			p.Each([]byte(text), count)
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
