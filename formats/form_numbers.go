package formats

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// One pair of functions for each form.

func appendPair(dst []byte, c *Card) ([]byte, error) {
	f := c.Format
	if err := c.need(f.Facility(), f.Number()); err != nil {
		return dst, err
	}
	dst = append(c.appendPadded(dst, f.Facility()), ',')
	return c.appendPadded(dst, f.Number()), nil
}

// splitTwo splits a text at its one separator: a comma, dash, slash or space.
func splitTwo(text string) (a, b string, err error) {
	i := strings.IndexAny(text, ",-/ ")
	if i < 0 || strings.ContainsAny(text[i+1:], ",-/ ") {
		return "", "", bad(text, "is not two numbers with a comma between, such as 150,46143", ErrForm)
	}
	return text[:i], text[i+1:], nil
}

// halves reads a number of some bits and one of 16, with a separator between, or with nothing where the second has its
// five digits and the first so many.
func halves(text string, digits, width int) (wiegand.Bits, error) {
	high, low, err := splitTwo(text)
	if err != nil && len(text) == digits+5 {
		high, low, err = text[:digits], text[digits:], nil
	}
	if err != nil {
		return wiegand.Bits{}, err
	}
	h, err := uintBits(high, width)
	if err != nil {
		return wiegand.Bits{}, err
	}
	l, err := uintBits(low, 16)
	if err != nil {
		return wiegand.Bits{}, err
	}
	return h.Concat(l)
}

func parsePair(f *Format, text string) (Card, error) {
	facility, num, err := splitTwo(text)
	if err != nil {
		return Card{}, err
	}
	c, err := f.Blank().With(f.Facility(), facility)
	if err != nil {
		return Card{}, err
	}
	return c.With(f.Number(), num)
}

func appendJoined(dst []byte, c *Card) ([]byte, error) {
	if err := c.need(c.Format.Joined...); err != nil {
		return dst, err
	}
	for _, i := range c.Format.Joined {
		dst = c.appendPadded(dst, i)
	}
	return dst, nil
}

// parseJoined takes the fields from the right, where their widths are fixed; zeros at the start may be missing.
func parseJoined(f *Format, text string) (Card, error) {
	signs := slices.ContainsFunc(f.Joined, func(i int) bool { return f.Layout.Spec().Fields[i].Coding == wiegand.Signs5 })
	for _, r := range text { // before it is cut into fields
		if (r < '0' || r > '9') && !(signs && r <= '?' && r >= '0') {
			return Card{}, bad(text, fmt.Sprintf("%q is no digit; write digits", r), wiegand.ErrSyntax)
		}
	}
	total := 0
	for _, i := range f.Joined {
		total += f.digitsOf(i)
	}
	least := 1
	if n := len(f.Joined); n > 1 {
		least += f.digitsOf(f.Joined[n-1]) // as many as the number alone would be the number
	}
	if len(text) < least || len(text) > total {
		noun := "digits"
		if len(text) == 1 {
			noun = "digit"
		}
		return Card{}, bad(text,
			fmt.Sprintf("has %d %s; format %s takes %d, or down to %d where zeros at the start are left out",
				len(text), noun, f.ID, total, least), ErrForm)
	}
	text = strings.Repeat("0", total-len(text)) + text
	c := f.Blank()
	for _, i := range f.Joined {
		n := f.digitsOf(i)
		var err error
		if c, err = c.With(i, text[:n]); err != nil {
			return Card{}, err
		}
		text = text[n:]
	}
	return c, nil
}

func appendNumber(dst []byte, c *Card) ([]byte, error) {
	if err := c.need(c.Format.Number()); err != nil {
		return dst, err
	}
	return c.Record.AppendField(dst, c.Format.Number()), nil
}

func parseNumber(f *Format, text string) (Card, error) { return f.Blank().With(f.Number(), text) }

func appendDecimal(dst []byte, c *Card) ([]byte, error) {
	b, err := data(c)
	if err != nil {
		return dst, err
	}
	return appendUint(dst, b), nil
}

