package evidence

import (
	"math"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// Some forms show the low 24 bits of a number alone. Of a card that nothing else is known of they tell its format, as
// far as prints do, and not its number.

// LowBits is how many bits these forms show.
const LowBits = 24

// lowForms are these forms, and how many digits their first number has: 0 where they show one number.
var lowForms = map[string]int{"pair24": 3, "joined24": 3, "number24": 0}

// leavesOut reports whether the option shows the low bits alone of the numbers of a format.
func (o *option) leavesOut(f *formats.Format) bool {
	if !o.ends {
		return false
	}
	at := f.Number()
	return at >= 0 && f.Layout.Spec().Fields[at].Bits.Len() > LowBits
}

// low returns the low bits that a print shows of a card's number, given format and option, and how it fits them.
func (o *option) low(f *formats.Format, s *typing.Seen, buf []byte) (v uint64, fits typing.Fit, ok bool) {
	if v, ok = o.ending(s); !ok {
		return 0, fits, false
	}
	c, err := f.Blank().With(f.Number(), strconv.FormatUint(v, 10))
	if err != nil {
		return 0, fits, false
	}
	fits = o.fit(&c, s, buf)
	return v, fits, fits.Styles != 0
}

// ending returns the low bits of a number that a print shows, if so meant.
func (o *option) ending(s *typing.Seen) (v uint64, ok bool) {
	high, low, width, first := "", s.Digits, LowBits, lowForms[o.form.Name]
	if first > 0 {
		width = 16
	}
	switch {
	case s.Pair:
		high, low = s.High, s.Low
	case len(s.Digits) < len(s.Text): // three numbers or more
		return 0, false
	case first > 0 && len(s.Digits) > first:
		high, low = s.Digits[:first], s.Digits[first:]
	}
	top, err := strconv.ParseUint("0"+high, 10, 8) // a number without zeros at its start can have no digit left
	if err != nil {
		return 0, false
	}
	if v, err = strconv.ParseUint("0"+low, 10, width); err != nil {
		return 0, false
	}
	return v | top<<16, true
}

// completed returns the card whose number ends in these bits, if the site has only one such; false where it does not
// say so.
func (m *formatModel) completed(v uint64) (c formats.Card, ok bool) {
	only, ok := m.fields[m.format.Number()].onlyEnding(v)
	if !ok {
		return c, false
	}
	c, err := m.format.Blank().With(m.format.Number(), strconv.FormatUint(only, 10))
	return c, err == nil
}

// topped returns the card whose number ends as a print shows, and is for the rest what a read of the format's length
// says.
func (w *Work) topped(o *option, s *typing.Seen, b *wiegand.Bits) (c formats.Card, ok bool) {
	f := w.model.format
	v, _, ok := o.low(f, s, w.text[:])
	c = formats.Card{Format: f, Known: allFields(w.model)}
	if !ok || b.Len() != f.Layout.Len() || f.Layout.DecodeInto(&c.Record, b) != nil {
		return c, false
	}
	was := c.Record.Value(f.Number())
	end, _ := wiegand.BitsFromUint(v, LowBits)
	number, err := was.Slice(0, was.Len()-LowBits).Concat(end)
	if err != nil {
		return c, false
	}
	c.Record, err = c.Record.WithValue(f.Number(), number)
	return c, err == nil
}

// Completed returns the card of a text in a form that shows the end of a number alone, if the population has one such;
// false for any other form, too.
func (v *Values) Completed(form formats.Form, text string) (c formats.Card, ok bool) {
	o := inForm(&form)
	if !o.leavesOut(v.model.format) {
		return c, false
	}
	seen := typing.NewSeen(formats.Sighting{Kind: formats.Printed, Text: text})
	low, _, ok := o.low(v.model.format, &seen, nil)
	if !ok {
		return c, false
	}
	return v.model.completed(low)
}

// Ending returns the low bits of a number that a text shows in a form of these; ok is false where it is none.
func Ending(form formats.Form, text string) (low uint64, ok bool) {
	o, seen := inForm(&form), typing.NewSeen(formats.Sighting{Kind: formats.Printed, Text: text})
	return o.ending(&seen)
}

// shown is what a print shows of a card's number, that it does, and whether nothing else is known of the card.
type shown struct {
	bits  uint64
	some  bool
	alone bool
}

// agrees reports whether a card that is known has the bits that its print shows.
func (l shown) agrees(c *formats.Card) bool {
	v, ok := c.Record.Uint64(c.Format.Number())
	return !l.some || ok && c.Known.Has(c.Format.Number()) && v&(1<<LowBits-1) == l.bits
}

// lowLog is the log probability of the low bits of the numbers of cards of which nothing else is known. Those cards
// have the format, and not more, until forgetLow. Where another print gives another number, it is never.
func (w *Work) lowLog() float64 {
	w.values = w.values[:0]
	for i, l := range w.low {
		switch {
		case !l.some:
		case w.cards[i].Format == nil || l.alone:
			w.values = append(w.values, l.bits)
			w.cards[i], w.low[i].alone = w.model.format.Blank(), true
		case !l.agrees(&w.cards[i]):
			return logp.Never
		}
	}
	if len(w.values) == 0 {
		return 0
	}
	slices.Sort(w.values)
	return w.model.fields[w.model.format.Number()].lowLog(w.values)
}

// forgetLow takes back what lowLog noted of cards, which other ways can read as something else.
func (w *Work) forgetLow() {
	for i, l := range w.low {
		if l.alone {
			w.cards[i], w.low[i].alone = formats.Card{}, false
		}
	}
}

// lowLog returns the log probability of the low bits of the numbers on all cards, which are sorted. Numbers of one box
// hardly ever differ above them.
func (m *fieldModel) lowLog(sorted []uint64) float64 {
	numbers := density.NewNumbers(LowBits, 1<<LowBits, m.spread)
	log := numbers.Log(sorted)
	if m.usual == nil {
		return log
	}
	listed := 0.0
	for _, v := range sorted {
		listed += math.Log(judgement.Unlisted*math.Ldexp(1, -LowBits) + (1-judgement.Unlisted)*m.listedLow(v))
	}
	return logp.Add(math.Log(judgement.Unlisted)+log, math.Log(1-judgement.Unlisted)+listed)
}

// listedLow is the share of the numbers that the site is known to use which end in these bits.
func (m *fieldModel) listedLow(v uint64) float64 {
	count, in := 0.0, 0.0
	for _, r := range m.usual {
		count += float64(r.Last-r.First) + 1
		if first, some := firstEnding(r, v); some {
			in += float64((r.Last-first)>>LowBits) + 1
		}
	}
	return in / count
}

// firstEnding returns the first number of a block that ends in these bits; some is false where none does.
func firstEnding(r formats.Range, v uint64) (first uint64, some bool) {
	if first = r.First&^(1<<LowBits-1) | v; first < r.First {
		first += 1 << LowBits // of which 0 is what an overflow leaves
	}
	return first, first >= r.First && first <= r.Last
}

// onlyEnding returns the only number that the site is known to use which ends in these bits.
func (m *fieldModel) onlyEnding(v uint64) (only uint64, ok bool) {
	for _, r := range m.usual {
		first, some := firstEnding(r, v)
		if some && (ok && first != only || (r.Last-first)>>LowBits > 0) {
			return 0, false
		}
		if some {
			only, ok = first, true
		}
	}
	return only, ok
}
