package formats_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// A format of one's own takes the place of the catalogue's with the same id, or stands beside the others.
func ExampleCatalogue_With() {
	own, err := formats.ParseDefinitions("own.toml", []byte(`
[[format]]
id          = "28-8-18"
description = "28 bits: facility and number of our old gate"
length      = 28
fields      = [{ name = "facility", bits = "2-9" }, { name = "number", bits = "10-27" }]
checks      = [{ kind = "even", bit = 1, over = "2-14" }, { kind = "odd", bit = 28, over = "15-27" }]
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	catalogue, err := formats.Builtin().With(own)
	fmt.Println(len(catalogue.Find("28-8-18")), err)
	_, err = formats.NewCatalogue(append(own, own...))
	fmt.Println(err)
	// Output:
	// 1 <nil>
	// format "28-8-18": there are two of 28 bits; give one another id
}

// One card seen in two ways: a read, and the number printed on it.
func ExampleParseSightings() {
	card, err := formats.ParseSightings("26:32D687E=46143")
	fmt.Println(len(card), card[0].Bits, card[1].Text, err)
	// Output: 2 11001011010110100001111110 46143 <nil>
}

// A loop over many cards keeps its memory.
func ExampleAppendSightings() {
	var card formats.Sightings
	for _, line := range []string{"26:32D687E", "04:A2:3B:5C"} {
		var err error
		if card, err = formats.AppendSightings(card[:0], line); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(card[0].Bits.Hex())
	}
	// Output:
	// 26:32D687E
	// 32:04A23B5C
}

// A card in every form that its format has.
func ExampleForms() {
	card, err := formats.Builtin().Find("26-8-16")[0].Read(wiegand.MustParseBits("26:32D687E"))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, form := range formats.Forms() {
		if text, err := form.Text(&card); err == nil {
			fmt.Println(form.Name, text)
		}
	}
	// Output:
	// pair 150,46143
	// joined 15046143
	// number 46143
	// number10 0000046143
	// decimal 9876543
	// decimal10 0009876543
	// hex 96B43F
	// words 00150,46143
	// bits 11001011010110100001111110
	// bits-hex 26:32D687E
	// read-decimal 53307518
	// read-hex 32D687E
	// read-hex-left CB5A1F80
	// fields facility=150 number=46143
}

func ExampleAppendSerial() {
	fmt.Println(string(formats.AppendSerial(nil, wiegand.MustParseBits("32:04A23B5C"))))
	// Output: 04:A2:3B:5C
}
