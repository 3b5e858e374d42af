package typing

import (
	"math"
	"math/bits"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Added returns the constant that makes numbers what is printed on all of n cards but a few, given by how much each
// print is more, where the card's number is known; ok is false where there is none, or it is 0, or most numbers are not
// known.
func Added(n int, more func(i int) (c int64, ok bool)) (c int64, ok bool) {
	unknown := 0
	for first, tried := 0, 0; first < n && tried < 3 && 2*unknown < n; first++ {
		if c, ok = more(first); !ok {
			unknown++
			continue
		}
		if tried++; c != 0 && added(c, n, more) {
			return c, true
		}
	}
	return 0, false
}

// added reports whether a constant is that of most prints, and of all but a few of those whose number is known.
func added(c int64, n int, more func(i int) (c int64, ok bool)) bool {
	right, wrong, unknown := 0, 0, 0
	for i := 0; i < n && wrong <= Allowed(n) && 2*unknown < n; i++ {
		switch d, ok := more(i); {
		case !ok:
			unknown++
		case d == c:
			right++
		default:
			wrong++
		}
	}
	return wrong <= Allowed(n) && right > 1 && 2*right > n
}

// PrintedMore returns what is printed less a number; ok is false where that is no single number in decimal.
func PrintedMore(v uint64, s *Seen) (c int64, ok bool) {
	if s.Kind != formats.Printed || s.Pair || len(s.Digits) > 18 || v >= 1<<62 {
		return 0, false
	}
	return int64(Number(s.Digits)) - int64(v), true
}

// AddedFit is how a print fits a number with a constant added, written in any style.
func (s *Seen) AddedFit(v uint64, c int64) Fit {
	more, ok := PrintedMore(v, s)
	switch {
	case ok && more == c:
		return Fit{Styles: s.NumberStyles(), Weight: 1}
	case !ok || int64(v)+c < 0:
		return Fit{Slip: s.Astray()}
	}
	var buf [24]byte
	return Fit{Slip: s.Slip(strconv.AppendInt(buf[:0], int64(v)+c, 10))}
}

// LeastAdded is how many prints it takes to see that a constant is added: of two that makes little sense.
const LeastAdded = 3

// AddedLog is the log prior of a constant: any whole number, each length in bits getting rarer; or as often a round
// one, as where a badge has more digits in front: such a number and zeros behind it, each count of them alike.
func AddedLog(c int64) float64 {
	size := uint64(max(c, -c))
	log := wholeLog(size) - math.Ln2
	for n, round := 1, size; n <= mostZeros && round%10 == 0; n++ {
		round /= 10
		log = logp.Add(log, wholeLog(round)-math.Log(mostZeros)-math.Ln2)
	}
	return log
}

// mostZeros is how many zeros there are at most behind a round number.
const mostZeros = 9

// wholeLog is the log prior of a whole number, positive or negative.
func wholeLog(size uint64) float64 {
	n := float64(bits.Len64(size))
	return -2*math.Log(n+1) - n*math.Ln2
}
