package reading

import "slices"

// crowd says where the numbers of a sample lie, so that one that lies by itself is seen fast: it may be another one
// that was typed wrong.
type crowd struct {
	numbers []uint64 // sorted, all different
	some    int      // how many others a number has at least within reach that is not by itself
	reach   uint64
}

// crowdOf makes a crowd of sorted numbers. Few numbers say of none that it lies by itself.
func crowdOf(sorted []uint64) (c crowd) {
	if len(sorted) < fewest {
		return c
	}
	c = crowd{numbers: sorted, some: len(sorted)/hardlyAny + 1}
	var spans []uint64 // of so many others
	for i, n := range sorted[c.some:] {
		spans = append(spans, n-sorted[i])
	}
	slices.Sort(spans)
	if span := spans[len(spans)/2]; span < 1<<63/byItself {
		c.reach = byItself * span
		return c
	}
	return crowd{}
}

// amid reports whether a number lies between four in five of a crowd's.
func (c *crowd) amid(number uint64) bool {
	n := len(c.numbers)
	return n > 0 && number >= c.numbers[n/10] && number <= c.numbers[n-1-n/10]
}

// alone reports whether a number lies by itself.
func (c *crowd) alone(number uint64) bool {
	if len(c.numbers) == 0 {
		return false
	}
	from, _ := slices.BinarySearch(c.numbers, number-min(number, c.reach))
	to, _ := slices.BinarySearch(c.numbers, number+min(^number, c.reach))
	n := to - from
	if _, there := slices.BinarySearch(c.numbers, number); there {
		n-- // itself
	}
	return n < c.some
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
