package answer

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/layout"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/wiegand"
)

// View says how an answer is printed.
type View struct {
	Top     int         // readings, at most
	Verbose bool        // on as many screens as it takes, not on one
	Doors   []site.Door // whose forms are wanted
	Style   picture.Style
}

// Text writes the answer for people: what is wrong with the question first, then the candidates, the first one's
// evidence, its numbers and picture, and what to do next.
func (a *Answer) Text(v View) string {
	var out string
	var cut bool
	switch {
	case a.serial != nil:
		out, cut = v.fitted([]say.Section{a.takenSection(), a.serial.facts(v), a.serial.table(v)}, say.Screen)
	case a.Serials():
		out, cut = v.fitted(a.serialsText(v), say.Screen)
	case a.Kinds != nil:
		out, cut = a.kindsText(v)
	default:
		s := screen{View: v, Kind: &a.Kind, taken: a.takenSection()}
		out, cut = s.within(say.Screen)
	}
	if cut {
		out += say.More
	}
	return out
}

func (v *View) fitted(all []say.Section, room int) (string, bool) {
	if v.Verbose {
		room = 0
	}
	return say.Fitted(all, room)
}

// leastOfKind is the room that the answer for one kind of cards has, and titleOfKind that above it.
const leastOfKind, titleOfKind = 3, 2

// kindsRoom is the room of each kind on a screen of which some is used, and how many of them go there.
func kindsRoom(kinds, used int) (room, shown int) {
	left := max(say.Screen-used, leastOfKind+titleOfKind)
	if room = left/kinds - titleOfKind; room >= leastOfKind {
		return room, kinds
	}
	left-- // for a line that says how many are left out
	return leastOfKind, min(kinds, max(1, left/(leastOfKind+titleOfKind)))
}

// kindsText answers for each kind of card by itself: the cards of a site come from several makers.
func (a *Answer) kindsText(v View) (string, bool) {
	above, foot := "", ""
	for _, line := range append(slices.Clone(a.First), a.kindsTitle()) {
		above += strings.Join(say.Wrap(line, say.Width), "\n") + "\n"
	}
	if len(a.several.Doubtful) > 0 {
		foot = "\n" + strings.Join(say.Hang("Take care: ", doubtfulWords(from1(a.several.Doubtful)), say.Width), "\n") + "\n"
	}
	room, shown := 0, len(a.Kinds)
	if !v.Verbose {
		above = headLines(above, say.Screen/2)
		room, shown = kindsRoom(shown, strings.Count(above+foot+say.More, "\n"))
	}
	out, cut := above, shown < len(a.Kinds)
	for i := range a.Kinds[:shown] {
		s := screen{View: v, Kind: &a.Kinds[i]}
		text, some := s.within(room)
		out, cut = out+"\n"+v.Style.Bold(a.Kinds[i].title())+"\n"+text, cut || some
	}
	if n := len(a.Kinds) - shown; n > 0 {
		out += "and " + say.Count(n, "more kind") + "\n"
	}
	return out + foot, cut
}

// mostNamed is how many cards in doubt are named one by one.
const mostNamed = 20

// doubtfulWords says which cards may be of another kind than the one they are put with. Of a length of which there
// are many, no card is tried by itself, so that all of them come here.
func doubtfulWords(places []int) string {
	if len(places) > mostNamed {
		return fmt.Sprintf("%d cards were not tried in the other kind one by one, or can be of either; ask about "+
			"fewer at once, or with what is printed on them, to be sure which kind one card is of", len(places))
	}
	return fmt.Sprintf("which kind these cards are of is in doubt: %s (as given); what is printed on them would tell",
		strings.Trim(fmt.Sprint(places), "[]"))
}

// kindsTitle says that one answer is not for all cards, and how sure that is. A kind need not be a format of its own:
// cards of one format with another facility, or read at a reader that is wired otherwise, are answered apart too.
func (a *Answer) kindsTitle() string {
	if a.several.Probability == 0 {
		return "No one format fits all of these cards. Each length by itself:"
	}
	return fmt.Sprintf("These are cards of %d kinds (%s), by format, facility, print or wiring. Each by itself:",
		len(a.Kinds), strings.TrimSpace(say.Percent(a.several.Probability)))
}

// title names the cards of one kind, and which of those asked about they are, so that card 1 of it can be found.
func (k *Kind) title() string {
	what := "Cards that were not read"
	if n := k.Length(); n > 0 {
		what = fmt.Sprintf("%d bits", n)
	}
	text := fmt.Sprint(k.Given)
	return fmt.Sprintf("%s: %s (as given: %s)", what, say.Count(len(k.Given), "card"), say.Clip(text[1:len(text)-1], 40))
}

// Length is how many bits the reads of the cards have, 0 where there is none.
func (k *Kind) Length() int {
	for _, t := range k.Cards[0] {
		if t.Kind == formats.Read {
			return t.Bits.Len()
		}
	}
	return 0
}

