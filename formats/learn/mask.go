package learn

import (
	"math/bits"

	"github.com/cardtell/cardtell/wiegand"
)

// mask is a set of the bits of a read, or the bits of one: bit i, counted from 0, is bit 63-i%64 of word i/64, as in
// [wiegand.Bits.Words].
type mask [4]uint64

func (m mask) has(i int) bool { return m[i>>6]>>(63-uint(i)&63)&1 == 1 }

func (m *mask) add(i int) { m[i>>6] |= 1 << (63 - uint(i)&63) }

func (m *mask) drop(i int) { m[i>>6] &^= 1 << (63 - uint(i)&63) }

func (m mask) and(o mask) mask { return mask{m[0] & o[0], m[1] & o[1], m[2] & o[2], m[3] & o[3]} }

func (m mask) or(o mask) mask { return mask{m[0] | o[0], m[1] | o[1], m[2] | o[2], m[3] | o[3]} }

func (m mask) xor(o mask) mask { return mask{m[0] ^ o[0], m[1] ^ o[1], m[2] ^ o[2], m[3] ^ o[3]} }

func (m mask) without(o mask) mask {
	return mask{m[0] &^ o[0], m[1] &^ o[1], m[2] &^ o[2], m[3] &^ o[3]}
}

func (m mask) empty() bool { return m[0]|m[1]|m[2]|m[3] == 0 }

func (m mask) count() int {
	return bits.OnesCount64(m[0]) + bits.OnesCount64(m[1]) + bits.OnesCount64(m[2]) + bits.OnesCount64(m[3])
}

// parity returns 1 where an odd number of bits is in the set, else 0.
func (m mask) parity() uint64 { return uint64(bits.OnesCount64(m[0]^m[1]^m[2]^m[3])) & 1 }

// list returns the bits of the set in rising order.
func (m mask) list() []int {
	at := make([]int, 0, m.count())
	for k, w := range m {
		for w != 0 {
			i := bits.LeadingZeros64(w)
			at = append(at, 64*k+i)
			w &^= 1 << (63 - uint(i))
		}
	}
	return at
}

// span returns the set of the bits from a to b, both counted from 0 and included.
func span(a, b int) mask {
	var m mask
	for i := a; i <= b; i++ {
		m.add(i)
	}
	return m
}

// spans returns the set as the fewest spans, numbered from 1, in rising order.
func (m mask) spans() wiegand.Spans {
	var s wiegand.Spans
	for _, i := range m.list() {
		if last := len(s) - 1; last >= 0 && s[last].To == i {
			s[last].To = i + 1
		} else {
			s = append(s, wiegand.Span{From: i + 1, To: i + 1})
		}
	}
	return s
}

func maskOf(s wiegand.Spans) mask {
	var m mask
	for bit := range s.Bits() {
		m.add(bit - 1)
	}
	return m
}

// vec is one bit of each read: bit r%64 of word r/64 is that of read r. Bits past the last read are zero.
type vec []uint64

func newVec(n int) vec { return make(vec, (n+63)/64) }

func (v vec) get(r int) uint64 { return v[r>>6] >> (uint(r) & 63) & 1 }

func (v vec) set(r int) { v[r>>6] |= 1 << (uint(r) & 63) }

// xorInto makes dst the sum of a and b over GF(2).
func xorInto(dst, a, b vec) {
	for i := range dst {
		dst[i] = a[i] ^ b[i]
	}
}

// differ returns how many bits of a and b differ.
func differ(a, b vec) int {
	n := 0
	for i := range a {
		n += bits.OnesCount64(a[i] ^ b[i])
	}
	return n
}

// constantSum reports whether a+b is the same in all n reads, and what it is.
func constantSum(a, b vec, n int) (uint64, bool) {
	if n == 0 {
		return 0, true
	}
	want := (a[0] ^ b[0]) & 1
	all := -want // all ones where want is 1
	for i := range a {
		d := a[i] ^ b[i] ^ all
		if i == len(a)-1 && n&63 != 0 {
			d &= 1<<(uint(n)&63) - 1
		}
		if d != 0 {
			return 0, false
		}
	}
	return want, true
}
