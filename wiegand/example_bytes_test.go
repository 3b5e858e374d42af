package wiegand_test

import (
	"fmt"

	"github.com/cardtell/cardtell/wiegand"
)

// Controllers hand reads over as bytes: left-justified, with spare bits at the end, or as a number, with spare bits in
// front.
func ExampleBitsFromLeft() {
	b, err := wiegand.BitsFromLeft([]byte{0xCB, 0x5A, 0x1F, 0x80}, 26)
	fmt.Println(b.Hex(), err)
	_, err = wiegand.BitsFromLeft([]byte{0xCB, 0x5A, 0x1F, 0xFF}, 26)
	fmt.Println(err)
	// Output:
	// 26:32D687E <nil>
	// bits from left-justified bytes: a bit after the first 26 is set in byte 4
}

func ExampleBitsFromRight() {
	b, err := wiegand.BitsFromRight([]byte{0x03, 0x2D, 0x68, 0x7E}, 26)
	fmt.Println(b.Hex(), err)
	// Output: 26:32D687E <nil>
}

// Words come from where bits were shifted in one by one: the first bit of the read is the first of the four words.
func ExampleBitsFromWords() {
	b := wiegand.BitsFromWords([4]uint64{0b1100_1011 << 56}, 8)
	fmt.Println(b)
	// Output: 11001011
}

func ExampleMustCompile() {
	keypad := wiegand.MustCompile(wiegand.Spec{
		Length: 8,
		Fields: []wiegand.Field{
			{Name: "complement", Bits: wiegand.Spans{{From: 1, To: 4}}},
			{Name: "key", Bits: wiegand.Spans{{From: 5, To: 8}}},
		},
	})
	r, err := keypad.Decode(wiegand.MustParseBits("8:A5"))
	fmt.Println(r.Text(keypad.Field("key")), err)
	// Output: 5 <nil>
}

// A layout that contradicts itself is refused: every bit has one purpose, and none is passed over.
func ExampleCompile() {
	_, err := wiegand.Compile(wiegand.Spec{
		Length: 8,
		Fields: []wiegand.Field{{Name: wiegand.FieldNumber, Bits: wiegand.Spans{{From: 2, To: 7}}}},
		Checks: []wiegand.Check{{Kind: wiegand.Odd, Bit: 8, Over: wiegand.Spans{{From: 2, To: 7}}}},
	})
	fmt.Println(err)
	// Output: layout: bits 1 are claimed by nothing; give them to a field or a check, or to a field named unknown
}
