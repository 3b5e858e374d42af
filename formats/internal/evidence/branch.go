package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// anyFirst goes through the slots of prints and serials. Where no read says what a card is and two prints do, either
// can be the one that is wrong: so each slot is the first to say it once.
func (w *Work) anyFirst(log float64) {
	if w.first = 0; w.followsInNoWay() {
		return
	}
	w.branch(0, log)
	for k := 1; k < len(w.q.slots); k++ {
		for i := range k {
			if w.sameCards(i, k) {
				w.first = k
				w.branch(0, log)
				break
			}
		}
	}
	w.first = 0
}

// followsInNoWay reports whether there is a slot of cards of which neither a read nor another slot says anything, and
// that follows from none: then all goes through it in vain, whatever is supposed of the slots before it.
func (w *Work) followsInNoWay() bool {
	for k := range w.q.slots {
		s := &w.q.slots[k]
		if len(w.q.slots) == 1 || !s.alone || w.model.ofSite || w.q.reads > 0 && s.kind != formats.Serial ||
			w.someTold(s) {
			continue
		}
		some := false
		if w.eachWay(s, nil, func(*option, float64) { some = true }); !some {
			return true
		}
	}
	return false
}

// sameCards reports whether two slots are about a card that no read tells.
func (w *Work) sameCards(a, b int) bool {
	others := w.q.slots[b].entries // in the order of the cards, too
	for _, e := range w.q.slots[a].entries {
		for len(others) > 0 && others[0].card < e.card {
			others = others[1:]
		}
		if len(others) > 0 && others[0].card == e.card && !w.told(e.card) {
			return true
		}
	}
	return false
}

// told reports whether a card is known, perhaps not all of it, or what its read can have been.
func (w *Work) told(card int) bool { return w.cards[card].Format != nil || len(w.mends[card]) > 0 }

// partly reports whether not all of a card is known.
func (w *Work) partly(card int) bool { return w.cards[card].Format != nil && !w.cards[card].Whole() }

// branch goes through the slots from the k-th on, the first one before all others. Where all cards of a slot are
// known, it sums over the ways in which the sightings follow from them; where not, or not all of them, it supposes
// each way in turn, and what the cards are then.
func (w *Work) branch(k int, log float64) {
	if k == len(w.q.slots) {
		w.leaf(log)
		return
	}
	next := k + 1
	if k == 0 {
		k = w.first
	} else if k <= w.first {
		k--
	}
	s := &w.q.slots[k]
	resolved := w.resolved(s)
	if resolved {
		l := w.explain(k)
		undo := w.reweigh(k)
		if w.branch(next, log+l); undo != nil {
			undo()
		}
		if !slices.ContainsFunc(s.entries, func(e slotEntry) bool { return w.partly(e.card) }) {
			return
		}
	}
	if w.q.reads > 0 && !resolved && (s.kind != formats.Serial || w.someTold(s)) {
		// of cards that were not read nothing is known if their prints have to do with nothing; serials alone are asked
		// about for what readers make of them
		w.how[k] = ""
		w.branch(next, log+w.unrelated(s))
	}
	if !resolved && (w.q.reads > 0 || w.model.ofSite) {
		w.supposeLikewise(s, func(l float64, how string) {
			w.how[k] = how
			w.branch(next, log+l)
		})
	}
	var only *option
	if w.supposed > 0 && len(w.q.slots) > mostSupposed {
		only = w.likeliestWay(s)
	}
	w.supposed++
	w.eachWay(s, only, func(opt *option, l float64) {
		w.how[k] = opt.name()
		w.branch(next, log+l)
	})
	w.supposed--
}

// mostSupposed is of how many slots whose cards are not known each way is supposed beside each of the others: of a heap
// of all sorts there are more, of which the first one is, and the others have the likeliest way, as all together would
// take seconds.
const mostSupposed = 2

