package typing

import (
	"math"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/wiegand"
)

// AsRead returns how a print fits the whole read as a number, in decimal or in hex, with or without a last byte that is
// full; left says that hex begins with the first bit, so that zeros follow on the last.
func (s *Seen) AsRead(b wiegand.Bits, left bool) (f Fit) {
	f.Slip = s.Astray()
	try := func(text []byte) {
		if set := s.StylesOf(text, true); set != 0 {
			f = Fit{Styles: f.Styles | set, Weight: 1}
		} else if f.Styles == 0 {
			f.Slip = s.Slip(text)
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

// WholeReadsLog returns the log probability of prints that are the whole reads, which some readers and panels show;
// never where none is. A card without a read can have any print.
func WholeReadsLog(reads []wiegand.Bits, seen []*Seen) float64 {
	sum := logp.NewMix()
	for _, left := range []bool{false, true} {
		fits, some, filled := make([]Fit, 0, Hopeless), false, false
		for i, b := range reads {
			if i == Hopeless && !some {
				break
			}
			one := Fit{Any: seen[i].Floor}
			if b.Len() > 0 {
				one = seen[i].AsRead(b, left)
			}
			fits, some, filled = append(fits, one), some || one.Styles != 0, filled || b.Len()%8 != 0
		}
		switch {
		case !some || left && !filled: // the same as without left
		case left:
			sum.Add(math.Log(judgement.ReadLeft) + FitsLog(fits))
		default:
			sum.Add(math.Log1p(-judgement.ReadLeft) + FitsLog(fits))
		}
	}
	return sum.Log()
}
