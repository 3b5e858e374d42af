package wiegand

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
	"strconv"
)

// MaxBits is the longest string of bits that a [Bits] holds. The longest card format in scope has 200 bits; the rest is
// room for the clocking zeros around a recorded stripe.
const MaxBits = 256

// Bits is a string of 0 to 256 bits in the order in which they were sent.
//
// It is a value: comparable with ==, usable as a map key, never changed by its methods, and held without allocation.
// The zero value is the empty string of bits. In Go the first bit on the line has index 0; in everything that people
// read it is bit 1, as the 26-bit standard numbers them.
type Bits struct {
	w words // bits from index n on are zero, so that == compares what matters
	n uint16
}

// BitsFromUint returns v as n bits, most significant first. The error is ErrRange where n is not 0 to 256 or v needs
// more than n bits.
func BitsFromUint(v uint64, n int) (Bits, error) {
	const op = "bits from number"
	if err := checkLen(op, n); err != nil {
		return Bits{}, err
	}
	if need := bits.Len64(v); need > n {
		return Bits{}, fail(op, strconv.FormatUint(v, 10), fmt.Sprintf("needs %d bits, has room for %d", need, n), ErrRange)
	}
	return Bits{w: words{3: v}.shl(MaxBits - n), n: uint16(n)}, nil
}

// BitsFromLeft returns the first n bits of p: bit 1 is the top bit of p[0]. Panels and serial protocols often show a
// read so. The error is ErrLength where p holds fewer than n bits, ErrRange where n is not 0 to 256 or a bit after the
// first n is set: such a read is longer than it says.
func BitsFromLeft(p []byte, n int) (Bits, error) {
	const op = "bits from left-justified bytes"
	if err := checkLen(op, n); err != nil {
		return Bits{}, err
	}
	if len(p) < (n+7)/8 {
		return Bits{}, fail(op, "", fmt.Sprintf("%d bytes hold fewer than %d bits", len(p), n), ErrLength)
	}
	b := Bits{n: uint16(n)}
	for i, c := range p {
		if i < MaxBits/8 {
			b.w[i>>3] |= uint64(c) << (56 - 8*uint(i&7))
		}
		if spare := 8*(i+1) - n; spare > 0 && c&byte(1<<min(spare, 8)-1) != 0 {
			return Bits{}, fail(op, "", fmt.Sprintf("a bit after the first %d is set in byte %d", n, i+1), ErrRange)
		}
	}
	return b, nil
}

// BitsFromRight returns the last n bits of p: bit n is the lowest bit of the last byte, as in a number. The error is
// ErrLength where p holds fewer than n bits, ErrRange where n is not 0 to 256 or a bit before the last n is set.
func BitsFromRight(p []byte, n int) (Bits, error) {
	const op = "bits from right-justified bytes"
	if err := checkLen(op, n); err != nil {
		return Bits{}, err
	}
	if len(p) < (n+7)/8 {
		return Bits{}, fail(op, "", fmt.Sprintf("%d bytes hold fewer than %d bits", len(p), n), ErrLength)
	}
	var w words
	for i := range p {
		c, place := p[len(p)-1-i], 8*i // place: of the byte's lowest bit, counted from the right
		if spare := place + 8 - n; spare > 0 && c>>max(8-spare, 0) != 0 {
			return Bits{}, fail(op, "", fmt.Sprintf("a bit before the last %d is set in byte %d", n, len(p)-i), ErrRange)
		}
		if place < MaxBits {
			w[3-place>>6] |= uint64(c) << (place & 63)
		}
	}
	return Bits{w: w.shl(MaxBits - n), n: uint16(n)}, nil
}

// BitsFromWords returns the first n bits of w, where bit 1 is the top bit of w[0]; the rest of w is ignored. n is held
// to 0 to 256. It is the inverse of [Bits.Words], for code that does its own arithmetic on reads.
func BitsFromWords(w [4]uint64, n int) Bits {
	n = max(0, min(n, MaxBits))
	return Bits{w: words(w).and(head(n)), n: uint16(n)}
}

func checkLen(op string, n int) error {
	if n < 0 || n > MaxBits {
		return fail(op, "", fmt.Sprintf("%d bits; a read has 0 to %d", n, MaxBits), ErrRange)
	}
	return nil
}

// Words returns the bits from the left, zero-filled: bit 1 is the top bit of the first word.
func (b Bits) Words() [4]uint64 { return b.w }

// Len returns the number of bits, 0 to 256.
func (b Bits) Len() int { return int(b.n) }

// Bit returns the bit at index i, counted from 0; 0 where there is no such bit.
func (b Bits) Bit(i int) uint {
	if i < 0 || i >= b.Len() {
		return 0
	}
	return uint(b.w.bit(i))
}

// OnesCount returns how many bits are 1.
func (b Bits) OnesCount() int {
	return bits.OnesCount64(b.w[0]) + bits.OnesCount64(b.w[1]) + bits.OnesCount64(b.w[2]) + bits.OnesCount64(b.w[3])
}

// LeadingZeros returns how many bits from the first on are 0: Len where all are.
func (b Bits) LeadingZeros() int { return min(first(b.w), b.Len()) }

