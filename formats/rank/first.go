package rank

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// first says what is wrong with the cards as they were given: lines at fault, prints that contradict their read,
// reads that were spoilt so that no number is known, cards that may be another one that was given. All of it has to
// be known before any answer.
func (r *Ranker) first(w *evidence.Work, ans *Answer) (all []string) {
	all = append(faultyLines(w), keyFrames(w, true)...)
	var c *Candidate
	if len(ans.Candidates) > 0 && ans.Candidates[0].Probability >= likely {
		c = &ans.Candidates[0]
	}
	if c != nil {
		all = append(all, twoPrints(w, c)...)
	}
	all = append(all, twoCards(w, ans)...)
	if c != nil {
		all = append(all, ans.typedWrong(w)...)
		all = append(all, c.contradictions(w)...)
		all = append(all, c.spoilt(w)...)
		all = append(all, c.unsure(w)...)
	} else {
		all = append(all, oddLengths(w)...)
	}
	return append(all, neighbours(w, c)...)
}

// faultyLines names the reads whose bits are all alike.
func faultyLines(w *evidence.Work) (all []string) {
	var zeros, ones []int
	for i, at := range w.Input() {
		b := w.Read(at)
		switch n := b.OnesCount(); {
		case b.Len() == 0:
		case n == 0:
			zeros = append(zeros, i+1)
		case n == b.Len():
			ones = append(ones, i+1)
		}
	}
	if zeros == nil && ones == nil {
		return nil
	}
	for _, line := range []struct {
		places    []int
		bit, wire string
	}{{zeros, "0", "DATA1"}, {ones, "1", "DATA0"}} {
		if len(line.places) > 0 {
			n := w.Read(w.Input()[line.places[0]-1]).Len()
			all = append(all, fmt.Sprintf("%s: all %d bits are %s: a line fault before it is a card; check that %s is "+
				"connected", named(line.places), n, line.bit, line.wire))
		}
	}
	return all
}

// oddLengths names the reads that have a bit less or more than most, where no format says what they were.
func oddLengths(w *evidence.Work) (all []string) {
	lengths := w.Lengths()
	if len(lengths) != 2 || lengths[1] != lengths[0]+1 {
		return nil
	}
	of := map[int]int{} // cards by the length of their read
	for _, at := range w.Input() {
		of[w.Read(at).Len()]++
	}
	few, most := lengths[0], lengths[1]
	what := "a bit of it was probably lost"
	if of[few] > of[most] {
		few, most, what = most, few, "probably one of them is too many"
	}
	if of[most] < 2*of[few] {
		return nil
	}
	for i, at := range w.Input() {
		if w.Read(at).Len() == few {
			all = append(all, fmt.Sprintf("card %d: its read has %d bits, and those of most others %d: %s; present it again",
				i+1, few, most, what))
		}
	}
	return all
}

// keyFrames names the reads that are several keys in one frame: those that hardly are a card, or the others that end
// as a code does.
func keyFrames(w *evidence.Work, likely bool) (all []string) {
	for i, at := range w.Input() {
		f, ok := formats.Keys(w.Read(at))
		code := ok && !f.Likely() && strings.HasSuffix(f.Keys, "#")
		switch {
		case likely && ok && f.Likely():
			why := "no card is that short"
			if w.Read(at).Len() >= formats.ShortestCard {
				why = fmt.Sprintf("bits at random look so once in %.0f", 1/f.Chance)
			}
			all = append(all, fmt.Sprintf("card %d: its %d bits are %d keys of %d bits, %s: a code typed at a keypad, "+
				"and no card (%s)",
				i+1, w.Read(at).Len(), len(f.Keys), f.Each, spaced(f.Keys), why))
		case !likely && code:
			all = append(all, fmt.Sprintf("card %d: can be %d keys of %d bits as well, %s: a code typed at a keypad", i+1,
				len(f.Keys), f.Each, spaced(f.Keys)))
		}
	}
	return all
}

func spaced(keys string) string { return strings.Join(strings.Split(keys, ""), " ") }

