package wiegand

import "math/bits"

// words is a string of 256 bits held from the left: bit i, counted from 0, is bit 63-i%64 of words[i/64].
// Everything that moves bits about is here, so that the rest of the package never shifts across words.
type words [4]uint64

// bit returns bit i, 0 <= i < 256.
func (w words) bit(i int) uint64 { return w[uint(i)>>6&3] >> (63 - uint(i)&63) & 1 }

// flip inverts bit i, 0 <= i < 256.
func (w *words) flip(i int) { w[uint(i)>>6&3] ^= 1 << (63 - uint(i)&63) }

// set makes bit i, 0 <= i < 256, equal to v's lowest bit.
func (w *words) set(i int, v uint64) {
	if w.bit(i) != v&1 {
		w.flip(i)
	}
}

// shl moves every bit k places to the left (towards index 0), 0 <= k; zeros come in from the right.
func (w words) shl(k int) words {
	var r words
	n, s := k>>6, uint(k)&63
	for i := 0; i+n < len(w); i++ {
		r[i] = w[i+n] << s
		if s != 0 && i+n+1 < len(w) {
			r[i] |= w[i+n+1] >> (64 - s)
		}
	}
	return r
}

// shr moves every bit k places to the right, 0 <= k; zeros come in from the left.
func (w words) shr(k int) words {
	var r words
	n, s := k>>6, uint(k)&63
	for i := len(w) - 1; i-n >= 0; i-- {
		r[i] = w[i-n] >> s
		if s != 0 && i-n-1 >= 0 {
			r[i] |= w[i-n-1] << (64 - s)
		}
	}
	return r
}

func (w words) and(v words) words {
	return words{w[0] & v[0], w[1] & v[1], w[2] & v[2], w[3] & v[3]}
}

func (w words) without(v words) words {
	return words{w[0] &^ v[0], w[1] &^ v[1], w[2] &^ v[2], w[3] &^ v[3]}
}

func (w words) or(v words) words {
	return words{w[0] | v[0], w[1] | v[1], w[2] | v[2], w[3] | v[3]}
}

func (w words) xor(v words) words {
	return words{w[0] ^ v[0], w[1] ^ v[1], w[2] ^ v[2], w[3] ^ v[3]}
}

// parity returns 1 where an odd number of bits is set, else 0. One population count serves all four words, since
// the parity of a xor is the xor of the parities.
func (w words) parity() uint64 { return onesParity(w[0] ^ w[1] ^ w[2] ^ w[3]) }

// reverse returns the 256 bits last first.
func (w words) reverse() words {
	return words{bits.Reverse64(w[3]), bits.Reverse64(w[2]), bits.Reverse64(w[1]), bits.Reverse64(w[0])}
}

// head returns a mask of the first n bits, 0 <= n <= 256.
func head(n int) words {
	var m words
	for i := range m {
		switch {
		case n >= 64:
			m[i] = ^uint64(0)
		case n > 0:
			m[i] = ^uint64(0) << (64 - uint(n))
		}
		n -= 64
	}
	return m
}

// onesParity returns 1 where an odd number of bits of x is set, else 0.
func onesParity(x uint64) uint64 { return uint64(bits.OnesCount64(x)) & 1 }

// first returns the index of the first bit that is set, or 256.
func first(w words) int {
	for i, v := range w {
		if v != 0 {
			return 64*i + bits.LeadingZeros64(v)
		}
	}
	return MaxBits
}
