package reading

import (
	"cmp"
	"math"
	"slices"
)

// A list can have the low 16 bits of serials, or of other wide numbers, as bare numbers. They lie anywhere among those
// of 16 bits, so that they look like any other bare number, and no form writes them: a site file can't say it. So where
// the site has cards of a wide number, bare numbers that lie anywhere may be those.

// cuts makes strangers of the site's own cards of which a list has the low 16 bits of their number alone, as bare
// numbers: those look like the numbers of any cards that have 16 bits, and nothing says which cards they are. Where
// there is a facility, the number is whole.
func (p *Plan) cuts(all []strange) (more []strange) {
	const largest = 1<<cutBits - 1
	at := slices.IndexFunc(all, func(s strange) bool {
		most, ok := s.Largest()
		return ok && most == largest && s.Form.Name == "number" && len(s.population.Facilities)+len(s.population.Numbers) == 0
	})
	if at < 0 {
		return nil
	}
	for _, r := range p.ofFormats() {
		if most, ok := r.Largest(); !ok || most <= largest || r.Format.Facility() >= 0 || len(r.population.Numbers) > 0 {
			continue
		}
		s := all[at]
		s.weight, s.near, s.ofSite, s.cut, s.end = cutShort/hasStrangers, false, false, true, r.Format.ID
		more = append(more, s)
	}
	return more
}

// ofFormats returns a reading of each format of the plan, the first.
func (p *Plan) ofFormats() (all []*Reading) {
	for i := range p.readings {
		r := &p.readings[i]
		if !slices.ContainsFunc(all, func(o *Reading) bool { return o.Format == r.Format }) {
			all = append(all, r)
		}
	}
	return all
}

// cutLog is the log of how probable one number is that was cut: each is as probable as the next.
const cutLog = -cutBits * math.Ln2

// together returns the log of how probable cards of the stranger's kind are together.
func (s *strange) together(cards []Seen) float64 {
	if !s.cut {
		return s.Reading.together(cards)
	}
	all, again := once(cards)
	return float64(len(all))*cutLog + again
}

// cut weighs that bare numbers of lots were cut. It is one question for all lots, since such numbers lie anywhere, a
// few in each: either none were, or those of the lots where most numbers lie farthest apart, up to some lot.
func (in *inLists) cut(all []strange) {
	for i := range all {
		if !all[i].cut {
			continue
		}
		s, places, sparse := &all[i], []int{}, map[int]uint64{}
		for k, l := range in.lots {
			if cards, w, ok := s.of(l); ok && l.strange == nil && w == (written{}) {
				places, sparse[k] = append(places, k), uint64(math.MaxUint64)
				if numbers := numbersOf(cards); len(numbers) > 1 {
					sparse[k] = spanOf(numbers, 1)
				}
			}
		}
		slices.SortStableFunc(places, func(a, b int) int { return cmp.Compare(sparse[b], sparse[a]) })
		logs := []float64{in.without(nil, s)}
		for k := range places {
			logs = append(logs, in.without(places[:k+1], s))
		}
		parted(logs)
		share := 1 - logs[0]
		for k, place := range places {
			if share < stranger {
				break
			}
			l := in.lots[place]
			l.strange = make([]float64, len(all))
			l.strange[i] = share
			for way := range l.shares {
				l.shares[way] *= 1 - share
			}
			s.takes(l, share)
			share -= logs[k+1]
		}
	}
}

// without returns the log of how probable the numbers of all lots are where those of some are the stranger's.
func (in *inLists) without(some []int, s *strange) (log float64) {
	var readings []*Reading
	parts, counts, n := map[*Reading][]part{}, map[*Reading]float64{}, 0.0
	for k, l := range in.lots {
		if slices.Contains(some, k) {
			cards, _, _ := s.of(l)
			log += s.together(cards)
			n += float64(len(cards))
			continue
		}
		way := slices.Index(l.shares, slices.Max(l.shares))
		r := l.texts[0][way].seen.Reading
		if parts[r] == nil {
			readings = append(readings, r)
		}
		parts[r], counts[r] = append(parts[r], part{k, 0, 1}), counts[r]+float64(len(l.texts))
	}
	kinds := make([]float64, 0, len(readings)+1)
	for _, r := range readings {
		log += in.of(r, parts[r]...)
		kinds = append(kinds, counts[r])
	}
	if n > 0 {
		log += s.log
		kinds = append(kinds, n)
	}
	rows := 0.0
	for _, k := range kinds {
		log += lgamma(1 + k)
		rows += k
	}
	return log + lgamma(float64(len(kinds))) - lgamma(float64(len(kinds))+rows)
}
