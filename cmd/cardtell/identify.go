package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

const identifyHelp = `Tells what cards can be: ranks formats and wiring faults by probability.

A card is written down as it was seen:
  26:32D687E          a read of 26 bits, in hex
  11001011010110…     the same, as 24 or more 0s and 1s (or bits:…)
  150,46143           a number printed on the card
  04:A2:3B:5C         a chip serial (or uid:04A23B5C)
  26:32D687E=46143    one card, seen in two ways
What another text can be is weighed, such as FC 150 ID 46143 or 96B43F; bits:,
left:, uid:, hex: or printed: before it settles that. All cards are taken as
from one site, of one kind or of several; with --each every card stands alone,
and gets one line.`

type identifyOptions struct {
	*app
	each, verbose, topGiven bool
	file                    string
	top                     int
}

func (a *app) identifyCommand() *cobra.Command {
	o := identifyOptions{app: a}
	c := &cobra.Command{
		Use:   "identify CARD…",
		Short: "Tells what unknown cards can be",
		Long:  identifyHelp,
		Example: `  cardtell identify 26:32D687E=46143
  cardtell identify 26:32D687E 26:32D6880 26:32D6883`,
		RunE: func(c *cobra.Command, args []string) error {
			o.topGiven = c.Flags().Changed("top")
			return o.run(args)
		},
	}
	c.Flags().BoolVar(&o.each, "each", false, "every card by itself, one line each")
	c.Flags().StringVar(&o.file, "file", "", "a card a line from `FILE`, a list or a log, - for standard input")
	c.Flags().IntVar(&o.top, "top", defaultTop, "print the `K` likeliest candidates")
	c.Flags().BoolVar(&o.verbose, "verbose", false, "print all there is to say, not a screen of it")
	return c
}

func (o *identifyOptions) run(args []string) error {
	if o.top < 1 {
		return fmt.Errorf("identify: --top %d: there is nothing to print; write 1 or more", o.top)
	}
	if len(args) == 0 && o.file == "" {
		return fmt.Errorf("identify: no cards; write one, such as 26:32D687E, or give --file FILE")
	}
	ranker, err := o.ranker()
	if err != nil {
		return err
	}
	if o.each {
		return o.runEach(ranker, args)
	}
	texts, err := o.texts(ranker, args)
	if err != nil {
		return err
	}
	ans, err := ranker.RankSpellings(texts.Spelled)
	if err != nil {
		return err
	}
	cards, asked := ans.Taken[0].Cards, oneCard(texts.Text, ans.Taken[0].Cards)
	groups, err := kinds(ranker, cards, &ans.Answer)
	if err != nil {
		return err
	}
	taken := takenJSON(texts.Text, &ans)
	if groups != nil {
		return o.printPopulations(ranker, cards, &ans.Answer, groups, taken, asked)
	}
	settle := settleTexts(ranker, &ans)
	serial, alone := aloneSerial(cards)
	if o.json {
		doc := textsAnswerJSON(&ans, settle, o.top)
		doc.Taken, doc.Warnings = taken, append(asked, doc.Warnings...)
		if alone {
			doc.Serial = newSerialJSON(serial, o.cat)
		}
		err = o.printJSON(doc)
	} else {
		if len(ans.Candidates) > 0 {
			cards = ans.Taken[ans.Way(0)].Cards
		}
		v := o.view(cards, &ans.Answer, settle)
		v.asked, v.taken = asked, taken
		text := v.text
		if alone {
			text = func() string { return v.serialText(serial, o.cat) }
		}
		_, err = o.out.WriteString(text())
	}
	if err == nil && !alone && !answered(&ans.Answer) {
		err = errNo
	}
	return err
}

// view is an answer to be printed.
func (o *identifyOptions) view(cards []formats.Sightings, ans *rank.Answer, settle []rank.Settle) view {
	top := o.top
	if !o.verbose && !o.topGiven {
		top = min(top, shortTop)
	}
	return view{cards: cards, ans: ans, settle: settle, doors: o.doors, top: top, verbose: o.verbose, style: o.style()}
}

