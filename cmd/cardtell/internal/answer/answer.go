// Package answer is what identify says: the answer of a library in, text for people or JSON for programs out.
package answer

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// Kind is what cards of one kind can be.
type Kind struct {
	Cards  []formats.Sightings
	Given  []int // their places in the question, from 1; nil where it was about these cards alone
	Ans    *rank.Answer
	First  []string // what is wrong with the question, before all else
	Settle []string // what to look at next
	texts  *rank.TextAnswer
}

// Answer is what cards of one site can be: jointly and, where they are of several kinds, each kind by itself, which is
// the answer then.
type Answer struct {
	Kind
	Kinds   []Kind // nil where one answer is for all cards
	several rank.Kinds
	taken   []taken
	serial  *serial
}

// taken is what one text was taken for.
type taken struct {
	text, as string
	p        float64
}

// takenFrom is the least probability of a way of meaning a text that is told.
const takenFrom = 0.001

// OfTexts puts together what a ranker has answered for texts.
func OfTexts(ranker *rank.Ranker, cat formats.Catalogue, texts []string, ans *rank.TextAnswer) (Answer, error) {
	a := Answer{Kind: Kind{Cards: ans.Taken[0].Cards, Ans: &ans.Answer, First: ans.First, texts: ans}}
	if err := a.part(ranker); err != nil {
		return a, err
	}
	for i, text := range texts {
		a.taken = append(a.taken, takenFor(text, i, ans.Taken)...)
	}
	a.First = slices.Concat(oneCard(texts, a.Cards), a.First)
	if a.Kinds == nil {
		a.settle(ranker)
	}
	a.serial = aloneSerial(a.Cards, cat)
	return a, nil
}

// takenFor is what the i-th text can be taken for, the likeliest first.
func takenFor(text string, i int, ways []rank.Taken) (all []taken) {
	for _, way := range ways {
		at := slices.IndexFunc(all, func(t taken) bool { return t.as == way.As[i] })
		if at < 0 {
			at, all = len(all), append(all, taken{text: say.Clip(text, 80), as: way.As[i]})
		}
		all[at].p += way.Probability
	}
	for k := range all { // 1 is for what a text can be that is nothing else, whatever the sum is rounded to
		if all[k].p = min(all[k].p, math.Nextafter(1, 0)); len(all) == 1 {
			all[k].p = 1
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].p > all[j].p })
	return slices.DeleteFunc(all, func(t taken) bool { return t.p < takenFrom })
}

// OfCards answers for cards of one site, which are read in one way only.
func OfCards(ranker *rank.Ranker, cards []formats.Sightings) (Answer, error) {
	k, err := newKind(ranker, cards, nil)
	a := Answer{Kind: k}
	if err == nil {
		err = a.part(ranker)
	}
	return a, err
}

func newKind(ranker *rank.Ranker, cards []formats.Sightings, given []int) (Kind, error) {
	ans, err := ranker.Rank(cards)
	if err != nil {
		return Kind{}, err
	}
	return kindOf(ranker, cards, given, &ans), nil
}

// kindOf is newKind for cards that are ranked already.
func kindOf(ranker *rank.Ranker, cards []formats.Sightings, given []int, ans *rank.Answer) Kind {
	k := Kind{Cards: cards, Given: given, Ans: ans, First: ans.First}
	k.settle(ranker)
	return k
}

// Parts are the kinds of card that are answered, each by itself.
func (a *Answer) Parts() []Kind {
	if a.Kinds == nil {
		return []Kind{a.Kind}
	}
	return a.Kinds
}

// Fits reports whether each kind of card has an answer: a format, or what serials are.
func (a *Answer) Fits() bool {
	return !slices.ContainsFunc(a.Parts(), func(k Kind) bool { return !k.Serials() && !Fits(k.Ans) })
}

// Fits reports whether some format is likelier than none.
func Fits(ans *rank.Answer) bool {
	if len(ans.Candidates) == 0 || ans.Candidates[0].Probability < ans.Unknown {
		return false
	}
	return len(ans.Frames) == 0 || ans.Candidates[0].Probability >= ans.Frames[0].Probability
}

