package main

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/wiegand"
)

// view is an answer for people: what is wrong with the question first, then the candidates, the first one's evidence,
// its numbers and picture, and what to do next.
type view struct {
	cards   []formats.Sightings
	ans     *rank.Answer
	settle  []rank.Settle
	given   []int           // the numbers of the cards in the question, nil for 1, 2 and so on
	asked   []string        // questions back, before all else
	taken   []takenTextJSON // what texts were taken for, where that is in doubt
	doors   []site.Door
	top     int
	many    int // cards of a candidate that get a line
	verbose bool
	style   picture.Style
}

// Short answers show so many candidates and cards, long ones more cards.
const shortTop, shortCards, longCards = 3, 8, 12

// When sections of an answer are cut, the highest first.
const (
	cutFirst = iota
	cutWarnings
	cutNumbers
	cutTaken
	cutEvidence
	cutSettle
	cutPicture
)

// text writes the answer on one screen, or on as many as it takes.
func (v *view) text() string {
	out, cut := v.within(say.Screen)
	if cut {
		out += say.More
	}
	return out
}

// within writes the answer in so many lines, and reports whether something was left out.
func (v *view) within(room int) (out string, cut bool) {
	if v.verbose {
		room = 0
	}
	v.many = shortCards
	if v.verbose {
		v.many = longCards
	}
	for top := v.top; ; {
		all := v.sections(top)
		for i := range all {
			all[i].Tight = v.given != nil && !v.verbose // several answers on one screen
		}
		out, cut = say.Fitted(all, room)
		lines := strings.Count(out, "\n")
		if cut {
			lines += strings.Count(say.More, "\n")
		}
		switch {
		case room == 0 || lines <= room:
			return out, cut
		case top > 1:
			top--
		case v.many > 1 && v.given != nil:
			v.many--
		default:
			return headLines(out, room), true
		}
	}
}

// headLines is as much of a text as goes into so many lines.
func headLines(text string, n int) string {
	lines := strings.SplitAfterN(text, "\n", n+1)
	return strings.Join(lines[:min(n, len(lines))], "")
}

func (v *view) sections(top int) []say.Section {
	first, few := say.Section{Least: 3, Turn: cutFirst}, 1
	if v.given != nil { // one of several kinds
		first.Least = 1
	}
	if len(v.cards) > 1 || v.given != nil { // which take a line each
		few = 0
	}
	for _, line := range slices.Concat(v.asked, v.numbered(v.ans.First)) {
		lines := say.Wrap(line, v.style.Width)
		for i := range lines {
			lines[i] = v.style.Bad(lines[i])
		}
		first.Items = append(first.Items, lines)
	}
	all := []say.Section{first, v.takenSection(), v.candidates(top)}
	if answered(v.ans) {
		all = append(all, v.evidence(few)...)
	} else if !slices.ContainsFunc(v.cards, isKeys) {
		all = append(all, say.Section{Items: [][]string{{"No known format fits well. With several reads, learn works the " +
			"layout out."}}, Least: few, Turn: cutEvidence})
	}
	return append(all, say.Listed("To be surer:", v.numbered(settleLines(v.settle)), v.style, 0, cutSettle),
		say.Listed("Take care:", v.numbered(v.ans.Warnings), v.style, few, cutWarnings))
}

// isKeys reports whether a card is a code typed at a keypad.
func isKeys(s formats.Sightings) bool {
	return slices.ContainsFunc(s, func(t formats.Sighting) bool {
		f, ok := formats.Keys(t.Bits)
		return ok && t.Kind == formats.Read && f.Likely()
	})
}

