package rank

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/wiegand"
)

// likely is the probability from which a candidate's own warnings are given; keypad codes are mentioned sooner, since
// somebody's code is no card.
const likely, likelyKeys = 0.2, 0.02

// warnings says what to be careful about.
func (r *Ranker) warnings(w *evidence.Work, ans *Answer) []string {
	var all []string
	add := func(format string, args ...any) {
		if s := fmt.Sprintf(format, args...); !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	for i, at := range w.Input() {
		for _, s := range w.Other(at) {
			if s.Kind == formats.Serial && randomSerial(s.Serial) {
				add("card %d: a 4-byte serial that begins with 08 is random: the card shows another one each time and cannot be enrolled by it (ISO/IEC 14443-3)", i+1)
			}
		}
	}
	all = append(all, keyFrames(w, false)...)
	if w.Trimmed() {
		add("zeros before and after the message were taken off as clocking")
	}
	if n := w.Lengths(); len(n) > 1 && n[len(n)-1]-n[0] > 1 {
		add("the reads have %d lengths (%s bits): these are cards of several formats; ask about each length by itself",
			len(n), lengthList(n))
	}
	for i := range ans.Candidates {
		c := &ans.Candidates[i]
		if c.Probability >= likely {
			c.warn(add)
		}
		if c.Format.Kind == formats.KindKeypad && c.Probability >= likelyKeys {
			add("as %s this is keys pressed on a keypad, not a card", c.Format.ID)
		}
	}
	if len(r.model.Site) > 0 && len(ans.Candidates) > 0 {
		r.warnStrangers(&ans.Candidates[0], add)
	}
	return all
}

// warnStrangers names the cards that are none of the site's.
func (r *Ranker) warnStrangers(c *Candidate, add func(string, ...any)) {
	var strange []int
	for i := range c.Cards {
		card := &c.Cards[i]
		if card.Format != nil && !slices.ContainsFunc(r.model.Site, func(p Population) bool { return p.Belongs(card) }) {
			strange = append(strange, i+1)
		}
	}
	switch len(strange) {
	case 0:
	case 1:
		add("%s is none of the cards that the site file lists", named(strange))
	default:
		add("%s are none of the cards that the site file lists", named(strange))
	}
}

func lengthList(n []int) string {
	var s []string
	for _, v := range n {
		s = append(s, fmt.Sprint(v))
	}
	return strings.Join(s, ", ")
}

// randomSerial reports whether a chip serial is one that changes at each reading (ISO/IEC 14443-3: 4 bytes, the first
// 08).
func randomSerial(b wiegand.Bits) bool {
	v, _ := b.Slice(0, 8).Uint64()
	return b.Len() == 32 && v == 0x08
}

// warn says what to be careful about if the candidate is right.
func (c *Candidate) warn(add func(string, ...any)) {
	for i, r := range c.Repairs {
		if r.Ways > 1 && !c.doubtful(i) && c.Cards[i].Format != nil {
			add("card %d: as a misread of %s it can be any of %d cards, and the one shown is only the likeliest: present it again, and don't use its number", i+1, c.Format.ID, r.Ways)
		}
	}
	for i := range c.Cards {
		card := &c.Cards[i]
		what := ""
		switch c.Format.Kind {
		case formats.KindSerial:
			what = "its serial"
		case formats.KindEither:
			what = "its number, if that is a chip serial,"
		}
		if what != "" && card.Known.Has(c.Format.Number()) && randomSerial(card.Record.Value(c.Format.Number())) {
			add("card %d: as %s %s begins with 08, which is random: the card shows another one each time and cannot be enrolled by it (ISO/IEC 14443-3)", i+1, c.Format.ID, what)
		}
	}
	for _, how := range c.Printed {
		if strings.HasPrefix(how, "its ") {
			add("as %s the read has only a part of the chip serial: two cards can look the same at the door", c.Format.ID)
		}
	}
	if c.Format.ID == "26-8-16" && c.pinLike() {
		add("facility 0 and a short number: a keypad code in a card frame (pin-26) looks the same")
	}
}

// pinLike reports whether every card could be a keypad code of up to five digits sent as a card of facility 0.
func (c *Candidate) pinLike() bool {
	for i := range c.Cards {
		if v, ok := c.Cards[i].Record.Uint64(c.Format.Facility()); v != 0 || !ok ||
			!c.Cards[i].Known.Has(c.Format.Facility()) {
			return false
		}
	}
	return len(c.Cards) > 0
}
