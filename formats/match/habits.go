package match

import (
	"math/bits"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
)

// A door that shows one card in another order, inverted or without its facility shows all of them so: also those of
// strangers, and those of rows that are typed wrong.

// orders are the rules by which the data bits are shown in another order, or inverted. Each undoes itself.
var orders = [...]struct {
	rule Rule
	of   func(data uint64, width int) (other uint64, ok bool)
}{
	{ByteOrder, turn},
	{BitOrder, func(data uint64, width int) (uint64, bool) { return bits.Reverse64(data) >> (64 - width), true }},
	{Swapped, func(data uint64, width int) (uint64, bool) { return ^data & (1<<width - 1), true }},
}

// mixAll puts in what number a door shows of each card whose bits it has in another order, where it shows that alone.
func (m *Matcher) mixAll() {
	for _, r := range m.opt.Shown.Readings() {
		if r.Second() || !r.Bare() {
			continue
		}
		for i := range m.holders {
			l := &m.holders[i].listed
			if !l.whole || l.format != r.Format {
				continue
			}
			for k := range orders {
				if other, ok := orders[k].of(l.data, l.width); ok {
					if n, ok := r.NumberIn(other); ok {
						put(m.index.mixed[k], n, int32(i))
					}
				}
			}
		}
	}
}

// turn turns the bytes of data bits round, filled up to whole ones; ok is false where those are no data bits then.
func turn(data uint64, width int) (turned uint64, ok bool) {
	whole := (width + 7) / 8 * 8
	turned = bits.ReverseBytes64(data) >> (64 - whole)
	return turned, turned>>width == 0
}

// highOf is what stands before the low bits, of so many, of data bits.
type highOf struct{ width, low int }

// mostHighs is of how many of these a door that cuts cards short can have left out any: more are those of serials, of
// which the low bits say nothing of the others.
const mostHighs = 16

// putHigh notes what stands before the low bits of a holder's card, so many.
func (x *ruleIndex) putHigh(l *listed, low int) {
	at, high := highOf{l.width, low}, l.data>>low
	if all := x.highs[at]; !slices.Contains(all, high) && len(all) <= mostHighs {
		x.highs[at] = append(all, high)
	}
}

// highsOf returns what can stand before low bits, of so many; none where that is too much.
func (x *ruleIndex) highsOf(width, low int) []uint64 {
	if all := x.highs[highOf{width, low}]; len(all) <= mostHighs {
		return all
	}
	return nil
}

// byHabits takes each number for the card that it is where the door shows its cards by a rule by which holders' cards
// were found.
func (m *Matcher) byHabits() {
	var found [len(ruleNames)]bool
	for _, u := range m.order {
		for i := range u.ways {
			found[u.ways[i].rule] = true
		}
	}
	for _, u := range m.order {
		known := len(u.cards)
		for _, v := range m.dataOf(u.Value) {
			m.asHabit(u, v, found[:])
		}
		for _, c := range u.cards[known:] {
			m.byTypingOf(u, &c.card, way{rule: Typed, other: true, by: c.by, in: c})
		}
	}
}

// asHabit takes data bits as shown for those that the door shows so by each rule that was found.
func (m *Matcher) asHabit(u *Unknown, shown dataBits, found []bool) {
	for k := range orders {
		if other, ok := orders[k].of(shown.value, shown.width); ok && found[orders[k].rule] {
			m.showsData(u, orders[k].rule, other, shown.width)
		}
	}
	for _, low := range m.index.cuts {
		if !found[Cut] || low >= shown.width || bits.Len64(shown.value) > low {
			continue
		}
		for _, high := range m.index.highsOf(shown.width, low) {
			m.showsData(u, Cut, high<<low|shown.value, shown.width)
		}
	}
}

// showsData notes that a number is a card with these data bits, which the door shows by a rule.
func (m *Matcher) showsData(u *Unknown, by Rule, data uint64, width int) {
	decimal, _ := formats.FormByName("decimal")
	for _, f := range m.formats {
		if dataWidth(f) != width {
			continue
		}
		if c, err := decimal.Parse(f, strconv.FormatUint(data, 10)); err == nil {
			m.shows(u, by, c)
		}
	}
}

// shows notes that a number is a card which the door shows by a rule, if it can well be one of the site.
func (m *Matcher) shows(u *Unknown, by Rule, c formats.Card) {
	p, beside, _ := m.strayAs(&c)
	if p[fromBlock]+p[fromFacility] < p[fromAnywhere]/2 {
		return
	}
	p[fromElsewhere], beside[fromElsewhere] = 0, 0 // what those speak for is the facility as it is shown
	u.cards = append(u.cards, &shownCard{other: true, by: by, card: c, kind: kindOf(&c), p: p, beside: beside,
		listed: m.of(&c)})
}

// habitShare is how likely the door shows a card by this rule, where it is not as was thought.
func (m *Matcher) habitShare(by Rule, form int8) float64 {
	switch p := m.otherwise(by); by {
	case Form:
		return p * m.formShare(form, m.forms)
	case Cut:
		return p / float64(len(m.index.cuts))
	default:
		return p
	}
}
