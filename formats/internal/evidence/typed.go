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
	like   formats.Card   // one of which the number is known
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
	t.like = w.cards[slices.IndexFunc(w.cards, func(c formats.Card) bool { return c.Known.Has(t.b.number) })]
	t.fit()
	all := t.b.facilities
	if t.b.main != nil { // of two facilities the second can be one mistake that was made twice
		t.b.facilities = t.b.main
	}
	odd := t.oddOnes()
	if t.b.main != nil && len(odd) > t.most() {
		t.b.facilities = all
		odd = t.oddOnes()
	}
	if len(odd) <= t.most() { // else they are cards of several lots, or with other numbers on them
		t.weighAll(odd)
	}
}

// most is how many cards at most are weighed.
func (t *typed) most() int { return min(mostTyped, len(t.w.cards)/2) }

// oddOnes returns the cards that were not read and can well be typed wrong, also for what is no card of the format.
func (t *typed) oddOnes() (odd []int) {
	for i := range t.w.cards {
		c := &t.w.cards[i]
		if (c.Format == nil || c.Known.Has(t.b.number)) && t.w.q.cards[i].read.Len() == 0 && t.odd(i) {
			odd = append(odd, i)
		}
	}
	return odd
}

// weighAll weighs cards that can be typed wrong, each given those that can't and the ones before it: all as they were
// typed, and each as what it likeliest is.
func (t *typed) weighAll(odd []int) {
	w := t.w
	typed := make([]formats.Card, len(odd))
	for k, i := range odd {
		typed[k], w.cards[i] = w.cards[i], formats.Card{}
	}
	together := 0.0
	for k, i := range odd {
		w.seenValues()
		together += t.log(i, &typed[k])
		w.cards[i] = typed[k]
	}
	for _, i := range odd {
		w.cards[i] = formats.Card{}
	}
	apart, asTyped := 0.0, 0.0
	chances := make([]float64, len(odd)) // that each is what was typed, by itself
	for k, i := range odd {
		all, one := t.weigh(i, typed[k])
		apart, asTyped = apart+all, asTyped+one
		chances[k] = math.Exp(one - all)
	}
	share := 1 / (1 + math.Exp(apart-together) - math.Exp(asTyped-together)) // that all are what was typed
	if math.IsNaN(share) || share > 1 {
		share = 0 // that is impossible beside the rest
	}
	for k, i := range odd {
		rep := &t.r.Repair[i]
		if w.cards[i] = typed[k]; sameCard(t.r.Cards[i], typed[k]) {
			rep.Chance = share + (1-share)*rep.Chance
			continue
		}
		if rep.Chance *= 1 - share; share+(1-share)*chances[k] > rep.Chance {
			t.r.Cards[i], rep.Chance = typed[k], share+(1-share)*chances[k]
		}
		w.cards[i] = t.r.Cards[i]
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
	c := &t.w.cards[card]
	apart := c.Format == nil || !t.b.has(c)
	for k, at := range t.prints(card) {
		if apart || t.fits[k][at].Styles == 0 {
			return true
		}
	}
	return false
}

// weigh takes the likeliest of what a card can be, given the others, and returns the log of all of it, and of what was
// typed.
func (t *typed) weigh(card int, asTyped formats.Card) (all, typed float64) {
	w := t.w
	w.seenValues()
	best, top, mix := asTyped, math.Inf(-1), logp.NewMix()
	for i, c := range t.canBe(card, asTyped) {
		log := t.log(card, &c)
		if i == 0 {
			typed = log
		}
		if mix.Add(log); log > top {
			best, top = c, log
		}
	}
	w.cards[card], t.r.Cards[card] = best, best
	t.r.Repair[card].Chance = math.Exp(top - mix.Log())
	return mix.Log(), typed
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
	if asTyped.Format == nil {
		asTyped = t.like
	}
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
