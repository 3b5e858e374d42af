package rank

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// work is one ranking while it goes on.
type work struct {
	ranker *Ranker
	q      query

	// The hypothesis being scored.
	model   *formatModel
	fault   Fault
	cards   []formats.Card // by place in q.cards; without a format where nothing is known yet
	repair  []Repair
	counted []bool         // the card's values are in the likelihood already
	undone  []wiegand.Bits // reads by fault of the wiring and place
	seen    [][]uint64     // by field: the values on good reads, for the repair of others
	values  []uint64       // scratch
	boxes   [][2]uint64    // scratch: facility and number of each card
	group   []wiegand.Bits // scratch
	how     []string       // options chosen, by slot

	results []result
	kept    []int // results worth showing
}

// result is a reading with the log of its joint probability with the sightings.
type result struct {
	model  *formatModel
	fault  Fault
	log    float64
	weight float64 // its probability, less a factor that is the same for all
	best   float64 // of the likeliest way to it, whose repairs are kept
	cards  []formats.Card
	repair []Repair
	how    []string
}

// all scores every hypothesis that the lengths allow.
func (w *work) all() {
	n := len(w.q.cards)
	w.cards, w.repair, w.counted = resize(w.cards, n), resize(w.repair, n), resize(w.counted, n)
	w.how, w.results = resize(w.how, len(w.q.slots)), w.results[:0]
	if w.q.reads == 0 {
		for i := range w.ranker.models {
			w.score(&w.ranker.models[i], None)
		}
		return
	}
	low, high := w.q.lens[0], w.q.lens[len(w.q.lens)-1]
	if high-low > 1 {
		return // no one format and fault makes reads so different
	}
	w.undo()
	for length := high - 1; length <= low+1; length++ {
		for _, i := range w.ranker.byLen[length] {
			m := &w.ranker.models[i]
			switch {
			case low == length && high == length:
				whole := w.score(m, None)
				for fault := SwappedLines; fault <= SwappedReversed; fault++ {
					w.score(m, fault)
				}
				if !whole { // else no bit is wrong
					w.score(m, FlippedBit)
				}
			case low == length-1:
				w.score(m, LostBit)
			case high == length+1:
				w.score(m, ExtraBit)
			}
		}
	}
}

// resize returns a slice of n zeros, in the memory of s where it fits.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// undo works out each read as it would be without a fault of the wiring.
func (w *work) undo() {
	n := len(w.q.cards)
	w.undone = resize(w.undone, n*wirings)
	for i := range w.q.cards {
		read := w.q.cards[i].read
		reversed := read.Reverse()
		w.undone[int(None)*n+i], w.undone[int(SwappedLines)*n+i] = read, read.Invert()
		w.undone[int(Reversed)*n+i], w.undone[int(SwappedReversed)*n+i] = reversed, reversed.Invert()
	}
}

// wirings is how many faults of the wiring there are, None counted.
const wirings = int(SwappedReversed) + 1

// score adds the readings of one format and fault to the results, and reports whether there are any.
func (w *work) score(m *formatModel, fault Fault) bool {
	w.model, w.fault = m, fault
	if w.q.reads == 0 {
		w.reset()
		w.branch(0, m.log)
		return true
	}
	prior := m.log + w.ranker.faults[fault]
	if fault.wiring() {
		if !w.clean() {
			return false
		}
		w.branch(0, prior)
		return true
	}
	ends, some := 0.0, false // share of what happens to every read at one end
	if fault != FlippedBit {
		ends = systematic
		for _, last := range []bool{false, true} {
			if log, ok := w.atEnd(last); ok {
				w.branch(0, prior+math.Log(ends/2)+log)
				some = true
			}
		}
	}
	if log, ok := w.misread(); ok {
		w.branch(0, prior+math.Log(1-ends)+log)
		some = true
	}
	return some
}

func (w *work) reset() {
	clear(w.cards)
	clear(w.repair)
	clear(w.counted)
}

// clean decodes all reads after undoing a fault of the wiring; false where a check fails.
func (w *work) clean() bool {
	undone := w.undone[int(w.fault)*len(w.q.cards):][:len(w.q.cards)]
	for i := range undone { // most formats fail here, before any memory is touched
		if undone[i].Len() > 0 && !w.model.format.Layout.Holds(undone[i]) {
			return false
		}
	}
	w.reset()
	for i := range undone {
		if undone[i].Len() > 0 {
			w.decode(i, &undone[i])
			w.repair[i].Fault = w.fault
		}
	}
	return true
}

// decode takes a read for card i; false where it has the wrong length or a check fails.
func (w *work) decode(i int, b *wiegand.Bits) bool {
	c, l := &w.cards[i], w.model.format.Layout
	if b.Len() != l.Len() || l.DecodeInto(&c.Record, b) != nil || !c.Record.OK() {
		return false // asked for the length first, since making that error takes longer than decoding
	}
	c.Format, c.Known = w.model.format, allFields(w.model)
	return true
}

func allFields(m *formatModel) formats.FieldSet { return formats.FieldSet(1<<len(m.fields) - 1) }

