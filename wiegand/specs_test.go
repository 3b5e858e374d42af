package wiegand

import "fmt"

// The layouts that the tests of this package use. They are written down again here, apart from the catalogue, so that a
// change there breaks nothing here.

func spans(s string) Spans {
	r, err := ParseSpans(s)
	if err != nil {
		panic(err)
	}
	return r
}

// spec26 is the 26-bit format of SIA AC-01-1996.10, as the Linux kernel's Wiegand bus driver (patch 2/3 of January
// 2023) and other general drivers apply it.
var spec26 = Spec{
	Length: 26,
	Fields: []Field{{Name: "facility", Bits: spans("2-9")}, {Name: "number", Bits: spans("10-25")}},
	Checks: []Check{{Kind: Even, Bit: 1, Over: spans("2-13")}, {Kind: Odd, Bit: 26, Over: spans("14-25")}},
}

// spec35 has three parity bits of which one covers the others; its rule is from memory.
var spec35 = Spec{
	Length: 35,
	Fields: []Field{{Name: "facility", Bits: spans("3-14")}, {Name: "number", Bits: spans("15-34")}},
	Checks: []Check{
		{Kind: Even, Bit: 2, Over: spans("3-33/3, 4-34/3")},
		{Kind: Odd, Bit: 35, Over: spans("2-32/3, 3-33/3")},
		{Kind: Odd, Bit: 1, Over: spans("2-35")},
	},
}

// spec37 has overlapping parities: bit 19 is in both (Linux kernel, as above).
var spec37 = Spec{
	Length: 37,
	Fields: []Field{{Name: "facility", Bits: spans("2-17")}, {Name: "number", Bits: spans("18-36")}},
	Checks: []Check{{Kind: Even, Bit: 1, Over: spans("2-19")}, {Kind: Odd, Bit: 37, Over: spans("19-36")}},
}

// specTag is the 125 kHz read-only frame of 64 bits, with a parity bit to each row and each column (public notes that
// quote the chip's data sheet).
var specTag = Spec{
	Length: 64,
	Fields: []Field{
		{Name: "version", Bits: spans("10-13, 15-18")},
		{Name: "number", Bits: spans("20-23, 25-28, 30-33, 35-38, 40-43, 45-48, 50-53, 55-58")},
	},
	Checks: []Check{
		{Kind: Fixed, Bits: spans("1-9, 64"), Value: MustParseBits("1111111110")},
		{Kind: Even, Bit: 14, Over: spans("10-13"), Repeat: 10, Step: 5},
		{Kind: Even, Bit: 60, Over: spans("10-55/5"), Repeat: 4, Step: 1},
	},
}

// specFASCN is the FASC-N of TIG SCEPACS v2.2, sections 6.2 and 6.3.
var specFASCN = func() Spec {
	s := Spec{Length: 200}
	char := func(first, last int) Spans { return Spans{{From: 5*first - 4, To: 5 * last}} }
	for _, f := range []struct {
		name        string
		first, last int
	}{
		{"agency", 2, 5}, {"system", 7, 10}, {"credential", 12, 17}, {"series", 19, 19}, {"issue", 21, 21},
		{"person", 23, 32}, {"category", 33, 33}, {"organisation", 34, 37}, {"association", 38, 38},
	} {
		s.Fields = append(s.Fields, Field{Name: f.name, Bits: char(f.first, f.last), Coding: Digits5})
	}
	fixed := func(c int, v string) {
		s.Checks = append(s.Checks, Check{Kind: Fixed, Bits: char(c, c), Value: MustParseBits(v)})
	}
	fixed(1, "11010")
	for _, c := range []int{6, 11, 18, 20, 22} {
		fixed(c, "10110")
	}
	fixed(39, "11111")
	s.Checks = append(s.Checks, Check{Kind: LRC, Bits: char(40, 40), Over: char(1, 39)})
	return s
}()

// fascnTIG is the example of TIG SCEPACS v2.2, figure 7.
const fascnTIG = "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC"

// specMixed has what the others lack: bits sent last first, BCD in both orders, a constant, signs, unknown bits, a
// field over 64 bits.
var specMixed = Spec{
	Length: 166,
	Fields: []Field{
		{Name: "number", Bits: spans("2-21, 30-33"), Order: LSBFirst},
		{Name: "facility", Bits: spans("22-29"), Constant: "121"},
		{Name: "bcd", Bits: spans("34-49"), Coding: BCD},
		{Name: "bcd-lsb", Bits: spans("50-57"), Coding: BCD, Order: LSBFirst},
		{Name: "signs", Bits: spans("58-72"), Coding: Signs5},
		{Name: "unknown", Bits: spans("73, 75")},
		{Name: "wide", Bits: spans("76-165")},
		{Name: "unknown", Bits: spans("74")},
	},
	Checks: []Check{{Kind: Odd, Bit: 1, Over: spans("2-165/2")}, {Kind: Even, Bit: 166, Over: spans("1-165/4")}},
}

// specFour has as many different parities as are checked the quick way, the last over bits that no other covers.
var specFour = Spec{
	Length: 20,
	Fields: []Field{{Name: "number", Bits: spans("5-20")}},
	Checks: []Check{
		{Kind: Even, Bit: 1, Over: spans("5-8")}, {Kind: Odd, Bit: 2, Over: spans("9-13")},
		{Kind: Even, Bit: 3, Over: spans("8-14/2")}, {Kind: Odd, Bit: 4, Over: spans("15-20")},
	},
}

var testSpecs = []struct {
	name string
	spec Spec
}{
	{"26", spec26}, {"35", spec35}, {"37", spec37}, {"tag", specTag}, {"fasc-n", specFASCN}, {"mixed", specMixed},
	{"four", specFour},
}

func ExampleCompile() {
	layout, err := Compile(Spec{
		Length: 26,
		Fields: []Field{
			{Name: FieldFacility, Bits: Spans{{From: 2, To: 9}}},
			{Name: FieldNumber, Bits: Spans{{From: 10, To: 25}}},
		},
		Checks: []Check{
			{Kind: Even, Bit: 1, Over: Spans{{From: 2, To: 13}}},
			{Kind: Odd, Bit: 26, Over: Spans{{From: 14, To: 25}}},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	record, err := layout.Decode(MustParseBits("26:32D687E"))
	if err != nil {
		fmt.Println(err)
		return
	}
	facility, _ := record.Uint64(layout.Field(FieldFacility))
	number, _ := record.Uint64(layout.Field(FieldNumber))
	fmt.Println(facility, number, record.OK())
	// Output: 150 46143 true
}
