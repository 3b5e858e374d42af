package roster_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
)

// Who may be on the list twice.
func ExampleRoster_People() {
	plan, err := reading.New(formats.Builtin(), harbourRow, reading.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := roster.New(harbourRow, plan, true)
	if err != nil {
		fmt.Println(err)
		return
	}
	r.Add(roster.Row{Line: 2, Name: []byte("Cléo Rao"), Number: []byte("121,00042")})
	r.Add(roster.Row{Line: 3, Name: []byte("Rao, Cleo"), Number: []byte("121,00043")})
	r.Check()
	people, _ := r.People()
	fmt.Println(people[0].Kind == roster.Spellings, people[0].Cards, people[0].Rows[1].Line)
	// Output: true 2 3
}

// New cards as each door wants them, of numbers that were left out.
func ExampleRoster_New() {
	r, err := list("121,00014", "121,00016")
	if err != nil {
		fmt.Println(err)
		return
	}
	r.Check()
	blocks, _ := r.Free(2)
	for card := range r.New(blocks[0]) {
		fmt.Println(card.Card, card.Doors)
	}
	// Output:
	// 121,00017 [0007929873]
	// 121,00018 [0007929874]
}