// eachWay supposes each way in which a slot can follow from its cards, one after the other; or only one.
func (w *Work) eachWay(s *slot, only *option, use func(opt *option, log float64)) {
	kind := w.model.shares[s.kind]
	saved, low := slices.Clone(w.cards), slices.Clone(w.low)
	for o := range w.model.forms {
		opt := &w.model.forms[o]
		if !opt.of(s.kind) || only != nil && opt != only {
			continue
		}
		if l, ok := w.supposeOnce(s, opt, o); ok {
			use(opt, opt.log-kind+w.model.relations[s.kind]+l)
		}
		copy(w.cards, saved)
		copy(w.low, low)
	}
}

// supposition is what came of supposing a slot to follow in one way from cards of which so much was known before.
type supposition struct {
	log           float64
	ok            bool
	before, after []entryKnown // by entry
}

// entryKnown is what is known of the card of an entry.
type entryKnown struct {
	card formats.Card
	low  shown
}

// mostSuppositions is of how many states of its cards that is kept, for each way.
const mostSuppositions = 8

// supposeOnce is suppose with the o-th way of the format, which is worked out once for all that other slots are
// supposed to say of other cards, or of which the same follows for these.
func (w *Work) supposeOnce(s *slot, opt *option, o int) (log float64, ok bool) {
	mended := func(e slotEntry) bool { return len(w.mends[e.card]) > 0 }
	if len(w.q.slots) == 1 || slices.ContainsFunc(s.entries, mended) {
		return w.suppose(s, opt)
	}
	for len(s.supposed) <= o {
		s.supposed = append(s.supposed, nil)
	}
	for i := range s.supposed[o] {
		one := &s.supposed[o][i]
		if !w.isKnown(s, one.before) {
			continue
		}
		for k, e := range s.entries {
			w.cards[e.card], w.low[e.card] = one.after[k].card, one.after[k].low
		}
		return one.log, one.ok
	}
	one := supposition{before: w.known(s)}
	one.log, one.ok = w.suppose(s, opt)
	one.after = w.known(s)
	if len(s.supposed[o]) < mostSuppositions {
		s.supposed[o] = append(s.supposed[o], one)
	}
	return one.log, one.ok
}

// known returns what is known of the cards of a slot.
func (w *Work) known(s *slot) []entryKnown {
	all := make([]entryKnown, len(s.entries))
	for k, e := range s.entries {
		all[k] = entryKnown{w.cards[e.card], w.low[e.card]}
	}
	return all
}

// isKnown reports whether that is known of the cards of a slot.
func (w *Work) isKnown(s *slot, all []entryKnown) bool {
	for k, e := range s.entries {
		if all[k].low != w.low[e.card] || !sameCard(all[k].card, w.cards[e.card]) {
			return false
		}
	}
	return true
}

// likeliestWay returns the likeliest of these, given what the cards are then; nil where there is none.
func (w *Work) likeliestWay(s *slot) (best *option) {
	top := logp.Never
	w.eachWay(s, nil, func(opt *option, log float64) {
		if log += w.fieldsLog(); best == nil || log > top {
			best, top = opt, log
		}
	})
	return best
}

// shareOf is the log of the weight of all options for a kind of sighting together: their chance is that of one of them,
// given the kind. Where the site says how it prints, it says of which kind its prints are, so that nothing is given.
func (m *formatModel) shareOf(kind formats.SightingKind) float64 {
	sum := logp.NewMix()
	for o := range m.forms {
		if m.forms[o].of(kind) {
			sum.Add(m.forms[o].log)
		}
	}
	if log := sum.Log(); !m.told || kind == formats.Serial || math.IsInf(log, -1) {
		return log
	}
	return 0
}

