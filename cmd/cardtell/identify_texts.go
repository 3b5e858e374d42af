package main

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// cardTexts are the cards asked about as they were written, and what each text can be.
type cardTexts struct {
	text    []string
	spelled [][]formats.Spelling
}

func (t *cardTexts) add(text string) error {
	ways, err := formats.Spellings(text)
	if err == nil {
		t.text, t.spelled = append(t.text, text), append(t.spelled, ways)
	}
	return err
}

// spacedBytes are bytes in hex, as many as a read or a serial has: no cards by themselves.
var spacedBytes = regexp.MustCompile(`^[0-9A-Fa-f]{2}(?: [0-9A-Fa-f]{2}){3,9}$`)

// texts reads the cards of the command line, and then those of the file.
func (o *identifyOptions) texts(args []string) (t cardTexts, err error) {
	if together := strings.Join(args, " "); spacedBytes.MatchString(together) && strings.ContainsAny(together,
		"ABCDEFabcdef") {
		args = []string{together}
	}
	for _, arg := range args {
		err := t.add(arg)
		if err != nil && len(args) > 1 { // one card of several words, which nobody put between quotes
			t = cardTexts{}
			if t.add(strings.Join(args, " ")) == nil {
				break
			}
		}
		if err != nil {
			return t, err
		}
	}
	if o.file == "" {
		return t, nil
	}
	err = o.cardLines(func(line int, text string) error {
		if err := t.add(text); err != nil {
			return fmt.Errorf("%s:%d: %w", o.file, line, err)
		}
		return nil
	})
	if err == nil && len(t.text) == 0 {
		err = fmt.Errorf("%s: no cards in it; write one a line, such as 26:32D687E", o.file)
	}
	return t, err
}

// cardLines calls use for each card of the file: of a line with more on it, such as one of a panel's log, for the card
// in it. The first line can be the heads of columns, which say where the card stands. Heads, and lines with a time and
// no card, are passed over, which is said; a line that can't be read is used as it is, so that its error is told.
func (o *identifyOptions) cardLines(use func(line int, text string) error) error {
	var l logLines
	err := o.lines(o.file, func(line int, text string) error {
		card, pass, err := l.card(line, text)
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
	if l.taken > 0 {
		o.remark("%s: %s had more on them than a card, of which this was taken: %s%s; see that it is the card", o.file,
			say.Count(l.taken, "line"), l.first, map[bool]string{true: ", and so on"}[l.taken > 1])
	}
	if len(l.passed) > 0 {
		o.remark("%s: passed over as heads, or as having no card: %s", o.file, lineList(l.passed))
	}
	return nil
}

// logLines finds the cards in lines, one after another.
type logLines struct {
	heads  *cardHeads
	some   bool // there was a line before
	taken  int  // lines with more than a card
	first  string
	passed []int
}

// card returns the text of the card in a line; pass where there is none, as in heads and in lines about something else.
func (l *logLines) card(line int, text string) (card string, pass bool, err error) {
	first := !l.some
	l.some = true
	if !strings.ContainsAny(text, " \t,;|") { // no words, and most lines of long files
		return text, false, nil
	}
	if l.heads != nil {
		if card := l.heads.card(text); card != "" {
			return card, false, nil
		}
	}
	if first && !strings.ContainsAny(text, "0123456789") {
		if h, ok := headsOf(text); ok {
			l.heads = &h
		}
		if l.heads != nil || strings.ContainsAny(text, ",;\t|") {
			l.passed = append(l.passed, line)
			return "", true, nil
		}
	}
	card, err = formats.FromLog(text)
	switch {
	case errors.Is(err, formats.ErrMissing):
		l.passed = append(l.passed, line)
		return "", true, nil
	case errors.Is(err, formats.ErrAmbiguous):
		return "", false, err
	case err != nil:
		return text, false, nil
	}
	if card != text {
		if l.taken++; l.taken == 1 {
			l.first = fmt.Sprintf("%s in line %d", say.Clip(card, 40), line)
		}
	}
	return card, false, nil
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
	texts, err := o.texts(args)
	if err != nil {
		return nil, err
	}
	ranker, err := o.ranker()
	if err != nil {
		return nil, err
	}
	ans, err := ranker.RankSpellings(texts.spelled)
	if err != nil {
		return nil, err
	}
	if first := ans.Taken[0]; first.Probability < surely {
		o.remark("%s: taken for %s (%s); write a prefix such as uid:, hex: or printed: if it is something else",
			say.Clip(texts.text[0], 40), first.As[0], strings.TrimSpace(say.Percent(first.Probability)))
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

// textsAnswerJSON is answerJSON, with the evidence of each candidate from what the texts are taken for then.
func textsAnswerJSON(ans *rank.TextAnswer, settle []rank.Settle, top int) identifyJSON {
	doc := answerJSON(ans.Taken[0].Cards, &ans.Answer, settle, top)
	k := 0 // frames stand among the candidates
	for i := range doc.Candidates {
		if doc.Candidates[i].Format == "" {
			continue
		}
		if w := ans.Way(k); w > 0 {
			doc.Candidates[i].Evidence = ans.Candidates[k].Evidence(ans.Taken[w].Cards)
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

// cardOrCommand takes an argument that is no command for a card, if it has a digit and can be one.
func cardOrCommand(text string) bool {
	_, err := formats.Spellings(text)
	return err == nil && strings.ContainsAny(text, "0123456789")
}
