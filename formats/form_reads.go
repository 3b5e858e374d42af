package formats

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

func wholeRead(c *Card) (wiegand.Bits, error) {
	all := make([]int, len(c.Format.Layout.Spec().Fields))
	for i := range all {
		all[i] = i
	}
	if err := c.need(all...); err != nil {
		return wiegand.Bits{}, err
	}
	return c.Record.Encode(), nil
}

func appendBits(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead(c)
	if err != nil {
		return dst, err
	}
	return b.AppendText(dst)
}

func appendBitsHex(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead(c)
	if err != nil {
		return dst, err
	}
	return append(dst, b.Hex()...), nil
}

// appendReadDecimal and the two after it append the whole read without its length.
func appendReadDecimal(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead(c)
	if err != nil {
		return dst, err
	}
	return appendUint(dst, b), nil
}

func appendReadHex(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead(c)
	if err != nil {
		return dst, err
	}
	return b.AppendHex(dst), nil
}

func appendReadHexLeft(dst []byte, c *Card) ([]byte, error) {
	b, err := wholeRead(c)
	if err != nil {
		return dst, err
	}
	return fmt.Appendf(dst, "%X", b.AppendBytesLeft(nil)), nil
}

func parseReadDecimal(f *Format, text string) (Card, error) {
	b, err := uintBits(text, f.Layout.Len())
	if err != nil {
		return Card{}, err
	}
	return goodRead(f, text, b)
}

// parseReadHex reads hex digits, with hex: before them or not, as a read of the format's length that is written so.
func parseReadHex(as string) func(*Format, string) (Card, error) {
	return func(f *Format, text string) (Card, error) {
		digits := strings.TrimPrefix(text, "hex:")
		if digits == "" || strings.Trim(digits, "0123456789ABCDEFabcdef") != "" {
			return Card{}, bad(text, "is no hex number; write digits and A to F", ErrForm)
		}
		b, err := wiegand.ParseBits(fmt.Sprintf(as, f.Layout.Len(), digits))
		if err != nil {
			return Card{}, bad(text, fmt.Sprintf("is no read of %d bits", f.Layout.Len()), ErrForm)
		}
		return goodRead(f, text, b)
	}
}

func parseRead(f *Format, text string) (Card, error) {
	b, err := wiegand.ParseBits(text)
	if err != nil {
		return Card{}, err
	}
	return goodRead(f, text, b)
}

// goodRead refuses a read whose checks fail: the caller has named the format, so that it is a misread.
func goodRead(f *Format, text string, b wiegand.Bits) (Card, error) {
	c, err := f.Read(b)
	if err != nil {
		return Card{}, bad(text, fmt.Sprintf("has %d bits; format %s has %d", b.Len(), f.ID, f.Layout.Len()),
			wiegand.ErrLength)
	}
	if !c.Record.OK() {
		return Card{}, bad(text, fmt.Sprintf("is no good read of format %s: %s fails; present the card again",
			f.ID, f.DescribeChecks(c.Record.Failed())), ErrForm)
	}
	return c, nil
}

func uid(c *Card, reversed bool) (wiegand.Bits, error) {
	if err := c.need(c.Format.Number()); err != nil {
		return wiegand.Bits{}, err
	}
	b := c.Record.Value(c.Format.Number())
	if reversed {
		return b.ReverseBytes()
	}
	return b, nil
}

func appendUID(reversed bool) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		b, err := uid(c, reversed)
		if err != nil {
			return dst, err
		}
		return AppendSerial(dst, b), nil
	}
}

// AppendSerial appends whole bytes as two hex digits each, with colons between.
func AppendSerial(dst []byte, b wiegand.Bits) []byte {
	for i, c := range b.AppendBytesLeft(nil) {
		if i > 0 {
			dst = append(dst, ':')
		}
		dst = fmt.Appendf(dst, "%02X", c)
	}
	return dst
}

func parseUID(reversed bool) func(*Format, string) (Card, error) {
	return func(f *Format, text string) (Card, error) {
		b, err := parseSerial("", strings.TrimPrefix(text, "uid:"))
		if err != nil {
			return Card{}, err
		}
		return withSerial(f, text, b, reversed)
	}
}

func withSerial(f *Format, text string, b wiegand.Bits, reversed bool) (Card, error) {
	if w := numberWidth(f); b.Len() != w {
		return Card{}, bad(text, fmt.Sprintf("has %d bytes; format %s has %d", b.Len()/8, f.ID, w/8),
			wiegand.ErrLength)
	}
	if reversed {
		b, _ = b.ReverseBytes() // a format that fits the form has a number of whole bytes
	}
	return f.Blank().withNumber(b)
}

func appendUIDDecimal(reversed bool) func([]byte, *Card) ([]byte, error) {
	return func(dst []byte, c *Card) ([]byte, error) {
		b, err := uid(c, reversed)
		if err != nil {
			return dst, err
		}
		return appendUint(dst, b), nil
	}
}

func parseUIDDecimal(reversed bool) func(*Format, string) (Card, error) {
	return func(f *Format, text string) (Card, error) {
		b, err := uintBits(text, numberWidth(f))
		if err != nil {
			return Card{}, err
		}
		return withSerial(f, text, b, reversed)
	}
}

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