// explain returns the log probability of a slot's sightings, whose cards are all known, and notes the likeliest way in
// which they follow from the cards, if they do.
func (w *Work) explain(k int) float64 {
	s := &w.q.slots[k]
	kind := w.model.shares[s.kind]
	none := w.unrelated(s)
	sum, best := logp.NewMix(), none
	w.how[k] = ""
	if w.whole(s) > s.nothing {
		w.how[k] = WholeRead
	}
	sum.Add(none)
	for o := range w.model.forms {
		opt := &w.model.forms[o]
		if !opt.of(s.kind) {
			continue
		}
		if !w.fitAll(s, func(c *formats.Card, seen *typing.Seen) typing.Fit { return opt.fit(c, seen, w.text[:]) }) {
			continue
		}
		log := opt.log - kind + w.model.relations[s.kind] + opt.fitsLog(w.fits)
		if sum.Add(log); log > best && w.follows() {
			best, w.how[k] = log, opt.name()
		}
	}
	w.explainOtherwise(s, func(log float64, how string) {
		if sum.Add(log); log > best && w.follows() {
			best, w.how[k] = log, how
		}
	})
	return sum.Log()
}

// unrelated is the log probability of a slot's sightings if they follow from no field of the cards.
func (w *Work) unrelated(s *slot) float64 {
	log := w.model.unrelated(s.kind, s.nothing, w.whole(s))
	if math.IsInf(w.model.shares[s.kind], -1) { // it has no form for them
		log -= math.Log(w.model.unrelatedShare(s.kind))
	}
	return log
}

// whole is the log probability of a slot's sightings if they are the whole reads: as they came, or as another reader
// shows them, whose wires are not at fault.
func (w *Work) whole(s *slot) float64 {
	if w.wiring == None || s.kind == formats.Serial {
		return s.whole
	}
	u := &s.right[w.wiring]
	if !u.known {
		first := int(w.wiring) * len(w.q.cards)
		reads, seen := s.beside(func(card int) wiegand.Bits { return w.undone[first+card] })
		u.log, u.known = logp.Add(s.whole, typing.WholeReadsLog(reads, seen))-math.Ln2, true
	}
	return u.log
}

// follows reports whether any print does follow from its card, in the way that was fitted last: not but for a slip.
func (w *Work) follows() bool {
	return slices.ContainsFunc(w.fits, func(f typing.Fit) bool { return f.Styles != 0 })
}

// fitOf returns how a sighting fits one way in which it can follow from a card, given how it fits a card that is known.
func (w *Work) fitOf(known func(*formats.Card, *typing.Seen) typing.Fit, card int, s *typing.Seen) typing.Fit {
	if len(w.mends[card]) == 0 {
		return known(&w.cards[card], s)
	}
	var f typing.Fit
	f.Slip = s.Astray()
	byStyles := w.byStyles[:0] // those of one style, together
	for i := range w.mends[card] {
		m := &w.mends[card][i]
		if m.nothing {
			f.Any += m.weight * s.Floor
			continue
		}
		c := formats.Card{Format: w.model.format, Record: m.record, Known: allFields(w.model)}
		one := known(&c, s)
		f.Slip += m.weight * one.Slip
		f.Near.Add(&one.Near, m.weight)
		if one.Styles == 0 {
			continue
		}
		at := slices.IndexFunc(byStyles, func(o typing.Fit) bool { return o.Styles == one.Styles })
		if at < 0 {
			at, byStyles = len(byStyles), append(byStyles, typing.Fit{Styles: one.Styles})
		}
		byStyles[at].Weight += m.weight * one.Weight
		if byStyles[at].Weight > f.Weight {
			f.Styles, f.Weight = one.Styles, byStyles[at].Weight
		}
	}
	w.byStyles = byStyles
	return f
}

// resolved reports whether every card of a slot is known, or what its read can have been.
func (w *Work) resolved(s *slot) bool {
	return !slices.ContainsFunc(s.entries, func(e slotEntry) bool { return !w.told(e.card) })
}

// someTold reports whether some card of a slot is known, or what its read can have been.
func (w *Work) someTold(s *slot) bool {
	return slices.ContainsFunc(s.entries, func(e slotEntry) bool { return w.told(e.card) })
}

