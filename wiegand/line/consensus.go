package line

import "github.com/cardtell/cardtell/wiegand"

// Agreement is what repeated reads of one card say together.
type Agreement struct {
	Bits  wiegand.Bits
	Total int // reads given
	Same  int // reads equal to Bits
	Short int // reads that Bits becomes when it loses one bit
	Long  int // reads that become Bits when they lose one bit
	Flips int // reads of the same length that differ

	// Weak holds the bits, counted from 0, on which the reads of this length do not all agree.
	Weak []int
	// Sure tells whether more than half of all the reads, and at least two, are equal to Bits. Where it is false, do not
	// trust Bits: present the card again.
	Sure bool
}

// Bad returns how many reads were not what they should have been.
func (a Agreement) Bad() int { return a.Total - a.Same }

// Consensus returns the read that repeated reads of one and the same card agree on: of the most frequent length (the
// longer one where two are equally frequent, since a bit is lost more easily than gained), each bit as the majority has
// it. Where a bit is tied, the first read of that length decides, and the result is not Sure. No reads give the zero
// Agreement.
func Consensus(reads []wiegand.Bits) Agreement {
	var lengths [wiegand.MaxBits + 1]int
	best := 0
	for _, r := range reads {
		lengths[r.Len()]++
	}
	for n, count := range lengths {
		if count > 0 && count >= lengths[best] {
			best = n
		}
	}
	a := Agreement{Total: len(reads)}
	var ones [wiegand.MaxBits]int
	for _, r := range reads {
		if r.Len() != best {
			continue
		}
		if a.Bits.Len() == 0 {
			a.Bits = r
		}
		for i := range best {
			ones[i] += int(r.Bit(i))
		}
	}
	for i, n := range ones[:best] {
		if 2*n != lengths[best] {
			a.Bits = a.Bits.WithBit(i, boolBit(2*n > lengths[best]))
		}
		if n != 0 && n != lengths[best] {
			a.Weak = append(a.Weak, i)
		}
	}
	a.count(reads)
	a.Sure = a.Same >= 2 && 2*a.Same > a.Total
	return a
}

func boolBit(b bool) uint {
	if b {
		return 1
	}
	return 0
}

// count compares each read with the agreed one.
func (a *Agreement) count(reads []wiegand.Bits) {
	for _, r := range reads {
		switch {
		case r == a.Bits:
			a.Same++
		case r.Len() == a.Bits.Len():
			a.Flips++
		case lostOne(a.Bits, r):
			a.Short++
		case lostOne(r, a.Bits):
			a.Long++
		}
	}
}

// lostOne tells whether b is a without one of its bits.
func lostOne(a, b wiegand.Bits) bool {
	if a.Len() != b.Len()+1 {
		return false
	}
	for i := range a.Len() {
		if r, ok := a.Delete(i); ok && r == b {
			return true
		}
	}
	return false
}
