package evidence

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/wiegand"
)

// Two bits of one read that are wrong, lost or too many: all that the read can have been is too much to weigh, so that
// it is what keeps the checks and goes with the good reads.

// widestPairs is how many bits a format has at most for pairs of them to be tried.
const widestPairs = 64

// mostMended is how many reads one with two bits too few or too many can have been for them to be weighed: where
// numbers lie anyhow over a wide field there are thousands, none of which is likely.
const mostMended = 300

// twoWrong calls use with every read that two faults turn into a bad one, and the chance that they do; d is how many
// bits that one has more than a good one.
func (w *Work) twoWrong(b wiegand.Bits, d int, use func(wiegand.Record, Repair, float64)) {
	n := w.model.format.Layout.Len()
	v, ok := b.Uint64()
	if !w.anyGood() || !ok || n > widestPairs {
		return
	}
	t := twoFaults{w: w, n: n}
	t.mask, t.value = w.common()
	fault, chance := FlippedBit, misread.Flipped(2, float64(n))
	switch d {
	case 0:
		t.flips(v)
	case -2:
		t.losses(v)
		fault, chance = LostBit, judgement.MisreadTwo*judgement.MisreadLost*2/float64(n*(n-1))
	case 2:
		t.extras(v)
		fault, chance = ExtraBit, judgement.MisreadTwo*judgement.MisreadExtra*2/float64((n+2)*(n+1)*4)
	}
	if d != 0 && len(t.found) > mostMended {
		return // nothing can be told of the card
	}
	for _, f := range t.found {
		use(f.record, Repair{Fault: fault, Bit: f.bit + 1}, chance*f.ways)
	}
}

// twoFaults gathers the reads that two faults turn into one. Reads are numbers of n bits here.
type twoFaults struct {
	w           *Work
	n           int
	mask, value uint64 // bits that are the same in all good reads
	found       []found
}

// found is one of them.
type found struct {
	read   uint64
	record wiegand.Record
	bit    int // index of the first fault
	ways   float64
}

// add counts one way in which the read can have been another one.
func (t *twoFaults) add(v uint64, bit int) {
	if v&t.mask != t.value {
		return
	}
	if i := slices.IndexFunc(t.found, func(f found) bool { return f.read == v }); i >= 0 {
		t.found[i].ways++
		return
	}
	good, err := wiegand.BitsFromUint(v, t.n)
	l := t.w.model.format.Layout
	if err != nil || !l.Holds(good) {
		return
	}
	f := found{read: v, bit: bit, ways: 1}
	if l.DecodeInto(&f.record, &good) == nil && t.w.withOthers(&f.record) {
		t.found = append(t.found, f)
	}
}

func (t *twoFaults) flips(v uint64) {
	for i := range t.n {
		for j := i + 1; j < t.n; j++ {
			t.add(v^1<<(t.n-1-i)^1<<(t.n-1-j), i)
		}
	}
}

func (t *twoFaults) losses(v uint64) {
	for i := 0; i < t.n && len(t.found) <= mostMended; i++ {
		for j := i + 1; j < t.n; j++ {
			for x := range uint64(4) {
				t.add(inserted(inserted(v, t.n-1-j, x&1), t.n-1-i, x>>1), i)
			}
		}
	}
}

func (t *twoFaults) extras(v uint64) {
	for i := 0; i < t.n+2 && len(t.found) <= mostMended; i++ {
		for j := i + 1; j < t.n+2; j++ {
			t.add(deleted(deleted(v, t.n+1-i), t.n+1-j), i)
		}
	}
}

// inserted returns a number with a bit before its lowest so many.
func inserted(v uint64, low int, bit uint64) uint64 {
	below := uint64(1)<<low - 1
	return v&^below<<1 | bit<<low | v&below
}

// deleted returns a number without the bit before its lowest so many.
func deleted(v uint64, low int) uint64 {
	below := uint64(1)<<low - 1
	return v>>1&^below | v&below
}

// common returns the bits of a read that are the same wherever it goes with the good ones, whose values are in seen.
func (w *Work) common() (mask, value uint64) {
	spec := w.model.format.Layout.Spec()
	for f := range w.model.fields {
		field, seen := &spec.Fields[f], w.seen[f].Sorted
		if len(seen) == 0 || field.Coding != wiegand.Binary || field.Order != wiegand.MSBFirst {
			continue
		}
		same := uint64(0)
		switch w.model.fields[f].role {
		case siteRole:
			same = ^uint64(0)
			for _, v := range seen {
				same &^= v ^ seen[0]
			}
		case numberRole:
			low, high := about(seen[0], seen[len(seen)-1])
			same = ^uint64(0) << bits.Len64(low^high)
		}
		at := field.Bits.Len()
		for bit := range field.Bits.Bits() {
			if at--; at < 64 && same>>at&1 == 1 {
				mask |= 1 << (spec.Length - bit)
				value |= seen[0] >> at & 1 << (spec.Length - bit)
			}
		}
	}
	return mask, value
}

// withOthers reports whether a read goes with the good ones: a value that they have where there are few, a number about
// theirs.
func (w *Work) withOthers(r *wiegand.Record) bool {
	for f := range w.model.fields {
		seen := w.seen[f].Sorted
		role := w.model.fields[f].role
		if role != siteRole && role != numberRole {
			continue
		}
		v, ok := r.Uint64(f)
		if !ok || len(seen) == 0 {
			return false
		}
		low, high := about(seen[0], seen[len(seen)-1])
		if _, found := slices.BinarySearch(seen, v); !found && (role == siteRole || v < low || v > high) {
			return false
		}
	}
	return true
}

// about widens a range of numbers to where the next one may well be.
func about(low, high uint64) (uint64, uint64) {
	margin := 16 + min(high-low, math.MaxUint64/4)*2
	return low - min(low, margin), high + min(math.MaxUint64-high, margin)
}

// anyGood reports whether a card is known.
func (w *Work) anyGood() bool {
	for i := range w.cards {
		if w.cards[i].Format != nil {
			return true
		}
	}
	return false
}
