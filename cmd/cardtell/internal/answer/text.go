package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/layout"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
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

// Length is how many bits the first read of the cards has, 0 where none was read; some is whether others were not.
func (k *Kind) Length() (bits int, some bool) {
	for _, card := range k.Cards {
		at := slices.IndexFunc(card, func(t formats.Sighting) bool { return t.Kind == formats.Read })
		if at < 0 {
			some = true
		} else if bits == 0 {
			bits = card[at].Bits.Len()
		}
	}
	return bits, some
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
var plainly = pattern.Lazily(`^(?:(?:, and )?a (?:read of \d+ bits|printed number|chip serial))+$`)

// takenSection says what texts were taken for that can be several things, or that are written in an unusual way where
// that may be why nothing fits.
func (a *Answer) takenSection() say.Section {
	s := say.Section{Least: 1, Turn: cutTaken}
	alike := map[string]int{} // items, by the ways of a text
	more := map[int]int{}     // how many texts more have the ways that end with an item
	for rest := a.taken; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].text == rest[0].text {
			n++
		}
		var ways, key string
		var lines [][]string
		for _, t := range rest[:n] {
			lead, _, _ := strings.Cut(t.as, ", and ") // a print beside it is no other way
			ways = fmt.Sprintf("%s  ", say.Chance(t.p))
			key += ways + lead + "\n"
			if (t.p < 1 || !Fits(a.Ans)) && (n > 1 || !plainly().MatchString(t.as)) {
				line := say.Wrap(fmt.Sprintf("%s: %s%s", say.Clip(t.text, 40), ways, t.as), say.Width-2)
				for i := range line[1:] {
					line[1+i] = "  " + line[1+i]
				}
				lines = append(lines, line)
			}
		}
		if rest = rest[n:]; lines == nil {
			continue
		}
		if at, ok := alike[key]; ok {
			more[at]++
			continue
		}
		s.Items = append(s.Items, lines...)
		alike[key] = len(s.Items) - 1
	}
	for at, n := range more {
		s.Items[at] = append(s.Items[at], "and "+say.Count(n, "more text")+", likewise")
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
	if p := s.Ans.Several; p >= layout.ToldFrom && s.Given == nil {
		out.Items = append(out.Items, []string{fmt.Sprintf("%s  %-16s %s", say.Percent(p), layout.TwoKinds,
			layout.SomeOfEach)})
	}
	last := say.Percent(s.Ans.Unknown) + "  none of these"
	if n := len(s.Ans.Candidates) + len(s.Ans.Frames) - len(all); n > 0 {
		last = fmt.Sprintf("%s  %s, or none of these (%s)", say.Percent(s.Ans.Unknown+others),
			say.Count(n, "less likely reading"), say.Chance(s.Ans.Unknown))
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
	switch top := &s.Ans.Candidates[0]; {
	case first || s.Verbose:
	case len(c.Cards) == 1 && c.Fault == rank.None: // all in one line
		what = CardWords(&c.Cards[0]) + ": " + what
	case c.Format.ID == top.Format.ID && c.Fault == top.Fault:
		what = cmp.Or(s.differs(c, top), what)
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

// differs says which card is another one than in the first reading.
func (s *screen) differs(c, first *rank.Candidate) string {
	for i := range c.Cards {
		if c.Cards[i].Format != nil && c.Cards[i].Record.Bits() != first.Cards[i].Record.Bits() {
			return fmt.Sprintf("with card %d as %s", s.Number(i), CardWords(&c.Cards[i]))
		}
	}
	return ""
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
		if c.Cards[i].Format == nil || card.Known != c.Cards[i].Known || card.Known == c.Format.Blank().Known {
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
