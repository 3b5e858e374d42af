package relate

import (
	"fmt"
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// frame is the parity of a format of up to 64 bits, ready for use: which bits are data, and what the others are.
type frame struct {
	length, width int // bits of a read, and of its data
	runs          []frameRun
	fixed, value  uint64 // bits that never change, and what they are; the last bit of a read is bit 0
	parities      []frameParity
}

// frameRun is a run of data bits: the same in read and data, but shifted.
type frameRun struct {
	mask uint64 // in the data
	left int    // how far to move it to the left for the read
}

type frameParity struct {
	mask   uint64 // all bits that count
	target uint64 // the one that is computed
	odd    uint64
}

// newFrame returns the parity of a format. The error says why it has none that can be taken off: it is longer than 64
// bits, has checks other than parity, or bits whose rule is not known.
func newFrame(l *wiegand.Layout) (*frame, error) {
	spec := l.Spec()
	n := spec.Length
	if n > 64 {
		return nil, fmt.Errorf("it has %d bits; rules work on up to 64", n)
	}
	f := &frame{length: n}
	at := func(bit int) uint64 { return 1 << uint(n-bit) }
	data := ^uint64(0) >> uint(64-n)
	for _, c := range l.Checks() {
		if c.Kind != wiegand.Even && c.Kind != wiegand.Odd && c.Kind != wiegand.Fixed {
			return nil, fmt.Errorf("it has a check that is not parity")
		}
	}
	for _, field := range spec.Fields {
		if field.Coding != wiegand.Binary || field.Name == wiegand.FieldUnknown {
			return nil, fmt.Errorf("its field %s is not a plain number", field.Name)
		}
	}
	for _, c := range spec.Checks {
		if c.Repeat > 1 {
			return nil, fmt.Errorf("it has rows of parity")
		}
		if c.Kind == wiegand.Fixed {
			i := 0
			for bit := range c.Bits.Bits() {
				f.fixed |= at(bit)
				f.value |= uint64(c.Value.Bit(i)) << uint(n-bit)
				i++
			}
			continue
		}
		p := frameParity{target: at(c.Bit), mask: at(c.Bit)}
		for bit := range c.Over.Bits() {
			p.mask |= at(bit)
		}
		if c.Kind == wiegand.Odd {
			p.odd = 1
		}
		f.parities = append(f.parities, p)
		data &^= p.target
	}
	f.runsOf(data &^ f.fixed)
	if len(f.parities) == 0 || f.width == 0 {
		return nil, fmt.Errorf("it has no parity")
	}
	return f, nil
}

// runsOf splits the data bits of a read into runs.
func (f *frame) runsOf(data uint64) {
	f.width = bits.OnesCount64(data)
	done := 0
	for data != 0 {
		shift := bits.TrailingZeros64(data)
		width := bits.TrailingZeros64(^(data >> uint(shift)))
		low := ^uint64(0) >> uint(64-width)
		f.runs = append(f.runs, frameRun{mask: low << uint(done), left: shift - done})
		data &^= low << uint(shift)
		done += width
	}
}

// strip returns the data bits of a read. ok is false where a check fails.
func (f *frame) strip(v uint64) (data uint64, ok bool) {
	if !fitsWidth(v, f.length) || v&f.fixed != f.value {
		return 0, false
	}
	for _, p := range f.parities {
		if uint64(bits.OnesCount64(v&p.mask))&1 != p.odd {
			return 0, false
		}
	}
	for _, r := range f.runs {
		data |= v >> uint(r.left) & r.mask
	}
	return data, true
}

// add returns the read with these data bits. ok is false where they are too many.
func (f *frame) add(data uint64) (v uint64, ok bool) {
	if !fitsWidth(data, f.width) {
		return 0, false
	}
	v = f.value
	for _, r := range f.runs {
		v |= data & r.mask << uint(r.left)
	}
	for _, p := range f.parities {
		if uint64(bits.OnesCount64(v&p.mask))&1 != p.odd {
			v |= p.target
		}
	}
	return v, true
}

// frames returns the formats of a catalogue whose parity can be taken off, in the catalogue's order.
func frames(c formats.Catalogue) (all []namedFrame) {
	for f := range c.All() {
		if len(c.Find(f.ID)) > 1 || !(f.Weight > 0) {
			continue // an id for several lengths does not say which
		}
		if fr, err := newFrame(f.Layout); err == nil {
			all = append(all, namedFrame{f.ID, 3 + math.Log2(1+100/f.Weight), fr})
		}
	}
	return all
}