// twoPrints names the reads that were given with two prints of which no more than one follows from the read as a
// candidate has it.
func twoPrints(w *evidence.Work, c *Candidate) (all []string) {
	var told map[int]bool
	for i, at := range w.Input() {
		if len(w.Other(at)) < 2 {
			continue
		}
		if prints := printsOf(w, at); !told[at] && w.Read(at).Len() > 0 && len(prints) > 1 {
			if told == nil {
				told = map[int]bool{}
			}
			told[at] = true
			follow := slices.DeleteFunc(slices.Clone(prints), func(s *typing.Seen) bool {
				return !c.followed(i, w.Read(at), s)
			})
			switch len(follow) {
			case len(prints):
			case 0:
				all = append(all, fmt.Sprintf("card %d: one read with the prints %s: no two of them are one card; look "+
					"which is its own", i+1, texts(prints)))
			default:
				others := slices.DeleteFunc(prints, func(s *typing.Seen) bool { return slices.Contains(follow, s) })
				all = append(all, fmt.Sprintf("card %d: one read with %d prints: %s follows from the read as %s, %s does "+
					"not; look which is its own",
					i+1, len(follow)+len(others), texts(follow), c.Format.ID, texts(others)))
			}
		}
	}
	return all
}

// twoCards names the cards without a read whose prints are of two cards: of the likeliest reading, and of another one
// of the same format that is not far behind.
func twoCards(w *evidence.Work, ans *Answer) []string {
	var places []int
	one := ""
	for i, at := range w.Input() {
		if w.Read(at).Len() > 0 {
			continue
		}
		prints := printsOf(w, at)
		if len(prints) < 2 {
			continue
		}
		if d := ans.rival(i); d != nil {
			c := &ans.Candidates[0]
			places = append(places, i+1)
			one = fmt.Sprintf("card %d: its prints %s are of two cards of %s, %s or %s: look at them again", i+1,
				texts(prints), c.Format.ID, fieldWords(&c.Cards[i]), fieldWords(&d.Cards[i]))
		}
	}
	return oneOrAll(places, one, "the prints of %s are of two cards each: look at them again")
}

// rival returns the first candidate not far behind that has another card of the same format than the likeliest at a
// place; nil where there is none.
func (ans *Answer) rival(i int) *Candidate {
	for k := 1; k < len(ans.Candidates); k++ {
		c, d := &ans.Candidates[0], &ans.Candidates[k]
		if c.Format == d.Format && d.Probability >= c.Probability/farBehind &&
			c.Cards[i].Format != nil && d.Cards[i].Format != nil &&
			c.Cards[i].Known == d.Cards[i].Known && c.Cards[i].Record.Bits() != d.Cards[i].Record.Bits() {
			return d
		}
	}
	return nil
}

// oneOrAll returns what is to be said of one card, or of several; nothing of none.
func oneOrAll(places []int, one, all string) []string {
	switch len(places) {
	case 0:
		return nil
	case 1:
		return []string{one}
	}
	return []string{fmt.Sprintf(all, named(places))}
}

// typedWrong names the cards without a read that are not what their prints say, or lie so far apart from the others
// that they may well be typed wrong.
func (ans *Answer) typedWrong(w *evidence.Work) []string {
	var places []int
	one, c := "", &ans.Candidates[0]
	for i, at := range w.Input() {
		if w.Read(at).Len() > 0 || c.Cards[i].Format == nil || ans.rival(i) != nil {
			continue
		}
		wrong := slices.DeleteFunc(printsOf(w, at), func(s *typing.Seen) bool {
			return c.followed(i, w.Read(at), s) || evidence.FollowsSomehow(&c.Cards[i], w.Read(at), s)
		})
		switch {
		case len(wrong) > 0:
			one = fmt.Sprintf("card %d: %s is probably %s, typed wrong: look at its print again", i+1, texts(wrong),
				fieldWords(&c.Cards[i]))
		case c.Repairs[i].Chance < sureRepair:
			one = fmt.Sprintf("card %d: %s lies apart from the others, and may be typed wrong: look at its print again", i+1,
				fieldWords(&c.Cards[i]))
		default:
			continue
		}
		places = append(places, i+1)
	}
	return oneOrAll(places, one, "the prints of %s seem typed wrong: look at them again")
}

// farBehind is by how much a reading of other cards is less likely that is not worth a word.
const farBehind = 100

// printsOf returns the prints of the card at a place, each once.
func printsOf(w *evidence.Work, at int) (all []*typing.Seen) {
	seen := w.Other(at)
	for k := range seen {
		s := &seen[k]
		if s.Kind == formats.Printed && !slices.ContainsFunc(all, func(t *typing.Seen) bool { return t.Text == s.Text }) {
			all = append(all, s)
		}
	}
	return all
}

func texts(all []*typing.Seen) string {
	var parts []string
	for _, s := range all {
		parts = append(parts, s.Text)
	}
	return strings.Join(parts, " and ")
}

