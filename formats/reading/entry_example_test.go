package reading_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// A number of a list in the form that a door wants: 121 times 65536 and 43.
func ExampleNewConverter() {
	plan, err := reading.New(formats.Builtin(), site.Site{}, reading.Options{Format: "26-8-16", Forms: []string{"pair"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	form, _ := formats.FormByName("decimal10")
	convert, err := reading.NewConverter(plan, form)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, cell := range []string{"121,00043", "121,70515"} {
		out, err := convert.Convert(nil, []byte(cell))
		fmt.Printf("%s %v\n", out, err)
	}
	// Output:
	// 0007929899 <nil>
	//  "121,70515": number "70515": does not fit 16 bits: 0 to 65535
}

// What stands around a number in a cell, and what spreadsheets make of one.
func ExampleMend() {
	fmt.Printf("%+v\n", reading.Clean("9\u00A0876\u00A0543 "))
	for _, cell := range []string{`="0123"`, "12.05.2024", "9876543"} {
		m := reading.Mend([]byte(cell), reading.Shape{Decimal: true})
		fmt.Printf("%q %q %q\n", m.Value, m.Repair, m.Doubt)
	}
	fmt.Println(reading.Sound([]byte("9876543"), reading.Shape{Decimal: true}), reading.LooksLikeDate("12.05.2024"))
	fmt.Println(reading.Fragile([]byte("0009876543")), reading.Parts("121,43; 121,44"))
	// Output:
	// {Text:9876543 Did:[white space taken away no-break spaces between groups of three digits taken away] May:}
	// "0123" "=\"…\" taken away" ""
	// "" "" "looks like a date: a spreadsheet takes 5-12 for one; write the number there again as text"
	// "9876543" "" ""
	// true true
	// true [121,43 121,44]
}

// The form of cards of which only the format is known is taken from the list.
func ExampleShown() {
	for _, p := range reading.Shown(formats.Builtin(), nil, []string{"121,00043", "121,00044", "x"},
		reading.Options{Format: "26-8-16"}) {
		fmt.Println(p.Format, p.Printed)
	}
	// Output: 26-8-16 pair
}

// The form that a column shows, if it shows one.
func ExampleShownForm() {
	p := formats.Population{Format: "26-8-16"}
	fmt.Printf("%q ", reading.ShownForm(formats.Builtin(), &p, []string{"2637", "2638"}))
	p.Facilities = []uint64{87}
	fmt.Printf("%q\n", reading.ShownForm(formats.Builtin(), &p, []string{"2637", "2638"}))
	// Output: "" "number"
}