// suppose reads the cards of a slot in one way; false where it tells nothing more of any, unless it is how those are
// printed that are known, and another's print is wrong.
func (w *Work) suppose(s *slot, opt *option) (log float64, ok bool) {
	w.fits = w.fits[:0]
	wrong := false
	for _, e := range s.entries {
		if w.partly(e.card) {
			if f, more := w.readMore(e.card, opt, e.seen); more {
				w.fits, ok = append(w.fits, f), true
				continue
			}
		}
		if w.told(e.card) {
			known := func(c *formats.Card, seen *typing.Seen) typing.Fit { return opt.fit(c, seen, w.text[:]) }
			w.fits = append(w.fits, w.fitOf(known, e.card, e.seen))
			continue
		}
		f, read := w.read(e.card, opt, e.seen)
		if !read {
			f, wrong = typing.Fit{Slip: e.seen.Floor}, true
		}
		w.fits = append(w.fits, f)
		ok = ok || read
	}
	if !ok && !(wrong && w.follows()) {
		return 0, false
	}
	w.meant(s, opt)
	return opt.fitsLog(w.fits), true
}

// readMore is read for a card of which some fields are known, and adds others; false where a sighting tells none. Where
// it contradicts what is known, that stands, and the sighting has a slip.
func (w *Work) readMore(card int, opt *option, s *typing.Seen) (f typing.Fit, ok bool) {
	if opt.leavesOut(w.model.format) {
		return f, false
	}
	c, f, ok := w.parse(opt, s)
	known := &w.cards[card]
	if !ok || c.Known|known.Known == known.Known {
		return f, false
	}
	slip := false
	for field := range w.model.fields {
		if !known.Known.Has(field) {
			continue
		}
		v, small := known.Record.Uint64(field)
		was, _ := c.Record.Uint64(field)
		var err error
		if c.Record, err = c.Record.WithUint64(field, v); !small || err != nil {
			return f, false
		}
		slip = slip || c.Known.Has(field) && was != v
	}
	c.Known |= known.Known
	if *known = c; slip {
		f = opt.fit(known, s, w.text[:])
	}
	return f, true
}

// read notes what a sighting says of a card, given an option, and returns how it fits; false where it does not.
func (w *Work) read(card int, opt *option, s *typing.Seen) (f typing.Fit, ok bool) {
	if !opt.leavesOut(w.model.format) {
		var c formats.Card
		if c, f, ok = w.parse(opt, s); ok {
			w.cards[card] = c
		}
		return f, ok
	}
	v, f, ok := opt.low(w.model.format, s, w.text[:])
	if c, one := w.model.completed(v); ok && one {
		w.cards[card] = c
		return f, true
	}
	if ok = ok && (!w.low[card].some || w.low[card].bits == v); ok {
		w.low[card] = shown{bits: v, some: true}
	}
	return f, ok
}

// printedAs is a print as an option has it.
type printedAs struct {
	opt  *option
	text string
}

// printed is a card that a print says, and how it fits that card.
type printed struct {
	card formats.Card
	fit  typing.Fit
}

// mostPrinted is of how many prints in some form it is kept what card they say.
const mostPrinted = 1 << 16

// parse is the option's, whose answer is kept: other readings of the same cards, and of some of them, ask again.
func (w *Work) parse(opt *option, s *typing.Seen) (c formats.Card, f typing.Fit, ok bool) {
	if opt.part != nil || s.One || opt.never(s, s.Significant(0)) {
		return opt.parse(w.model.format, s, w.text[:])
	}
	key := printedAs{opt, s.Text}
	one, known := w.asRead[key]
	if !known {
		if c, f, ok = opt.parse(w.model.format, s, w.text[:]); ok {
			one = &printed{c, f}
		}
		if w.asRead == nil || len(w.asRead) >= mostPrinted {
			w.asRead = map[printedAs]*printed{}
		}
		w.asRead[key] = one
	}
	if one == nil {
		return c, f, false
	}
	return one.card, one.fit, true
}