func (c *Candidate) followed(i int, read wiegand.Bits, s *typing.Seen) bool {
	return c.Cards[i].Format != nil && slices.ContainsFunc(c.Printed,
		func(how string) bool { return evidence.Follows(how, &c.Cards[i], read, s) })
}

// contradictions names the cards whose one print does not follow from their read.
func (c *Candidate) contradictions(w *evidence.Work) []string {
	var places []int
	one := ""
	for i, at := range w.Input() {
		prints := printsOf(w, at)
		if w.Read(at).Len() == 0 || len(prints) != 1 || c.Cards[i].Format == nil ||
			c.followed(i, w.Read(at), prints[0]) || evidence.FollowsSomehow(&c.Cards[i], w.Read(at), prints[0]) {
			continue // printed in another way than the others is no contradiction
		}
		places = append(places, i+1)
		one = prints[0].Text
	}
	if len(places) == 1 {
		if i := places[0] - 1; c.doubtful(i) {
			one = fmt.Sprintf("card %d: its print %s does not follow from its read, which is spoilt", i+1, one)
		} else {
			one = fmt.Sprintf("card %d: its print %s contradicts its read, which as %s is %s: look at the print again, or it "+
				"is another card's", i+1, one, c.Format.ID, fieldWords(&c.Cards[i]))
		}
	}
	return oneOrAll(places, one, "the numbers printed on %s do not follow from their reads: they are other numbers, or of "+
		"other cards")
}

// fieldWords writes a card's fields in a few words, the unknown ones too.
func fieldWords(c *formats.Card) string {
	var parts []string
	for i, field := range c.Format.Layout.Spec().Fields {
		if field.Name == wiegand.FieldUnknown || field.Constant != "" {
			continue
		}
		text := "unknown"
		if c.Known.Has(i) {
			text = c.Text(i)
		}
		parts = append(parts, field.Name+" "+text)
	}
	return strings.Join(parts, ", ")
}

// spoilt says of each read that can be a misread of several cards what is known all the same.
func (c *Candidate) spoilt(w *evidence.Work) (all []string) {
	for i, at := range w.Input() {
		rep := c.Repairs[i]
		if !c.doubtful(i) {
			continue
		}
		if n := w.Read(at).OnesCount(); n == 0 || n == w.Read(at).Len() { // of a line at fault it was said
			continue
		}
		what := map[Fault]string{LostBit: "a bit is missing for %s", ExtraBit: "there is a bit too many for %s",
			FlippedBit: "a bit is wrong for %s"}[rep.Fault]
		if card, err := c.Format.Read(w.Read(at)); err == nil && rep.Fault == FlippedBit {
			switch n := card.Record.Failed().Len(); n {
			case 0:
				what = "as %s its read does not go with its print, or with the other reads"
			case 1:
				what = "one check of %s fails"
			default:
				what = fmt.Sprint(n) + " checks of %s fail"
			}
		}
		known := c.agreed(w.Read(at), rep.Fault)
		all = append(all, fmt.Sprintf("card %d: "+what+", so that it can be one of %d cards (%s); present it again, and use "+
			"no number before that", i+1, c.Format.ID, rep.Ways, fieldWords(&known)))
	}
	return all
}

// unsure names the reads that came as they should, and of which it is not sure all the same that they are these cards.
func (c *Candidate) unsure(w *evidence.Work) (all []string) {
	var places []int
	for i, at := range w.Input() {
		if r := &c.Repairs[i]; r.Fault.Wiring() && r.Chance < sureCard && w.Read(at).Len() > 0 && r.Ways == 0 {
			places = append(places, i+1)
		}
	}
	if len(c.Format.Layout.Checks()) == 0 {
		return oneOrAll(places, named(places)+": nothing shows whether its read is right, and another one was misread: "+
			"present it again", "%s: nothing shows whether their reads are right, and others were misread: present them again")
	}
	return oneOrAll(places, named(places)+" lies apart from the others and may be of another format: look at it",
		"%s lie apart from the others and may be of another format: look at them")
}

// sureCard is the chance from which a card that was read without a fault is said to be that card.
const sureCard = 0.99

// sureRepair is the chance from which the card that a bad read is put right to is shown as that card.
const sureRepair = 0.9

// doubtful reports whether the read of card i can be a misread of several cards, none of them far the likeliest.
func (c *Candidate) doubtful(i int) bool {
	return c.Repairs[i].Ways > 1 && c.Repairs[i].Chance < sureRepair && !c.Repairs[i].Fault.Wiring()
}

