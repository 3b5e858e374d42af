package evidence

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// leastSuspect is how many reads it takes to look for misreads among them: with fewer, a check that fails once is no
// check.
const leastSuspect = 10

// suspect is a check that holds in all reads but a few.
type suspect struct {
	reads []int
	score float64 // log of what it gains
}

// suspects returns sets of reads that may be misreads: those in which a check fails that holds in all others, those
// whose print is not what the likeliest place of the number says, and those that a frame of the catalogue does not
// have.
func (u *undocumented) suspects() [][]int {
	sets := unchecked(u.s)
	add := func(left []int) {
		if len(left) > 0 && len(left) <= len(u.s.Reads)/leastRight &&
			!slices.ContainsFunc(sets, func(known []int) bool { return slices.Equal(left, known) }) {
			sets = append(sets, left)
		}
	}
	if h := u.likeliest(); h != nil {
		add(h.Wrong)
	}
	for k := range u.frames {
		var left []int
		for r, b := range u.s.Reads {
			if !u.frames[k].Layout.Holds(b) {
				left = append(left, r)
			}
		}
		add(left)
	}
	return sets
}

// leastRight is of how many reads one may be a misread because of its print, or of a frame of the catalogue.
const leastRight = 4

// unchecked returns the sets of reads in which a check fails that holds in all others. A set is worth looking at where
// what the check explains outweighs the misreads.
func unchecked(s *Sample) [][]int {
	n := len(s.Reads)
	if n < leastSuspect {
		return nil
	}
	var sides [2][]suspect
	for side := range sides {
		for _, own := range [2]int{side * (s.Length - 1), 1 + side*(s.Length-3)} {
			sides[side] = append(sides[side], s.nearly(own)...)
		}
		sides[side] = append(best(sides[side]), suspect{})
	}
	var all []suspect
	for _, a := range sides[0] {
		for _, b := range sides[1] {
			for _, c := range []suspect{s.lone(), {}} {
				reads := slices.Compact(slices.Sorted(slices.Values(slices.Concat(a.reads, b.reads, c.reads))))
				if len(reads) > 0 && len(reads) <= n/4 {
					all = append(all, suspect{reads, a.score + b.score + c.score})
				}
			}
		}
	}
	most := mostSets
	if n > manyReads {
		most = fewSets
	}
	var sets [][]int
	for _, c := range best(all) {
		if len(sets) < most {
			sets = append(sets, c.reads)
		}
	}
	return sets
}

// mostSets is how many sets are weighed, fewSets how many of more than manyReads.
const mostSets, fewSets, manyReads = 12, 2, 500

// best sorts suspects, the best first, and drops those of the same reads.
func best(all []suspect) []suspect {
	slices.SortStableFunc(all, func(a, b suspect) int { return cmp.Compare(b.score, a.score) })
	var kept []suspect
	for _, c := range all {
		if !slices.ContainsFunc(kept, func(k suspect) bool { return slices.Equal(k.reads, c.reads) }) {
			kept = append(kept, c)
		}
	}
	return kept
}

// lone returns the reads that have a bit other than nearly all the rest.
func (s *Sample) lone() (c suspect) {
	n := len(s.Reads)
	for i := range s.Length {
		ones := 0
		for w := range s.words {
			ones += bits.OnesCount64(s.column(i, w))
		}
		if few := min(ones, n-ones); few > 0 && few <= max(1, n/20) {
			c.reads = append(c.reads, s.rowsOf(i, i+1, -1, ones == few)...)
		}
	}
	return c
}

// worthALook is by how much misreads can cost more than what the check explains for a set to be looked at: what the
// rest of the bits are without that check can make up for it.
const worthALook = 3

// misreadCost is about what it costs to call a read a misread, beyond what it costs to call it good.
const misreadCost = 6

// mostNearly is how many sets of exceptions are looked at for one parity bit.
const mostNearly = 3

// nearly returns the sets of reads in which a check of the bit at an index fails over some run, but which are so few
// that it says something; and an empty one where it never fails.
func (s *Sample) nearly(own int) (all []suspect) {
	n := len(s.Reads)
	lo, hi := 0, own
	if own < s.Length/2 {
		lo, hi = own+1, s.Length
	}
	for from := lo; from < hi; from++ {
		for to := from + 1; to <= hi; to++ {
			ones := 0
			for w := range s.words {
				ones += bits.OnesCount64(s.sum(from, to, own, w))
			}
			few := min(ones, n-ones)
			if few > n/8 {
				continue
			}
			c := suspect{score: float64(n-few)*math.Ln2 - float64(few)*misreadCost - s.runCost(from, to, own)}
			if c.score <= -worthALook {
				continue
			}
			if few > 0 {
				c.reads = s.rowsOf(from, to, own, ones == few)
			}
			if all = append(all, c); len(all) > 8*mostNearly {
				all = best(all)
				all = all[:min(len(all), mostNearly)]
			}
		}
	}
	all = best(all)
	return all[:min(len(all), mostNearly)]
}

// runCost is about what it costs that the bit at own is a check over a run: little for all and for the half beside it.
func (s *Sample) runCost(from, to, own int) float64 {
	far := to // from the bit
	if own >= s.Length/2 {
		far = from
	}
	middle := far - s.Length/2
	if (from == own+1 || to == own) && (far <= 2 || far >= s.Length-2 || middle >= -1 && middle <= 1) {
		return 2 * math.Ln2
	}
	return 2 * math.Log(float64(s.Length))
}

// rowsOf returns the reads in which the sum of a run and the bit at own, if that is not -1, is 1, or those in which it
// is 0.
func (s *Sample) rowsOf(from, to, own int, ones bool) []int {
	var rows []int
	for r := range s.Reads {
		if s.sum(from, to, own, r/64)>>uint(r%64)&1 == 1 == ones {
			rows = append(rows, r)
		}
	}
	return rows
}
