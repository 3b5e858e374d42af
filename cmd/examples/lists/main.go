// Command lists does with a list of cardholders what an access-control program does. It is run from the top of the
// repository.
package main

import (
	"encoding/csv"
	"fmt"
	"os"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
	"github.com/cardtell/cardtell/formats/site"
)

func main() {
	cat := formats.Builtin()
	s := must(site.Parse("site.toml", must(os.ReadFile("testdata/demo/site.toml")), cat))
	file := csv.NewReader(must(os.Open("testdata/demo/staff.csv")))
	file.Comma = ';'
	rows := must(file.ReadAll())[1:]
	column := must(reading.Settle(cat, s.Cards, numbers(rows), reading.Options{Second: s.DoorForms()}))
	list := must(roster.New(s, column.Plan(), true))
	events := match.New(must(match.ForSite(cat, s, reading.Options{}, "decimal10")))
	line := 1
	for number, cell := range column.All(numbers(rows)) { // what each row's number is
		name := rows[line-1][0]
		line++
		list.Add(roster.Row{Line: line, Name: []byte(name), Number: []byte(number)})
		_ = events.AddHolder(match.Row{Line: line, Name: name, Value: []byte(number)}) // what is no card is named below
		if cell.Outcome == reading.Doubt {
			fmt.Println(line, number, "can be", len(cell.Cards), "cards")
		}
	}
	for _, found := range list.Check() { // what is wrong with the list
		fmt.Printf("%2d %-10s %v\n", found.Line, list.Number(found.Text), found.Kind)
	}
	events.AddEvent(match.Row{Value: []byte("0002556025")}) // whose card an unknown number is
	who := events.Weigh()[0].Best
	fmt.Printf("%s: %v, %.0f %%\n", events.Holders()[who.Holder].Name, who.Rule, 100*who.Probability)
	blocks, _ := list.Free(2) // numbers that nobody has, as each door wants them
	for card := range list.New(blocks[0]) {
		fmt.Println(card.Card, card.Doors)
	}
}
