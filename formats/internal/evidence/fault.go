package evidence

import (
	"fmt"
	"math/bits"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// Fault is what went wrong between card and read.
type Fault uint8

// The faults. The first four are of the wiring and hold for every read of a site; the last three happen to single
// reads.
const (
	None            Fault = iota
	SwappedLines          // the two data lines are swapped: every bit is inverted
	Reversed              // the last bit comes first
	SwappedReversed       // both
	LostBit               // a bit is missing
	ExtraBit              // there is a bit too many
	FlippedBit            // a bit is wrong
)

var faultNames = []string{"none", "swapped-lines", "reversed", "swapped-reversed", "lost-bit", "extra-bit",
	"flipped-bit"}

// String returns the name used in JSON: none, swapped-lines, reversed, swapped-reversed, lost-bit, extra-bit or
// flipped-bit.
func (f Fault) String() string {
	if int(f) < len(faultNames) {
		return faultNames[f]
	}
	return fmt.Sprintf("fault %d", f)
}

// Words returns the fault in words for people, "" for None.
func (f Fault) Words() string {
	return []string{
		None:            "",
		SwappedLines:    "the two data lines are swapped (every bit inverted)",
		Reversed:        "the bits come last first",
		SwappedReversed: "the data lines are swapped and the bits come last first",
		LostBit:         "a bit was lost",
		ExtraBit:        "there is a bit too many",
		FlippedBit:      "a bit was misread",
	}[min(f, FlippedBit)]
}

// Wiring reports whether the fault is one of the wiring.
func (f Fault) Wiring() bool { return f <= SwappedReversed }

// Undo returns the read as the card sent it, for a fault of the wiring. Each is its own inverse.
func (f Fault) Undo(b wiegand.Bits) wiegand.Bits {
	switch f {
	case SwappedLines:
		return b.Invert()
	case Reversed:
		return b.Reverse()
	case SwappedReversed:
		return b.Invert().Reverse()
	}
	return b
}

// pattern is the bits of a format that are the same on every card, and its checks that are digits: a quick look at them
// spares trying repairs one by one. So do the first of its parities that lie within the first 64 bits.
type pattern struct {
	mask, value [4]uint64
	digits      wiegand.CheckSet
	parities    [2]parity
}

// parity is bits of the first 64 of which so many are 1 as want has, or more or fewer by an even number: any read's
// where it has none.
type parity struct{ bits, want uint64 }

// holds reports whether a read that begins with these bits can be good: quicker than asking its layout, which has the
// last word.
func (p *pattern) holds(head uint64) bool {
	odd := bits.OnesCount64(head&p.parities[0].bits^p.parities[0].want) |
		bits.OnesCount64(head&p.parities[1].bits^p.parities[1].want)
	return odd&1 == 0 && (head^p.value[0])&p.mask[0] == 0
}

// paritiesOf returns the first parities that a look at the first 64 bits decides.
func paritiesOf(l *wiegand.Layout) (all [2]parity) {
	n := 0
	blank := l.Blank()
	good := blank.Bits().Words()[0]
	for c, check := range l.Checks() {
		if n == len(all) || check.Kind != wiegand.Even && check.Kind != wiegand.Odd {
			continue
		}
		p, further := parity{}, false
		for i := range l.Len() {
			if l.Touching(i).Has(c) {
				p.bits |= 1 << 63 >> i
				further = further || i >= 64
			}
		}
		if p.want = good & p.bits; !further {
			all[n] = p
			n++
		}
	}
	return all
}

func patternOf(l *wiegand.Layout) pattern {
	var all wiegand.Spans
	var digits wiegand.CheckSet
	for i, c := range l.Checks() {
		switch c.Kind {
		case wiegand.Fixed:
			all = append(all, c.Bits...)
		case wiegand.Digit:
			digits |= 1 << uint(i)
		}
	}
	zeros := wiegand.BitsFromWords([4]uint64{}, l.Len())
	marks := zeros
	for bit := range all.Bits() {
		marks = marks.WithBit(bit-1, 1)
	}
	blank := l.Blank()
	return pattern{mask: marks.Words(), value: blank.Bits().Words(), digits: digits, parities: paritiesOf(l)}
}

// possible reports whether some repair of a fault can put the fixed bits right: a flipped bit changes one of them at
// most; a bit that is taken out leaves each where it was or moves it up by one place.
func (p *pattern) possible(fault Fault, b wiegand.Bits) bool {
	if p.mask == ([4]uint64{}) {
		return true
	}
	w := b.Words()
	wrong := 0
	for i := range w {
		bad := (w[i] ^ p.value[i]) & p.mask[i]
		if fault == ExtraBit {
			next := w[i] << 1
			if i+1 < len(w) {
				next |= w[i+1] >> 63
			}
			if bad&(next^p.value[i]) != 0 {
				return false
			}
		}
		wrong += bits.OnesCount64(bad)
	}
	return fault != FlippedBit || wrong <= 1
}

// flips reports whether a read in which these checks fail can be a good one with the bit at index i wrong: then all
// that depend on that bit fail, but for digits, which may be digits still, and no others.
func (p *pattern) flips(l *wiegand.Layout, i int, failed wiegand.CheckSet) bool {
	return (failed^l.Touching(i))&^p.digits == 0 && failed&^l.Touching(i) == 0
}

// Repair says what has to be done to one read to make it good: nothing for None.
type Repair struct {
	Fault Fault
	// the bit, numbered from 1, that was flipped, is missing (in the good read), or is too many (in the bad one)
	Bit int
	// that the card shown is the one that was read, or printed on, if the rest of the reading is right; 1 where nothing
	// was repaired, no print seems typed wrong, and it neither lies apart from the others nor is unchecked on a line
	// that misreads
	Chance float64
	// how many good reads it can have been before, of which this is the likeliest; 0 where nothing was repaired
	Ways int
}

// repairs calls use with every read of the format's length whose checks all hold and from which the given fault makes
// b, and with the chance that it does. Reads that come out the same in several ways are given once, with the first bit
// that does it.
func (m *formatModel) repairs(fault Fault, b wiegand.Bits, use func(r wiegand.Record, rep Repair, chance float64)) {
	l := m.format.Layout
	words := b.Words()
	head, next := words[0], words[1]>>63
	var r wiegand.Record
	found := func(good *wiegand.Bits, bit int, chance float64) {
		if l.DecodeInto(&r, good) == nil {
			use(r, Repair{Fault: fault, Bit: bit}, chance)
		}
	}
	switch {
	case fault == FlippedBit && b.Len() == l.Len():
		if l.DecodeInto(&r, &b) != nil {
			return
		}
		for i, failed := 0, r.Failed(); i < b.Len(); i++ {
			if m.fixed.flips(l, i, failed) {
				if good := b.WithBit(i, 1^b.Bit(i)); l.Holds(good) {
					found(&good, i+1, 1/float64(b.Len()))
				}
			}
		}
	case fault == LostBit && b.Len()+1 == l.Len():
		for i := range l.Len() {
			for v := range uint(2) {
				if i > 0 && bitOf(&words, i-1) == v {
					continue // the same read as with the bit put in one place earlier
				}
				before := ^uint64(0) << max(0, 64-i)
				if !m.fixed.holds(head&before | head&^before>>1 | uint64(v)<<63>>i) {
					continue
				}
				if good, _ := b.Insert(i, v); l.Holds(good) {
					// any bit of the run can be the one that was lost
					found(&good, i+1, placed(i, 1+sameRun(&words, b.Len(), i, v), l.Len()))
				}
			}
		}
	case fault == ExtraBit && b.Len() == l.Len()+1:
		for i := range b.Len() {
			v := bitOf(&words, i)
			if i > 0 && v == bitOf(&words, i-1) {
				continue // the same read as without the bit before
			}
			before := ^uint64(0) << max(0, 64-i)
			if !m.fixed.holds(head&before | (head<<1|next)&^before) {
				continue
			}
			if good, _ := b.Delete(i); l.Holds(good) {
				found(&good, i+1, placed(i, sameRun(&words, b.Len(), i, v), b.Len())/2) // anywhere in the run, and 0 or 1
			}
		}
	}
}

// placed is the chance that a bit which is lost, or too many, is one of a run from an index on, of n places.
func placed(from, run, n int) float64 {
	p := (1 - 2*judgement.MisreadAtEnd) * float64(run) / float64(n)
	if from == 0 {
		p += judgement.MisreadAtEnd
	}
	if from+run == n {
		p += judgement.MisreadAtEnd
	}
	return p
}

// sameRun returns how many bits of value v there are in a row from index i on, in a read of so many bits.
func sameRun(w *[4]uint64, length, i int, v uint) int {
	n := 0
	for i+n < length && bitOf(w, i+n) == v {
		n++
	}
	return n
}

// bitOf returns the bit at an index below 256: what Bit says, for loops in which copying the read would cost more.
func bitOf(w *[4]uint64, i int) uint { return uint(w[i>>6&3]>>(63-i&63)) & 1 }
