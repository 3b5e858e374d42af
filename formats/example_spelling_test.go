package formats_test

import (
	"errors"
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// What a text can be is a list: rank weighs it.
func ExampleSpellings() {
	all, err := formats.Spellings("0F241C3")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range all[:3] {
		fmt.Println(s.As)
	}
	// Output:
	// a number in hex
	// a read of 25 bits in hex
	// a read of 26 bits in hex
}

// A card that a program knows in two ways, without writing it down first.
func ExampleReadOf() {
	read, err := formats.ReadOf(wiegand.MustParseBits("26:32D687E"))
	print, err2 := formats.PrintedOf("46143")
	fmt.Println(len(formats.Sightings{read, print}), err, err2)
	// Output: 2 <nil> <nil>
}

// A print has digits, and what stands between them.
func ExamplePrintedOf() {
	_, err := formats.PrintedOf("1:2")
	fmt.Println(err != nil)
	// Output: true
}

// Hex digits are a number whose length in bits is not known.
func ExampleHexOf() {
	s, err := formats.HexOf("96b43f")
	fmt.Println(s.Text, err)
	// Output: 96B43F <nil>
}

// A chip serial is whole bytes.
func ExampleSerialOf() {
	s, err := formats.SerialOf(wiegand.MustParseBits("32:04A23B5C"))
	fmt.Println(s.Text, err)
	// Output: 04:A2:3B:5C <nil>
}

// A sighting whose kind was forgotten is none.
func ExampleSighting_Check() {
	s := formats.Sighting{Text: "46143"}
	fmt.Println(s.Check() != nil)
	// Output: true
}

// A chip serial says of which kind of chip it is.
func ExampleSerialFacts() {
	for _, fact := range formats.SerialFacts(wiegand.MustParseBits("56:04A9DBA2853280")) {
		fmt.Println(fact)
	}
	// Output:
	// 7 bytes: a double size UID of ISO/IEC 14443-3
	// its first byte 04 is the maker of the chip (ISO/IEC 7816-6), the same on many cards, and no facility
}

// Readers send a chip serial, or a part of it, in either order.
func ExampleSerialReads() {
	for _, r := range formats.SerialReads(wiegand.MustParseBits("32:04A23B5C"), formats.Builtin()) {
		if r.Bits.Len() <= 32 {
			fmt.Println(r.Bits.Hex(), r.Part)
		}
	}
	// Output:
	// 26:2094477 first 3 bytes
	// 26:2774409 first 3 bytes, reversed
	// 26:34476B8 last 3 bytes
	// 26:0B87745 last 3 bytes, reversed
	// 32:04A23B5C all bytes
	// 32:5C3BA204 all bytes, reversed
}

// A line of a panel's log has a card among times and words.
func ExampleFromLog() {
	for _, line := range []string{"2026-03-02 08:14:22 North stair, unknown card 0F241C3", "08:14:30 Door 3 opened"} {
		text, err := formats.FromLog(line)
		fmt.Printf("%q %v\n", text, errors.Is(err, formats.ErrMissing))
	}
	// Output:
	// "0F241C3" false
	// "" true
}

// A code typed at a keypad can come as one read.
func ExampleKeys() {
	f, ok := formats.Keys(wiegand.MustParseBits("20:1234B"))
	fmt.Println(f.Keys, f.Each, ok, f.Likely())
	// Output: 1234# 4 true true
}

func ExampleUnlabelled() {
	for _, text := range []string{"FC 121 ID 17", "No. 17", "121,17", "17 (lost)"} {
		number, ok := formats.Unlabelled(text)
		fmt.Printf("%q %v\n", number, ok)
	}
	// Output:
	// "121,17" true
	// "17" true
	// "" false
	// "" false
}