// Follows reports whether everything that was printed on card i, from 0, or is its serial follows from the card as the
// candidate has it. cards are those that were asked about.
func (c *Candidate) Follows(cards []formats.Sightings, i int) bool {
	return c.of(cards) && i >= 0 && i < len(cards) && !slices.ContainsFunc(cards[i], func(t formats.Sighting) bool {
		return t.Kind != formats.Read && !c.follows(i, readOf(cards[i]), t)
	})
}

// Sure returns card i with those fields alone known that are known however its read was spoilt: all of them for a
// read that is good or that is put right without much doubt. cards are those that were asked about.
func (c *Candidate) Sure(cards []formats.Sightings, i int) formats.Card {
	if !c.of(cards) || i < 0 || i >= len(cards) {
		return formats.Card{}
	}
	if !c.doubtful(i) {
		return c.Cards[i]
	}
	return c.agreed(readOf(cards[i]), c.Repairs[i].Fault)
}

// agreed returns a card with the fields known on which all cards agree that a read can be a misread of, by one bit.
func (c *Candidate) agreed(read wiegand.Bits, fault Fault) formats.Card {
	agreed, some := c.Format.Blank(), false
	for good := range mended(read, fault) {
		if !c.Format.Layout.Holds(good) {
			continue
		}
		card, err := c.Format.Read(good)
		if err != nil {
			continue
		}
		if !some {
			agreed, some = card, true
			continue
		}
		for i := range c.Format.Layout.Spec().Fields {
			if card.Record.Value(i) != agreed.Record.Value(i) {
				agreed.Known &^= 1 << i
			}
		}
	}
	return agreed
}

// mended yields the reads that a read can have been before a bit of it was lost, gained or flipped.
func mended(b wiegand.Bits, fault Fault) func(yield func(wiegand.Bits) bool) {
	return func(yield func(wiegand.Bits) bool) {
		more := true
		try := func(good wiegand.Bits, ok bool) { more = more && (!ok || yield(good)) }
		for i := 0; i <= b.Len() && more; i++ {
			switch {
			case fault == LostBit:
				for v := range uint(2) {
					try(b.Insert(i, v))
				}
			case i == b.Len():
			case fault == ExtraBit:
				try(b.Delete(i))
			case fault == FlippedBit:
				try(b.WithBit(i, 1-b.Bit(i)), true)
			}
		}
	}
}

// neighbours names the bad reads that are one bit away from the good read of another card: perhaps they are that
// card. c is the likeliest candidate, nil where there is none; then reads that are a bit longer or shorter than
// another are bad.
func neighbours(w *evidence.Work, c *Candidate) (all []string) {
	input := w.Input()
	if len(input) < 2 {
		return nil
	}
	reads := map[wiegand.Bits]int{} // the first place of each
	for i, at := range input {
		if b := w.Read(at); b.Len() > 0 && (c == nil || c.Repairs[i].Fault.Wiring()) {
			if _, there := reads[b]; !there {
				reads[b] = i
			}
		}
	}
	if len(reads) == 0 {
		return nil
	}
	for i, at := range input {
		b := w.Read(at)
		if b.Len() == 0 || c != nil && c.Repairs[i].Fault.Wiring() {
			continue
		}
		faults := []Fault{FlippedBit, LostBit, ExtraBit}
		if c == nil {
			faults = faults[1:2] // a longer read of which a bit is too many is that of another card as well as this one is
		}
		for _, fault := range faults {
			longer := map[Fault]int{FlippedBit: 0, LostBit: 1, ExtraBit: -1}[fault]
			if !slices.Contains(w.Lengths(), b.Len()+longer) {
				continue
			}
			if at, ok := neighbour(reads, b, fault); ok {
				what := map[Fault]string{FlippedBit: "one bit from", LostBit: "a bit less than", ExtraBit: "a bit more than"}[fault]
				all = append(all, fmt.Sprintf("card %d: its read is %s that of card %d: perhaps it is that card, misread", i+1,
					what, at+1))
				break
			}
		}
	}
	return all
}

// neighbour returns the place of a read that a bad one can be a misread of.
func neighbour(reads map[wiegand.Bits]int, b wiegand.Bits, fault Fault) (at int, ok bool) {
	for good := range mended(b, fault) {
		if place, there := reads[good]; there && (!ok || place < at) {
			at, ok = place, true
		}
	}
	return at, ok
}
