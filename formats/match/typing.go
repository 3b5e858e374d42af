package match

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
)

// byTyping makes mistakes in typing: the list has a number that was typed, and the right one written in its form is a
// mistake away from it. Where a facility stands before the number, it is the number that is typed wrong, nearly always:
// the facility is the same all down the list, so that it is copied, or a slip in it is seen.
func (m *Matcher) byTyping(u *Unknown) {
	known := false
	for _, c := range u.cards {
		some := m.byTypingOf(u, &c.card, way{rule: Typed, form: c.form, other: c.other, by: c.by, in: c})
		known = known || some
	}
	if !known {
		m.byTypingAs(u, u.Value, way{rule: Typed})
	}
}

// byTypingOf makes mistakes in the texts that the list would have for a card, with each facility of the site where the
// door leaves it out; as says in which form the door shows it. It reports whether there are such texts.
func (m *Matcher) byTypingOf(u *Unknown, c *formats.Card, as way) (some bool) {
	all := []formats.Card{*c}
	if len(m.asListed(c)) == 0 {
		all = m.completed(c)
	}
	for _, whole := range all {
		as.card = m.opt.List.KeyOf(&whole)
		for _, text := range m.asListed(&whole) {
			m.byTypingAs(u, text, as)
			some = true
		}
	}
	return some
}

// byTypingAs makes mistakes in a text of the list.
func (m *Matcher) byTypingAs(u *Unknown, text string, as way) {
	at := strings.IndexAny(text, ",-/ ") + 1
	for slip := range slips {
		as.slip, as.variants = int8(slip), 1
		m.mistyped(u, as, text[:at], text[at:], "")
		as.variants = slipsInFacility
		m.mistyped(u, as, "", text[:at], text[at:])
	}
}

// completed returns a card of which the door leaves the facility out with each that it can have: those of the site, or
// else of the list.
func (m *Matcher) completed(c *formats.Card) (all []formats.Card) {
	f := c.Format
	if f.Facility() < 0 || c.Known.Has(f.Facility()) {
		return nil
	}
	facilities, _ := m.opt.Site.Facilities(f.ID)
	if len(facilities) == 0 {
		facilities = slices.Sorted(maps.Keys(m.index.facilities[f]))
	}
	for _, facility := range facilities[:min(len(facilities), maxFound)] {
		if whole, err := c.With(f.Facility(), strconv.FormatUint(facility, 10)); err == nil {
			all = append(all, whole)
		}
	}
	return all
}

// slipsInFacility is how many slips in a number there are to each in a facility. A judgement.
const slipsInFacility = 10

// slip is a mistake: undo yields what the list can have where the number is text, and redo the numbers for which it can
// have that.
type slip struct {
	at         int8 // its place among all
	undo, redo typing.Slip
	share      float64 // how usual it is of all of them: as identify has it of prints
	copied     float64 // the same of numbers in the events, which are cut as well
}

var slips = [...]slip{
	{0, typing.Swapped, typing.Swapped, judgement.SlipSwap / allSlips, 0.05},
	{1, typing.Replaced, typing.Replaced, judgement.SlipDigit / allSlips, 0.15},
	{lostDigit, typing.Shortened, typing.Lengthened, judgement.SlipLost / allSlips, 0.75},
	{3, typing.Lengthened, typing.Shortened, judgement.SlipExtra / allSlips, 0.05},
}

// lostDigit is the place of that slip among them.
const lostDigit = 2

// allSlips is the sum of their shares.
const allSlips = judgement.SlipSwap + judgement.SlipDigit + judgement.SlipLost + judgement.SlipExtra

// mistyped makes a mistake in one part of a number as listed, what stands before and behind it being right. The
// variants of as are how many ways to go wrong there are for every one that is tried here.
func (m *Matcher) mistyped(u *Unknown, as way, before, part, behind string) {
	known := len(u.ways)
	variants := int32(0)
	var buf [40]byte
	for candidate := range slips[as.slip].undo(part, typing.DigitsIn(before+part+behind)) {
		variants++
		i, ok := m.byText[string(append(append(append(buf[:0], before...), candidate...), behind...))]
		if !ok || as.in != nil && len(as.in.listed) > 0 && m.mistypedOdds(i) == 1 { // two good rows would be typed wrong
			continue
		}
		at := slices.IndexFunc(u.ways, func(w way) bool {
			return w.holder == i && w.rule == Typed && w.other == as.other && w.by == as.by && w.form == as.form
		})
		switch {
		case at < 0:
			as.holder, as.times = i, 1
			u.ways = append(u.ways, as)
		case at >= known: // and no other slip has made it
			u.ways[at].times++
		}
	}
	for i := range u.ways[known:] {
		w := &u.ways[known+i]
		w.variants *= max(variants, 1)
		w.odds = m.mistypedOdds(w.holder) * m.asTrue(before+part+behind, w.holder)
	}
}

// asTrue is how much likelier than a row's text, by the slips that can have made it, is just this number: how likely a
// card has it, of all numbers that the row can stand for, each by how likely it would be typed so.
func (m *Matcher) asTrue(text string, holder int32) float64 {
	all, ok := m.slipped[holder]
	if !ok {
		listed := reading.Plain(m.holders[holder].Number)
		at := strings.IndexAny(listed, ",-/ ") + 1
		all = m.undone(1, listed[:at], listed[at:], "") + m.undone(slipsInFacility, "", listed[:at], listed[at:])
		m.slipped[holder] = all
	}
	if all == 0 {
		return 1
	}
	return m.ownNumber(text) / all
}

// undone sums over the numbers that can have been typed as part, what stands before and behind it being right: how
// likely it is that a card has that number, and that it was typed so.
func (m *Matcher) undone(each int, before, part, behind string) (sum float64) {
	digits := typing.DigitsIn(before + part + behind)
	for _, slip := range slips {
		for right := range slip.redo(part, digits) {
			if own := m.ownNumber(before + string(right) + behind); own > 0 {
				variants := 0
				for range slip.undo(string(right), digits) {
					variants++
				}
				sum += own * slip.share / float64(each*max(variants, 1))
			}
		}
	}
	return sum
}

// ownNumber is how likely a card that should be on the list has a number, as the list would have it.
func (m *Matcher) ownNumber(text string) (own float64) {
	m.asIs.Each([]byte(text), func(s *reading.Seen) bool {
		if s.Reading.Second() {
			return true
		}
		c := s.Card()
		p, _, _ := m.strayAs(&c)
		own = max(own, p.own())
		return true
	})
	return own
}

// own is how likely a card that should be on the list has the number of a stranger with these.
func (p *strays) own() (sum float64) {
	for k := range p {
		sum += ownShares[k] * p[k]
	}
	return sum
}

// ownShares is where the numbers of cards lie that should be on a list. Judgements.
var ownShares = strays{fromBlock: 0.9, fromFacility: 0.09, fromAnywhere: 0.01}

// asListed returns a card as the list would have it, in each form that the list has. A list that leaves the facility
// out has none but the site's.
func (m *Matcher) asListed(c *formats.Card) (texts []string) {
	for _, r := range m.opt.List.Readings() {
		if r.Format != c.Format || r.Second() {
			continue
		}
		text, err := r.Text(c)
		if text = reading.Plain(text); err != nil || slices.Contains(texts, text) {
			continue
		}
		usual := r.Population().Facilities
		facility, ok := c.Facility()
		if said, err := r.Form.Parse(r.Format, text); ok && err == nil && !said.Known.Has(r.Format.Facility()) &&
			len(usual) > 0 && !slices.Contains(usual, facility) {
			continue
		}
		texts = append(texts, text)
	}
	return texts
}
