package match

import (
	"iter"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/evidence"
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

// slips are the mistakes, and how usual each is of all of them: as identify has it of prints. undo yields what the list
// can have where the number is text, with digits that can be wrong as those of digits.
var slips = [...]struct {
	undo  func(text, digits string) iter.Seq[string]
	share float64
}{
	{swapped, evidence.SlipSwap},
	{replaced, evidence.SlipDigit},
	{shortened, evidence.SlipLost},
	{lengthened, evidence.SlipExtra},
}

// allSlips is the sum of their shares.
const allSlips = evidence.SlipSwap + evidence.SlipDigit + evidence.SlipLost + evidence.SlipExtra

// swapped yields a text with each two different digits that stand together swapped.
func swapped(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := 1; i < len(text); i++ {
			a, b := text[i-1], text[i]
			if a != b && strings.IndexByte(digits, a) >= 0 && strings.IndexByte(digits, b) >= 0 &&
				!yield(text[:i-1]+text[i:i+1]+text[i-1:i]+text[i+1:]) {
				return
			}
		}
	}
}

// replaced yields a text with each digit another one.
func replaced(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(text) {
			for j := 0; j < len(digits) && strings.IndexByte(digits, text[i]) >= 0; j++ {
				if digits[j] != text[i] && !yield(text[:i]+digits[j:j+1]+text[i+1:]) {
					return
				}
			}
		}
	}
}

// shortened yields a text without each of its digits.
func shortened(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(text) {
			if strings.IndexByte(digits, text[i]) >= 0 && !yield(text[:i]+text[i+1:]) {
				return
			}
		}
	}
}

// lengthened yields a text with each digit put in anywhere.
func lengthened(text, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range len(text) + 1 {
			for j := range digits {
				if !yield(text[:i] + digits[j:j+1] + text[i:]) {
					return
				}
			}
		}
	}
}

// digitsOf returns the digits that a number has.
func digitsOf(text string) string {
	if strings.ContainsAny(text, "ABCDEF") {
		return "0123456789ABCDEF"
	}
	return "0123456789"
}

// mistyped makes a mistake in one part of a number as listed, what stands before and behind it being right. each is how
// many ways to go wrong there are for every one that is tried here.
func (m *Matcher) mistyped(u *Unknown, slip, each int, before, part, behind string) {
	var found []int32
	variants := 0
	for candidate := range slips[slip].undo(part, digitsOf(before+part+behind)) {
		variants++
		if i, ok := m.byText[before+candidate+behind]; ok && !slices.Contains(found, i) {
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
