package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/typed"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// fromWords takes the card out of a text with more in it, such as a line of a log, which is said. The error is that of
// the text where there is none.
func (o *identifyOptions) fromWords(text string) (string, error) {
	card, err := formats.FromLog(text)
	if err == nil && card != text {
		o.remark("%s: had more in it than a card, of which this was taken: %s; see that it is the card", say.Clip(text, 60),
			say.Clip(card, 40))
	}
	return card, err
}

// texts reads the cards of the command line, and then those of the file. A read and a number that agree, as the whole
// command line, are one card.
func (o *identifyOptions) texts(ranker *rank.Ranker, args []string) (t typed.Texts, err error) {
	for _, arg := range typed.OneOfWords(args) {
		if err := t.Add(arg); err != nil {
			card, none := o.fromWords(arg)
			if errors.Is(none, formats.ErrMissing) || errors.Is(none, formats.ErrAmbiguous) {
				err = none
			}
			if none != nil || t.Add(card) != nil {
				return t, err
			}
		}
	}
	if joined, ok := t.Joined(ranker); ok && o.file == "" {
		o.remark("taken for %s, each a read with its print, which agree: %s; --each takes every card by itself",
			say.Count(len(joined.Text), "card"), say.Clip(strings.Join(joined.Text, " "), 80))
		return joined, nil
	}
	if o.file == "" {
		return t, nil
	}
	err = o.cardLines(func(line int, text string) error {
		if err := t.Add(text); err != nil {
			return fmt.Errorf("%s:%d: %w", o.file, line, err)
		}
		return nil
	})
	if err == nil && len(t.Text) == 0 {
		err = fmt.Errorf("%s: no cards in it; write one a line, such as 26:32D687E", o.file)
	}
	return t, err
}

// cardLines calls use for each card of the file: of a line with more on it, such as one of a panel's log, for the card
// in it. The first line can be the heads of columns, which say where the card stands. Heads, and lines with a time and
// no card, are passed over, which is said; a line that can't be read is used as it is, so that its error is told.
func (o *identifyOptions) cardLines(use func(line int, text string) error) error {
	var l typed.Lines
	err := o.lines(o.file, func(line int, text string) error {
		card, pass, err := l.Card(line, text)
		switch {
		case err != nil:
			return fmt.Errorf("%s:%d: %w", o.file, line, err)
		case pass:
			return nil
		}
		return use(line, card)
	})
	if err != nil {
		return err
	}
	if l.Taken > 0 {
		o.remark("%s: %s had more on them than a card, of which this was taken: %s%s; see that it is the card", o.file,
			say.Count(l.Taken, "line"), l.First, map[bool]string{true: ", and so on"}[l.Taken > 1])
	}
	if len(l.Passed) > 0 {
		o.remark("%s: passed over as heads, or as having no card: %s", o.file, lineList(l.Passed))
	}
	return nil
}

// lineList names lines of a file, the first few of many.
func lineList(lines []int) string {
	const most = 8
	text := strings.Trim(strings.ReplaceAll(fmt.Sprint(lines[:min(most, len(lines))]), " ", ", "), "[]")
	what := map[bool]string{true: "line ", false: "lines "}[len(lines) == 1]
	if n := len(lines) - most; n > 0 {
		text += fmt.Sprintf(" and %d more", n)
	}
	return what + text
}

// likeliest returns the cards as they are likeliest meant, and says so where that is in doubt.
func (o *identifyOptions) likeliest(args []string) ([]formats.Sightings, error) {
	ranker, err := o.ranker()
	if err != nil {
		return nil, err
	}
	texts, err := o.texts(ranker, args)
	if err != nil {
		return nil, err
	}
	ans, err := ranker.RankSpellings(texts.Spelled)
	if err != nil {
		return nil, err
	}
	if first := ans.Taken[0]; first.Probability < surely {
		o.remark("%s: taken for %s (%s); write a prefix such as uid:, hex: or printed: if it is something else",
			say.Clip(texts.Text[0], 40), first.As[0], strings.TrimSpace(say.Percent(first.Probability)))
	}
	return ans.Taken[0].Cards, nil
}

// takenTextJSON says what one text was taken for.
type takenTextJSON struct {
	Text        string  `json:"text"`
	As          string  `json:"as"`
	Probability float64 `json:"probability"`
}

// takenFrom is the least probability of a way of meaning a text that is told.
const takenFrom = 0.001

// takenJSON says of every text what it can be taken for, the likeliest first.
func takenJSON(texts []string, ans *rank.TextAnswer) (all []takenTextJSON) {
	for i, text := range texts {
		for _, t := range ans.Taken {
			if t.Probability >= takenFrom {
				all = append(all, takenTextJSON{say.Clip(text, 80), t.As[i], t.Probability})
			}
		}
	}
	return all
}

// textsAnswerJSON is answerJSON, with each candidate from what the texts are taken for then.
func textsAnswerJSON(ans *rank.TextAnswer, settle []rank.Settle, top int) identifyJSON {
	doc := answerJSON(ans.Taken[0].Cards, &ans.Answer, settle, top)
	k := 0 // frames stand among the candidates
	for i := range doc.Candidates {
		if doc.Candidates[i].Format == "" {
			continue
		}
		if w := ans.Way(k); w > 0 {
			doc.Candidates[i] = newCandidateJSON(&ans.Candidates[k], ans.Taken[w].Cards)
		}
		k++
	}
	return doc
}

// settleTexts says what to look at next. Where it is not sure what the texts are, saying that comes first.
func settleTexts(ranker *rank.Ranker, ans *rank.TextAnswer) []rank.Settle {
	settle := ranker.Settle(ans.Taken[0].Cards, &ans.Answer)
	if ans.Taken[0].Probability < surely {
		what := rank.Settle{What: "say what the text is: LENGTH:HEX or bits: for a read, left: for one filled up to " +
			"whole bytes, " +
			"uid:, hex: or printed: before it"}
		settle = append([]rank.Settle{what}, settle...)
	}
	return settle
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
