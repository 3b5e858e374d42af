package roster_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
	"github.com/cardtell/cardtell/formats/site"
)

var harbourRow = site.Site{
	Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{121},
		Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair"}},
	Doors: []site.Door{{Name: "Yard gate", Enter: "decimal10"}},
}

func list(numbers ...string) (*roster.Roster, error) {
	plan, err := reading.New(formats.Builtin(), harbourRow, reading.Options{})
	if err != nil {
		return nil, err
	}
	r, err := roster.New(harbourRow, plan, false)
	if err != nil {
		return nil, err
	}
	for i, number := range numbers {
		r.Add(roster.Row{Line: i + 2, Number: []byte(number)})
	}
	return r, nil
}

// What is wrong with a list.
func ExampleRoster_Check() {
	r, err := list("121,00014", "121,00017", "121,14", "112,00020", "no card")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range r.Check() {
		switch f.Kind {
		case roster.SameCard:
			fmt.Println("line", f.Line, "has the card of line", f.Other)
		case roster.Mistyped:
			fmt.Println("line", f.Line, "is probably", f.Meant)
		case roster.Unusable:
			fmt.Println("line", f.Line, f.What)
		}
	}
	// Output:
	// line 4 has the card of line 2
	// line 5 is probably 121,00020
	// line 6 unreadable
}

// One number of facility 112 was typed wrong, as above; two are cards that the site file lacks. Common practice, no
// source: nobody slips twice in the same way.
func ExampleRoster_Check_anotherLot() {
	r, err := list("121,00014", "112,00020", "112,00021", "113,00022")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range r.Check() {
		fmt.Println(f.Line, f.Kind, f.What)
	}
	// Output:
	// 3 unusable wrong-facility
	// 4 unusable wrong-facility
	// 5 unusable wrong-facility
}

// New numbers: 121.00018 could not be read, and is somebody's all the same.
func ExampleRoster_Free() {
	r, err := list("121,00014", "121,00017", "121.00018")
	if err != nil {
		fmt.Println(err)
		return
	}
	r.Check()
	blocks, _ := r.Free(3)
	fmt.Println(blocks[0].FirstCard, "to", blocks[0].LastCard)
	// Output: 121,00019 to 121,00021
}
