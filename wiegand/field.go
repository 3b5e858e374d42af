package wiegand

import (
	"fmt"
	"math"
	"math/big"
	"math/bits"
	"strconv"
	"unicode/utf8"
)

// field is a compiled [Field]: the runs of bits that make it up, each short enough for one machine word.
type field struct {
	runs   []run
	coding Coding
	lsb    bool // binary: the last bit counts most; digits and signs: the last bit of each does
	width  int  // bits of the value: binary bits, or 4 for each digit or sign
	chars  int  // digits or signs; 0 for binary

	charBits uint8 // bits of the read that a digit or sign takes; 0 for binary
	plain    bool  // one run, most significant bit first: the usual case, and the fast one
	constant bool  // the value never varies
	value0   Bits  // what it is then
}

// run is a piece of a field: width bits, at most 64, from the index at. Runs of 5-bit characters are at most 60 bits,
// so that no character is split.
type run struct {
	at, width uint8
}

func newField(f Field, at []int) field {
	n := f.Coding.charBits()
	r := field{coding: f.Coding, lsb: f.Order == LSBFirst || n == 5, width: len(at), charBits: uint8(n)}
	limit := 64
	if n > 0 {
		r.chars = len(at) / n
		r.width = 4 * r.chars
		limit = 64 / n * n
	}
	for i, bit := range at {
		last := len(r.runs) - 1
		if i > 0 && bit == at[i-1]+1 && int(r.runs[last].width) < limit {
			r.runs[last].width++
		} else {
			r.runs = append(r.runs, run{at: uint8(bit), width: 1})
		}
	}
	r.plain = n == 0 && !r.lsb && len(r.runs) == 1
	return r
}

// window returns the bits of a run as a number.
func (w *words) window(r run) uint64 {
	k, s := r.at>>6, r.at&63
	x := w[k&3] << s
	if s+r.width > 64 {
		x |= w[(k+1)&3] >> (64 - s)
	}
	return x >> (64 - r.width)
}

// put writes v's low bits into a run.
func (w *words) put(r run, v uint64) {
	k, s := r.at>>6, r.at&63
	m := ^uint64(0) << (64 - r.width)
	v <<= 64 - r.width
	w[k&3] = w[k&3]&^(m>>s) | v>>s
	if s+r.width > 64 {
		w[(k+1)&3] = w[(k+1)&3]&^(m<<(64-s)) | v<<(64-s)
	}
}

// maxDigits64 is how many decimal digits always fit 64 bits.
const maxDigits64 = 19

// maxDigits256 is how many decimal digits 2^256-1 has: longer numbers fit no field.
const maxDigits256 = 78

// wide reports whether the field's values can pass 64 bits.
func (f *field) wide() bool {
	if f.chars > 0 {
		return f.chars > maxDigits64
	}
	return f.width > 64
}

// uint64 returns the field's value. ok is false for a wide field, and for one with a sign that is no digit.
func (f *field) uint64(w *words) (v uint64, ok bool) {
	if f.wide() {
		return 0, false
	}
	if f.chars > 0 {
		return f.decimal(w)
	}
	for _, r := range f.runs {
		v = v<<(r.width&63) | w.window(r) // a run of 64 is alone, and v is 0 then
	}
	if f.lsb {
		v = bits.Reverse64(v) >> (64 - uint(f.width))
	}
	return v, true
}

// decimal returns the number that the field's digits spell.
func (f *field) decimal(w *words) (v uint64, ok bool) {
	var over uint8
	n := f.charBits
	for _, r := range f.runs {
		x := w.window(r) << (64 - r.width)
		for left := r.width; left > 0; left -= n {
			d := uint8(x >> 60)
			if f.lsb {
				d = bits.Reverse8(d) >> 4
			}
			over |= d + 6 // 16 and up where d is over 9
			v = v*10 + uint64(d)
			x <<= n & 63
		}
	}
	return v, over < 16
}

// value returns the field's bits in order of significance: binary as it is, digits and signs 4 bits each.
func (f *field) value(w *words) Bits {
	var b Bits
	if f.chars > 0 {
		for i := range f.chars {
			b.w.put(run{at: uint8(4 * i), width: 4}, uint64(f.char(w, i)))
		}
		b.n = uint16(f.width)
		return b
	}
	for _, r := range f.runs {
		x := words{w.window(r) << (64 - r.width)}
		b.w = b.w.or(x.shr(int(b.n)))
		b.n += uint16(r.width)
	}
	if f.lsb {
		return b.Reverse()
	}
	return b
}

