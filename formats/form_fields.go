package formats

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// The forms that show the fields of a card one by one, and the numbers in them.

func appendPair(dst []byte, c *Card) ([]byte, error) {
	f := c.Format
	if err := c.need(f.Facility(), f.Number()); err != nil {
		return dst, err
	}
	dst = append(c.appendPadded(dst, f.Facility()), ',')
	return c.appendPadded(dst, f.Number()), nil
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

func appendFields(dst []byte, c *Card) ([]byte, error) {
	start := len(dst)
	for i, field := range c.Format.Layout.Spec().Fields {
		if field.Name == wiegand.FieldUnknown || !c.Known.Has(i) {
			continue
		}
		if len(dst) > start {
			dst = append(dst, ' ')
		}
		dst = append(dst, field.Name...)
		dst = append(dst, '=')
		dst = c.Record.AppendField(dst, i)
	}
	if len(dst) == start {
		return dst, bad("", "no field is known", ErrMissing)
	}
	return dst, nil
}

func parseFields(f *Format, text string) (Card, error) {
	c := f.Blank()
	words := strings.Fields(text)
	if len(words) == 0 {
		return Card{}, bad(text, "no fields; write name=value with spaces between", ErrForm)
	}
	var given FieldSet
	for _, word := range words {
		name, value, ok := strings.Cut(word, "=")
		i := f.FieldByName(name)
		if !ok || i < 0 || name == wiegand.FieldUnknown {
			return Card{}, bad(word, fmt.Sprintf("is no name=value of format %s, which has %s", f.ID,
				f.fieldNames()), ErrForm)
		}
		if given.Has(i) {
			return Card{}, bad(text, fmt.Sprintf("gives the %s twice", name), ErrForm)
		}
		given |= 1 << uint(i)
		var err error
		if c, err = c.With(i, value); err != nil {
			return Card{}, err
		}
	}
	return c, nil
}

// fieldNames lists the fields that have a meaning, in order.
func (f *Format) fieldNames() string {
	var names []string
	for _, field := range f.Layout.Spec().Fields {
		if field.Name != wiegand.FieldUnknown {
			names = append(names, field.Name)
		}
	}
	return strings.Join(names, ", ")
}

// digitsOf returns how many decimal digits a field's largest value has.
func (f *Format) digitsOf(i int) int {
	field := &f.Layout.Spec().Fields[i]
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
	have := len(dst) - start
	missing := max(0, n-have)
	for range missing {
		dst = append(dst, '0')
	}
	copy(dst[start+missing:], dst[start:start+have])
	for i := range missing {
		dst[start+i] = '0'
	}
	return dst
}

func (c *Card) appendPadded(dst []byte, field int) []byte {
	start := len(dst)
	return padFrom(c.Record.AppendField(dst, field), start, c.Format.digitsOf(field))
}
