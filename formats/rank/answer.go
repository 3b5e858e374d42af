package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// answer turns what was weighed into probabilities.
func (r *Ranker) answer(w *evidence.Work, ans *Answer) {
	total := w.Total()
	ans.joint = w.Joint()
	least := total + math.Log(shownFrom)
	unknown := math.Exp(w.Unknown - total)
	sum := unknown // of what is shown; what is too small for that is shared out
	kept := make([]reading, 0, 16)
	for i := range w.Results {
		if log := w.Results[i].Log; log >= least {
			kept = append(kept, reading{i, math.Exp(log - total)})
			sum += kept[len(kept)-1].p
		}
	}
	slices.SortStableFunc(kept, func(i, j reading) int {
		a, b := &w.Results[i.at], &w.Results[j.at]
		if a.Log != b.Log {
			return cmp.Compare(b.Log, a.Log)
		}
		return cmp.Or(strings.Compare(a.Format.ID, b.Format.ID), cmp.Compare(a.Wiring, b.Wiring), cmp.Compare(i.at, j.at))
	})
	for i := range w.Frames {
		if f := &w.Frames[i]; f.Log >= least {
			p := math.Exp(f.Log - total)
			sum += p
			ans.Frames = append(ans.Frames, Frame{w.Frames[i].Frame.Format, p})
		}
	}
	for i := range ans.Frames {
		ans.Frames[i].Probability /= sum
	}
	slices.SortStableFunc(ans.Frames, byProbability)
	ans.Unknown, ans.Candidates = unknown/sum, candidates(w, ans.Candidates, kept, sum)
	ans.First, ans.Warnings = r.first(w, ans), r.warnings(w, ans)
}

// reading is a result that is kept, by its place, and its weight.
type reading struct {
	at int
	p  float64
}

// shownFrom is the least probability of a candidate that is kept: below it a reading is noise on the screen.
const shownFrom = 1e-4

// candidates copies the results that are kept out of the memory that the next ranking will use, into that of an answer
// of before where there is some.
func candidates(w *evidence.Work, all []Candidate, kept []reading, sum float64) []Candidate {
	n := len(w.Input())
	all = slices.Grow(all[:0], len(kept))[:len(kept)]
	var cards []formats.Card
	var repairs []Repair
	for k, one := range kept {
		r, c := &w.Results[one.at], &all[k]
		c.Format, c.Fault, c.Probability, c.way = r.Format, r.Fault(), one.p/sum, 0
		c.Printed = append(c.Printed[:0], r.How...)
		if cap(c.Cards) < n || cap(c.Repairs) < n {
			if cards == nil {
				cards, repairs = make([]formats.Card, n*(len(kept)-k)), make([]Repair, n*(len(kept)-k))
			}
			c.Cards, cards = cards[:n:n], cards[n:]
			c.Repairs, repairs = repairs[:n:n], repairs[n:]
		}
		c.Cards, c.Repairs = c.Cards[:n], c.Repairs[:n]
		for i, from := range w.Input() {
			c.Cards[i], c.Repairs[i] = r.Cards[from], r.Repair[from]
		}
	}
	return all
}

// Evidence returns in words what speaks for a candidate of the answer: checks that hold, a facility that repeats,
// prints that agree, repairs that were needed. It is not part of the answer because it costs more than the ranking of a
// single read. There is none for other cards than those that were asked about.
func (c *Candidate) Evidence(cards []formats.Sightings) []string {
	if !c.of(cards) {
		return nil
	}
	var lines []string
	if line := c.checkLine(cards); line != "" {
		lines = append(lines, line)
	}
	if line := c.facilityLine(); line != "" {
		lines = append(lines, line)
	}
	lines = append(lines, c.printLines(cards)...)
	return append(lines, c.repairLines()...)
}

// of reports whether a candidate can be an answer for so many cards.
func (c *Candidate) of(cards []formats.Sightings) bool {
	return c.Format != nil && len(cards) > 0 && len(c.Cards) == len(cards) && len(c.Repairs) == len(cards)
}

func hasRead(s formats.Sightings) bool { return readOf(s).Len() > 0 }

