package fuzz

import (
	"math"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// FuzzRank asks about any cards: whatever the words, the answer is a posterior (finite, in order, adding up to 1),
// every card has its place in every candidate, repaired reads are good ones, and what is said in words does not fail.
func FuzzRank(f *testing.F) {
	for _, seed := range []string{
		"26:32D687E",                                   // the usual card
		"26:32D687E=46143 26:32D6882",                  // a print among reads
		"26:32D687F 26:32D6882 26:32D6884",             // a misread
		"25:32D687 26:32D6882",                         // a lost bit
		"uid:04A23B5C",                                 // nothing but a serial
		"uid:08A1B2C3=26:32D687E",                      // a random serial
		"0009876543 150,46143",                         // prints alone
		"hex:96B43F=9876543",                           // hex
		"32:5CA3B204=uid:04B2A35C",                     // bytes reversed
		"bits:0101",                                    // a key
		"000110100000110000010001100111111001000000",   // a stripe with clocking zeros
		"26:0 26:3FFFFFF",                              // a line at rest, and one stuck
		"128:00320001092446011112223333112232",         // longer than 64 bits
		"26:32D687E 34:1D9CB0CE7 37:0303913C81",        // several formats
		"printed:1=printed:2=printed:3 uid:04A2B3C4D5", // several prints of one card
		"26:2F20023=17-3 26:2F20057=43-1 26:2F201A9=212-1 26:2F20325=402-2",               // order numbers beside the numbers
		"26:2F20023=176 26:2F20057=430 26:2F201A9=2120 26:2F20325=4029",                   // a digit more
		"26:2F20023=121,00017 26:2B13883=5807169 26:2F20057=121,00043 26:2B13885=5807170", // two makers
		"36:675=826 36:80058BF93=2908105",                                                 // a length and digits that are two numbers as well
		// facility 0 of a layout that has no bits for it
		"30:18000659=00000,01625 30:180005B9=00000,01465 30:1800064F=00000,01615 30:180005F5=00000,01525 30:18000654=00000,01620 30:1800061D=00000,01565",
	} {
		f.Add(seed)
	}
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var cards []formats.Sightings
		for _, word := range strings.Fields(text) {
			s, err := formats.ParseSightings(word)
			if err != nil || len(cards) == 8 || len(s) > 4 {
				return
			}
			cards = append(cards, s)
		}
		ans, err := ranker.Rank(cards)
		if err != nil {
			return
		}
		checkPosterior(t, cards, &ans)
		for i := range ans.Candidates {
			ans.Candidates[i].Evidence(cards)
		}
		ranker.Settle(cards, &ans)
		checkKinds(t, ranker, cards)
		checkTexts(t, ranker, strings.Fields(text))
	})
}

// checkTexts fails unless what texts are taken for is a posterior, over the same cards in every way.
func checkTexts(t *testing.T, ranker *rank.Ranker, texts []string) {
	ans, err := ranker.RankTexts(texts)
	if err != nil {
		return
	}
	sum := 0.0
	for _, way := range ans.Taken {
		if sum += way.Probability; len(way.Cards) != len(texts) || len(way.As) != len(texts) {
			t.Fatalf("%d cards and %d ways of %d texts", len(way.Cards), len(way.As), len(texts))
		}
	}
	if !(math.Abs(sum-1) <= 1e-6) { // NaN too
		t.Fatalf("ways that add up to %v", sum)
	}
	for i := range ans.Candidates {
		ans.Candidates[i].Evidence(ans.Taken[ans.Way(i)].Cards)
	}
}

// checkKinds fails unless every card is of one kind, and of one only.
func checkKinds(t *testing.T, ranker *rank.Ranker, cards []formats.Sightings) {
	k, err := ranker.Kinds(cards)
	if err != nil {
		t.Fatal(err)
	}
	seen := make([]int, len(cards))
	for _, g := range k.Groups {
		for _, at := range g {
			seen[at]++
		}
	}
	for at, n := range seen {
		if n != 1 {
			t.Fatalf("card %d is in %d of %v", at, n, k.Groups)
		}
	}
	if !(k.Probability >= 0 && k.Probability <= 1) {
		t.Fatalf("a probability of %v", k.Probability)
	}
}

func checkPosterior(t *testing.T, cards []formats.Sightings, ans *rank.Answer) {
	sum, last := ans.Unknown, math.Inf(1)
	for i := range ans.Candidates {
		c := &ans.Candidates[i]
		sum += c.Probability
		if !(c.Probability > 0) || c.Probability > last {
			t.Fatalf("candidate %d has probability %v after %v", i, c.Probability, last)
		}
		last = c.Probability
		if len(c.Cards) != len(cards) || len(c.Repairs) != len(cards) {
			t.Fatalf("%d cards and %d repairs for %d", len(c.Cards), len(c.Repairs), len(cards))
		}
		for k := range c.Cards {
			if c.Cards[k].Whole() && !c.Cards[k].Record.OK() {
				t.Fatalf("%s: card %d of a candidate has checks that fail", c.Format.ID, k)
			}
		}
	}
	for i := range ans.Frames {
		sum += ans.Frames[i].Probability
	}
	if math.Abs(sum-1) > 1e-9 || math.IsNaN(sum) {
		t.Fatalf("probabilities add up to %v", sum)
	}
}
