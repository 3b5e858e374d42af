package wiegand

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The methods and the paths of decoding and encoding that loops run through allocate nothing.
func TestAllocations(t *testing.T) {
	b, c := MustParseBits("26:32D687E"), MustParseBits("24:96B43F")
	dst, zeros := make([]byte, 0, 512), make([]byte, 32)
	var sink Bits
	var n int
	for name, f := range map[string]func(){
		"BitsFromUint":  func() { sink, _ = BitsFromUint(9876543, 24) },
		"BitsFromLeft":  func() { sink, _ = BitsFromLeft(zeros, 200) },
		"BitsFromRight": func() { sink, _ = BitsFromRight(zeros, 200) },
		"ParseBits":     func() { sink, _ = ParseBits("26:32D687E") },
		"Bit":           func() { n += int(b.Bit(3)) },
		"OnesCount":     func() { n += b.OnesCount() },
		"TrailingZeros": func() { n += b.TrailingZeros() },
		"Uint64":        func() { _, _ = b.Uint64() },
		"WithBit":       func() { sink = b.WithBit(4, 1) },
		"Append":        func() { sink, _ = b.Append(1) },
		"Insert":        func() { sink, _ = b.Insert(3, 1) },
		"Delete":        func() { sink, _ = b.Delete(3) },
		"Slice":         func() { sink = b.Slice(1, 25) },
		"Concat":        func() { sink, _ = b.Concat(c) },
		"Invert":        func() { sink = b.Invert() },
		"Reverse":       func() { sink = b.Reverse() },
		"ReverseBytes":  func() { sink, _ = c.ReverseBytes() },
		"Compare":       func() { n += b.Compare(c) },
		"AppendText":    func() { _, _ = b.AppendText(dst) },
		"AppendHex":     func() { _ = b.AppendHex(dst) },
		"AppendBytes":   func() { _ = b.AppendBytesRight(b.AppendBytesLeft(dst)) },
	} {
		assert.Zero(t, testing.AllocsPerRun(100, f), name)
	}

	var values [MaxFields]uint64
	for _, c := range testSpecs {
		l := MustCompile(c.spec)
		_, err := l.Uint64s(values[:len(c.spec.Fields)], new(l.Blank().bits))
		numbers := err == nil
		r := l.Blank()
		good := r.Encode()
		bad := good.Invert()
		assert.Zero(t, testing.AllocsPerRun(100, func() {
			for _, read := range []Bits{good, bad} {
				_ = l.DecodeInto(&r, &read)
				if numbers {
					_, _ = l.Uint64s(values[:len(c.spec.Fields)], &read)
				}
				_ = l.Holds(read)
				for i, f := range c.spec.Fields {
					_, _ = r.Uint64(i)
					_ = r.Value(i)
					if f.Name != "wide" { // over 64 bits it takes math/big
						_ = r.AppendField(dst, i)
					}
				}
				sink = r.Encode()
			}
		}), "decode "+c.name)
	}
	l := MustCompile(spec26)
	assert.Zero(t, testing.AllocsPerRun(100, func() { sink, _ = l.Encode(150, 46143) }), "encode")
	_, _ = sink, n
}
