package reads

import (
	"fmt"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// longestKey is how many bits a key of a keypad has at most when it comes as bits, one by one: 4, 6 and 8 are
// common practice, no source. No card format is that short.
const longestKey = 8

// IsKey tells whether a read is short enough to be a key of a keypad, or several keys in one frame, as it came or as
// the reader's pace has it: a key whose pulses bounce has more bits, and a card of which one wire is dead has fewer.
func IsKey(r line.Read) bool {
	n := r.Bits.Len()
	if r.Mended.Len() > 0 {
		n = r.Mended.Len()
	}
	f, frame := formats.Keys(r.Bits)
	frame = frame && f.Likely() && r.Verdict() == line.Healthy // a piece of a card can look like keys
	return r.Coding == line.TwoWire && (n <= longestKey || frame)
}

// isBusKey tells whether a card's read is short enough to be a key: some readers pass on those of their keypad as bits.
func isBusKey(p osdp.Packet) bool {
	c, err := p.Card()
	return p.Code == osdp.RAW && err == nil && c.Bits.Len() > 0 && c.Bits.Len() <= longestKey
}

// key describes a key, or several in one frame: a part of somebody's PIN.
func (e *Entry) key(b wiegand.Bits, showPins bool) {
	e.KeyCount = 1
	e.Length = b.Len()
	f, frame := formats.Keys(b)
	e.what = "short as a keypad key"
	if frame {
		e.KeyCount, e.what = len(f.Keys), fmt.Sprintf("%d keys of %d bits in one frame", len(f.Keys), f.Each)
	}
	if !showPins {
		e.what += ", and hidden; --show-pins shows it"
		return
	}
	e.Bits, e.Came = b.String(), b
	switch e.Keys = keyOf(b); {
	case frame:
		e.Keys = f.Keys
		e.what += ": " + f.Keys
	case e.Keys != "":
		e.what = "keypad key " + e.Keys
	}
}

// keyOf returns the key that a short read stands for, "" where it stands for none: 4 bits of value, or 8 of which the
// first four are the complement of the others, or 6 with an even parity bit before and an odd one behind (common
// practice; the first two are in general drivers, the last has no source).
func keyOf(b wiegand.Bits) string {
	v, _ := b.Uint64()
	switch b.Len() {
	case 4:
	case 6:
		d := v >> 1 & 15
		even, odd := v>>5^d>>3^d>>2, v^d>>1^d
		if even&1 != 0 || odd&1 != 1 {
			return ""
		}
		v = d
	case 8:
		if v>>4 != ^v&15 {
			return ""
		}
		v &= 15
	default:
		return ""
	}
	return answer.Key(v)
}
