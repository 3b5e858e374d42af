package wiegand

import (
	"fmt"
	"math/bits"
)

// Decode takes a read apart. A failed check is no error: it is in the record. The error is ErrLength where the read
// does not have the layout's length.
func (l *Layout) Decode(b Bits) (r Record, err error) {
	err = l.DecodeInto(&r, &b)
	return r, err
}

// DecodeInto is [Layout.Decode] into a record that the caller has, for loops over many reads: copying a read into a
// call and a record out of it costs as much as taking a 26-bit read apart. Where there is an error the record is left
// as it was.
func (l *Layout) DecodeInto(r *Record, b *Bits) error {
	if l == nil || r == nil || b == nil || b.n != l.quick {
		return l.decodeSlow(r, b)
	}
	w := b.w[0]
	r.bits, r.failed = *b, 0
	if r.layout != l { // seldom, and a pointer costs more to write than to look at
		r.layout = l
	}
	odd := l.masks[0].odd(w) | l.masks[1].odd(w)
	if l.few > 2 {
		odd |= l.masks[2].odd(w) | l.masks[3].odd(w)
	}
	if uint64(odd&1)|(w&l.fixedMask[0]^l.base[0]) != 0 {
		r.failed = l.failedShort(w)
	}
	return nil
}

func (l *Layout) decodeSlow(r *Record, b *Bits) error {
	l = l.orZero()
	switch {
	case r == nil || b == nil:
		return fail("decode", "", "no record or no read; both pointers must point to something", ErrLength)
	case b.n != l.length:
		return fail("decode", b.Hex(), fmt.Sprintf("%d bits where the layout has %d", b.n, l.length), ErrLength)
	}
	r.layout, r.bits, r.failed = l, *b, l.failed(&b.w)
	return nil
}

// Uint64s is the quickest way to take many reads apart, and the inverse of [Layout.Encode]: dst[i] becomes the value of
// the field at index i, as [Record.Uint64] gives it, and failed are the checks that do not hold; where the digits of a
// field are not all 0 to 9 its value is 0. The error is ErrLength where the read does not have the layout's length or
// dst not one place for each field, ErrRange where the layout has a field of signs or one whose values can pass 64
// bits.
func (l *Layout) Uint64s(dst []uint64, b *Bits) (failed CheckSet, err error) {
	if l == nil || b == nil || b.n != l.quick || len(dst) != int(l.simple) {
		return l.uint64sSlow(dst, b)
	}
	w := b.w[0]
	for i := range dst {
		p := &l.pieces[i&(MaxFields-1)]
		dst[i] = w >> (p.down & 63) & p.mask
	}
	odd := l.masks[0].odd(w) | l.masks[1].odd(w)
	if l.few > 2 {
		odd |= l.masks[2].odd(w) | l.masks[3].odd(w)
	}
	if uint64(odd&1)|(w&l.fixedMask[0]^l.base[0]) != 0 {
		return l.failedShort(w), nil
	}
	return 0, nil
}

func (l *Layout) uint64sSlow(dst []uint64, b *Bits) (failed CheckSet, err error) {
	var r Record
	if err := l.DecodeInto(&r, b); err != nil {
		return 0, err
	}
	if l = r.layout; len(dst) != len(l.fields) {
		return 0, fail("decode", "", fmt.Sprintf("%d places for %d fields", len(dst), len(l.fields)), ErrLength)
	}
	for i := range dst {
		if f := &l.fields[i]; f.wide() || f.coding == Signs5 {
			return 0, fail(r.fieldOp(i), "", "is not always a number of 64 bits; take it from a record as text", ErrRange)
		}
		v, ok := r.Uint64(i)
		if dst[i] = v; !ok {
			dst[i] = 0
		}
	}
	return r.failed, nil
}

// odd is odd in number where the relation fails.
func (m *mask) odd(w uint64) int { return bits.OnesCount64(w&m.bits ^ m.want) }

// failedShort tells which checks of a short layout fail.
func (l *Layout) failedShort(w uint64) (set CheckSet) {
	for i := range l.masks {
		set |= l.masks[i].fails & -CheckSet(l.masks[i].odd(w)&1)
	}
	if w&l.fixedMask[0] != l.base[0] {
		set |= l.failedFixed(&words{w})
	}
	return set
}

// Holds reports whether a read has the layout's length and every check holds: what Decode and OK would say, for trying
// many reads of which few are good.
func (l *Layout) Holds(b Bits) bool {
	if l != nil && b.n == l.quick {
		w := b.w[0]
		odd := l.masks[0].odd(w) | l.masks[1].odd(w) | l.masks[2].odd(w) | l.masks[3].odd(w)
		return uint64(odd&1)|(w&l.fixedMask[0]^l.base[0]) == 0
	}
	return l.holdsSlow(&b)
}