// setValue is the inverse of value. b has the field's width.
func (f *field) setValue(w *words, b Bits) {
	if f.chars > 0 {
		for i := range f.chars {
			f.setChar(w, i, uint8(b.w.window(run{at: uint8(4 * i), width: 4})))
		}
		return
	}
	if f.lsb {
		b = b.Reverse()
	}
	for _, r := range f.runs {
		w.put(r, b.w.window(run{at: 0, width: r.width}))
		b.w = b.w.shl(int(r.width))
	}
}

// charAt returns the run of the i-th character, of which the first four bits are its value.
func (f *field) charAt(i int) run {
	at := i * int(f.charBits)
	for _, r := range f.runs {
		if at < int(r.width) {
			return run{at: r.at + uint8(at), width: 4}
		}
		at -= int(r.width)
	}
	return run{width: 4} // not reached: i is less than f.chars
}

func (f *field) char(w *words, i int) uint8 {
	v := uint8(w.window(f.charAt(i)))
	if f.lsb {
		v = bits.Reverse8(v) >> 4
	}
	return v
}

func (f *field) setChar(w *words, i int, v uint8) {
	if f.lsb {
		v = bits.Reverse8(v) >> 4
	}
	w.put(f.charAt(i), uint64(v))
}

// appendText appends the value as people write it: binary in decimal without leading zeros, digits and signs at their
// full width.
func (f *field) appendText(dst []byte, w *words) []byte {
	if f.chars > 0 {
		for i := range f.chars {
			dst = append(dst, '0'+f.char(w, i))
		}
		return dst
	}
	if v, ok := f.uint64(w); ok {
		return strconv.AppendUint(dst, v, 10)
	}
	return f.value(w).appendDecimal(dst)
}

// max64 returns the largest value of a binary field that is not wide.
func (f *field) max64() uint64 { return math.MaxUint64 >> (64 - uint(f.width)) }

// parseText returns the field's value bits from the text that appendText writes; leading zeros may be there or not. The
// error is the reason, with ErrSyntax or ErrRange as its kind.
func (f *field) parseText(s string) (b Bits, reason string, kind error) {
	if s == "" {
		return Bits{}, "no digits", ErrSyntax
	}
	for i := range len(s) {
		top := byte('9')
		if f.coding == Signs5 {
			top = '?' // the last of the 16 signs
		}
		if s[i] < '0' || s[i] > top {
			r, _ := utf8.DecodeRuneInString(s[i:]) // all before it are of one byte
			return Bits{}, fmt.Sprintf("%q is no digit; write digits", r), ErrSyntax
		}
	}
	if f.chars > 0 {
		return f.parseChars(s)
	}
	for len(s) > 1 && s[0] == '0' {
		s = s[1:]
	}
	if !f.wide() {
		v, err := strconv.ParseUint(s, 10, f.width)
		if err != nil {
			return Bits{}, f.tooBig(), ErrRange
		}
		b, _ = BitsFromUint(v, f.width) // it fits, as just seen
		return b, "", nil
	}
	if len(s) > maxDigits256 {
		return Bits{}, f.tooBig(), ErrRange
	}
	v, _ := new(big.Int).SetString(s, 10)
	if v.BitLen() > f.width {
		return Bits{}, f.tooBig(), ErrRange
	}
	b, _ = BitsFromRight(v.FillBytes(make([]byte, (f.width+7)/8)), f.width) // it fits, as just seen
	return b, "", nil
}

// tooBig is what is wrong with a value over the field's range.
func (f *field) tooBig() string {
	if f.chars > 0 {
		return fmt.Sprintf("does not fit %d digits: 0 to %s", f.chars, f.maxText())
	}
	return fmt.Sprintf("does not fit %d bits: 0 to %s", f.width, f.maxText())
}

func (f *field) parseChars(s string) (b Bits, reason string, kind error) {
	if f.coding == Signs5 && len(s) != f.chars {
		return Bits{}, fmt.Sprintf("%d signs where there are %d", len(s), f.chars), ErrRange
	}
	for len(s) > f.chars && s[0] == '0' {
		s = s[1:]
	}
	if len(s) > f.chars {
		return Bits{}, f.tooBig(), ErrRange
	}
	b = Bits{n: uint16(f.width)}
	for i := range len(s) {
		b.w.put(run{at: uint8(4 * (f.chars - len(s) + i)), width: 4}, uint64(s[i]-'0'))
	}
	return b, "", nil
}

func (f *field) maxText() string {
	if f.chars > 0 {
		b := make([]byte, f.chars)
		for i := range b {
			b[i] = '9'
		}
		return string(b)
	}
	if !f.wide() {
		return strconv.FormatUint(f.max64(), 10)
	}
	one := big.NewInt(1)
	return new(big.Int).Sub(new(big.Int).Lsh(one, uint(f.width)), one).String()
}
