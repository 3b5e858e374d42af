package relate

import (
	"fmt"
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// frame is the parity of a format of up to 64 bits: which bits are data, and what the others are.
type frame struct {
	layout        *wiegand.Layout
	length, width int    // bits of a read, and of its data
	data          uint64 // which bits of a read are data; its last bit is bit 0
}

// newFrame returns the parity of a format. The error says why it has none that can be taken off: it is longer than 64
// bits, has checks other than parity, or bits whose rule is not known.
func newFrame(l *wiegand.Layout) (*frame, error) {
	spec := l.Spec()
	if spec.Length > 64 {
		return nil, fmt.Errorf("it has %d bits; rules work on up to 64", spec.Length)
	}
	f := &frame{layout: l, length: spec.Length, data: math.MaxUint64 >> uint(64-spec.Length)}
	parities := 0
	for _, c := range l.Checks() {
		switch c.Kind {
		case wiegand.Fixed:
			for bit := range c.Bits.Bits() {
				f.data &^= 1 << uint(f.length-bit)
			}
		case wiegand.Even, wiegand.Odd:
			f.data &^= 1 << uint(f.length-c.Bit)
			parities++
		default:
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
	}
	f.width = bits.OnesCount64(f.data)
	if parities == 0 || f.width == 0 {
		return nil, fmt.Errorf("it has no parity")
	}
	return f, nil
}

// strip returns the data bits of a read. ok is false where a check fails.
func (f *frame) strip(v uint64) (data uint64, ok bool) {
	read, err := wiegand.BitsFromUint(v, f.length)
	if err != nil || !f.layout.Holds(read) {
		return 0, false
	}
	for i, m := 0, f.data; m != 0; i, m = i+1, m&(m-1) {
		data |= v >> uint(bits.TrailingZeros64(m)) & 1 << uint(i)
	}
	return data, true
}

// add returns the read with these data bits. ok is false where they are too many.
func (f *frame) add(data uint64) (v uint64, ok bool) {
	if !fitsWidth(data, f.width) {
		return 0, false
	}
	for m := f.data; m != 0; m &= m - 1 {
		v |= data & 1 << uint(bits.TrailingZeros64(m))
		data >>= 1
	}
	read, _ := wiegand.BitsFromUint(v, f.length) // it fits, and has the layout's length
	card, _ := f.layout.Decode(read)
	return card.Encode().Uint64()
}

// frames returns the steps that take the parity of a catalogue's formats off, in the catalogue's order.
func frames(c formats.Catalogue) (all []costed) {
	for f := range c.All() {
		if len(c.Find(f.ID)) > 1 || !(f.Weight > 0) {
			continue // an id for several lengths does not say which
		}
		if fr, err := newFrame(f.Layout); err == nil {
			step := Step{Op: StripParity, Format: f.ID, frame: fr}
			all = append(all, costed{step, 3 + math.Log2(1+100/f.Weight)})
		}
	}
	return all
}