func (c *Candidate) checkLine(cards []formats.Sightings) string {
	var all []wiegand.Bits
	for i, s := range cards {
		// a read that had to be repaired keeps its checks because of that
		if b := readOf(s); b.Len() > 0 && c.Repairs[i].Fault.Wiring() {
			all = append(all, b)
		}
	}
	given := len(all)
	slices.SortFunc(all, wiegand.Bits.Compare)
	reads := len(slices.Compact(all)) // the same read again proves nothing more
	of := words.Count(reads, "read") + " of " + strconv.Itoa(c.Format.Layout.Len()) + " bits"
	switch {
	case reads == given:
	case reads == 1:
		of += fmt.Sprintf(", given %d times", given)
	default:
		of = fmt.Sprintf("%d different reads of %d bits", reads, c.Format.Layout.Len())
	}
	n := len(c.Format.Layout.Checks())
	switch {
	case reads == 0:
		return ""
	case n == 0:
		return of + "; the format has no check bits that could prove it"
	}
	bits := int(checkBits(c.Format.Layout) * float64(reads))
	chance := "2^" + strconv.Itoa(bits)
	if bits <= 16 {
		chance = strconv.Itoa(1 << bits)
	}
	return words.ChecksHold(n) + " in " + of + " (by chance: once in " + chance + ")"
}

// checkBits returns how many bits of a read its checks determine. A decimal digit leaves log2 10 of its bits free.
func checkBits(l *wiegand.Layout) float64 {
	determined := float64(l.Len())
	for _, f := range l.Spec().Fields {
		n := float64(f.Bits.Len())
		switch {
		case f.Constant != "":
		case f.Coding == wiegand.BCD:
			determined -= n / 4 * math.Log2(10)
		case f.Coding == wiegand.Digits5:
			determined -= n / 5 * math.Log2(10)
		case f.Coding == wiegand.Signs5:
			determined -= n / 5 * 4
		default:
			determined -= n
		}
	}
	return determined
}

func (c *Candidate) facilityLine() string {
	at := c.Format.Facility()
	if at < 0 || len(c.Cards) < 2 {
		return ""
	}
	counts := map[string]int{}
	seen := map[wiegand.Bits]bool{}
	for i := range c.Cards {
		if c.Cards[i].Known.Has(at) {
			counts[c.Cards[i].Text(at)]++
			seen[c.Cards[i].Record.Bits()] = true // the same card twice has the same facility, which says nothing
		}
	}
	total := len(seen)
	if total < 2 {
		return ""
	}
	if len(counts) == 1 {
		all := fmt.Sprintf("all %d", total)
		if total == 2 {
			all = "both"
		}
		return fmt.Sprintf("one facility, %s, on %s cards", c.firstKnown(at), all)
	}
	return fmt.Sprintf("%d facilities on %d cards", len(counts), total)
}

func (c *Candidate) firstKnown(field int) string {
	for i := range c.Cards {
		if t := c.Cards[i].Text(field); t != "" {
			return t
		}
	}
	return ""
}

// printLines says which prints and chip serials follow from the cards, and in which way; and which do not.
func (c *Candidate) printLines(cards []formats.Sightings) []string {
	var ways, parts []string
	for _, how := range c.Printed {
		switch {
		case how == "":
		case strings.Contains(how, " "):
			parts = append(parts, how)
		default:
			if words := evidence.WayWords(how); !slices.Contains(ways, words) {
				ways = append(ways, words)
			}
		}
	}
	var lines []string
	all, strays := c.strays(cards, formats.Printed, formats.Hex)
	if n := len(all) - len(strays); n > 0 {
		lines = append(lines, fmt.Sprintf("%s: %s", some(n, len(all), "printed number"), strings.Join(ways, "; ")))
	}
	if len(strays) > 0 {
		why := " does not follow from the read"
		if !slices.ContainsFunc(strays, func(i int) bool { return readOf(cards[i-1]).Len() > 0 }) {
			why = " is written in none of these ways"
		}
		lines = append(lines, "the number printed on "+named(strays)+why)
	}
	all, strays = c.strays(cards, formats.Serial)
	if n := len(all) - len(strays); n > 0 {
		what := "the card number is"
		if c.Format.Facility() >= 0 {
			what = "facility and number together are"
		}
		lines = append(lines, fmt.Sprintf("%s: %s %s", some(n, len(all), "chip serial"), what, strings.Join(parts, ", then ")))
	}
	if len(strays) > 0 {
		lines = append(lines, "the chip serial of "+named(strays)+" does not appear in the read")
	}
	return lines
}