// kinds returns the cards of each kind where they are of several: where that is likelier, and where nothing fits
// cards of several lengths. nil where one answer is for all.
func kinds(ranker *rank.Ranker, cards []formats.Sightings, joint *rank.Answer) (*rank.Kinds, error) {
	if len(cards) < 2 {
		return nil, nil
	}
	k, err := ranker.Kinds(cards)
	if err != nil {
		return nil, err
	}
	if len(k.Groups) == 1 && !answered(joint) {
		k = rank.Kinds{Groups: rank.ByLength(cards)}
	}
	if len(k.Groups) == 1 {
		return nil, nil
	}
	return &k, nil
}

// readLength is how many bits the read of a card has, 0 where there is none.
func readLength(s formats.Sightings) int {
	for _, t := range s {
		if t.Kind == formats.Read {
			return t.Bits.Len()
		}
	}
	return 0
}

// pick returns the cards at these places.
func pick(cards []formats.Sightings, places []int) []formats.Sightings {
	own := make([]formats.Sightings, len(places))
	for i, at := range places {
		own[i] = cards[at]
	}
	return own
}

// populationsJSON answers for each kind of card by itself, and jointly, which is no answer. all is whether each kind
// has one.
func populationsJSON(ranker *rank.Ranker, cards []formats.Sightings, joint *rank.Answer, k *rank.Kinds, top int,
	show func(own []formats.Sightings, given []int, ans *rank.Answer, settle []rank.Settle),
) (doc identifyJSON, all bool, err error) {
	doc, all = answerJSON(cards, joint, nil, top), true
	doc.Warnings = slices.Concat(acrossKinds(joint.First, k.Groups), joint.Warnings)
	doc.Several = k.Probability
	for _, at := range k.Doubtful {
		doc.Doubtful = append(doc.Doubtful, at+1)
	}
	for _, g := range k.Groups {
		own := pick(cards, g)
		given := make([]int, len(g))
		for i, at := range g {
			given[i] = at + 1
		}
		ans, err := ranker.Rank(own)
		if err != nil {
			return doc, false, err
		}
		all = all && answered(&ans)
		settle := ranker.Settle(own, &ans)
		one := answerJSON(own, &ans, settle, top)
		one.Given = given
		doc.Populations = append(doc.Populations, one)
		if show != nil {
			show(own, given, &ans, settle)
		}
	}
	return doc, all, nil
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

// printPopulations answers for each kind of card by itself: the cards of a site come from several makers. The joint
// answer is in the JSON too.
func (o *identifyOptions) printPopulations(ranker *rank.Ranker, cards []formats.Sightings, joint *rank.Answer,
	k *rank.Kinds, taken []takenTextJSON, asked []string,
) error {
	var parts []string // titles and answers
	var head strings.Builder
	for _, line := range slices.Concat(asked, acrossKinds(joint.First, k.Groups), []string{kindsTitle(k)}) {
		say.Print(&head, "", line)
	}
	var foot strings.Builder
	if len(k.Doubtful) > 0 {
		places := make([]int, len(k.Doubtful))
		for i, at := range k.Doubtful {
			places[i] = at + 1
		}
		foot.WriteByte('\n')
		say.Print(&foot, "Take care: ", doubtfulWords(places))
	}
	above := head.String()
	if !o.verbose {
		above = headLines(above, say.Screen/2)
	}
	room, shown := kindsRoom(len(k.Groups), strings.Count(above+foot.String()+say.More, "\n"))
	cut := false
	show := func(own []formats.Sightings, given []int, ans *rank.Answer, settle []rank.Settle) {
		v := o.view(own, ans, settle)
		v.given = given
		text, some := v.within(room)
		cut = cut || some
		if len(parts) < shown || o.verbose {
			parts = append(parts, fmt.Sprintf("\n%s\n%s", o.style().Bold(populationTitle(own, given)), text))
		}
	}
	if o.json {
		show = nil
	}
	doc, all, err := populationsJSON(ranker, cards, joint, k, o.top, show)
	doc.Taken, doc.Warnings = taken, append(asked, doc.Warnings...)
	switch {
	case err != nil:
		return err
	case o.json:
		err = o.printJSON(doc)
	default:
		fmt.Fprint(o.out, above, strings.Join(parts, ""))
		if n := len(k.Groups) - len(parts); n > 0 {
			fmt.Fprintf(o.out, "and %s\n", say.Count(n, "more kind"))
			cut = true
		}
		fmt.Fprint(o.out, foot.String())
		if cut {
			fmt.Fprint(o.out, say.More)
		}
	}
	if err == nil && !all {
		err = errNo
	}
	return err
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
func kindsTitle(k *rank.Kinds) string {
	if k.Probability == 0 {
		return "No one format fits all of these cards. Each length by itself:"
	}
	return fmt.Sprintf("These are cards of %d kinds (%s), by format, facility, print or wiring. Each by itself:",
		len(k.Groups), strings.TrimSpace(say.Percent(k.Probability)))
}

// populationTitle names the cards of one kind, and which of those asked about they are, so that card 1 of it can be
// found.
func populationTitle(own []formats.Sightings, given []int) string {
	what := "Cards that were not read"
	if n := readLength(own[0]); n > 0 {
		what = fmt.Sprintf("%d bits", n)
	}
	text := fmt.Sprint(given)
	return fmt.Sprintf("%s: %s (as given: %s)", what, say.Count(len(given), "card"), say.Clip(text[1:len(text)-1], 40))
}

// answered reports whether some format is likelier than none.
func answered(ans *rank.Answer) bool {
	if len(ans.Candidates) == 0 || ans.Candidates[0].Probability < ans.Unknown {
		return false
	}
	return len(ans.Frames) == 0 || ans.Candidates[0].Probability >= ans.Frames[0].Probability
}

// ranker makes the ranking of the catalogue and of what a site file says.
func (a *app) ranker() (*rank.Ranker, error) {
	k, err := a.knowledge()
	return k.ranker, err
}

// rankerOf makes the ranking of a catalogue and a site.
func (a *app) rankerOf(cat formats.Catalogue, s site.Site) (*rank.Ranker, error) {
	if a.site == "" && len(a.formats) == 0 {
		return a.tables.ranker()
	}
	return rank.New(cat, s.Cards...)
}

// shares returns how many candidates and frames are among the likeliest so many readings.
func shares(ans *rank.Answer, top int) (candidates, frames int) {
	for candidates+frames < top {
		switch {
		case candidates < len(ans.Candidates) && (frames == len(ans.Frames) ||
			ans.Candidates[candidates].Probability >= ans.Frames[frames].Probability):
			candidates++
		case frames < len(ans.Frames):
			frames++
		default:
			return candidates, frames
		}
	}
	return candidates, frames
}

func settleLines(settle []rank.Settle) []string {
	lines := make([]string, len(settle))
	for i := range settle {
		lines[i] = settle[i].String()
	}
	return lines
}

// doubt says that a read may have been another card's, "" where it is nearly sure that it was not.
func doubt(r *rank.Repair) string {
	switch {
	case r.Ways > 1:
		return fmt.Sprintf("  (one of %d it can be)", r.Ways)
	case r.Chance < 0.99:
		return fmt.Sprintf("  (%.0f %%: present it again)", 100*r.Chance)
	}
	return ""
}

// cardWords says what a card is: its fields, or that nothing is known.
func cardWords(c *formats.Card) string {
	if c.Format == nil {
		return "(nothing known)"
	}
	var parts []string
	for i, field := range c.Format.Layout.Spec().Fields {
		if text := c.Text(i); text != "" && field.Name != "unknown" {
			parts = append(parts, field.Name+" "+text)
		}
	}
	return strings.Join(parts, "  ")
}

// printForms lists a card in every form that its format has, but for the two that the picture shows.
func printForms(w io.Writer, title string, card *formats.Card, style picture.Style) {
	fmt.Fprintf(w, "\n%s\n", style.Bold(title))
	for _, form := range formats.Forms() {
		if form.Name == "bits" || form.Name == "fields" {
			continue
		}
		if text, err := form.Text(card); err == nil {
			fmt.Fprintf(w, "  %-20s %s\n", form.Name, text)
		}
	}
}

func printList(w io.Writer, title string, lines []string, style picture.Style) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", style.Bold(title))
	for _, line := range lines {
		for i, part := range say.Wrap(line, style.Width-4) {
			mark := "- "
			if i > 0 {
				mark = "  "
			}
			fmt.Fprintf(w, "  %s%s\n", mark, part)
		}
	}
}
