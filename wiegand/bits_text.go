package wiegand

import (
	"encoding/hex"
	"fmt"
	"math/bits"
	"strconv"
	"strings"
	"unicode/utf8"
)

const parseBitsOp = "parse bits"

// ParseBits reads a string of bits in any of these spellings:
//
//	1100 1011      the bits, first one first; spaces, _ and . between digits are ignored
//	bits:11001011  the same
//	26:32D687E     26 bits, their value in hex, leading zeros implied
//	left:26:CB5A1F80  26 bits, in hex from the left in whole bytes; the spare bits must be 0
//
// Hex may be in either case. The error is ErrSyntax where the text is none of these, ErrRange where it has more than
// 256 bits or the hex does not fit the length. Empty text is the empty Bits.
func ParseBits(s string) (Bits, error) {
	if rest, ok := strings.CutPrefix(s, "left:"); ok {
		return parseCounted(s, rest, true)
	}
	if rest, ok := strings.CutPrefix(s, "bits:"); ok {
		return parseBinary(s, rest)
	}
	if strings.Contains(s, ":") {
		return parseCounted(s, s, false)
	}
	return parseBinary(s, s)
}

// MustParseBits is [ParseBits] for texts known to be right, such as constants; it panics where they are not.
func MustParseBits(s string) Bits {
	b, err := ParseBits(s)
	if err != nil {
		panic(err)
	}
	return b
}

func parseBinary(whole, s string) (Bits, error) {
	var b Bits
	for i, r := range s {
		switch r {
		case '0', '1':
			var ok bool
			if b, ok = b.Append(uint(r - '0')); !ok {
				return Bits{}, fail(parseBitsOp, whole, fmt.Sprintf("more than %d bits; no card format is that long", MaxBits),
					ErrRange)
			}
		case ' ', '_', '.':
		default:
			at := len(whole) - len(s) + i + 1
			return Bits{}, fail(parseBitsOp, whole,
				fmt.Sprintf("character %d is %q; write 0s and 1s, or LENGTH:HEX such as 26:32D687E", at, r), ErrSyntax)
		}
	}
	return b, nil
}

// parseCounted reads N:HEX, right-aligned or, where left, left-justified. whole is what error messages quote.
func parseCounted(whole, s string, left bool) (Bits, error) {
	count, digits, ok := strings.Cut(s, ":")
	if !ok {
		return Bits{}, fail(parseBitsOp, whole, "no length; write left:LENGTH:HEX such as left:26:CB5A1F80", ErrSyntax)
	}
	n, err := strconv.ParseUint(count, 10, 32)
	if err != nil || count == "" {
		return Bits{}, fail(parseBitsOp, whole,
			fmt.Sprintf("the length %q before the colon is no number; write LENGTH:HEX such as 26:32D687E", cutShort(count)),
			ErrSyntax)
	}
	if n > MaxBits {
		return Bits{}, fail(parseBitsOp, whole, fmt.Sprintf("%d bits; a read has at most %d", n, MaxBits), ErrRange)
	}
	if i := strings.IndexFunc(digits, func(r rune) bool { return !isHex(r) }); i >= 0 {
		r, _ := utf8.DecodeRuneInString(digits[i:])
		return Bits{}, fail(parseBitsOp, whole, fmt.Sprintf("%q is no hex digit; write 0-9 and A-F", r), ErrSyntax)
	}
	if digits == "" {
		return Bits{}, fail(parseBitsOp, whole, "no hex digits after the length", ErrSyntax)
	}
	if left {
		return parseLeftHex(whole, digits, int(n))
	}
	if b, ok := parseRightHex(digits, int(n)); ok {
		return b, nil
	}
	reason := fmt.Sprintf("%s needs more than %d bits", cutShort(digits), n)
	if _, err := parseLeftHex(whole, digits, int(n)); err == nil {
		reason += fmt.Sprintf("; if it is left-justified in whole bytes, write left:%d:%s", n, cutShort(digits))
	} else {
		reason += "; give the number of bits the reader sent"
	}
	return Bits{}, fail(parseBitsOp, whole, reason, ErrRange)
}

// hexDigits are those that are written.
const hexDigits = "0123456789ABCDEF"

func isHex(r rune) bool { return r >= '0' && r <= '9' || r >= 'A' && r <= 'F' || r >= 'a' && r <= 'f' }

