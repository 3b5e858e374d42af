package reading

import "slices"

// crowd says where the numbers of a sample lie, so that one that lies by itself is seen fast: it may be another one
// that was typed wrong.
type crowd struct {
	numbers []uint64 // sorted, all different
	some    int      // how many others a number has at least within reach that is not by itself
	reach   uint64
	many    int // how many it has at least within close that is in the midst of them
	close   uint64
}

// crowdOf makes a crowd of sorted numbers. Few numbers say of none that it lies by itself.
func crowdOf(sorted []uint64) (c crowd) {
	if len(sorted) < fewest {
		return c
	}
	c = crowd{numbers: sorted, some: len(sorted)/hardlyAny + 1, many: len(sorted)/10 + 1}
	span := spanOf(sorted, c.some)
	if span >= 1<<63/byItself {
		return crowd{}
	}
	c.reach, c.close = byItself*span, spanOf(sorted, 2*c.many-1)
	return c
}

// spanOf returns how far it is from one of sorted numbers to the next but so many, in the middle of all.
func spanOf(sorted []uint64, many int) uint64 {
	var spans []uint64
	for i, n := range sorted[many:] {
		spans = append(spans, n-sorted[i])
	}
	slices.Sort(spans)
	return spans[len(spans)/2]
}

// amid reports whether a number has as many others near it as most of a crowd have: more than slips would lie together.
func (c *crowd) amid(number uint64) bool { return c.around(number, c.close) >= c.many }

// alone reports whether a number lies by itself.
func (c *crowd) alone(number uint64) bool {
	return len(c.numbers) > 0 && c.around(number, c.reach) < c.some
}

// around returns how many others of a crowd lie so near to a number.
func (c *crowd) around(number, reach uint64) int {
	from, _ := slices.BinarySearch(c.numbers, number-min(number, reach))
	to, _ := slices.BinarySearch(c.numbers, number+min(^number, reach))
	if _, there := slices.BinarySearch(c.numbers, number); there {
		to-- // itself
	}
	return to - from
}

// has reports whether a card's number goes with those of a crowd, which there is.
func (c *crowd) has(s *Seen) bool {
	n, ok := s.Number()
	return ok && len(c.numbers) > 0 && !c.alone(n)
}

// alone reports whether a card's number lies by itself among those of a sample, where nothing else says which numbers
// the reading's cards have.
func (r *Reading) alone(s *Seen) bool {
	n, ok := s.Number()
	return ok && !r.blocks && r.crowd.alone(n)
}
