package evidence

import (
	"math"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// asRead returns how a print fits the whole read as a number, in decimal or in hex, with or without a last byte that is
// full; left says that hex begins with the first bit, so that zeros follow on the last.
func (s *Seen) asRead(b wiegand.Bits, left bool) (f fit) {
	f.slip = s.astray()
	try := func(text []byte) {
		if set := s.stylesOf(text, true); set != 0 {
			f = fit{styles: f.styles | set, weight: 1}
		} else if f.styles == 0 {
			f.slip = s.slip(text)
		}
	}
	if v, ok := b.Uint64(); ok && s.Kind == formats.Printed {
		try(strconv.AppendUint(nil, v, 10))
	}
	if s.Kind != formats.Hex {
		return f
	}
	for _, unit := range [...]int{4, 8} {
		zeros, _ := wiegand.BitsFromUint(0, (unit-b.Len()%unit)%unit)
		whole, err := zeros.Concat(b)
		if left {
			whole, err = b.Concat(zeros)
		}
		if err == nil { // else it is too long for a read
			try(whole.AppendHex(nil))
		}
	}
	return f
}

// wholeReads returns the log probability of prints that are the whole reads, which some readers and panels show; never
// where none is. A card without a read can have any print.
func wholeReads(reads []wiegand.Bits, seen []*Seen) float64 {
	sum := newMix()
	for _, left := range []bool{false, true} {
		fits, some, filled := make([]fit, 0, hopeless), false, false
		for i, b := range reads {
			if i == hopeless && !some {
				break
			}
			one := fit{any: seen[i].floor}
			if b.Len() > 0 {
				one = seen[i].asRead(b, left)
			}
			fits, some, filled = append(fits, one), some || one.styles != 0, filled || b.Len()%8 != 0
		}
		switch {
		case !some || left && !filled: // the same as without left
		case left:
			sum.add(math.Log(readLeft) + fitsLog(fits))
		default:
			sum.add(math.Log1p(-readLeft) + fitsLog(fits))
		}
	}
	return sum.log()
}
