package formats

import (
	"math"

	"github.com/cardtell/cardtell/wiegand"
)

// KeyFrame is a read that is several keys of a keypad, sent together as one frame.
type KeyFrame struct {
	Keys   string  // as they were pressed: 0 to 9, * and #
	Each   int     // bits of each: 4, or 8 of which four are the others inverted
	Chance float64 // how often bits at random are such keys
}

// keySigns are what keys are, by their code: common practice, no source, and as public general-purpose drivers have
// it for 8 bits.
const keySigns = "0123456789*#"

// fewestKeys is how many keys make a frame: one alone comes in a read of 4 or of 8 bits.
const fewestKeys = 2

// Keys takes a read for keys of 4 or 8 bits in one frame: digits, perhaps with * first, and * or # last. ok is false
// for every other read. Of keys of 4 bits a card can look the same: Chance says how often, and [KeyFrame.Likely]
// whether that leaves a doubt.
func Keys(b wiegand.Bits) (f KeyFrame, ok bool) {
	if b.Len()%8 == 0 && b.Len() >= 8*fewestKeys {
		for _, inverted := range []bool{false, true} {
			if keys := keysOf(b, 8, inverted); keys != "" {
				return KeyFrame{keys, 8, 2 * keyChance(keys) * math.Pow(1.0/16, float64(len(keys)))}, true // 2: either half
			}
		}
	}
	if b.Len()%4 == 0 && b.Len() > 8 {
		if keys := keysOf(b, 4, false); keys != "" {
			return KeyFrame{keys, 4, keyChance(keys)}, true
		}
	}
	return f, false
}

// ShortestCard is how many bits a card's read has at the least; magnetic stripes, whose bits make characters, are no
// part of that.
const ShortestCard = 24

// Likely reports whether a frame is keys rather than a card: cards look so less than once in a thousand, or are never
// that short.
func (f KeyFrame) Likely() bool {
	return f.Chance < 0.001 || f.Each*len(f.Keys) < ShortestCard
}

// keysOf returns the keys of so many bits each, "" where something else is among them. Of 8 bits the first four are
// the last four inverted, or the other way round if inverted is true.
func keysOf(b wiegand.Bits, each int, inverted bool) string {
	var buf [wiegand.MaxBits / 4]byte
	n := b.Len() / each
	for i := range n {
		code, _ := b.Slice(i*each, (i+1)*each).Uint64()
		if each == 8 && code>>4^code&15 != 15 {
			return ""
		}
		if inverted {
			code >>= 4
		}
		code &= 15
		if int(code) >= len(keySigns) || code > 9 && i < n-1 && (i > 0 || code != 10) {
			return ""
		}
		buf[i] = keySigns[code]
	}
	return string(buf[:n])
}

func keyChance(keys string) float64 {
	p := 1.0
	for i := range len(keys) {
		if keys[i] <= '9' && keys[i] >= '0' {
			p *= 10.0 / 16
		} else {
			p *= 2.0 / 16
		}
	}
	return p
}
