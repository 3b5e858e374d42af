package evidence

import (
	"iter"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// Of a card that was not read its prints tell, and those can be typed wrong. Where one lies apart from all others, or
// has prints that are of two cards, it can be what each of them says, or a card among the others.

// mostTyped is of how many cards at most that is weighed, and amongMost among how many.
const mostTyped, amongMost = 8, 1000

// typed is a result whose cards can be typed wrong.
type typed struct {
	w      *Work
	r      *Result
	models []*formatModel
	b      among
	ways   []*option      // by slot: in which its prints follow from the cards, nil where they do not
	fits   [][]typing.Fit // by slot and entry
}

// doubtTyped says of cards that can be typed wrong which they are, and how likely it is that they are these.
func (w *Work) doubtTyped(r *Result) {
	if len(w.q.cards) > amongMost || w.q.reads == len(w.q.cards) {
		return
	}
	t := typed{w: w, r: r}
	t.models = w.m.modelsOf(r.Format)
	w.model = t.models[0]
	w.cards = append(w.cards[:0], r.Cards...)
	var ok bool
	if t.b, ok = w.amongOf(w.places()); !ok {
		return
	}
	t.fit()
	var odd []int
	for i := range w.cards {
		if w.cards[i].Format != nil && w.cards[i].Known.Has(t.b.number) && w.q.cards[i].read.Len() == 0 && t.odd(i) {
			odd = append(odd, i)
		}
	}
	if len(odd) > min(mostTyped, len(w.cards)/2) {
		return // cards of several lots, or with other numbers on them
	}
	for _, i := range odd {
		t.weigh(i)
	}
}

// modelsOf returns the models of a format: those of the site, where it has such cards.
func (m *Model) modelsOf(f *formats.Format) (all []*formatModel) {
	for i := range m.formats {
		if o := &m.formats[i]; o.format == f {
			if o.ofSite && len(all) > 0 && !all[0].ofSite {
				all = all[:0]
			}
			all = append(all, o)
		}
	}
	return all
}

// places yields the places of all cards.
func (w *Work) places() iter.Seq[int] {
	return func(yield func(int) bool) {
		for i := range w.cards {
			if !yield(i) {
				return
			}
		}
	}
}

// fit works out how all prints fit the cards in the ways of the result.
func (t *typed) fit() {
	w := t.w
	for k := range w.q.slots {
		s := &w.q.slots[k]
		at := slices.IndexFunc(w.model.forms, func(o option) bool {
			return o.of(s.kind) && o.part == nil && o.name() == t.r.How[k] && !o.leavesOut(w.model.format)
		})
		var opt *option
		var fits []typing.Fit
		if at >= 0 {
			opt = &w.model.forms[at]
			for _, e := range s.entries {
				fits = append(fits, t.fitOf(opt, &w.cards[e.card], e.seen))
			}
		}
		t.ways, t.fits = append(t.ways, opt), append(t.fits, fits)
	}
}

func (t *typed) fitOf(opt *option, c *formats.Card, s *typing.Seen) typing.Fit {
	if c.Format == nil {
		return typing.Fit{Slip: s.Floor}
	}
	return opt.fit(c, s, t.w.text[:])
}

// prints yields the prints of a card that follow from it in some way: their slots, and their places there.
func (t *typed) prints(card int) iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		for k, opt := range t.ways {
			at := slices.IndexFunc(t.w.q.slots[k].entries, func(e slotEntry) bool { return e.card == card })
			if opt != nil && at >= 0 && !yield(k, at) {
				return
			}
		}
	}
}

// odd reports whether a card can well be typed wrong.
func (t *typed) odd(card int) bool {
	apart := !t.b.has(&t.w.cards[card])
	for k, at := range t.prints(card) {
		if apart || t.fits[k][at].Styles == 0 {
			return true
		}
	}
	return false
}

// weigh takes the likeliest of what a card can be, given the others.
func (t *typed) weigh(card int) {
	w := t.w
	asTyped := w.cards[card]
	w.cards[card] = formats.Card{}
	w.seenValues()
	best, top, mix := asTyped, math.Inf(-1), logp.NewMix()
	for _, c := range t.canBe(card, asTyped) {
		log := t.log(card, &c)
		if mix.Add(log); log > top {
			best, top = c, log
		}
	}
	w.cards[card], t.r.Cards[card] = best, best
	t.r.Repair[card].Chance = math.Exp(top - mix.Log())
}

// log returns the log probability of a card, and of its prints if it is that card.
func (t *typed) log(card int, c *formats.Card) (log float64) {
	for k, at := range t.prints(card) {
		was := t.fits[k][at]
		t.fits[k][at] = t.fitOf(t.ways[k], c, t.w.q.slots[k].entries[at].seen)
		log += typing.FitsLog(t.fits[k])
		t.fits[k][at] = was
	}
	best := logp.Never
	for _, m := range t.models {
		best = max(best, m.given(c, t.w.seen))
	}
	return log + best
}

// canBe returns what a card can be, each once: what was typed, what each print says, and what each can have been typed
// wrong for among the others. What another result has is weighed there.
func (t *typed) canBe(card int, asTyped formats.Card) []formats.Card {
	all := []formats.Card{asTyped}
	add := func(c formats.Card) {
		if c.Known == asTyped.Known && !t.w.there(c.Record.Bits()) && !t.elsewhere(card, &c) &&
			!slices.ContainsFunc(all, func(o formats.Card) bool { return sameCard(o, c) }) {
			all = append(all, c)
		}
	}
	for k, at := range t.prints(card) {
		form, text := t.ways[k].form, t.w.q.slots[k].entries[at].seen.Text
		t.parse(form, text, asTyped, add)
		for _, m := range typing.Mistakes() {
			for meant := range m.Undo(text) {
				t.parse(form, string(meant), asTyped, func(c formats.Card) {
					if t.b.near(&c) {
						add(c)
					}
				})
			}
		}
	}
	return all
}

// parse calls use with the cards of a text, of which the facility is that of others, or as it was typed, where the text
// leaves it out.
func (t *typed) parse(form *formats.Form, text string, asTyped formats.Card, use func(formats.Card)) {
	c, err := form.Parse(t.w.model.format, text)
	if err != nil {
		return
	}
	f := t.b.facility
	if c.Known == asTyped.Known || f < 0 || c.Known|1<<f != asTyped.Known {
		use(c)
		return
	}
	own, _ := asTyped.Record.Uint64(f)
	for _, v := range append([]uint64{own}, t.b.facilities...) {
		if r, err := c.Record.WithUint64(f, v); err == nil {
			use(formats.Card{Format: c.Format, Record: r, Known: asTyped.Known})
		}
	}
}

// elsewhere reports whether another result of the format that is not far behind has that for a card.
func (t *typed) elsewhere(card int, c *formats.Card) bool {
	return slices.ContainsFunc(t.w.Results, func(r Result) bool {
		return r.Format == t.r.Format && r.Wiring == t.r.Wiring && r.Log >= t.r.Log-notWorthDoubt &&
			sameCard(r.Cards[card], *c)
	})
}
