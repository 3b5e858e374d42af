package formats

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Data bits: all fields in the layout's order, but for unknown bits.

func dataFields(f *Format) []int {
	var fields []int
	for i, field := range f.Layout.Spec().Fields {
		if field.Name != wiegand.FieldUnknown {
			fields = append(fields, i)
		}
	}
	return fields
}

func dataWidth(f *Format) int {
	n := 0
	for _, i := range dataFields(f) {
		n += f.valueWidth(i)
	}
	return n
}

// valueWidth returns the bits of a field's value: 4 for each digit or sign.
func (f *Format) valueWidth(i int) int {
	field := f.Layout.Spec().Fields[i]
	n := field.Bits.Len()
	if field.Coding == wiegand.Digits5 || field.Coding == wiegand.Signs5 {
		n = n / 5 * 4
	}
	return n
}

// data returns the card's data bits.
func data(c *Card) (b wiegand.Bits, err error) {
	for i, field := range c.Format.Layout.Spec().Fields {
		switch {
		case field.Name == wiegand.FieldUnknown:
		case !c.Known.Has(i):
			return b, c.need(dataFields(c.Format)...)
		default:
			b, _ = b.Concat(c.Record.Value(i)) // the fields of a read have no more bits than it
		}
	}
	return b, nil
}

// withData returns a card with these data bits.
func withData(f *Format, b wiegand.Bits) (Card, error) {
	c := f.Blank()
	for _, i := range dataFields(f) {
		n := f.valueWidth(i)
		r, err := c.Record.WithValue(i, b.Slice(0, n))
		if err != nil {
			return Card{}, err
		}
		c.Record = r
		c.Known |= 1 << i
		b = b.Slice(n, b.Len())
	}
	return c, nil
}

func number(b wiegand.Bits) *big.Int { return new(big.Int).SetBytes(b.AppendBytesRight(nil)) }

func appendUint(dst []byte, b wiegand.Bits) []byte {
	if v, ok := b.Uint64(); ok {
		return strconv.AppendUint(dst, v, 10)
	}
	return number(b).Append(dst, 10)
}

// maxDecimal is the longest decimal that is read at all: 2^256 has 78 digits.
const maxDecimal = 78

// uintBits reads decimal digits as a number of n bits.
func uintBits(text string, n int) (wiegand.Bits, error) {
	if i := strings.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' }); i >= 0 || text == "" {
		return wiegand.Bits{}, bad(text, "is no decimal number; write digits", ErrForm)
	}
	digits := strings.TrimLeft(text, "0")
	v := new(big.Int)
	if digits != "" && len(digits) <= maxDecimal {
		v.SetString(digits, 10)
	}
	if len(digits) > maxDecimal || v.BitLen() > n {
		return wiegand.Bits{}, bad(text, fmt.Sprintf("does not fit %d bits: 0 to %s", n, maxOf(n)),
			wiegand.ErrRange)
	}
	return wiegand.BitsFromRight(v.FillBytes(make([]byte, (n+7)/8)), n)
}

func maxOf(n int) string {
	one := big.NewInt(1)
	return new(big.Int).Sub(new(big.Int).Lsh(one, uint(n)), one).String()
}

// digitsOf returns how many decimal digits a field's largest value has.
func (f *Format) digitsOf(i int) int {
	field := f.Layout.Spec().Fields[i]
	if field.Coding != wiegand.Binary {
		return f.valueWidth(i) / 4
	}
	return decimalDigits(field.Bits.Len())
}

// decimalDigits returns how many digits 2^n-1 has: floor(n·log10 2)+1, exact for every n that a read can have.
func decimalDigits(n int) int { return n*30103/100000 + 1 }

// padded writes what inner does, with zeros before it up to n digits.
func padded(n int, inner func([]byte, *Card) ([]byte, error)) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		start := len(dst)
		dst, err := inner(dst, c)
		if err != nil {
			return dst[:start], err
		}
		return padFrom(dst, start, n), nil
	}
}

// padFrom puts zeros before dst[start:] until that has n characters.
func padFrom(dst []byte, start, n int) []byte {
	for len(dst)-start < n {
		dst = append(dst, 0)
		copy(dst[start+1:], dst[start:])
		dst[start] = '0'
	}
	return dst
}

func (c *Card) appendPadded(dst []byte, field int) []byte {
	start := len(dst)
	return padFrom(c.Record.AppendField(dst, field), start, c.Format.digitsOf(field))
}
