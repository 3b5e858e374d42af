package formats_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

func ExampleBuiltin() {
	catalogue := formats.Builtin()
	for f := range catalogue.OfLength(37) {
		fmt.Printf("%s (%s): %s\n", f.ID, f.Standing, f.Description)
	}
	// Output:
	// 37-0-35 (published): 37 bits: one 35-bit number, the middle bit in both parities
	// 37-16-19 (common practice): 37 bits: facility and card number, the middle bit in both parities
	// 37-8-16 (from memory): 37 bits: the 26-bit frame with 11 zeros before it
}

func ExampleParseSighting() {
	for _, text := range []string{"26:32D687E", "150,46143", "04:A2:3B:5C:11:22:80", "12-34-56-78"} {
		s, err := formats.ParseSighting(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(s.Kind == formats.Read, s.Kind == formats.Printed, s.Kind == formats.Serial, s.Text)
	}
	// Output:
	// true false false 26:32D687E
	// false true false 150,46143
	// false false true 04:A2:3B:5C:11:22:80
	// card "12-34-56-78": can be a chip serial or a printed number; write uid:12-34-56-78 or printed:12-34-56-78
}

func ExampleForm_Parse() {
	format := formats.Builtin().Find("26-8-16")[0]
	decimal, _ := formats.FormByName("decimal10")
	card, err := decimal.Parse(format, "0009876543")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, name := range []string{"pair", "hex", "bits-hex", "uid"} {
		form, _ := formats.FormByName(name)
		text, err := form.Text(&card)
		fmt.Println(name, text, err)
	}
	_, err = decimal.Parse(format, "16777216")
	fmt.Println(err)
	// Output:
	// pair 150,46143 <nil>
	// hex 96B43F <nil>
	// bits-hex 26:32D687E <nil>
	// uid  as uid: format 26-8-16 has no number that is as wide as a chip serial (4, 5, 7, 8 or 10 bytes)
	// as decimal10 "16777216": does not fit 24 bits: 0 to 16777215
}

// A printed number may leave the facility out: what is not known is asked for, not made up.
func ExampleCard_WithFacility() {
	format := formats.Builtin().Find("26-8-16")[0]
	number, _ := formats.FormByName("number")
	read, _ := formats.FormByName("bits-hex")
	card, err := number.Parse(format, "46143")
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = read.Text(&card)
	fmt.Println(err)
	card, err = card.WithFacility("150")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(read.Text(&card))
	// Output:
	// as bits-hex: format 26-8-16 needs the facility as well; give it too
	// 26:32D687E <nil>
}

func ExampleFormat_Read() {
	format := formats.Builtin().Find("26-8-16")[0]
	card, err := format.Read(wiegand.MustParseBits("26:32D687F"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(card.Text(format.Facility()), card.Text(format.Number()), card.Record.OK())
	fmt.Println("fails:", format.DescribeChecks(card.Record.Failed()))
	// Output:
	// 150 46143 false
	// fails: odd parity over bits 14-26
}

func ExampleParseDefinitions() {
	all, err := formats.ParseDefinitions("site.toml", []byte(`
[[format]]
id          = "8-0-6"
description = "a small one"
length      = 8
fields      = [{ name = "number", bits = "2-7" }]
checks      = [{ kind = "odd", bit = 8, over = "2-7" }]
`))
	fmt.Println(len(all), err)
	// Output: 0 site.toml:3: format "8-0-6": layout: bits 1 are claimed by nothing; give them to a field or a check, or to a field named unknown
}

func ExampleAppendDefinition() {
	format := formats.Builtin().Find("37-0-35")[0]
	fmt.Print(string(formats.AppendDefinition(nil, format, "as in the catalogue")))
	// Output:
	// # as in the catalogue
	// [[format]]
	// id          = "37-0-35"
	// description = "37 bits: one 35-bit number, the middle bit in both parities"
	// length      = 37
	// fields      = [
	//     { name = "number", bits = "2-36" },
	// ]
	// checks      = [
	//     { kind = "even", bit = 1, over = "2-19" },
	//     { kind = "odd", bit = 37, over = "19-36" },
	// ]
	// source      = "public operating-system drivers for 37-bit reads"
	// standing    = "published"
	// weight      = 8
	// example     = [
	//     { read = "37:15BFB8386A", fields = { number = "12345678901" } },
	// ]
}
