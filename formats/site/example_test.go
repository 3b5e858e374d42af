package site_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// A site file, and what it says.
func ExampleParse() {
	s, err := site.Parse("site.toml", []byte(`
name = "Harbour Row Workshops"
[[cards]]
format = "26-8-16"
facility = 121
numbers = "1-500, 1001-1100"
printed = "pair"
[[doors]]
name = "North stair"
enter = "pair"
`), formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	door, _ := s.Door("north stair")
	fmt.Println(s.Name, s.Formats(), formats.FormatRanges(s.Cards[0].Numbers), door.Enter)
	_, err = site.Parse("site.toml", []byte("[[cards]]\nformat = \"26-8-61\"\n"), formats.Builtin())
	e := err.(*site.Error)
	fmt.Println(e.File, e.Line, e.Key)
	// Output:
	// Harbour Row Workshops [26-8-16] 1-500, 1001-1100 pair
	// site.toml 2 cards.format
}

// What form a door wants, from one card and what the door shows for it: 57 times 65536 and 2119.
func ExampleSite_FormsShown() {
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{57}}}}
	for _, f := range s.FormsShown(formats.Builtin(), site.Shown{Card: "057,02119", Door: "0003737671"}) {
		fmt.Printf("%s %.2f\n", f.Form, f.Probability)
	}
	// Output:
	// decimal10 0.99
	// decimal 0.01
}

// Two forms of door for a site of one kind of card, and a card that tells them apart.
func ExampleSite_Apart() {
	s := site.Site{Cards: []formats.Population{{Format: "34-0-32"}}}
	_, apart := s.Apart(formats.Builtin(), "number10", "decimal10")
	fmt.Println(apart)
	card, apart := s.Apart(formats.Builtin(), "number", "number10")
	number, _ := formats.FormByName("number10")
	text, _ := number.Text(&card)
	fmt.Println(apart, text)
	// Output:
	// false
	// true 0000000001
}
