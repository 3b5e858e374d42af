package formats_test

import (
	"encoding/json"
	"fmt"
	"log"

	"github.com/cardtell/cardtell/formats"
)

// A read from its numbers, and the numbers from the read.
func ExampleFormat_Encode() {
	f := formats.Builtin().Find("26-8-16")[0]
	read, err := f.Encode(map[string]string{"facility": "150", "number": "46143"})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(read.Hex())
	card, err := f.Read(read)
	if err != nil {
		log.Fatal(err)
	}
	facility, _ := card.Facility()
	number, _ := card.Number()
	fmt.Println(facility, number, card.Record.OK())
	// Output:
	// 26:32D687E
	// 150 46143 true
}

// A card goes through JSON with its format, so that whoever reads it needs no catalogue.
func ExampleCard_MarshalJSON() {
	f := formats.Builtin().Find("26-8-16")[0]
	card, err := f.Blank().With(f.Number(), "46143")
	if err != nil {
		log.Fatal(err)
	}
	text, err := json.Marshal(card)
	if err != nil {
		log.Fatal(err)
	}
	var back formats.Card
	if err := json.Unmarshal(text, &back); err != nil {
		log.Fatal(err)
	}
	number, ok := back.Number()
	fmt.Println(back.Format.ID, number, ok)
	_, ok = back.Facility()
	fmt.Println("the facility is known:", ok)
	// Output:
	// 26-8-16 46143 true
	// the facility is known: false
}
