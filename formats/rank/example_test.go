package rank_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

func ExampleRanker_Rank() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	card, err := formats.ParseSightings("26:32D687E=46143") // a read, and the number printed on the card
	if err != nil {
		fmt.Println(err)
		return
	}
	answer, err := ranker.Rank([]formats.Sightings{card})
	if err != nil {
		fmt.Println(err)
		return
	}
	best := answer.Candidates[0]
	fmt.Printf("%s, likelier than 99 %%: %v\n", best.Format.ID, best.Probability > 0.99)
	fmt.Println("facility", best.Cards[0].Text(best.Format.Facility()), "number", best.Cards[0].Text(best.Format.Number()))
	// Output:
	// 26-8-16, likelier than 99 %: true
	// facility 150 number 46143
}

func ExampleRanker_Settle() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	card, err := formats.ParseSightings("26:32D687E")
	if err != nil {
		fmt.Println(err)
		return
	}
	cards := []formats.Sightings{card}
	answer, err := ranker.Rank(cards)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(ranker.Settle(cards, &answer)[0].What)
	// Output: read the number printed on card 1
}

func ExampleRanker_RankForm() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	pair, _ := formats.FormByName("pair")
	readings := ranker.RankForm(pair, "116,23152", "", nil)
	decimal, _ := formats.FormByName("decimal10")
	text, err := decimal.Text(&readings.Cards[0])
	fmt.Println(readings.Cards[0].Format.ID, text, err)
	// Output: 26-8-16 0007625328 <nil>
}

// Reading one value of a format that is known needs no ranking.
func ExampleReadForm() {
	format := formats.Builtin().Find("26-8-16")[0]
	number, _ := formats.FormByName("number")
	card, err := rank.ReadForm(format, number, "46143", "150")
	fmt.Println(card.Record.Encode().Hex(), err)
	// Output: 26:32D687E <nil>
}

// Cards of two makers, all of 26 bits, told apart by what is printed on them.
func ExampleRanker_Kinds() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	var cards []formats.Sightings
	for _, text := range []string{"26:2F20023=121,00017", "26:2B13883=5807169", "26:2F20057=121,00043",
		"26:2B13885=5807170", "26:2F201A9=121,00212"} {
		card, err := formats.ParseSightings(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		cards = append(cards, card)
	}
	kinds, err := ranker.Kinds(cards)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(kinds.Groups)
	// Output: [[0 2 4] [1 3]]
}

// Two lots of cards, without a print: two facilities of one format, or cards of two formats.
func ExampleRanker_Divide() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	var cards []formats.Sightings
	for _, text := range []string{"26:2F20023", "26:2F20057", "26:2F201A9", "26:2B13883", "26:2B13885"} {
		card, err := formats.ParseSightings(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		cards = append(cards, card)
	}
	answer, err := ranker.Rank(cards)
	if err != nil {
		fmt.Println(err)
		return
	}
	before := answer.Candidates[0].Probability
	kinds, answers, err := ranker.Divide(cards, &answer)
	fmt.Println(kinds.Groups, answers, err)
	fmt.Println(answer.Candidates[0].Format.ID, answer.Candidates[0].Probability < before)
	fmt.Println(answer.Warnings)
	// Output:
	// [[0 1 2 3 4]] [] <nil>
	// 26-8-16 true
	// [cards 4, 5 may be of another kind than the rest (12 %): no one answer is for all then; ask about each kind by itself]
}

// One answer's memory serves for all cards of a long file.
func ExampleRanker_RankInto() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	var answer rank.Answer
	for _, text := range []string{"26:2F20023", "34:1D9CB0CE7"} {
		card, err := formats.ParseSightings(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		if err := ranker.RankInto(&answer, []formats.Sightings{card}); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(len(answer.Candidates) > 0 && answer.Candidates[0].Probability > answer.Unknown)
	}
	// Output:
	// true
	// true
}

func ExampleByLength() {
	var cards []formats.Sightings
	for _, text := range []string{"26:2F20023", "37:00FAC09C57", "26:2F20057"} {
		card, err := formats.ParseSightings(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		cards = append(cards, card)
	}
	fmt.Println(rank.ByLength(cards))
	// Output: [[0 2] [1]]
}
