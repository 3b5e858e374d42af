package match

import (
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/typing"
)

// byTyping makes mistakes in typing: the list has a number that was typed, and the right one written in its form is a
// mistake away from it. Where a facility stands before the number, it is the number that is typed wrong, nearly always: the
// facility is the same all down the list, so that it is copied, or a slip in it is seen.
func (m *Matcher) byTyping(u *Unknown) {
	even := slices.DeleteFunc(typing.Mistakes(), func(k typing.Mistake) bool { return !k.Even })
	for _, text := range m.asListed(u.Value) {
		at := strings.IndexAny(text, ",-/ ") + 1
		for _, mistake := range even {
			m.mistyped(u, mistake, len(even), text[:at], text[at:], "")
			m.mistyped(u, mistake, slipsInFacility*len(even), "", text[:at], text[at:])
		}
	}
}

// slipsInFacility is how many slips in a number there are to each in a facility. A judgement.
const slipsInFacility = 10

// mistyped makes a mistake in one part of a number as listed, what stands before and behind it being right. each is how many ways
// to go wrong there are for every one that is tried here.
func (m *Matcher) mistyped(u *Unknown, k typing.Mistake, each int, before, part, behind string) {
	var found []int32
	variants := 0
	for candidate := range k.Undo(part) {
		variants++
		if i, ok := m.byText[before+candidate+behind]; ok {
			found = append(found, i)
		}
	}
	m.add(u, Typed, each*variants, found)
}

// asListed returns a number of the events as the list would have it, in each form that the list has.
func (m *Matcher) asListed(value string) []string {
	var texts []string
	m.opt.Shown.Each([]byte(value), func(seen *reading.Seen) bool {
		c := seen.Card()
		for _, r := range m.opt.List.Readings() {
			if r.Format != c.Format || r.Second() {
				continue
			}
			if text, err := r.Form.Text(&c); err == nil && !slices.Contains(texts, text) {
				texts = append(texts, text)
			}
		}
		return true
	})
	if len(texts) == 0 {
		return []string{value}
	}
	return texts
}
