package reading_test

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// A column of a list, read by what the site has. The form is found from the column itself.
func ExampleSettle() {
	texts := []string{"121,00014", " 121,00017 ", "", "121,00500", "Total 3", "122,00001"}
	cards := []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}}}
	column, err := reading.Settle(formats.Builtin(), cards, slices.Values(texts), reading.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for text, cell := range column.All(slices.Values(texts)) {
		switch cell.Outcome {
		case reading.IsCard:
			fmt.Printf("%q is %s\n", text, reading.Describe(&cell.Cards[0].Card))
		case reading.Doubt:
			fmt.Printf("%q can be %d cards\n", text, len(cell.Cards))
		case reading.NoCard:
			fmt.Printf("%q is none: %s\n", text, cell.Err.Kind)
		}
	}
	// Output:
	// "121,00014" is 121,00014
	// " 121,00017 " is 121,00017
	// "" is none: empty
	// "121,00500" is 121,00500
	// "Total 3" is none: unreadable
	// "122,00001" is none: wrong-facility
}

func ExamplePlain() {
	for _, cell := range []string{" 121,17 ", "FC 121 ID 17", `="0017"`, "4A:C2:E4:92"} {
		fmt.Println(reading.Plain(cell))
	}
	// Output:
	// 121,17
	// 121,17
	// 0017
	// 4AC2E492
}
