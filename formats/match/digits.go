package match

import (
	"iter"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
)

// shownAs is how a door shows cards: in a form that it is known to have, or in another one.
type shownAs struct {
	form  formats.Form
	at    int8 // its place among all
	other bool
}

// byDigits looks for cards whose number, as the door shows it, was copied wrong: logs are copied by hand, and fields
// are cut.
func (m *Matcher) byDigits() {
	for _, as := range m.shownForms() {
		texts := m.shownTexts(as.form)
		digits := digitsIn(texts)
		for _, u := range m.order {
			if u.Value != "" {
				m.byDigit(u, as, texts, digits)
			}
		}
	}
}

// digitsIn returns the digits that texts have.
func digitsIn[V any](texts map[string]V) string {
	for text := range texts {
		if digits := typing.DigitsIn(text); digits != typing.Decimal {
			return digits
		}
	}
	return typing.Decimal
}

// shownTexts returns how a form shows the holders' cards, those in doubt as each that they can be.
func (m *Matcher) shownTexts(form formats.Form) map[string][]int32 {
	texts := map[string][]int32{}
	for i := range m.holders {
		add := func(s *reading.Seen) bool {
			c := s.Card()
			if text, err := form.Text(&c); err == nil {
				put(texts, reading.Plain(text), int32(i))
				put(texts, partOf(text), int32(i))
			}
			return true
		}
		var seen reading.Seen
		if h := &m.holders[i]; h.Doubt > 0 {
			m.opt.List.Each([]byte(h.Number), add)
		} else if m.opt.List.Read([]byte(h.Number), &seen) == nil {
			add(&seen)
		}
	}
	return texts
}

// fewShown is how few of the holders' cards are found in a form in which the door shows none, as one in so many of
// those found in another. A judgement.
const fewShown = 8

// shownForms returns the forms that the door is known to have, and beside those in which cards of holders were found.
func (m *Matcher) shownForms() (all []shownAs) {
	found := make([]int, m.forms)
	for _, u := range m.order {
		for i := range u.ways {
			if w := &u.ways[i]; w.rule == Form {
				found[w.form]++
			}
		}
	}
	most := slices.Max(found)
	for at, form := range formats.Forms() {
		known := slices.ContainsFunc(m.opt.Shown.Readings(), func(r reading.Reading) bool {
			return !r.Second() && r.Form.Name == form.Name
		})
		if known || most > 0 && found[at]*fewShown >= most {
			all = append(all, shownAs{form, int8(at), !known})
		}
	}
	return all
}

// byDigit looks for the numbers of holders that were copied wrong as that of the events.
func (m *Matcher) byDigit(u *Unknown, as shownAs, texts map[string][]int32, digits string) {
	for whole, w := range copied(reading.Plain(u.Value), digits, slips[:], texts) {
		for _, i := range texts[whole] {
			if u.way(i, Digit) == nil {
				w.holder, w.form, w.other = i, as.at, as.other
				u.ways = append(u.ways, w)
			}
		}
	}
}

// copied yields those of all numbers of which one of the slips makes value, and in how many of how many ways.
func copied[V any](value, digits string, by []slip, all map[string]V) iter.Seq2[string, way] {
	return func(yield func(string, way) bool) {
		for _, slip := range by {
			for redone := range slip.redo(value, digits) {
				if _, ok := all[string(redone)]; !ok {
					continue
				}
				w, whole := way{rule: Digit, slip: slip.at}, string(redone)
				for wrong := range slip.undo(whole, typing.DigitsIn(whole)) {
					if w.variants++; string(wrong) == value {
						w.times++
					}
				}
				if w.times > 0 && !yield(whole, w) {
					return
				}
			}
		}
	}
}

// byOthers looks for other cards of the events, of whose number, as it is shown there, one lacks a digit: it is that
// card then, whosever that is. Other slips make cards of one box of one another, which they are by themselves.
func (m *Matcher) byOthers() {
	others, seen := map[string]*Unknown{}, map[string][]int32{}
	for _, u := range m.order {
		others[reading.Plain(u.Value)] = u
	}
	for value, i := range m.cache {
		put(seen, reading.Plain(value), i)
	}
	known, digits := digitsIn(seen), digitsIn(others)
	for _, u := range m.order {
		if u.Value == "" {
			continue
		}
		m.byDigit(u, shownAs{}, seen, known)
		for whole, w := range copied(reading.Plain(u.Value), digits, slips[lostDigit:lostDigit+1], others) {
			o := others[whole]
			if !slices.ContainsFunc(u.ways, func(w way) bool { return w.of == o }) {
				w.holder, w.of = -1, o
				u.ways = append(u.ways, w)
			}
		}
	}
}
