package rank_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// The whole read in hex, without its length: the parity bits say how long it is.
func ExampleRanker_RankTexts() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	ans, err := ranker.RankTexts([]string{"0F241C3"})
	if err != nil {
		fmt.Println(err)
		return
	}
	first := ans.Candidates[0]
	fmt.Println(ans.Taken[ans.Way(0)].As[0])
	fmt.Println(first.Format.ID, first.Cards[0].Text(first.Format.Facility()), first.Cards[0].Text(first.Format.Number()))
	fmt.Println(ans.Way(len(ans.Candidates)))
	// Output:
	// a read of 26 bits in hex
	// 26-8-16 121 8417
	// -1
}

// Texts whose spellings a program has narrowed down.
func ExampleRanker_RankSpellings() {
	ranker, _ := rank.New(formats.Builtin())
	ways, _ := formats.Spellings("04A23B5C")
	ans, err := ranker.RankSpellings([][]formats.Spelling{ways})
	fmt.Println(len(ans.Taken) > 1, err)
	// Output: true <nil>
}

// How probable a facility is that a print leaves out.
func ExampleRanker_Facility() {
	ranker, _ := rank.New(formats.Builtin(), rank.Population{Format: "26-8-16", Facilities: []uint64{121},
		Printed: "number"})
	card, _ := rank.ReadForm(formats.Builtin().Find("26-8-16")[0], mustForm("number"), "8417", "")
	whole, err := rank.WithFacility(card, "121")
	fmt.Println(ranker.Facility("number", &card, &whole) > 0.5, err)
	// Output: true <nil>
}

func mustForm(name string) formats.Form {
	form, _ := formats.FormByName(name)
	return form
}

// A facility is filled in, never replaced.
func ExampleWithFacility() {
	card, _ := rank.ReadForm(formats.Builtin().Find("26-8-16")[0], mustForm("pair"), "121,8417", "")
	_, err := rank.WithFacility(card, "122")
	fmt.Println(err != nil)
	// Output: true
}
