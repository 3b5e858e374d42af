package match

import (
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/reading"
)

// fewestInside is how many digits a number has at least that is looked for among words: fewer count something else, as
// in "Visitor 3".
const fewestInside = 3

// numbersIn returns the numbers in a cell that is no number by itself: with a label before it that others of the list
// do not have, words behind it, or several in one cell. The card of the row is one of them, most likely.
func (m *Matcher) numbersIn(cell string) (all []string) {
	parts := m.opt.List.Parts(cell)
	if parts == nil {
		parts = strings.FieldsFunc(cell, func(r rune) bool { return strings.ContainsRune(" \u00a0\t\r\n;()[]<>|", r) })
	}
	for _, part := range parts {
		part = strings.Trim(part, ".,:-/#")
		for _, text := range [...]string{part, strings.TrimLeftFunc(part, func(r rune) bool { return r < '0' || r > '9' })} {
			whole := text == strings.TrimSpace(cell) || slices.Contains(all, text)
			if len(text) >= fewestInside && !whole && isTyped(strings.ReplaceAll(text, ":", "")) {
				all = append(all, text)
			}
		}
	}
	return all
}

// can notes each card that a holder's number can be, of which nothing says which it is; Doubt is of how many it is but
// the end.
func (m *Matcher) can(h *Holder, number string, i int32) {
	m.opt.List.Each([]byte(number), func(s *reading.Seen) bool {
		if k := s.Key(); !slices.Contains(m.mayBe[k], i) {
			m.mayBe[k] = append(m.mayBe[k], i)
			h.can = append(h.can, listedOf(s))
			m.hasFormat(s.Reading.Format)
			c := s.Card()
			m.eachPart(&c, func(text string) { m.mayShow[text] = append(m.mayShow[text], i) })
		}
		return true
	})
	cards, sorts := m.ends(number, i)
	h.Doubt, h.sorts = h.Doubt+cards, h.sorts+sorts
}
