package worlds

import "math/rand/v2"

// Facilities and numbers of sites. The shares are judgements.

// facility draws the facility of a site: mostly a small one.
func facility(rng *rand.Rand, width int) uint64 {
	if chance(rng, 0.6) {
		return rng.Uint64N(min(ones(width), 255) + 1)
	}
	return rng.Uint64() & ones(width)
}

func always(v uint64) func() uint64 { return func() uint64 { return v } }

// usualNumbers draws how the numbers of a site lie: mostly boxes of cards, some already handed out.
func usualNumbers(rng *rand.Rand, width int) func() uint64 {
	switch {
	case chance(rng, 0.25):
		return spread(rng, width)
	case chance(rng, 0.15): // two boxes
		a, b := box(rng, width, one[uint64](rng, 50, 100, 200)), box(rng, width, one[uint64](rng, 50, 100, 200))
		return func() uint64 { return one(rng, a, b)() }
	}
	return box(rng, width, one[uint64](rng, 20, 50, 100, 250, 1000))
}

// spread draws numbers from the whole field.
func spread(rng *rand.Rand, width int) func() uint64 {
	return func() uint64 { return rng.Uint64() & ones(width) }
}

// box draws numbers from a box of so many; some boxes begin at the beginning, or at a round number.
func box(rng *rand.Rand, width int, size uint64) func() uint64 {
	last := ones(width)
	size = min(size, last)
	from := rng.Uint64N(last - size + 1)
	switch {
	case chance(rng, 0.25):
		from = 1
	case chance(rng, 0.25):
		from -= from % size
	}
	return func() uint64 { return min(from+rng.Uint64N(size), last) }
}

// counted draws numbers that were counted up in a field too wide for them: from 1, or from a large base on, in one
// order of cards or in two, of which the second was made some time after the first.
func counted(rng *rand.Rand, width int) func() uint64 {
	reach := min(uint64(1)<<uint(between(rng, 5, 22)), ones(width)/200) // how many have been made for one order
	first := uint64(1)
	if chance(rng, 0.5) {
		first = rng.Uint64N(ones(width) / 2)
		if step := one[uint64](rng, 100_000, 1_000_000, 10_000_000); chance(rng, 0.5) {
			first -= first % step // a round one in decimal
		}
	}
	second := first
	if chance(rng, 0.3) {
		second += rng.Uint64N(64 * reach)
	}
	return func() uint64 { return one(rng, first, second) + rng.Uint64N(reach) }
}
