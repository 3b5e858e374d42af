package match

import (
	"iter"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
)

// byTyping makes mistakes in typing: the list has a number that was typed, and the right one written in its form is a
// mistake away from it. Where a facility stands before the number, it is the number that is typed wrong, nearly always:
// the facility is the same all down the list, so that it is copied, or a slip in it is seen.
func (m *Matcher) byTyping(u *Unknown) {
	for _, text := range m.asListed(u.Value) {
		at := strings.IndexAny(text, ",-/ ") + 1
		for slip := range slips {
			m.mistyped(u, slip, 1, text[:at], text[at:], "")
			m.mistyped(u, slip, slipsInFacility, "", text[:at], text[at:])
		}
	}
}

// slipsInFacility is how many slips in a number there are to each in a facility. A judgement.
const slipsInFacility = 10

// slips are the mistakes that leave a number as long as it is, and how usual each is of all of them: as identify has it
// of prints.
var slips = func() (all []slip) {
	shares := map[string]float64{"two digits swapped": evidence.SlipSwap, "one digit wrong": evidence.SlipDigit}
	for _, k := range typing.Mistakes() {
		if k.Even {
			all = append(all, slip{k.Undo, shares[k.Name] / (evidence.SlipSwap + evidence.SlipDigit)})
		}
	}
	return all
}()

type slip struct {
	undo  func(string) iter.Seq[string]
	share float64
}

// mistyped makes a mistake in one part of a number as listed, what stands before and behind it being right. each is how
// many ways to go wrong there are for every one that is tried here.
func (m *Matcher) mistyped(u *Unknown, slip, each int, before, part, behind string) {
	var found []int32
	variants := 0
	for candidate := range slips[slip].undo(part) {
		variants++
		if i, ok := m.byText[before+candidate+behind]; ok {
			found = append(found, i)
		}
	}
	known := len(u.ways)
	m.add(u, Typed, each*variants, found)
	for i := range u.ways[known:] {
		u.ways[known+i].slip = int8(slip)
	}
}

// asListed returns a number of the events as the list would have it, in each form that the list has. A list that leaves
// the facility out has none but the site's.
func (m *Matcher) asListed(value string) []string {
	var texts []string
	m.cards([]byte(value), func(seen *reading.Seen) bool {
		c := seen.Card()
		for _, r := range m.opt.List.Readings() {
			if r.Format != c.Format || r.Second() {
				continue
			}
			text, err := r.Form.Text(&c)
			if err != nil || slices.Contains(texts, text) {
				continue
			}
			usual := r.Population().Facilities
			facility, ok := seen.Facility()
			if said, err := r.Form.Parse(r.Format, text); ok && err == nil && !said.Known.Has(r.Format.Facility()) &&
				len(usual) > 0 && !slices.Contains(usual, facility) {
				continue
			}
			texts = append(texts, text)
		}
		return true
	})
	if len(texts) == 0 {
		return []string{value}
	}
	return texts
}