// screen is an answer about one kind of card that is to be printed.
type screen struct {
	View
	*Kind
	taken say.Section // what texts were taken for, where that is in doubt
	many  int         // cards of a candidate that get a line
}

// How many cards of a candidate short and long answers show.
const shortCards, longCards = 8, 12

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

// within writes the answer in so many lines, and reports whether something was left out.
func (s *screen) within(room int) (out string, cut bool) {
	s.many = shortCards
	if s.Verbose {
		room, s.many = 0, longCards
	}
	for top := s.Top; ; {
		all := s.sections(top)
		for i := range all {
			all[i].Tight = s.Given != nil && !s.Verbose // several answers on one screen
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
		case s.many > 1 && s.Given != nil:
			s.many--
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

func (s *screen) sections(top int) []say.Section {
	first, few := say.Section{Least: 3, Turn: cutFirst}, 1
	if s.Given != nil { // one of several kinds
		first.Least = 1
	}
	if len(s.Cards) > 1 || s.Given != nil { // which take a line each
		few = 0
	}
	for _, line := range s.Numbered(s.First) {
		lines := say.Wrap(line, s.Style.Width)
		for i := range lines {
			lines[i] = s.Style.Bad(lines[i])
		}
		first.Items = append(first.Items, lines)
	}
	all := []say.Section{first, s.taken, s.candidates(top)}
	if Fits(s.Ans) {
		all = append(all, s.evidence(few)...)
	} else if !slices.ContainsFunc(s.Cards, isKeys) {
		all = append(all, say.Section{Items: [][]string{{"No known format fits well. With several reads, learn works the " +
			"layout out."}}, Least: few, Turn: cutEvidence})
	}
	return append(all, say.Listed("To be surer:", s.Numbered(s.Settle), s.Style, 0, cutSettle),
		say.Listed("Take care:", s.Numbered(s.Ans.Warnings), s.Style, few, cutWarnings))
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
func (a *Answer) takenSection() say.Section {
	ways := map[string]int{}
	for _, t := range a.taken {
		ways[t.text]++
	}
	s := say.Section{Least: 1, Turn: cutTaken}
	told := map[string]bool{}
	for _, t := range a.taken {
		line := fmt.Sprintf("%s: %s  %s", say.Clip(picture.Clean(t.text), 40), strings.TrimSpace(say.Percent(t.p)), t.as)
		if t.p < 1 && (ways[t.text] > 1 || !plainly().MatchString(t.as)) && !told[line] {
			s.Items, told[line] = append(s.Items, []string{line}), true
		}
	}
	return s
}

// candidates lists the likeliest readings, formats and frames by probability.
func (s *screen) candidates(top int) say.Section {
	all, others := s.readings(top)
	var out say.Section
	for _, r := range all {
		if r.c != nil {
			out.Items = append(out.Items, s.candidate(r.c, r.at == 0))
		} else {
			out.Items = append(out.Items, []string{fmt.Sprintf("%s  %-16s its bits and checks, divided as no table has it",
				say.Percent(r.frame.Probability), "like "+r.frame.Format.ID)})
		}
	}
	last := say.Percent(s.Ans.Unknown) + "  none of these"
	if n := len(s.Ans.Candidates) + len(s.Ans.Frames) - len(all); n > 0 {
		last = fmt.Sprintf("%s  %s, or none of these (%s)", say.Percent(s.Ans.Unknown+others),
			say.Count(n, "less likely reading"), strings.TrimSpace(say.Percent(s.Ans.Unknown)))
	}
	out.Items = append(out.Items, []string{last})
	out.Least = len(out.Items)
	return out
}

// candidate writes one reading, and its cards: of many cards those of the first one alone.
func (s *screen) candidate(c *rank.Candidate, first bool) []string {
	name := c.Format.ID
	if first {
		name = s.Style.Bold(name)
	}
	what := picture.Clean(layout.ShortDescription(c.Format))
	if !first && !s.Verbose && len(c.Cards) == 1 && c.Fault == rank.None { // all in one line
		what = CardWords(&c.Cards[0]) + ": " + what
	}
	lines := []string{fmt.Sprintf("%s  %s%*s %s", say.Percent(c.Probability), name, max(0, 16-len(c.Format.ID)), "",
		say.Clip(what, max(2, s.Style.Width-11-max(16, len(c.Format.ID)))))}
	if s.Given != nil && !s.Verbose && !Fits(s.Ans) { // one kind of several, of which this is unlikely
		return lines
	}
	if c.Fault != rank.None {
		lines = append(lines, "         "+s.Style.Bad(c.Fault.Words()))
	}
	if keys := keysPressed(c); keys != "" {
		return append(lines, "         keys "+keys)
	}
	if !s.Verbose && !first && (len(c.Cards) > 1 || c.Fault == rank.None) {
		return lines
	}
	for i := range c.Cards {
		if i == s.many && len(c.Cards) > s.many+1 {
			return append(lines, fmt.Sprintf("         and %d more cards", len(c.Cards)-i))
		}
		lead := "         "
		if len(c.Cards) > 1 || s.Given != nil {
			lead += fmt.Sprintf("card %-3d ", s.Number(i))
		}
		sure := c.Sure(s.of(0), i)
		lines = append(lines, say.Hang(lead, SureWords(&sure, &c.Cards[i])+doubt(&c.Repairs[i]), s.Style.Width)...)
	}
	return lines
}

// doubt says that a read may have been another card's, "" where it is nearly sure that it was not.
func doubt(r *rank.Repair) string {
	switch {
	case r.Ways > 1 && r.Bit == 0: // more is wrong than one bit
		return "  (present it again)"
	case r.Ways > 1:
		return fmt.Sprintf("  (one of %d it can be)", r.Ways)
	case r.Chance < say.Surely:
		return fmt.Sprintf("  (%.0f %%: present it again)", 100*r.Chance)
	}
	return ""
}

// CardWords says what a card is: its fields, or that nothing is known.
func CardWords(c *formats.Card) string {
	if c.Format == nil {
		return "(nothing known)"
	}
	return SureWords(c, c)
}

// SureWords says what is known of a card for sure, and of what it has nothing. A bad read of which nothing is likely
// may tell a field all the same.
func SureWords(sure, card *formats.Card) string {
	if sure.Format == nil {
		return CardWords(card)
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
		key, ok := map[int]string{10: "*", 11: "#"}[n]
		switch {
		case n < 10:
			key = strconv.Itoa(n)
		case !ok:
			key = fmt.Sprintf("(code %d)", n)
		}
		keys = append(keys, key)
	}
	return strings.Join(keys, " ")
}

// evidence is what speaks for the first candidate, and the numbers and the picture of the first card that is known
// for sure, in at least so few lines each.
func (s *screen) evidence(few int) []say.Section {
	c, cards := &s.Ans.Candidates[0], s.of(0)
	all := []say.Section{say.Listed("Evidence for "+c.Format.ID+":", s.Numbered(c.Evidence(cards)), s.Style, few,
		cutEvidence)}
	if keysPressed(c) != "" {
		return all
	}
	for i := range c.Cards {
		card := c.Sure(cards, i)
		if c.Cards[i].Format == nil || card.Known != c.Cards[i].Known {
			continue
		}
		title := "As numbers:"
		if len(c.Cards) > 1 {
			title = fmt.Sprintf("Card %d as numbers:", s.Number(i))
		}
		read := slices.ContainsFunc(cards[i], func(t formats.Sighting) bool { return t.Kind == formats.Read })
		all = append(all, say.Section{Title: s.Style.Bold(title), Items: s.numbers(&card, read), Least: few,
			Turn: cutNumbers})
		if card.Whole() {
			var b strings.Builder
			picture.Text(&b, &card, s.Style)
			all = append(all, say.Section{Items: [][]string{strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")},
				Turn: cutPicture})
		}
		return all
	}
	return all
}

// FormLines are a card in every form that its format has but those that the picture shows, one a line.
func FormLines(card *formats.Card) (lines []string) {
	for _, form := range everyForm {
		if text, err := form.Text(card); err == nil && form.Name != "bits" && form.Name != "fields" {
			lines = append(lines, fmt.Sprintf("  %-20s %s", form.Name, text))
		}
	}
	return lines
}

// inShort are the forms of a short answer, the most wanted first.
var inShort = []string{"pair", "number", "decimal10", "hex", "words", "uid", "uid-decimal", "uid-reversed-decimal"}

// numbers writes a card that was read, or not, in every form; in short in the usual ones, and what the doors of the
// site want.
func (s *screen) numbers(card *formats.Card, read bool) (items [][]string) {
	if s.Verbose {
		for _, line := range FormLines(card) {
			items = append(items, []string{line})
		}
		return items
	}
	for _, d := range s.Doors {
		if text := inForm(card, d.Enter); text != "" {
			items = append(items, []string{fmt.Sprintf("  %s  (%s, as %s wants it)", text, d.Enter,
				picture.Clean(say.Clip(d.Name, 30)))})
		}
	}
	names := inShort
	if !read {
		names = append([]string{"bits-hex"}, names...)
	}
	var parts []string
	for _, name := range names {
		if text := inForm(card, name); text != "" {
			parts = append(parts, strings.ReplaceAll(name+" "+text, " ", "\u00a0")) // stays together
		}
	}
	for _, line := range say.Wrap(strings.Join(parts, "  "), s.Style.Width-2) {
		items = append(items, []string{"  " + strings.ReplaceAll(line, "\u00a0", " ")})
	}
	return items
}

// inForm writes a card in the form of a name; "" where it has none.
func inForm(card *formats.Card, name string) string {
	form, ok := formats.FormByName(name)
	if !ok {
		return ""
	}
	text, err := form.Text(card)
	if err != nil {
		return ""
	}
	return text
}