// TrailingZeros returns how many bits up to the last are 0: Len where all are.
func (b Bits) TrailingZeros() int {
	for i := len(b.w) - 1; i >= 0; i-- {
		if b.w[i] != 0 {
			return b.Len() - (64*i + 64 - bits.TrailingZeros64(b.w[i]))
		}
	}
	return b.Len()
}

// Uint64 returns the bits as a number, first bit most significant. ok is false where the number needs more than 64
// bits.
func (b Bits) Uint64() (v uint64, ok bool) {
	r := b.w.shr(MaxBits - b.Len())
	return r[3], r[0]|r[1]|r[2] == 0
}

// WithBit returns b with the bit at index i, counted from 0, set to v's lowest bit; b itself where there is no such
// bit.
func (b Bits) WithBit(i int, v uint) Bits {
	if i >= 0 && i < b.Len() {
		b.w.set(i, uint64(v))
	}
	return b
}

// Append returns b with one more bit, v's lowest, at its end. ok is false, and b unchanged, where b is full.
func (b Bits) Append(v uint) (r Bits, ok bool) {
	if b.n == MaxBits {
		return b, false
	}
	b.w.set(int(b.n), uint64(v))
	b.n++
	return b, true
}

// Insert returns b with v's lowest bit put in before index i (at the end for i = Len). ok is false, and b unchanged,
// where i is not 0 to Len or b is full.
func (b Bits) Insert(i int, v uint) (r Bits, ok bool) {
	if i < 0 || i > b.Len() || b.n == MaxBits {
		return b, false
	}
	if b.n < 64 { // most reads, in one word
		w, m := b.w[0], ^uint64(0)<<(64-i)
		return Bits{w: words{w&m | w&^m>>1 | uint64(v&1)<<(63-i)}, n: b.n + 1}, true
	}
	m := head(i)
	r = Bits{w: b.w.and(m).or(b.w.without(m).shr(1)), n: b.n + 1}
	r.w.set(i, uint64(v))
	return r, true
}

// Delete returns b without the bit at index i. ok is false, and b unchanged, where there is no such bit.
func (b Bits) Delete(i int) (r Bits, ok bool) {
	if i < 0 || i >= b.Len() {
		return b, false
	}
	if b.n <= 64 {
		w, m := b.w[0], ^uint64(0)<<(64-i)
		return Bits{w: words{w&m | w<<1&^m}, n: b.n - 1}, true
	}
	m := head(i)
	return Bits{w: b.w.and(m).or(b.w.shl(1).without(m)), n: b.n - 1}, true
}

// Slice returns the bits at indices from to to-1, counted from 0. Both are held to the ends of b.
func (b Bits) Slice(from, to int) Bits {
	from = max(0, min(from, b.Len()))
	to = max(from, min(to, b.Len()))
	if b.n <= 64 {
		return Bits{w: words{b.w[0] << from &^ (^uint64(0) >> (to - from))}, n: uint16(to - from)}
	}
	return Bits{w: b.w.shl(from).and(head(to - from)), n: uint16(to - from)}
}

// Concat returns the bits of b followed by those of c. The error is ErrRange where that is more than 256.
func (b Bits) Concat(c Bits) (Bits, error) {
	n := b.Len() + c.Len()
	if n > MaxBits {
		return Bits{}, fail("concat", "", fmt.Sprintf("%d and %d bits are more than %d", b.Len(), c.Len(), MaxBits), ErrRange)
	}
	if n <= 64 {
		return Bits{w: words{b.w[0] | c.w[0]>>b.n}, n: uint16(n)}, nil
	}
	return Bits{w: b.w.or(c.w.shr(b.Len())), n: uint16(n)}, nil
}

// Invert returns b with every bit changed: what a reader with its two data lines swapped sends.
func (b Bits) Invert() Bits {
	if b.n <= 64 { // most reads, in one word
		return Bits{w: words{b.w[0] ^ ^uint64(0)<<(64-b.n)}, n: b.n}
	}
	return Bits{w: b.w.xor(head(b.Len())), n: b.n}
}

// Reverse returns the bits last first.
func (b Bits) Reverse() Bits {
	if b.n <= 64 { // most reads, in one word
		return Bits{w: words{bits.Reverse64(b.w[0]) << (64 - b.n)}, n: b.n}
	}
	return Bits{w: b.w.reverse().shl(MaxBits - b.Len()), n: b.n}
}

// ReverseBytes returns the bytes of b last first, each byte as it is: the other byte order. The error is ErrLength
// where b is not whole bytes.
func (b Bits) ReverseBytes() (Bits, error) {
	if b.n%8 != 0 {
		return Bits{}, fail("reverse bytes", "", fmt.Sprintf("%d bits are not whole bytes", b.n), ErrLength)
	}
	r := words{
		bits.ReverseBytes64(b.w[3]), bits.ReverseBytes64(b.w[2]),
		bits.ReverseBytes64(b.w[1]), bits.ReverseBytes64(b.w[0]),
	}
	return Bits{w: r.shl(MaxBits - b.Len()), n: b.n}, nil
}

// Compare orders bits by length and then as numbers, for sorting: -1, 0 or +1.
func (b Bits) Compare(c Bits) int {
	if r := cmp.Compare(b.n, c.n); r != 0 {
		return r
	}
	return slices.Compare(b.w[:], c.w[:])
}
