package answer

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// part tells cards of several kinds apart: where that is likelier, and where nothing fits cards of several lengths.
func (a *Answer) part(ranker *rank.Ranker) (err error) {
	if len(a.Cards) < 2 {
		return nil
	}
	var answers []rank.Answer
	if a.several, answers, err = ranker.Divide(a.Cards, a.Ans); err != nil {
		return err
	}
	if len(a.several.Groups) == 1 && !Fits(a.Ans) && !oneBitApart(a.Cards) {
		a.several = rank.Kinds{Groups: rank.ByLength(a.Cards)}
	}
	if len(a.several.Groups) == 1 {
		return nil
	}
	for i, places := range a.several.Groups {
		own, given := pick(a.Cards, places), from1(places)
		if answers != nil {
			a.Kinds = append(a.Kinds, kindOf(ranker, own, given, &answers[i]))
			continue
		}
		k, err := newKind(ranker, own, given) // of one length
		if err != nil {
			return err
		}
		a.Kinds = append(a.Kinds, k)
	}
	a.Ans.Unknown += a.Ans.Several // of cards of several kinds, no format fits them all
	a.Ans.Several = 0
	a.First, a.Settle = acrossKinds(a.Ans.First, a.several.Groups), nil
	return nil
}

// oneBitApart reports whether reads differ by a bit in length at most, so that it can be lost where no format fits too.
func oneBitApart(cards []formats.Sightings) bool {
	least, most := wiegand.MaxBits, 0
	for _, c := range cards {
		if i := slices.IndexFunc(c, func(s formats.Sighting) bool { return s.Kind == formats.Read }); i >= 0 {
			n := c[i].Bits.Len()
			least, most = min(least, n), max(most, n)
		}
	}
	return most-least == 1
}

// acrossKinds are the sentences about one card and one of another kind: those about cards of one kind are in its own
// answer.
func acrossKinds(lines []string, groups [][]int) (across []string) {
	for _, line := range lines {
		kinds := map[int]bool{}
		for _, m := range cardNumbers().FindAllStringSubmatch(line, -1) {
			n, _ := strconv.Atoi(m[2])
			kinds[slices.IndexFunc(groups, func(g []int) bool { return slices.Contains(g, n-1) })] = true
		}
		if strings.HasPrefix(line, "card ") && len(kinds) > 1 {
			across = append(across, line)
		}
	}
	return across
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
	for i, lines := range a.takenSection().Items {
		if i == 0 {
			above += "\n"
		}
		above += strings.Join(lines, "\n") + "\n"
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
		len(a.Kinds), say.Chance(a.several.Probability))
}

// title names the cards of one kind, and which of those asked about they are, so that card 1 of it can be found.
func (k *Kind) title() string {
	what := "Cards that were not read"
	if n, some := k.Length(); n > 0 {
		if what = fmt.Sprintf("%d bits", n); some {
			what += ", or not read"
		}
	}
	text := fmt.Sprint(k.Given)
	return fmt.Sprintf("%s: %s (as given: %s)", what, say.Count(len(k.Given), "card"), say.Clip(text[1:len(text)-1], 40))
}
