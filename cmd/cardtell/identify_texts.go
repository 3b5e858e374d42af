package main

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
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

// spacedBytes are bytes in hex, as many as a read or a serial has: no cards by themselves.
var spacedBytes = regexp.MustCompile(`^[0-9A-Fa-f]{2}(?: [0-9A-Fa-f]{2}){2,9}(?: [0-9A-Fa-f])?$`)

// oneOfWords puts arguments together that are one card in several words, which nobody put between quotes.
func oneOfWords(args []string) []string {
	all := strings.Join(args, " ")
	if len(args) < 2 || spacedBytes.MatchString(all) && strings.ContainsAny(all, "ABCDEFabcdef") {
		return []string{all}[:min(1, len(args))]
	}
	if _, err := formats.Spellings(args[0]); err == nil && !slices.ContainsFunc(args, isWord) {
		return args
	}
	if _, err := formats.Spellings(all); err == nil {
		return []string{all}
	}
	if !isWord(args[0]) || slices.ContainsFunc(args, isMistyped) {
		return args
	}
	_, err := formats.FromLog(all)
	if err != nil && !errors.Is(err, formats.ErrMissing) && !errors.Is(err, formats.ErrAmbiguous) {
		return args
	}
	return []string{all}
}

// isWord reports whether an argument is no card, and none that is mistyped: a word, the name of a value, a time.
func isWord(arg string) bool {
	if _, err := formats.Spellings(arg); err == nil {
		return false
	}
	name, _, _ := strings.Cut(arg, "=")
	_, err := formats.FromLog(arg + " ")
	return !strings.ContainsAny(arg, "0123456789") || name != arg && !strings.ContainsAny(name, "0123456789") ||
		errors.Is(err, formats.ErrMissing)
}

func isMistyped(arg string) bool {
	_, err := formats.Spellings(arg)
	return err != nil && !isWord(arg)
}

// texts reads the cards of the command line, and then those of the file. A read and a number that agree, as the whole
// command line, are one card.
func (o *identifyOptions) texts(ranker *rank.Ranker, args []string) (t cardTexts, err error) {
	for _, arg := range oneOfWords(args) {
		if err := t.add(arg); err != nil {
			card, none := o.fromWords(arg)
			if errors.Is(none, formats.ErrMissing) || errors.Is(none, formats.ErrAmbiguous) {
				err = none
			}
			if none != nil || t.add(card) != nil {
				return t, err
			}
		}
	}
	if joined, ok := t.joined(ranker); ok && o.file == "" {
		o.remark("taken for %s, each a read with its print, which agree: %s; --each takes every card by itself",
			say.Count(len(joined.text), "card"), say.Clip(strings.Join(joined.text, " "), 80))
		return joined, nil
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
	ranker, err := o.ranker()
	if err != nil {
		return nil, err
	}
	texts, err := o.texts(ranker, args)
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

// joined puts reads and numbers that were written by turns together, where each number is what its read has printed on
// it: two cards that agree so are one.
func (t *cardTexts) joined(ranker *rank.Ranker) (one cardTexts, ok bool) {
	for i := 0; i+1 < len(t.text); i += 2 {
		read, print := t.spelled[i][0].Sightings, t.spelled[i+1][0].Sightings
		if len(read) != 1 || len(print) != 1 || read[0].Kind != formats.Read || print[0].Kind != formats.Printed ||
			one.add(t.text[i]+"="+t.text[i+1]) != nil {
			return one, false
		}
	}
	if len(one.text) == 0 || len(t.text)%2 != 0 {
		return one, false
	}
	ans, err := ranker.RankSpellings(one.spelled)
	if err != nil || len(ans.Candidates) == 0 {
		return one, false
	}
	first := &ans.Candidates[0]
	for i := range one.text {
		if !first.Follows(ans.Taken[ans.Way(0)].Cards, i) {
			return one, false
		}
	}
	return one, true
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

// labelWord is a word with which a card begins that is written with its labels: no mistyped command is like that.
var labelWord = regexp.MustCompile(`(?i)^(?:fc|fac|facility|card|badge|fob|tag|no|nr|number|id|cn|uid|csn|hex|dec|bin)\.?$|[:=]`)

// cardOrCommand takes arguments of which the first one is no command for a card, if it has a digit and can be one, or
// if they are one card with its labels.
func cardOrCommand(args []string) bool {
	words := args
	if i := slices.IndexFunc(args, func(arg string) bool { return strings.HasPrefix(arg, "-") }); i >= 0 {
		words = args[:i]
	}
	if len(words) == 0 {
		return false
	}
	_, err := formats.Spellings(words[0])
	return err == nil && strings.ContainsAny(words[0], "0123456789") ||
		labelWord.MatchString(words[0]) && strings.ContainsAny(oneOfWords(words)[0], "0123456789")
}