// plainly are ways of meaning a text that go without saying where there is no other one.
var plainly = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(?:(?:, and )?a (?:read of \d+ bits|printed number|chip serial))+$`)
})

// takenSection says what texts were taken for that can be several things, or that are written in an unusual way.
func (v *view) takenSection() say.Section {
	ways := map[string]int{}
	for _, t := range v.taken {
		ways[t.Text]++
	}
	s := say.Section{Least: 1, Turn: cutTaken}
	told := map[string]bool{}
	for _, t := range v.taken {
		line := fmt.Sprintf("%s: %s  %s", say.Clip(picture.Clean(t.Text), 40), strings.TrimSpace(say.Percent(t.Probability)), t.As)
		if t.Probability < 1 && (ways[t.Text] > 1 || !plainly().MatchString(t.As)) && !told[line] {
			s.Items, told[line] = append(s.Items, []string{line}), true
		}
	}
	return s
}

// candidates lists the likeliest readings, formats and frames by probability.
func (v *view) candidates(top int) say.Section {
	candidates, frames := shares(v.ans, top)
	rest := v.ans.Unknown
	var s say.Section
	k := 0
	for i := range v.ans.Candidates {
		c := &v.ans.Candidates[i]
		if i >= candidates {
			rest += c.Probability
			continue
		}
		for ; k < frames && v.ans.Frames[k].Probability > c.Probability; k++ {
			s.Items = append(s.Items, frameLines(&v.ans.Frames[k]))
		}
		s.Items = append(s.Items, v.candidate(c, i == 0))
	}
	for ; k < len(v.ans.Frames); k++ {
		if k < frames {
			s.Items = append(s.Items, frameLines(&v.ans.Frames[k]))
		} else {
			rest += v.ans.Frames[k].Probability
		}
	}
	last := say.Percent(rest) + "  none of these"
	if n := len(v.ans.Candidates) + len(v.ans.Frames) - candidates - frames; n > 0 {
		last = fmt.Sprintf("%s  %s, or none of these (%s)", say.Percent(rest), say.Count(n, "less likely reading"),
			strings.TrimSpace(say.Percent(v.ans.Unknown)))
	}
	s.Items = append(s.Items, []string{last})
	s.Least = len(s.Items)
	return s
}

// frameLines writes a frame whose parts are not those of any table.
func frameLines(f *rank.Frame) []string {
	return []string{fmt.Sprintf("%s  %-16s its bits and checks, divided as no table has it", say.Percent(f.Probability),
		"like "+f.Format.ID)}
}

// candidate writes one reading, and its cards: of many cards those of the first one alone.
func (v *view) candidate(c *rank.Candidate, first bool) []string {
	name := c.Format.ID
	if first {
		name = v.style.Bold(name)
	}
	what := picture.Clean(shortDescription(c.Format))
	if !first && !v.verbose && len(c.Cards) == 1 && c.Fault == rank.None { // all in one line
		what = cardWords(&c.Cards[0]) + ": " + what
	}
	lines := []string{fmt.Sprintf("%s  %s%*s %s", say.Percent(c.Probability), name, max(0, 16-len(c.Format.ID)), "",
		say.Clip(what, max(2, v.style.Width-11-max(16, len(c.Format.ID)))))}
	if v.given != nil && !v.verbose && !answered(v.ans) { // one kind of several, of which this is unlikely
		return lines
	}
	if c.Fault != rank.None {
		lines = append(lines, "         "+v.style.Bad(c.Fault.Words()))
	}
	if keys := keysPressed(c); keys != "" {
		return append(lines, "         keys "+keys)
	}
	if !v.verbose && !first && (len(c.Cards) > 1 || c.Fault == rank.None) {
		return lines
	}
	for i := range c.Cards {
		if i == v.many && len(c.Cards) > v.many+1 {
			lines = append(lines, fmt.Sprintf("         and %d more cards", len(c.Cards)-i))
			break
		}
		label := ""
		if len(c.Cards) > 1 || v.given != nil {
			label = fmt.Sprintf("card %-3d ", v.number(i))
		}
		sure := c.Sure(v.cards, i)
		for k, line := range say.Wrap(sureWords(&sure, &c.Cards[i])+doubt(&c.Repairs[i]), v.style.Width-9-len(label)) {
			if k > 0 {
				label = strings.Repeat(" ", len(label))
			}
			lines = append(lines, "         "+label+line)
		}
	}
	return lines
}

// sureWords says what is known of a card for sure, and of what it has nothing. A bad read of which nothing is likely
// may tell a field all the same.
func sureWords(sure, card *formats.Card) string {
	if sure.Format == nil || sure.Known == card.Known && card.Format != nil {
		return cardWords(card)
	}
	var parts []string
	for i, field := range sure.Format.Layout.Spec().Fields {
		switch {
		case field.Name == wiegand.FieldUnknown:
		case sure.Known.Has(i):
			parts = append(parts, field.Name+" "+sure.Text(i))
		case card.Known.Has(i) || card.Format == nil:
			parts = append(parts, field.Name+" unknown")
		}
	}
	return strings.Join(parts, "  ")
}

// keysPressed writes keys that were pressed one after another, "" where the cards are something else.
func keysPressed(c *rank.Candidate) string {
	if c.Format.Kind != formats.KindKeypad || c.Format.Layout.Len() > 8 {
		return ""
	}
	var keys []string
	for i := range c.Cards {
		if c.Cards[i].Format == nil {
			return ""
		}
		n, _ := strconv.Atoi(c.Cards[i].Text(c.Format.Number()))
		keys = append(keys, keyName(n))
	}
	return strings.Join(keys, " ")
}

// keyName is what is on a key, by its code.
func keyName(code int) string {
	switch {
	case code == 10:
		return "*"
	case code == 11:
		return "#"
	case code < 10:
		return strconv.Itoa(code)
	}
	return fmt.Sprintf("(code %d)", code)
}

// evidence is what speaks for the first candidate, and the numbers and the picture of the first card that is known
// for sure, in at least so few lines each.
func (v *view) evidence(few int) []say.Section {
	c := &v.ans.Candidates[0]
	all := []say.Section{say.Listed("Evidence for "+c.Format.ID+":", v.numbered(c.Evidence(v.cards)), v.style, few, cutEvidence)}
	if keysPressed(c) != "" {
		return all
	}
	for i := range c.Cards {
		card := c.Sure(v.cards, i)
		if c.Cards[i].Format == nil || card.Known != c.Cards[i].Known {
			continue
		}
		title := "As numbers:"
		if len(c.Cards) > 1 {
			title = fmt.Sprintf("Card %d as numbers:", v.number(i))
		}
		all = append(all, say.Section{Title: v.style.Bold(title), Items: v.numbers(&card, i), Least: few, Turn: cutNumbers})
		if card.Whole() {
			var b strings.Builder
			picture.Text(&b, &card, v.style)
			all = append(all, say.Section{Items: [][]string{strings.Split(strings.TrimRight(b.String(), "\n"), "\n")},
				Turn: cutPicture})
		}
		return all
	}
	return all
}

// inShort are the forms of a short answer, the most wanted first.
var inShort = []string{"pair", "number", "decimal10", "hex", "words", "uid", "uid-decimal", "uid-reversed-decimal"}

// numbers writes a card in every form that its format has but those that the picture shows, one a line; in short the
// usual ones, and what the doors of the site want.
func (v *view) numbers(card *formats.Card, at int) [][]string {
	var items [][]string
	if v.verbose {
		for _, form := range everyForm {
			if text, err := form.Text(card); err == nil && form.Name != "bits" && form.Name != "fields" {
				items = append(items, []string{fmt.Sprintf("  %-20s %s", form.Name, text)})
			}
		}
		return items
	}
	for _, d := range v.doors {
		if form, ok := formats.FormByName(d.Enter); ok {
			if text, err := form.Text(card); err == nil {
				items = append(items, []string{fmt.Sprintf("  %s  (%s, as %s wants it)", text, form.Name,
					picture.Clean(say.Clip(d.Name, 30)))})
			}
		}
	}
	names := inShort
	if !slices.ContainsFunc(v.cards[at], func(s formats.Sighting) bool { return s.Kind == formats.Read }) {
		names = append([]string{"bits-hex"}, names...)
	}
	var parts []string
	for _, name := range names {
		if form, ok := formats.FormByName(name); ok {
			if text, err := form.Text(card); err == nil {
				parts = append(parts, strings.ReplaceAll(name+" "+text, " ", "\u00a0")) // stays together
			}
		}
	}
	for _, line := range say.Wrap(strings.Join(parts, "  "), v.style.Width-2) {
		items = append(items, []string{"  " + strings.ReplaceAll(line, "\u00a0", " ")})
	}
	return items
}

// number is the number of a card in the question.
func (v *view) number(i int) int {
	if v.given == nil {
		return i + 1
	}
	return v.given[i]
}

// cardNumbers are the places of cards in a sentence.
var cardNumbers = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`\b(cards? )(\d+(?:, \d+)*)`)
})

// numbered gives sentences about cards the numbers of the question.
func (v *view) numbered(lines []string) []string { return givenNumbers(lines, v.given) }

func givenNumbers(lines []string, given []int) []string {
	if given == nil {
		return lines
	}
	out := make([]string, len(lines))
	for k, line := range lines {
		out[k] = cardNumbers().ReplaceAllStringFunc(line, func(found string) string {
			m := cardNumbers().FindStringSubmatch(found)
			places := strings.Split(m[2], ", ")
			for i, p := range places {
				if n, err := strconv.Atoi(p); err == nil && n >= 1 && n <= len(given) {
					places[i] = strconv.Itoa(given[n-1])
				}
			}
			return m[1] + strings.Join(places, ", ")
		})
	}
	return out
}