func parseDecimal(f *Format, text string) (Card, error) {
	b, err := uintBits(text, dataWidth(f))
	if err != nil {
		return Card{}, err
	}
	return withData(f, b)
}

func appendHex(dst []byte, c *Card) ([]byte, error) {
	b, err := data(c)
	if err != nil {
		return dst, err
	}
	start := len(dst)
	return padFrom(b.AppendHex(dst), start, (b.Len()+7)/8*2), nil
}

func parseHex(f *Format, text string) (Card, error) {
	n := dataWidth(f)
	digits := strings.TrimPrefix(text, "hex:")
	if !isHex(digits) {
		return Card{}, bad(text, "is no hex number; write 0-9 and A-F", ErrForm)
	}
	b, err := wiegand.ParseBits(fmt.Sprintf("%d:%s", n, digits))
	if err != nil {
		return Card{}, bad(text, fmt.Sprintf("does not fit the %d data bits of format %s", n, f.ID),
			wiegand.ErrRange)
	}
	c, err := withData(f, b)
	if err == nil && !c.Record.OK() {
		return Card{}, bad(text, fmt.Sprintf("format %s has decimal digits only: %s fails",
			f.ID, f.DescribeChecks(c.Record.Failed())), wiegand.ErrRange)
	}
	return c, err
}

func appendWords(dst []byte, c *Card) ([]byte, error) {
	b, err := data(c)
	if err != nil {
		return dst, err
	}
	v, _ := b.Uint64() // 32 bits at most
	return appendHalves(dst, v>>16, 5, ",", v&0xFFFF), nil
}

func appendHalves(dst []byte, high uint64, width int, sep string, low uint64) []byte {
	start := len(dst)
	dst = padFrom(strconv.AppendUint(dst, high, 10), start, width)
	dst = append(dst, sep...)
	start = len(dst)
	return padFrom(strconv.AppendUint(dst, low, 10), start, 5)
}

func parseWords(f *Format, text string) (Card, error) {
	both, err := halves(text, 5, 16)
	if err != nil {
		return Card{}, err
	}
	n := dataWidth(f)
	if both.Slice(0, 32-n).OnesCount() > 0 {
		return Card{}, bad(text, fmt.Sprintf("does not fit the %d data bits of format %s", n, f.ID), wiegand.ErrRange)
	}
	return withData(f, both.Slice(32-n, 32))
}

func appendLow24(sep string) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		if err := c.need(c.Format.Number()); err != nil {
			return dst, err
		}
		b := c.Record.Value(c.Format.Number())
		v, _ := b.Slice(b.Len()-24, b.Len()).Uint64()
		return appendHalves(dst, v>>16, 3, sep, v&0xFFFF), nil
	}
}

func appendNumber24(dst []byte, c *Card) ([]byte, error) {
	if err := c.need(c.Format.Number()); err != nil {
		return dst, err
	}
	b := c.Record.Value(c.Format.Number())
	v, _ := b.Slice(b.Len()-24, b.Len()).Uint64()
	return strconv.AppendUint(dst, v, 10), nil
}

// parseNumber24 says what is missing: the form always drops something.
func parseNumber24(f *Format, text string) (Card, error) {
	return Card{}, bad(text,
		fmt.Sprintf("leaves out the top %d bits of the number of format %s; they can't be told from it", numberWidth(f)-24,
			f.ID), ErrMissing)
}

// parseLow24 reads the form only where it drops nothing: for a number of just 24 bits.
func parseLow24(f *Format, text string) (Card, error) {
	if w := numberWidth(f); w > 24 {
		return Card{}, bad(text,
			fmt.Sprintf("leaves out the top %d bits of the number of format %s; they can't be told from it", w-24, f.ID),
			ErrMissing)
	}
	both, err := halves(text, 3, 8)
	if err != nil {
		return Card{}, err
	}
	return f.Blank().withNumber(both)
}

func (c Card) withNumber(b wiegand.Bits) (Card, error) {
	r, err := c.Record.WithValue(c.Format.Number(), b)
	if err != nil {
		return Card{}, err
	}
	c.Record = r
	c.Known |= 1 << uint(c.Format.Number())
	return c, nil
}
