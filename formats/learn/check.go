package learn

import (
	"cmp"
	"math"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// class is a set of patterns that compute the same bit from the bits that matter. Which of them it is can't be told from
// the sample, and makes no difference to what it predicts.
type class struct {
	key    mask    // the bits of the universe that the check covers
	logw   float64 // log2 of the patterns' prior weights together
	rep    wiegand.Spans
	odd    bool
	best   float64        // log2 of the weight of rep
	family family         // of rep
	paired [kinds]float64 // log2 of the weight of those that come in pairs

	pattern, order int // the likeliest pattern, and the place among the classes of the bit
}

// finder looks for the checks of one sample.
type finder struct {
	s     *sample
	set   *patternSet
	basis *basis
	sums  []vec // the sum of the columns of each pattern
	held  map[int][]holder
	work  int // choices of checks looked at, about
}

func newFinder(s *sample, set *patternSet) *finder {
	f := &finder{s: s, set: set, basis: newBasis(s), sums: make([]vec, len(set.all)), held: map[int][]holder{}}
	prefix := make([]vec, s.length+1) // the sum of the first i columns
	prefix[0] = newVec(s.n)
	for i, c := range s.cols {
		prefix[i+1] = newVec(s.n)
		xorInto(prefix[i+1], prefix[i], c)
	}
	for k := range set.all {
		f.sums[k] = sumOf(&set.all[k], s, prefix)
	}
	return f
}

// sumOf returns the sum of a pattern's columns, by two lookups where the pattern is a run.
func sumOf(p *pattern, s *sample, prefix []vec) vec {
	sum := newVec(s.n)
	if len(p.spans) == 1 && p.spans[0].Step < 2 {
		xorInto(sum, prefix[p.spans[0].From-1], prefix[p.spans[0].To])
		return sum
	}
	for _, i := range p.over.list() {
		xorInto(sum, sum, s.cols[i])
	}
	return sum
}

// classes returns the classes of patterns that hold for the bit at index p in every read, heaviest first. What tells two
// classes apart is which bits of the universe they cover.
func (f *finder) classes(p int, universe mask) []class {
	var found []class
	at := map[mask]int{}
	held := f.holding(p)
	f.work += len(held) / 4 // about what a choice of checks costs
	for _, h := range held {
		over := f.set.all[h.pattern].over
		over.drop(p)
		key := over.and(universe)
		i, ok := at[key]
		if !ok {
			i = len(found)
			at[key] = i
			found = append(found, class{key: key, logw: math.Inf(-1), best: math.Inf(-1), paired: unpaired, order: i})
		}
		c := &found[i]
		c.logw = logAdd(c.logw, h.logw)
		if h.kind < kinds {
			c.paired[h.kind] = logAdd(c.paired[h.kind], h.logw)
		}
		if h.logw > c.best {
			c.best, c.odd, c.family, c.pattern = h.logw, h.odd, f.set.all[h.pattern].family, h.pattern
		}
	}
	found = f.addAny(found, at, p, universe)
	sortClasses(found)
	for i := range found[:min(len(found), maxClasses+2)] { // the others are not written out
		if c := &found[i]; c.rep == nil {
			over := f.set.all[c.pattern].over
			over.drop(p)
			c.rep = over.spansLike(f.set.all[c.pattern].spans)
		}
	}
	return found
}

// sortClasses puts the heaviest first, and of equal ones the one that was found first.
func sortClasses(all []class) {
	slices.SortFunc(all, func(a, b class) int { return cmp.Or(cmp.Compare(b.logw, a.logw), cmp.Compare(a.order, b.order)) })
}

// holder is a pattern whose check holds for some bit in every read.
type holder struct {
	pattern int
	odd     bool
	kind    kind
	logw    float64 // log2 of its prior weight, for that bit
}

// holding returns the patterns that hold for the bit at index p, worked out once: under each hypothesis about the number they are
// put together otherwise, but they are the same.
func (f *finder) holding(p int) []holder {
	if held, ok := f.held[p]; ok {
		return held
	}
	var held []holder
	col := f.s.cols[p]
	for k := range f.set.all {
		pat := &f.set.all[k]
		if pat.over.has(p) && pat.family != familyAll {
			continue
		}
		sum, ok := f.check(k, p, col)
		if !ok {
			continue
		}
		odd := oddPrior(p, f.s.length)
		if sum == 0 {
			odd = 1 - odd
		}
		held = append(held, holder{k, sum == 1, pat.kind(p, f.s.length), log2(familyPrior[pat.family] * pat.share * odd)})
	}
	f.held[p] = held
	return held
}

// check reports whether the ones among pattern k and the bit p are always even or always odd in number, and which.
func (f *finder) check(k, p int, col vec) (sum uint64, ok bool) {
	if f.set.all[k].over.has(p) {
		own := newVec(f.s.n)
		xorInto(own, f.sums[k], col)
		return constantSum(own, col, f.s.n)
	}
	return constantSum(f.sums[k], col, f.s.n)
}

// addAny adds the class of a bit that is a sum of others in no usual pattern. Any set of w bits takes w bits to name.
func (f *finder) addAny(found []class, at map[mask]int, p int, universe mask) []class {
	from := universe.and(f.s.varying)
	from.drop(p)
	for _, e := range []int{0, 1, f.s.length - 2, f.s.length - 1} {
		if e >= 0 {
			from.drop(e) // parity bits are not computed from one another but in the usual patterns
		}
	}
	key, unique, ok := f.basis.solve(p, from)
	if _, there := at[key]; !ok || !unique || there || key.empty() {
		return found
	}
	own := f.s.words[0].and(key).parity()
	if f.s.words[0].has(p) {
		own ^= 1
	}
	w := log2(familyPrior[familyAny]) - float64(from.count())
	return append(found, class{key: key, logw: w, best: w, rep: key.spans(), odd: own == 1, family: familyAny, paired: unpaired, order: len(found)})
}

// spansLike returns the set as spans: as the pattern was written where that is the same set, else run by run.
func (m mask) spansLike(s wiegand.Spans) wiegand.Spans {
	if maskOf(s) == m {
		return s
	}
	return m.spans()
}

// logAdd returns log2(2^a + 2^b).
func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp2(b-a))/math.Ln2
}