// strays returns the cards, counted from 1, that have sightings of these kinds, each once for every sighting, and those
// of them whose sighting does not follow from the card in any of the ways that the candidate has.
func (c *Candidate) strays(cards []formats.Sightings, kinds ...formats.SightingKind) (all, strays []int) {
	for i, s := range cards {
		for _, t := range s {
			if !slices.Contains(kinds, t.Kind) {
				continue
			}
			if all = append(all, i+1); !c.follows(i, readOf(s), t) {
				strays = append(strays, i+1)
			}
		}
	}
	return all, strays
}

// follows reports whether a sighting follows from card i in one of the candidate's ways.
func (c *Candidate) follows(i int, read wiegand.Bits, t formats.Sighting) bool {
	if c.Cards[i].Format == nil {
		return false
	}
	s := typing.NewSeen(t)
	return slices.ContainsFunc(c.Printed, func(how string) bool { return evidence.Follows(how, &c.Cards[i], read, &s) })
}

// some says how many of all things there are, and of what.
func some(n, all int, what string) string {
	if n == all {
		return words.Count(n, what)
	}
	return fmt.Sprintf("%d of %s", n, words.Count(all, what))
}

// named lists cards by their places, the first few of many.
func named(places []int) string {
	places = slices.Compact(places)
	if len(places) == 1 {
		return fmt.Sprintf("card %d", places[0])
	}
	const most = 8
	var list []string
	for _, n := range places[:min(most, len(places))] {
		list = append(list, fmt.Sprint(n))
	}
	text := "cards " + strings.Join(list, ", ")
	if n := len(places) - most; n > 0 {
		text += fmt.Sprintf(" and %d more", n)
	}
	return text
}

// holdsAnyway reports whether the checks hold in the reads as they came, so that they say nothing about a fault of the
// wiring: it is so for formats without checks, and for those whose checks stay good when the read is inverted or turned
// round.
func (c *Candidate) holdsAnyway() bool {
	for i := range c.Cards {
		card := &c.Cards[i]
		if c.Repairs[i].Fault == c.Fault && card.Whole() && !c.Format.Layout.Holds(c.Fault.Undo(card.Record.Encode())) {
			return false
		}
	}
	return true
}

func (c *Candidate) repairLines() []string {
	if c.Fault.Wiring() {
		if c.Fault == None {
			return nil
		}
		if c.holdsAnyway() {
			return []string{"supposes that " + c.Fault.Words() + "; no check can tell, since all hold without that too"}
		}
		return []string{"the checks hold only if " + c.Fault.Words()}
	}
	var lines []string
	for i, r := range c.Repairs {
		if c.doubtful(i) {
			what := map[Fault]string{LostBit: "is missing from the read", ExtraBit: "of the read is one too many",
				FlippedBit: "was misread"}[r.Fault]
			lines = append(lines, fmt.Sprintf("card %d: a bit %s, and nothing tells which", i+1, what))
			continue
		}
		switch {
		case r.Fault.Wiring():
		case r.Bit == 0:
			lines = append(lines, fmt.Sprintf("card %d: more is wrong with the read than can be put right", i+1))
		case r.Fault == LostBit:
			lines = append(lines, fmt.Sprintf("card %d: bit %d is missing from the read", i+1, r.Bit))
		case r.Fault == ExtraBit:
			lines = append(lines, fmt.Sprintf("card %d: bit %d of the read is one too many", i+1, r.Bit))
		default:
			lines = append(lines, fmt.Sprintf("card %d: bit %d was misread", i+1, r.Bit))
		}
	}
	return lines
}
