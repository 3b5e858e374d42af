package evidence

import (
	"math"
	"math/bits"
	"slices"
)

// leastSuspect is how many reads it takes to look for misreads among them: with fewer, a check that fails once is no check.
const leastSuspect = 10

// suspect is a check that holds in all reads but a few.
type suspect struct {
	reads []int
	score float64 // log of what it gains
}

// suspects returns sets of reads that may be misreads: those in which a check fails that holds in all others. A set is worth looking at
// where what the check explains outweighs the misreads.
func suspects(s *Sample) [][]int {
	n := len(s.Reads)
	if n < leastSuspect {
		return nil
	}
	var sides [2][]int
	for side := range sides {
		var best suspect
		for _, own := range [2]int{side * (s.Length - 1), 1 + side*(s.Length-3)} {
			if c := s.nearly(own); c.score > best.score {
				best = c
			}
		}
		sides[side] = best.reads
	}
	lone := s.lone()
	var all [][]int
	for pick := 1; pick < 8; pick++ {
		var set []int
		for k, part := range [3][]int{sides[0], sides[1], lone} {
			if pick>>k&1 == 1 {
				set = append(set, part...)
			}
		}
		set = slices.Compact(slices.Sorted(slices.Values(set)))
		if len(set) > 0 && len(set) <= n/4 && !slices.ContainsFunc(all, func(o []int) bool { return slices.Equal(o, set) }) {
			all = append(all, set)
		}
	}
	return all
}

// lone returns the reads that alone have a bit other than all the rest.
func (s *Sample) lone() []int {
	n := len(s.Reads)
	var rows []int
	for i := range s.Length {
		ones := 0
		for w := range s.words {
			ones += bits.OnesCount64(s.column(i, w))
		}
		if ones == 1 || ones == n-1 {
			rows = append(rows, s.rowsOf(i, i+1, -1, ones == 1)...)
		}
	}
	return rows
}

// misreadCost is about what it costs to call a read a misread, beyond what it costs to call it good.
const misreadCost = 6

// nearly returns the run whose check with the bit at an index fails in some reads, but in so few that it says most; a score of 0 where
// there is none.
func (s *Sample) nearly(own int) (best suspect) {
	n := len(s.Reads)
	lo, hi := 0, own
	if own < s.Length/2 {
		lo, hi = own+1, s.Length
	}
	for from := lo; from < hi; from++ {
		for to := from + 1; to <= hi; to++ {
			ones := 0
			for w := range s.words {
				ones += bits.OnesCount64(s.sums[to*s.words+w] ^ s.sums[from*s.words+w] ^ s.column(own, w))
			}
			few := min(ones, n-ones)
			if few > n/8 {
				continue
			}
			score := float64(n-few)*math.Ln2 - float64(few)*misreadCost - math.Log(float64(s.Length*s.Length))
			if score <= best.score {
				continue
			}
			if best = (suspect{score: score}); few > 0 {
				best.reads = s.rowsOf(from, to, own, ones == few)
			}
		}
	}
	return best
}

// rowsOf returns the reads in which the sum of a run and the bit at own, if that is not -1, is 1, or those in which it is 0.
func (s *Sample) rowsOf(from, to, own int, ones bool) []int {
	var rows []int
	for r := range s.Reads {
		w := r / 64
		sum := s.sums[to*s.words+w] ^ s.sums[from*s.words+w]
		if own >= 0 {
			sum ^= s.column(own, w)
		}
		if sum>>uint(r%64)&1 == 1 == ones {
			rows = append(rows, r)
		}
	}
	return rows
}
