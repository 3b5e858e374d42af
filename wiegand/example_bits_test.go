package wiegand_test

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// Bits are a value: every change is a copy, and == compares them.
func ExampleBits() {
	b := wiegand.MustParseBits("1100 1011")
	fmt.Println(b.Len(), b.Bit(0), b.Bit(2), b.OnesCount(), b.LeadingZeros(), b.TrailingZeros())
	fmt.Println(b.WithBit(0, 0), b.Slice(0, 4), b == wiegand.MustParseBits("8:CB"))
	v, ok := b.Uint64()
	fmt.Println(v, ok, b.Words())
	// Output:
	// 8 1 0 5 0 0
	// 01001011 1100 true
	// 203 true [14627691589699371008 0 0 0]
}

// A line can lose a bit or gain one. What does not fit is told, not cut.
func ExampleBits_Insert() {
	b := wiegand.MustParseBits("1011")
	longer, ok := b.Insert(1, 1)
	fmt.Println(longer, ok)
	shorter, ok := longer.Delete(0)
	fmt.Println(shorter, ok)
	_, ok = b.Delete(4)
	fmt.Println(ok)
	// Output:
	// 11011 true
	// 1011 true
	// false
}

// Bits as they arrive, one by one, with eight more behind them.
func ExampleBits_Append() {
	var b wiegand.Bits
	for _, bit := range []uint{1, 0, 1, 1} {
		b, _ = b.Append(bit)
	}
	both, err := b.Concat(wiegand.MustParseBits("8:0F"))
	fmt.Println(b, both, err)
	// Output: 1011 101100001111 <nil>
}

func ExampleBits_Compare() {
	reads := []wiegand.Bits{wiegand.MustParseBits("8:02"), wiegand.MustParseBits("4:F"), wiegand.MustParseBits("8:01")}
	slices.SortFunc(reads, wiegand.Bits.Compare)
	fmt.Println(reads)
	// Output: [1111 00000001 00000010]
}

func ExampleBits_Format() {
	b := wiegand.MustParseBits("24:00B43F")
	fmt.Printf("%v %b %x %#X %d %q\n", b, b, b, b, b, b.Slice(12, 20))
	// Output: 000000001011010000111111 000000001011010000111111 00b43f 0X00B43F 46143 "01000011"
}

func ExampleBits_AppendHex() {
	b := wiegand.MustParseBits("26:32D687E")
	fmt.Printf("%s % X %s\n", b.AppendHex(nil), b.AppendBytesRight(nil), b.Hex())
	// Output: 32D687E 03 2D 68 7E 26:32D687E
}

// Spans are the bits of a field in the order in which they count, numbered from 1.
func ExampleSpans_Bits() {
	spans := wiegand.Spans{{From: 9, To: 12}, {From: 2, To: 8, Step: 3}}
	fmt.Println(spans, spans.Len(), slices.Collect(spans.Bits()))
	// Output: 9-12,2-8/3 7 [9 10 11 12 2 5 8]
}
