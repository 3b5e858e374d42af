package match_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// A reader sends the bytes of the cards in the other order: 121,00014 is 79000E in hex, and 0E0079 is 917625.
func ExampleMatcher_Weigh() {
	cat := formats.Builtin()
	plan := func(form string) *reading.Plan {
		p, err := reading.New(cat, site.Site{}, reading.Options{Format: "26-8-16", Forms: []string{form}, Any: true})
		if err != nil {
			panic(err)
		}
		return p
	}
	m := match.New(match.Options{Catalogue: cat, List: plan("pair"), Shown: plan("decimal10")})
	m.List(func(yield func(match.Row) bool) {
		for i, number := range []string{"121,00014", "121,00017", "121,00300"} {
			if !yield(match.Row{Line: i + 2, Name: fmt.Sprint("holder ", i+1), Value: []byte(number)}) {
				return
			}
		}
	})
	m.Events(func(yield func(match.Row) bool) {
		for i, number := range []string{"0000917625", "0007929873"} {
			if !yield(match.Row{Line: i + 2, Value: []byte(number)}) {
				return
			}
		}
	})
	fmt.Println("known:", m.Known())
	for _, u := range m.Weigh() {
		fmt.Println(u.Value, m.Holders()[u.Best.Holder].Name, u.Best.Rule == match.ByteOrder, u.Best.Probability > 0.9)
	}
	// Output:
	// known: 1
	// 0000917625 holder 1 true true
}