// pick returns the cards at these places.
func pick(cards []formats.Sightings, places []int) []formats.Sightings {
	own := make([]formats.Sightings, len(places))
	for i, at := range places {
		own[i] = cards[at]
	}
	return own
}

// from1 counts places from 1.
func from1(places []int) []int {
	given := make([]int, len(places))
	for i, at := range places {
		given[i] = at + 1
	}
	return given
}

// settle says what to look at next. Where it is not sure what the texts are, saying that comes first.
func (k *Kind) settle(ranker *rank.Ranker) {
	if k.texts != nil && k.texts.Taken[0].Probability < say.Surely {
		k.Settle = []string{"say what the text is: LENGTH:HEX or bits: for a read, left: for one filled up to whole bytes, " +
			"uid:, hex: or printed: before it"}
	}
	for _, s := range ranker.Settle(k.Cards, k.Ans) {
		line := s.String()
		if len(k.Cards) == 1 && k.Given == nil { // there is no other
			line = strings.Replace(line, "card 1", "the card", 1)
		}
		k.Settle = append(k.Settle, line)
	}
}

// oneCard asks whether two arguments that can be one card are one.
func oneCard(texts []string, cards []formats.Sightings) []string {
	if len(cards) != 2 || len(cards[0]) != 1 || len(cards[1]) != 1 || cards[1][0].Kind != formats.Printed ||
		!decimal(texts[1]) {
		return nil
	}
	sign := ""
	switch {
	case cards[0][0].Kind == formats.Read:
		sign = "="
	case cards[0][0].Kind == formats.Printed && decimal(texts[0]) && len(texts[0]) <= 5 && len(texts[1]) <= 7:
		sign = ","
	default:
		return nil
	}
	first := say.Clip(texts[0], 40)
	return []string{fmt.Sprintf("%s and %s were taken for two cards; are they one? Then write %s%s%s", first, texts[1],
		first, sign, texts[1])}
}

func decimal(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }

// cardNumbers are the places of cards in a sentence.
var cardNumbers = pattern.Lazily(`\b(cards? )(\d+(?:, \d+)*)`)

// Number is the number of a card, from 0, in the question.
func (k *Kind) Number(i int) int {
	if k.Given == nil {
		return i + 1
	}
	return k.Given[i]
}

// Numbered gives sentences about cards the numbers of the question.
func (k *Kind) Numbered(lines []string) []string {
	if k.Given == nil {
		return lines
	}
	out := make([]string, len(lines))
	for i, line := range lines {
		out[i] = cardNumbers().ReplaceAllStringFunc(line, func(found string) string {
			m := cardNumbers().FindStringSubmatch(found)
			places := strings.Split(m[2], ", ")
			for i, p := range places {
				if n, err := strconv.Atoi(p); err == nil && n >= 1 && n <= len(k.Given) {
					places[i] = strconv.Itoa(k.Given[n-1])
				}
			}
			return m[1] + strings.Join(places, ", ")
		})
	}
	return out
}

// of are the cards as a candidate has them: a text can be meant in several ways.
func (k *Kind) of(candidate int) []formats.Sightings {
	if k.texts == nil || len(k.Ans.Candidates) == 0 {
		return k.Cards
	}
	return k.texts.Taken[k.texts.Way(candidate)].Cards
}

// reading is a candidate, or a frame in whose place there is none.
type reading struct {
	c     *rank.Candidate
	at    int // of the candidate
	frame *rank.Frame
}

// readings are the likeliest so many, by probability, and others is that of the rest.
func (k *Kind) readings(top int) (all []reading, others float64) {
	c, f := k.Ans.Candidates, k.Ans.Frames
	n, m := 0, 0
	for n+m < top && n+m < len(c)+len(f) {
		if n < len(c) && (m == len(f) || c[n].Probability >= f[m].Probability) {
			all = append(all, reading{c: &c[n], at: n})
			n++
		} else {
			all = append(all, reading{frame: &f[m]})
			m++
		}
	}
	for ; n < len(c); n++ {
		others += c[n].Probability
	}
	for ; m < len(f); m++ {
		others += f[m].Probability
	}
	return all, others
}
