package match

import (
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

// byDigits looks for cards of whose number, as the door shows it, the events lack a digit: logs are copied by hand, and
// fields are cut.
func (m *Matcher) byDigits() {
	for _, as := range m.shownForms() {
		texts := m.shownTexts(as.form)
		for _, u := range m.order {
			if u.Value != "" {
				m.byDigit(u, as, texts)
			}
		}
	}
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

// shownForms returns the forms that the door is known to have, and beside those the one in which most cards of holders
// were found.
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
		if known || most > 0 && found[at] == most {
			all = append(all, shownAs{form, int8(at), !known})
		}
	}
	return all
}

// byDigit looks for the numbers from which that of the events differs by one digit less.
func (m *Matcher) byDigit(u *Unknown, as shownAs, texts map[string][]int32) {
	value := reading.Plain(u.Value)
	for whole := range typing.Lengthened(value, typing.Decimal+"ABCDEF") {
		for _, i := range texts[whole] {
			if !slices.ContainsFunc(u.ways, func(w way) bool { return w.holder == i && w.rule == Digit }) {
				u.ways = append(u.ways, way{holder: i, rule: Digit, form: as.at, other: as.other,
					variants: int32(len(whole)), times: lostTimes(whole, value)})
			}
		}
	}
}

// lostTimes is how many of the digits of a number leave value where they are lost.
func lostTimes(whole, value string) (n int32) {
	for at := range whole {
		if whole[:at]+whole[at+1:] == value {
			n++
		}
	}
	return n
}

// byOthers looks for other cards of the events, of whose number, as it is shown there, one lacks a digit: it is that
// card then, whosever that is.
func (m *Matcher) byOthers() {
	others, known := map[string]*Unknown{}, map[string][]int32{}
	for _, u := range m.order {
		others[reading.Plain(u.Value)] = u
	}
	for value, i := range m.cache {
		put(known, reading.Plain(value), i)
	}
	for _, u := range m.order {
		if u.Value != "" {
			m.byDigit(u, shownAs{}, known)
		}
	}
	for _, u := range m.order {
		if u.Value == "" || slices.ContainsFunc(u.ways, func(w way) bool { return w.rule == Digit }) {
			continue
		}
		value := reading.Plain(u.Value)
		for whole := range typing.Lengthened(value, typing.Decimal+"ABCDEF") {
			o := others[whole]
			if o == nil || slices.ContainsFunc(u.ways, func(w way) bool { return w.of == o }) {
				continue
			}
			u.ways = append(u.ways, way{holder: -1, rule: Digit, of: o, variants: int32(len(whole)),
				times: lostTimes(whole, value)})
		}
	}
}
