package learn

import "math/bits"

// basis is a set of independent rows over GF(2), each with a pivot: a bit that no other row has.
//
// The rows are the differences of the reads from the first one. A set of bits S has the same parity in all reads just where
// S has an even number of bits in common with every difference, so that the checks of a format are the null space of this
// matrix, and taking differences is what makes it one of affine relations: even and odd parity alike.
type basis struct {
	rows   []mask
	pivots []int
}

// newBasis eliminates the differences of a sample's reads.
func newBasis(s *sample) *basis {
	b := &basis{}
	for r := 1; r < s.n; r++ {
		b.add(s.words[r].xor(s.words[0]))
	}
	return b
}

// add reduces a row by the others and, where something is left, keeps it.
func (b *basis) add(row mask) {
	for i, p := range b.pivots {
		if row.has(p) {
			row = row.xor(b.rows[i])
		}
	}
	p := firstBit(row)
	if p < 0 {
		return
	}
	for i := range b.rows {
		if b.rows[i].has(p) {
			b.rows[i] = b.rows[i].xor(row)
		}
	}
	b.rows = append(b.rows, row)
	b.pivots = append(b.pivots, p)
}

func firstBit(m mask) int {
	for k, w := range m {
		if w != 0 {
			return 64*k + bits.LeadingZeros64(w)
		}
	}
	return -1
}

// rank returns how many independent rows there are. Among v bits that vary, v minus rank independent relations hold.
func (b *basis) rank() int { return len(b.rows) }

// rankWithin returns the rank of the rows when only some bits of them are looked at.
func (b *basis) rankWithin(m mask) int {
	sub := &basis{}
	for _, row := range b.rows {
		sub.add(row.and(m))
	}
	return sub.rank()
}

// solve finds the bits of from whose sum is the bit p in every read, up to a constant. unique is false where bits could be
// left out or added; ok is false where there are none.
func (b *basis) solve(p int, from mask) (set mask, unique, ok bool) {
	keep := from
	keep.add(p)
	sub := &basis{}
	for _, row := range b.rows {
		sub.addWithin(row.and(keep), p)
	}
	for i := range sub.rows {
		if sub.pivots[i] == p {
			return mask{}, false, false // a difference in p alone
		}
		if sub.rows[i].has(p) {
			set.add(sub.pivots[i])
		}
	}
	return set, len(sub.rows) == from.count(), true
}

// addWithin is add, with the bit p as a pivot only where there is no other bit.
func (b *basis) addWithin(row mask, p int) {
	for i, q := range b.pivots {
		if row.has(q) {
			row = row.xor(b.rows[i])
		}
	}
	rest := row
	rest.drop(p)
	q := firstBit(rest)
	if q < 0 {
		if !row.has(p) {
			return
		}
		q = p
	}
	for i := range b.rows {
		if b.rows[i].has(q) {
			b.rows[i] = b.rows[i].xor(row)
		}
	}
	b.rows = append(b.rows, row)
	b.pivots = append(b.pivots, q)
}
