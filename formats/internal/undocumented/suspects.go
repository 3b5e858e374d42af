package undocumented

import (
	"math"
	"math/bits"
	"slices"
	"sort"

	"github.com/cardtell/cardtell/formats/internal/logp"
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
// whose print is not what the likeliest place of the number says, those without digits where the others have them, and
// those that a frame of the catalogue does not have.
func (u *search) suspects() [][]int {
	sets := u.finder.unchecked()
	n := len(u.s.Reads)
	add := func(left []int, most int) {
		if len(left) > 0 && len(left) < n && len(left) <= max(1, most) &&
			!slices.ContainsFunc(sets, func(known []int) bool { return slices.Equal(left, known) }) {
			sets = append(sets, left)
		}
	}
	if h := u.likeliest(); h != nil {
		add(h.Wrong, n/2)                                     // their prints say what they were
		for _, left := range sets[:min(len(sets), fewSets)] { // some misreads show in their prints, others in checks
			add(union(left, h.Wrong), n/leastRight)
		}
	}
	for _, left := range u.spoilt {
		add(left, n/leastRight)
	}
	for k := range u.frames {
		var left []int
		for r, b := range u.s.Reads {
			if !u.frames[k].Layout.Holds(b) {
				left = append(left, r)
			}
		}
		add(left, n/leastRight)
	}
	return sets
}

// leastRight is of how many reads one may be a misread because of a frame of the catalogue, or of a check; of fewer,
// one may.
const leastRight = 4

// unchecked returns the sets of reads in which a check fails that holds in all others. A set is worth looking at where
// what the check explains outweighs the misreads.
func (f *Finder) unchecked() [][]int {
	s := f.s
	n := len(s.Reads)
	if n < leastSuspect {
		return nil
	}
	var sides [2][]suspect
	for side := range sides {
		for _, own := range [2]int{side * (s.Length - 1), 1 + side*(s.Length-3)} {
			sides[side] = append(sides[side], f.nearly(own)...)
		}
		sides[side] = append(best(sides[side]), suspect{})
	}
	var all []suspect
	for _, a := range sides[0] {
		for _, b := range sides[1] {
			for _, c := range []suspect{s.lone(), {}} {
				reads := union(a.reads, b.reads, c.reads)
				if len(reads) > 0 && len(reads) <= n/4 {
					all = append(all, suspect{reads, a.score + b.score + c.score})
				}
			}
		}
	}
	most := mostSets
	if n > ManyReads {
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

// union returns the places that are in any of some sets, in rising order.
func union(sets ...[]int) []int {
	return slices.Compact(slices.Sorted(slices.Values(slices.Concat(sets...))))
}

// mostSets is how many sets are weighed, fewSets how many of more than ManyReads.
const mostSets, fewSets, ManyReads = 12, 2, 500

// best sorts suspects, the best first, and drops those of the same reads.
func best(all []suspect) []suspect {
	sort.SliceStable(all, func(i, j int) bool { return all[i].score > all[j].score })
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
	n, column := len(s.Reads), make([]uint64, s.words)
	for i := range s.Length {
		for w := range column {
			column[w] = s.column(i, w)
		}
		if few, rare := rarer(column, n); few > 0 && few <= max(1, n/20) {
			c.reads = append(c.reads, rowsOf(column, n, rare)...)
		}
	}
	return c
}

// rarer returns on how many of n reads a sum is what it is on fewer of them, and whether that is 1.
func rarer(sum []uint64, n int) (few int, ones bool) {
	count := 0
	for _, w := range sum {
		count += bits.OnesCount64(w)
	}
	return min(count, n-count), count <= n-count
}

// worthALook is by how much misreads can cost more than what the check explains for a set to be looked at: what the
// rest of the bits are without that check can make up for it.
const worthALook = 3

// misreadCost is about what it costs to call a read a misread, beyond what it costs to call it good.
const misreadCost = 6

// mostNearly is how many sets of exceptions are looked at for one parity bit.
const mostNearly = 3

// nearly returns the sets of reads in which a check of the bit at an index fails over some run or comb, but so few that
// it says something; and an empty one where it never fails.
func (f *Finder) nearly(own int) (all []suspect) {
	s := f.s
	n, sum, least, never := len(s.Reads), make([]uint64, s.words), float64(-worthALook), logp.Never
	add := func(cost float64) {
		few, ones := rarer(sum, n)
		c := suspect{score: float64(n-few)*math.Ln2 - float64(few)*misreadCost - cost}
		if few > n/8 || c.score <= least || few == 0 && c.score <= never {
			return
		}
		if few > 0 {
			c.reads = rowsOf(sum, n, ones)
		} else {
			never = c.score
		}
		if all = append(all, c); len(all) > 8*mostNearly {
			if all = best(all); len(all) >= mostNearly {
				all = all[:mostNearly]
				least = all[mostNearly-1].score // what is no better would be left out
			}
		}
	}
	lo, hi := 0, own
	if own < s.Length/2 {
		lo, hi = own+1, s.Length
	}
	for from := lo; from < hi; from++ {
		for to := from + 1; to <= hi; to++ {
			for w := range sum {
				sum[w] = s.sum(from, to, own, w)
			}
			add(s.runCost(from, to, own))
		}
	}
	fr := f.dataBeside(own)
	eachComb(&fr, own, func(c comb) {
		for w := range sum {
			sum[w] = f.combSum(&fr, c, own, w)
		}
		add(combCost)
	})
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
	return 2 * logCounts[s.Length]
}

// combCost is runCost for every so many bits: one of 32 combs, the sum odd or even.
const combCost = 6 * math.Ln2

// rowsOf returns which of n reads have a sum of 1, or of 0.
func rowsOf(sum []uint64, n int, ones bool) []int {
	var rows []int
	for r := range n {
		if sum[r/64]>>uint(r%64)&1 == 1 == ones {
			rows = append(rows, r)
		}
	}
	return rows
}
