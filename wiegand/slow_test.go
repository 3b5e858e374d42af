package wiegand

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"
)

// A slow twin of decoding and encoding that anyone can check by reading: reads are strings of the characters 0 and 1,
// and nothing is compiled. The real code must agree with it on everything.

// slowCheck is what [CheckInfo] says, and whether the check holds.
type slowCheck struct {
	kind CheckKind
	bit  int
	bits []int // in rising order
	ok   bool
}

// slowBits lists the bits of spans, numbered from 1.
func slowBits(spans Spans) []int {
	var all []int
	for _, s := range spans {
		for bit := s.From; bit <= s.To; bit += max(1, s.Step) {
			all = append(all, bit)
		}
	}
	return all
}

// pick returns the characters of a read at some bits.
func pick(read string, bits []int) string {
	var b strings.Builder
	for _, bit := range bits {
		b.WriteByte(read[bit-1])
	}
	return b.String()
}

// place returns the read with characters put at some bits.
func place(read string, bits []int, chars string) string {
	b := []byte(read)
	for i, bit := range bits {
		b[bit-1] = chars[i]
	}
	return string(b)
}

func chunks(s string, n int) []string {
	var all []string
	for part := range slices.Chunk([]byte(s), n) {
		all = append(all, string(part))
	}
	return all
}

// slowDigits returns the values of the digits or signs of a field.
func slowDigits(f Field, chars string) []int64 {
	var values []int64
	for _, c := range chunks(chars, f.Coding.charBits()) {
		digit := c[:4]
		if f.Coding != BCD || f.Order == LSBFirst {
			digit = reversed(digit)
		}
		v, _ := strconv.ParseInt(digit, 2, 8)
		values = append(values, v)
	}
	return values
}

// slowText returns the value of a field.
func slowText(f Field, read string) string {
	chars := pick(read, slowBits(f.Bits))
	if f.Coding != Binary {
		text := ""
		for _, v := range slowDigits(f, chars) {
			text += string("0123456789:;<=>?"[v])
		}
		return text
	}
	if f.Order == LSBFirst {
		chars = reversed(chars)
	}
	return value(chars).String()
}

// slowSet returns the read with a field set, character parities included.
func slowSet(f Field, read, text string) string {
	bits := slowBits(f.Bits)
	if f.Coding == Binary {
		v, _ := new(big.Int).SetString(text, 10)
		chars := fmt.Sprintf("%0*b", len(bits), v)
		if f.Order == LSBFirst {
			chars = reversed(chars)
		}
		return place(read, bits, chars)
	}
	n := f.Coding.charBits()
	text = strings.Repeat("0", len(bits)/n-len(text)) + text
	for i, sign := range text {
		c := fmt.Sprintf("%04b", sign-'0')
		if n == 5 || f.Order == LSBFirst {
			c = reversed(c)
		}
		if n == 5 {
			c += slowParity(c, Odd)
		}
		read = place(read, bits[n*i:n*i+n], c)
	}
	return read
}

// slowParity returns the character that makes the ones of s even or odd in number.
func slowParity(s string, kind CheckKind) string {
	if strings.Count(s, "1")%2 == 1 == (kind == Odd) {
		return "0"
	}
	return "1"
}

// slowEach calls f for every check that can compute something, in the order of computing.
func slowEach(spec Spec, f func(c Check)) {
	for _, c := range spec.Checks {
		if c.Kind == Fixed {
			f(c)
		}
	}
	for _, c := range spec.Checks {
		for k := range max(1, c.Repeat) {
			switch c.Kind {
			case Even, Odd:
				one := Check{Kind: c.Kind, Bit: c.Bit + k*c.Step}
				for _, bit := range slowBits(c.Over) {
					one.Over = append(one.Over, Span{From: bit + k*c.Step, To: bit + k*c.Step})
				}
				f(one)
			case LRC:
				f(c)
			}
		}
	}
}

// slowLRC returns the check character over whole characters of 5 bits.
func slowLRC(chars string) string {
	lrc := ""
	for column := range 4 {
		ones := ""
		for _, c := range chunks(chars, 5) {
			ones += c[column : column+1]
		}
		lrc += slowParity(ones, Even)
	}
	return lrc + slowParity(lrc, Odd)
}

// slowDecode returns the values of the fields and what became of the checks, implied ones first.
func slowDecode(spec Spec, read string) (fields []string, checks []slowCheck) {
	add := func(kind CheckKind, bit int, bits []int, ok bool) {
		bits = slices.Clone(bits)
		slices.Sort(bits)
		checks = append(checks, slowCheck{kind, bit, bits, ok})
	}
	for _, f := range spec.Fields {
		bits := slowBits(f.Bits)
		chars := pick(read, bits)
		text := slowText(f, read)
		fields = append(fields, text)
		if f.Coding == Digits5 || f.Coding == Signs5 {
			for i, c := range chunks(chars, 5) {
				add(Odd, bits[5*i+4], bits[5*i:5*i+5], strings.Count(c, "1")%2 == 1)
			}
		}
		if f.Coding == BCD || f.Coding == Digits5 {
			add(Digit, 0, bits, !strings.ContainsAny(text, ":;<=>?"))
		}
		if f.Constant != "" {
			add(Fixed, 0, bits, pick(slowSet(f, read, f.Constant), bits) == chars)
		}
	}
	slowEach(spec, func(c Check) {
		switch c.Kind {
		case Fixed:
			bits := slowBits(c.Bits)
			add(Fixed, 0, bits, pick(read, bits) == c.Value.String())
		case LRC:
			bits, over := slowBits(c.Bits), slowBits(c.Over)
			add(LRC, 0, append(over, bits...), pick(read, bits) == slowLRC(pick(read, over)))
		default:
			over := slowBits(c.Over)
			add(c.Kind, c.Bit, append(over, c.Bit), read[c.Bit-1:c.Bit] == slowParity(pick(read, over), c.Kind))
		}
	})
	return fields, checks
}

// slowEncode returns the read with its checks as they should be.
func slowEncode(spec Spec, read string) string {
	for _, f := range spec.Fields {
		text := slowText(f, read)
		if f.Constant != "" {
			text = f.Constant
		}
		read = slowSet(f, read, text)
	}
	slowEach(spec, func(c Check) {
		switch c.Kind {
		case Fixed:
			read = place(read, slowBits(c.Bits), c.Value.String())
		case LRC:
			read = place(read, slowBits(c.Bits), slowLRC(pick(read, slowBits(c.Over))))
		default:
			read = place(read, []int{c.Bit}, slowParity(pick(read, slowBits(c.Over)), c.Kind))
		}
	})
	return read
}