// branch goes through the slots of prints and serials from the k-th on. Where all cards of a slot are known, it sums over the
// ways in which the sightings follow from them; where not, it supposes each way in turn, and what the cards are then.
func (w *work) branch(k int, log float64) {
	if k == len(w.q.slots) {
		w.leaf(log)
		return
	}
	s := &w.q.slots[k]
	if w.resolved(s) {
		w.branch(k+1, log+w.explain(k))
		return
	}
	saved := slices.Clone(w.cards)
	for o := range w.model.forms {
		opt := &w.model.forms[o]
		if !opt.of(s.kind) {
			continue
		}
		if l, ok := w.suppose(s, opt); ok {
			w.how[k] = opt.name()
			w.branch(k+1, log+opt.log+l)
		}
		copy(w.cards, saved)
	}
}

// explain returns the log probability of a slot's sightings, whose cards are all known, and notes the likeliest way in which
// some of them follow from the cards, if any do.
func (w *work) explain(k int) float64 {
	s := &w.q.slots[k]
	sum, best, elsewhere := never, never, 1.0 // elsewhere: the share of the forms that give other kinds of print
	w.how[k] = ""
	for o := range w.model.forms {
		opt := &w.model.forms[o]
		if !opt.of(s.kind) {
			continue
		}
		elsewhere -= math.Exp(opt.log)
		log, some := opt.log, false
		for _, e := range s.entries {
			p, follows := opt.match(&w.cards[e.card], e.seen)
			log, some = log+math.Log(p), some || follows
		}
		if sum = logAdd(sum, log); some && log > best {
			best, w.how[k] = log, opt.name()
		}
	}
	if elsewhere > 1e-9 { // what is printed is of another kind, and this has nothing to do with the card
		sum = logAdd(sum, math.Log(elsewhere)+unrelated(s))
	}
	return sum
}

// unrelated is the log probability of a slot's sightings where none of them comes from its card.
func unrelated(s *slot) float64 {
	share := printUnrelated
	if s.kind == formats.Serial {
		share = serialUnrelated
	}
	return float64(len(s.entries))*math.Log(share) + chance(s)
}

// resolved reports whether every card of a slot is known.
func (w *work) resolved(s *slot) bool {
	for _, e := range s.entries {
		if w.cards[e.card].Format == nil {
			return false
		}
	}
	return true
}

// chance is the log probability of a slot's sightings if they have nothing to do with the cards.
func chance(s *slot) float64 {
	log := 0.0
	for _, e := range s.entries {
		log += math.Log(e.seen.floor)
	}
	return log
}

// suppose reads the cards of a slot in one way; false where it fits none of those not known yet.
func (w *work) suppose(s *slot, opt *option) (log float64, ok bool) {
	for _, e := range s.entries {
		if w.cards[e.card].Format != nil {
			p, _ := opt.match(&w.cards[e.card], e.seen)
			log += math.Log(p)
			continue
		}
		c, p, fits := opt.parse(w.model.format, e.seen)
		if !fits {
			log += math.Log(printUnrelated * e.seen.floor)
			continue
		}
		w.cards[e.card] = c
		log += math.Log(p)
		ok = true
	}
	return log, ok
}

// leaf adds the probability of the cards' values, and keeps the reading.
func (w *work) leaf(log float64) {
	for f := range w.model.fields {
		log += w.fieldLog(f)
	}
	if math.IsInf(log, -1) || math.IsNaN(log) {
		return
	}
	for i := range w.results {
		r := &w.results[i]
		if r.model.format == w.model.format && r.fault == w.fault && slices.EqualFunc(r.cards, w.cards, sameCard) {
			if r.log = logAdd(r.log, log); log > r.best {
				r.best = log
				copy(r.repair, w.repair)
				copy(r.how, w.how)
			}
			return
		}
	}
	if len(w.results) < cap(w.results) {
		w.results = w.results[:len(w.results)+1]
	} else {
		w.results = append(w.results, result{})
	}
	r := &w.results[len(w.results)-1]
	r.model, r.fault, r.log, r.best = w.model, w.fault, log, log
	r.cards, r.repair, r.how = append(r.cards[:0], w.cards...), append(r.repair[:0], w.repair...), append(r.how[:0], w.how...)
}

func sameCard(a, b formats.Card) bool {
	return a.Format == b.Format && a.Known == b.Known && a.Record.Bits() == b.Record.Bits()
}

// fieldLog is the log probability of one field's values over the cards.
func (w *work) fieldLog(f int) float64 {
	m := &w.model.fields[f]
	log := 0.0
	w.values = w.values[:0]
	for i := range w.cards {
		c := &w.cards[i]
		if w.counted[i] || !c.Known.Has(f) {
			continue
		}
		v, ok := c.Record.Uint64(f)
		if !ok || m.role == freeRole {
			log += m.even
			continue
		}
		w.values = append(w.values, v)
	}
	switch m.role {
	case siteRole:
		log += m.site(w.values)
	case numberRole:
		log += w.numbersLog(f)
	case dateRole:
		log += m.dates(w.values)
	}
	return log
}

// unknown returns the log of the joint probability of the sightings and "no known format".
func (w *work) unknown() float64 {
	log := math.Log(unknownPrior)
	for i := 0; i < len(w.q.cards); {
		n := w.q.cards[i].read.Len()
		group := w.group[:0]
		for ; i < len(w.q.cards) && w.q.cards[i].read.Len() == n; i++ {
			group = append(group, w.q.cards[i].read)
		}
		w.group = group
		if n > 0 {
			log += unknownLength(n) + unknownReads(group)
		}
	}
	for k := range w.q.slots {
		log += chance(&w.q.slots[k])
	}
	return log
}
