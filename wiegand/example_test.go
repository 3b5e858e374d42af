package wiegand_test

import (
	"fmt"

	"github.com/cardtell/cardtell/wiegand"
)

// The 26-bit format of SIA AC-01-1996.10.
var layout26 = wiegand.MustCompile(wiegand.Spec{
	Length: 26,
	Fields: []wiegand.Field{
		{Name: wiegand.FieldFacility, Bits: wiegand.Spans{{From: 2, To: 9}}},
		{Name: wiegand.FieldNumber, Bits: wiegand.Spans{{From: 10, To: 25}}},
	},
	Checks: []wiegand.Check{
		{Kind: wiegand.Even, Bit: 1, Over: wiegand.Spans{{From: 2, To: 13}}},
		{Kind: wiegand.Odd, Bit: 26, Over: wiegand.Spans{{From: 14, To: 25}}},
	},
})

func ExampleParseBits() {
	for _, text := range []string{"1100 1011 0101 1010 0001 1111 10", "26:32D687E", "left:26:CB5A1F80", "26:CB5A1F80"} {
		b, err := wiegand.ParseBits(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(b.Len(), b)
	}
	// Output:
	// 26 11001011010110100001111110
	// 26 11001011010110100001111110
	// 26 11001011010110100001111110
	// parse bits "26:CB5A1F80": CB5A1F80 needs more than 26 bits; if it is left-justified in whole bytes, write left:26:CB5A1F80
}

func ExampleBitsFromUint() {
	b, err := wiegand.BitsFromUint(0x96B43F, 24)
	fmt.Println(b, err)
	_, err = wiegand.BitsFromUint(0x96B43F, 23)
	fmt.Println(err)
	// Output:
	// 100101101011010000111111 <nil>
	// bits from number "9876543": needs 24 bits, has room for 23
}

// A reader with its two data lines swapped sends every bit inverted; one mounted the wrong way round is no such thing,
// but some panels show a read last bit first.
func ExampleBits_Invert() {
	b := wiegand.MustParseBits("26:32D687E")
	fmt.Println(b.Invert().Hex(), b.Reverse().Hex())
	// Output: 26:0D29781 26:1F85AD3
}

func ExampleBits_ReverseBytes() {
	serial := wiegand.MustParseBits("32:ECE58673")
	other, err := serial.ReverseBytes()
	fmt.Println(other.Hex(), err)
	// Output: 32:7386E5EC <nil>
}

func ExampleBits_AppendBytesLeft() {
	fmt.Printf("% X\n", wiegand.MustParseBits("26:32D687E").AppendBytesLeft(nil))
	// Output: CB 5A 1F 80
}

func ExampleParseSpans() {
	spans, err := wiegand.ParseSpans("25-32, 17-24")
	fmt.Println(spans, spans.Len(), err)
	_, err = wiegand.ParseSpans("9-2")
	fmt.Println(err)
	// Output:
	// 25-32,17-24 16 <nil>
	// parse bits of a read "9-2": 9-2: ends before it begins; write 2-9; which end counts most is the field's order
}

func ExampleLayout_Decode() {
	for _, text := range []string{"26:32D687E", "26:32D687F"} {
		r, err := layout26.Decode(wiegand.MustParseBits(text))
		if err != nil {
			fmt.Println(err)
			return
		}
		for i, f := range layout26.Spec().Fields {
			fmt.Print(f.Name, " ", r.Text(i), " ")
		}
		fmt.Println(r.OK())
		for i, c := range layout26.Checks() {
			if r.Failed().Has(i) {
				fmt.Println("fails:", c.Kind, c.Bits)
			}
		}
	}
	// Output:
	// facility 150 number 46143 true
	// facility 150 number 46143 false
	// fails: odd 14-26
}

func ExampleLayout_DecodeInto() {
	var r wiegand.Record
	for _, text := range []string{"26:32D687E", "26:3A83702"} {
		if err := layout26.DecodeInto(&r, new(wiegand.MustParseBits(text))); err != nil {
			fmt.Println(err)
			return
		}
		number, _ := r.Uint64(1)
		fmt.Println(number)
	}
	// Output:
	// 46143
	// 7041
}

func ExampleLayout_Encode() {
	b, err := layout26.Encode(150, 46143)
	fmt.Println(b, err)
	_, err = layout26.Encode(150, 70000)
	fmt.Println(err)
	// Output:
	// 11001011010110100001111110 <nil>
	// number "70000": does not fit 16 bits: 0 to 65535
}

func ExampleRecord_WithText() {
	r, err := layout26.Blank().WithText(layout26.Field(wiegand.FieldNumber), "46143")
	fmt.Println(r.Bits(), r.OK(), err)
	// Output: 10000000010110100001111110 true <nil>
}

func ExampleRecord_Encode() {
	// A read with its last bit wrong, and as it should be.
	r, err := layout26.Decode(wiegand.MustParseBits("26:32D687F"))
	fmt.Println(r.OK(), r.Encode().Hex(), err)
	// Output: false 26:32D687E <nil>
}