// parseRightHex reads hex digits as a number of n bits; false where it needs more.
func parseRightHex(digits string, n int) (Bits, bool) {
	digits = strings.TrimLeft(digits, "0")
	if len(digits) > MaxBits/4 {
		return Bits{}, false
	}
	if len(digits) <= 16 && n <= 64 { // most reads, in one word
		v := uint64(0)
		for i := range len(digits) {
			v = v<<4 | uint64(digits[i]&15+9*(digits[i]>>6))
		}
		return Bits{w: words{v << (64 - n)}, n: uint16(n)}, bits.Len64(v) <= n
	}
	var w words
	for i := range digits {
		c, place := digits[len(digits)-1-i], 4*i
		w[3-place>>6] |= uint64(c&15+9*(c>>6)) << (place & 63) // letters come after 64, A and a with a 1
	}
	return Bits{w: w.shl(MaxBits - n), n: uint16(n)}, w.shr(n) == words{}
}

// parseLeftHex reads hex digits as whole bytes that begin with n bits.
func parseLeftHex(whole, digits string, n int) (Bits, error) {
	if len(digits)%2 != 0 {
		return Bits{}, fail(parseBitsOp, whole, fmt.Sprintf("%d hex digits are not whole bytes", len(digits)), ErrSyntax)
	}
	if len(digits)*4 < n {
		return Bits{}, fail(parseBitsOp, whole, fmt.Sprintf("%d hex digits hold fewer than %d bits", len(digits), n), ErrRange)
	}
	value, _ := hex.DecodeString(digits) // digits all of them
	b, err := BitsFromLeft(value, n)
	if err != nil {
		return Bits{}, fail(parseBitsOp, whole, fmt.Sprintf("a bit after the first %d is set; it must be 0", n), ErrRange)
	}
	return b, nil
}

// String returns the bits as 0s and 1s, first bit first; "" for no bits.
func (b Bits) String() string {
	return string(b.appendBinary(make([]byte, 0, b.Len())))
}

func (b Bits) appendBinary(dst []byte) []byte {
	for i := range b.Len() {
		dst = append(dst, '0'+byte(b.w.bit(i)))
	}
	return dst
}

// AppendText appends the bits as 0s and 1s. The error is always nil. With [Bits.UnmarshalText] it makes Bits usable in
// JSON, TOML and flags.
func (b Bits) AppendText(dst []byte) ([]byte, error) { return b.appendBinary(dst), nil }

// MarshalText returns the same text as [Bits.String].
func (b Bits) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText accepts every spelling of [ParseBits].
func (b *Bits) UnmarshalText(text []byte) error {
	r, err := ParseBits(string(text))
	if err == nil {
		*b = r
	}
	return err
}

// AppendHex appends the value in hex, right-aligned, in as many upper-case digits as the length needs: 7 for 26 bits.
func (b Bits) AppendHex(dst []byte) []byte {
	if b.n <= 64 {
		v := b.w[0] >> (64 - b.n)
		for i := (b.Len() + 3) / 4 * 4; i > 0; i -= 4 {
			dst = append(dst, hexDigits[v>>(i-4)&15])
		}
		return dst
	}
	w := b.w.shr(MaxBits - b.Len())
	for i := MaxBits/4 - (b.Len()+3)/4; i < MaxBits/4; i++ {
		dst = append(dst, hexDigits[w[i>>4]>>(60-4*uint(i&15))&15])
	}
	return dst
}

// Hex returns the read as LENGTH:HEX, such as 26:32D687E: the short spelling that [ParseBits] reads back. Empty bits
// are "0:0".
func (b Bits) Hex() string {
	dst := strconv.AppendInt(make([]byte, 0, 4+(b.Len()+3)/4), int64(b.n), 10)
	dst = append(dst, ':')
	if b.n == 0 {
		return string(append(dst, '0'))
	}
	return string(b.AppendHex(dst))
}

// AppendBytesLeft appends the bits in whole bytes from the left; the spare low bits of the last byte are 0.
func (b Bits) AppendBytesLeft(dst []byte) []byte { return appendBytes(dst, b.w, 0, (b.Len()+7)/8) }

// AppendBytesRight appends the bits in whole bytes as a number; the spare high bits of the first byte are 0.
func (b Bits) AppendBytesRight(dst []byte) []byte {
	return appendBytes(dst, b.w.shr(MaxBits-b.Len()), MaxBits/8-(b.Len()+7)/8, MaxBits/8)
}

func appendBytes(dst []byte, w words, from, to int) []byte {
	for i := from; i < to; i++ {
		dst = append(dst, byte(w[i>>3]>>(56-8*uint(i&7))))
	}
	return dst
}
