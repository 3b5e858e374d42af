package undocumented

import (
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// Turn is the order in which a number's bits stand in a read.
type Turn uint8

// The orders.
const (
	FirstHigh  Turn = iota // the first bit counts most
	LastHigh               // the last bit counts most
	BytesLast              // the last byte counts most, its first bit most in it
	BitsInByte             // the first byte counts most, its last bit most in it
	turns
)

// Place is where an undocumented layout has its number, and how it is written there.
type Place struct {
	From, To int    // indices of its bits, To not counted
	High     [2]int // of a number in two runs: those of its higher bits; else both 0
	Turn     Turn
	Coding   wiegand.Coding // Binary, BCD or Digits5
	Inverse  bool           // every bit is changed
}

// Width returns how many bits the place has.
func (p Place) Width() int { return p.To - p.From + p.High[1] - p.High[0] }

// inside reports whether all bits of the place are among from..to-1.
func (p Place) inside(from, to int) bool {
	return p.From >= from && p.To <= to && (p.High[1] == 0 || p.High[0] >= from && p.High[1] <= to)
}

// turned puts a number of n bits that was read with its first bit highest into another order, and back.
func turned(v uint64, n int, t Turn) uint64 {
	switch t {
	case LastHigh:
		return bits.Reverse64(v) >> uint(64-n)
	case BytesLast:
		return bits.ReverseBytes64(v) >> uint(64-n)
	case BitsInByte:
		return bits.ReverseBytes64(bits.Reverse64(v)) // each byte reversed in its place
	}
	return v
}

// Number returns the number in a read; ok is false where a digit is none.
func (p Place) Number(w *[4]uint64) (v uint64, ok bool) {
	switch p.Coding {
	case wiegand.BCD:
		return fromBCD(p.straight(w), p.Width())
	case wiegand.Digits5:
		return fromDigits5(p.straight(w), p.Width())
	}
	return p.binary(w), true
}

// binary is Number of a place whose coding is binary.
func (p Place) binary(w *[4]uint64) uint64 { return turned(p.straight(w), p.Width(), p.Turn) }

// straight returns the bits of a place as they are with every bit the right way round.
func (p Place) straight(w *[4]uint64) uint64 {
	v := Value(w, p.From, p.To)
	if p.High[1] > 0 {
		v |= Value(w, p.High[0], p.High[1]) << uint(p.To-p.From)
	}
	if p.Inverse {
		v = ^v & (math.MaxUint64 >> uint(64-p.Width()))
	}
	return v
}

func fromBCD(v uint64, width int) (n uint64, ok bool) {
	for shift := width - 4; shift >= 0; shift -= 4 {
		d := v >> uint(shift) & 15
		if d > 9 {
			return 0, false
		}
		n = n*10 + d
	}
	return n, true
}

// fromDigits5 reads digits of 5 bits, the lowest first and then odd parity (ISO/IEC 7811-2).
func fromDigits5(v uint64, width int) (n uint64, ok bool) {
	for shift := width - 5; shift >= 0; shift -= 5 {
		c := v >> uint(shift) & 31
		d := bits.Reverse64(c>>1) >> 60
		if d > 9 || bits.OnesCount64(c)%2 == 0 {
			return 0, false
		}
		n = n*10 + d
	}
	return n, true
}

// coded returns the bits of a number in a place of n bits, the first one highest. ok is false where it does not fit.
func (p Place) coded(v uint64, n int) (code uint64, ok bool) {
	switch p.Coding {
	case wiegand.BCD:
		for shift := 0; shift < n; shift += 4 {
			code |= v % 10 << uint(shift)
			v /= 10
		}
	case wiegand.Digits5:
		for shift := 0; shift < n; shift += 5 {
			d := v % 10
			c := bits.Reverse64(d) >> 60 << 1
			c |= uint64(bits.OnesCount64(c)+1) & 1
			code |= c << uint(shift)
			v /= 10
		}
	default:
		if bits.Len64(v) > n {
			return 0, false
		}
		code, v = turned(v, n, p.Turn), 0
	}
	if p.Inverse {
		code = ^code & (math.MaxUint64 >> uint(64-n))
	}
	return code, v == 0
}

// Bits returns the indices of the number's bits from the lowest on, for a binary number.
func (p Place) Bits() []int {
	all := make([]int, p.Width())
	for j := range all {
		if all[j] = p.bit(j); all[j] < p.From {
			all[j] += p.High[1] - p.From
		}
	}
	return all
}

// Low returns the index of the number's lowest bit.
func (p Place) Low() int { return p.bit(0) }

// bit returns the index of a bit of the number, counted from the lowest on, in one run of bits.
func (p Place) bit(j int) int {
	switch p.Turn {
	case LastHigh:
		return p.From + j
	case BytesLast:
		return p.From + (j ^ 7)
	case BitsInByte:
		return p.To - 8 - j&^7 + j&7
	}
	return p.To - 1 - j
}

// Max returns the highest number that fits.
func (p Place) Max() uint64 {
	n := 0
	switch p.Coding {
	case wiegand.BCD:
		n = p.Width() / 4
	case wiegand.Digits5:
		n = p.Width() / 5
	default:
		return math.MaxUint64 >> uint(64-p.Width())
	}
	v := uint64(1)
	for range min(n, 19) {
		v *= 10
	}
	return v - 1
}

// prior is the log probability that an undocumented layout with data in from..to-1 has its number there.
func (p Place) prior(from, to int) float64 {
	log := logUsualPlace(p, from, to)
	if p.High[1] > 0 {
		log += math.Log(judgement.NumberSplit) - 2*math.Log(float64(to-from))
	}
	if p.Inverse {
		return log + logTurns[p.order()] + logInverse
	}
	return log + logTurns[p.order()] + logStraight
}

// order is the place's order, or what stands for its coding in logTurns.
func (p Place) order() Turn {
	switch p.Coding {
	case wiegand.BCD:
		return turns
	case wiegand.Digits5:
		return turns + 1
	}
	return p.Turn
}

// logTurns is how usual each order of a number's bits is, and then each coding.
var logTurns = func() (t [turns + 2]float64) {
	for i, share := range [...]float64{
		FirstHigh: inOrder, LastHigh: judgement.OrderReversed, BytesLast: judgement.OrderBytes,
		BitsInByte: judgement.OrderBitBytes, turns: judgement.CodingBCD, turns + 1: judgement.CodingDigits5,
	} {
		t[i] = math.Log(share)
	}
	return t
}()

var logInverse, logStraight = math.Log(judgement.WiredInverse), math.Log(1 - judgement.WiredInverse)

// inOrder is the share of numbers that are binary with the first bit counting most.
const inOrder = 1 - judgement.OrderReversed - judgement.OrderBytes - judgement.OrderBitBytes -
	judgement.CodingBCD - judgement.CodingDigits5

// logUsualPlace is the log of usualPlace.
func logUsualPlace(p Place, from, to int) float64 {
	if p.From == from && p.To == to {
		return math.Log(usualPlace(p, from, to))
	}
	log := logWidths[min(p.Width(), 64)] - logTotals[min(p.To-from, 64)] + logNotAlone
	if p.To == to {
		return log + logAtEnd
	}
	return log + logNotAtEnd - logCounts[to-from]
}

var (
	logNotAlone           = math.Log1p(-judgement.NumberAlone)
	logAtEnd, logNotAtEnd = math.Log(judgement.NumberAtEnd), math.Log1p(-judgement.NumberAtEnd)
)

// usualPlace is the probability of a place whatever its order and coding, in one run.
func usualPlace(p Place, from, to int) float64 {
	usual := (1 - judgement.NumberAlone) * widthWeights[min(p.Width(), 64)] / widthTotals[min(p.To-from, 64)]
	if p.To == to {
		usual *= judgement.NumberAtEnd
	} else {
		usual *= (1 - judgement.NumberAtEnd) / float64(to-from)
	}
	if p.From == from && p.To == to {
		usual += judgement.NumberAlone
	}
	return usual
}

// plainPlace is the share of numbers that are binary with the first bit counting most, not changed.
const plainPlace = inOrder * (1 - judgement.WiredInverse)

// bytesLong and digitsLong report whether a number of so many bits that no print shows is looked for in other orders of
// its bytes, and as decimal digits of 4 bits.
func bytesLong(width int) bool  { return width >= 16 && width%8 == 0 }
func digitsLong(width int) bool { return width >= 16 && width <= 60 && width%4 == 0 }

// lookedFor is the share of numbers of so many bits that are in an order and a coding in which they are looked for if
// no print says where they are.
func lookedFor(width int) float64 {
	share := inOrder
	if width > 1 {
		share += judgement.OrderReversed
	}
	if bytesLong(width) {
		share += judgement.OrderBytes + judgement.OrderBitBytes
	}
	if digitsLong(width) {
		share += judgement.CodingBCD
	}
	return share * (1 - judgement.WiredInverse)
}

// lookedAt has, by the number of data bits, how much of the prior the places have in which a number is looked for where
// no print says where it is. What they stand for is all: the others would add little but time.
var lookedAt = func() (sum [4*64 + 1]float64) {
	var upTo [65]float64 // of numbers of up to so many bits
	for n := 1; n < len(upTo); n++ {
		upTo[n] = upTo[n-1] + widthWeights[n]*lookedFor(n)
	}
	for n := 1; n < len(sum); n++ {
		most := min(n, 64)
		for width := 1; width < most; width++ { // of what is before the number's end
			sum[n] += (1 - judgement.NumberAtEnd) / float64(n) * upTo[width]
		}
		sum[n] = (1 - judgement.NumberAlone) * (sum[n] + judgement.NumberAtEnd*upTo[most]) / widthTotals[most]
		if n <= 64 {
			sum[n] += judgement.NumberAlone * lookedFor(n)
		}
	}
	return sum
}()

// widthWeights is how usual each width of a number is, in bits, and widthTotals[n] the sum up to n.
var widthWeights, widthTotals = func() (w, total [65]float64) {
	sum := 0.0
	for n := range w {
		switch {
		case n >= 10 && n <= 36:
			w[n] = 1
		case n >= 4:
			w[n] = 0.1
		case n > 0:
			w[n] = 0.01
		}
		sum += w[n]
		total[n] = sum
	}
	return w, total
}()

// logWidths and logTotals are the logs of these, and logCounts those of whole numbers.
var logWidths, logTotals, logCounts = func() (w, total [65]float64, counts [wiegand.MaxBits + 1]float64) {
	for n := range w {
		w[n], total[n] = math.Log(widthWeights[n]), math.Log(widthTotals[n])
	}
	for n := range counts {
		counts[n] = math.Log(float64(n))
	}
	return w, total, counts
}()