func (l *Layout) holdsSlow(b *Bits) bool {
	if l = l.orZero(); b.n != l.length {
		return false
	}
	w := &b.w
	for i := range w { // fixed bits first: of all checks they rule out the most
		if w[i]&l.fixedMask[i] != l.base[i] {
			return false
		}
	}
	for i := range l.single {
		p := &l.single[i]
		if onesParity(w[0]&p.mask[0]^w[1]&p.mask[1]^w[2]&p.mask[2]^w[3]&p.mask[3]) != p.want {
			return false
		}
	}
	for i := range l.shapes {
		if l.shapes[i].failed(w) != 0 {
			return false
		}
	}
	return len(l.digits) == 0 || l.digitsHold(w)
}

// failed evaluates every check. It holds the read in four numbers, and builds none of the masks anew: copied about as
// arrays they would be read in other pieces than they were just written in, for which the processor has to wait.
func (l *Layout) failed(w *words) (set CheckSet) {
	if l.short {
		return l.failedShort(w[0])
	}
	w0, w1, w2, w3 := w[0], w[1], w[2], w[3]
	for i := range l.single {
		p := &l.single[i]
		x := w0&p.mask[0] ^ w1&p.mask[1] ^ w2&p.mask[2] ^ w3&p.mask[3]
		set |= CheckSet(onesParity(x)^p.want) << (p.check & 63)
	}
	for i := range l.shapes {
		set |= l.shapes[i].failed(w)
	}
	f, v := &l.fixedMask, &l.base
	if (w0&f[0]^v[0])|(w1&f[1]^v[1])|(w2&f[2]^v[2])|(w3&f[3]^v[3]) != 0 {
		set |= l.failedFixed(w)
	}
	if len(l.digits) > 0 && !l.digitsHold(w) {
		set |= l.failedDigits(w)
	}
	return set
}

// failedFixed tells which fixed patterns are not there. Like failedDigits it runs only when one is known to fail.
func (l *Layout) failedFixed(w *words) CheckSet {
	var set CheckSet
	for i := range l.fixed {
		if f := &l.fixed[i]; w.and(f.mask) != f.value {
			set |= 1 << (f.check & 63)
		}
	}
	return set
}

// over returns the bits of value 8 of the digits over 9 in word i, given the words beside it, whose bits cross over.
func (l *Layout) over(i int, left, w, right uint64) uint64 {
	after := w<<1 | right>>63 | w<<2 | right>>62
	before := w>>1 | left<<63 | w>>2 | left<<62
	return w & (after&l.digitsMSB[i] | before&l.digitsLSB[i])
}

func (l *Layout) digitsHold(w *words) bool {
	w0, w1, w2, w3 := w[0], w[1], w[2], w[3]
	return l.over(0, 0, w0, w1)|l.over(1, w0, w1, w2)|l.over(2, w1, w2, w3)|l.over(3, w2, w3, 0) == 0
}

func (l *Layout) failedDigits(w *words) (set CheckSet) {
	over := words{l.over(0, 0, w[0], w[1]), l.over(1, w[0], w[1], w[2]), l.over(2, w[1], w[2], w[3]),
		l.over(3, w[2], w[3], 0)}
	for i := range l.digits {
		if d := &l.digits[i]; over.and(d.eights) != (words{}) {
			set |= 1 << (d.check & 63)
		}
	}
	return set
}

// failed evaluates all relations of one shape at once.
func (s *shape) failed(w *words) (set CheckSet) {
	w0, w1, w2, w3 := w[0], w[1], w[2], w[3]
	a0, a1, a2, a3 := s.want[0], s.want[1], s.want[2], s.want[3]
	for _, k := range s.offsets {
		k &= 63
		t := 63 - k // two shifts, of 1 and t, since one of 64 would need a test
		a0 ^= w0<<k | w1>>1>>t
		a1 ^= w1<<k | w2>>1>>t
		a2 ^= w2<<k | w3>>1>>t
		a3 ^= w3 << k
	}
	a0, a1, a2, a3 = a0&s.at[0], a1&s.at[1], a2&s.at[2], a3&s.at[3]
	if a0|a1|a2|a3 == 0 {
		return 0
	}
	for bad := (words{a0, a1, a2, a3}); bad != (words{}); { // seldom: only for reads whose checks fail
		i := first(bad)
		bad.flip(i)
		set |= 1 << (s.checks[i] & 63)
	}
	return set
}
