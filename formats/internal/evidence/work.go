package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Work is one question while it is weighed, and what came of it. Its memory serves the next question.
type Work struct {
	m *Model
	q query

	// The hypothesis being weighed.
	model    *formatModel
	wiring   Fault
	cards    []formats.Card // by place in q.cards; without a format where nothing is known yet
	low      []shown        // by place: what prints show of numbers of which the top is left out
	repair   []Repair
	mends    [][]mend              // by place: what a bad read can have been
	mendLogs []float64             // log of the probability of each bad read
	undone   []wiegand.Bits        // reads by wiring and place
	heads    []uint64              // the first 64 bits of each
	seen     []others              // by field: the values on good reads, for the repair of others
	good     map[wiegand.Bits]bool // the good reads, likewise
	values   []uint64              // scratch
	astray   []int                 // scratch: places of cards with a print that does not fit
	boxes    [][2]uint64           // scratch: facility and number of each card
	fits     []fit
	wrong    []int    // scratch: cards that lie apart from the others, as those do that are typed wrong
	wrongLog float64  // log of how much likelier the prints are if these are
	text     [96]byte // scratch: a card in some form
	how      []string // options chosen, by slot
	first    int      // the slot that says first what cards are

	ends ends // of a read by itself

	general logMix // of all readings as formats of the catalogue, each split alike

	Results []Result
	Unknown float64       // log of the joint probability of what was seen and of all layouts that no table has
	Frames  []FrameResult // frames of the catalogue with other parts than any table has
}

// Result is a reading of the cards with the log of its joint probability with the sightings.
type Result struct {
	Format *formats.Format
	Wiring Fault
	Log    float64
	Cards  []formats.Card // by place; without a format where nothing can be told of a card
	Repair []Repair
	How    []string // by slot: in which way the sightings follow from the cards, "" where they do not

	best   float64 // of the likeliest way to it, whose repairs are kept
	first  int     // the slot that said first what the cards are,
	now    float64 // the log of all ways to it with that one,
	before float64 // and of those with another one before, whichever has most: they are the same ways in part
}

// FrameResult is a frame of the catalogue whose bits are divided as no table has it.
type FrameResult struct {
	Frame *Frame
	Log   float64
}

// Input returns for each card asked about its place among the different ones.
func (w *Work) Input() []int { return w.q.input }

// Lengths returns the lengths of the reads, each once, in rising order.
func (w *Work) Lengths() []int { return w.q.lens }

// Trimmed reports whether clocking zeros were taken off a read.
func (w *Work) Trimmed() bool { return w.q.trim }

// Read returns the read of the card at a place, empty where there is none.
func (w *Work) Read(place int) wiegand.Bits { return w.q.cards[place].read }

// Other returns what else was seen of the card at a place.
func (w *Work) Other(place int) []Seen { return w.q.cards[place].more }

// Weigh weighs all readings of cards and hands them to use, whose memory it then uses again. The error is a
// [*CardError] for a card with no sighting or with two different reads, or says that there is no card.
func (m *Model) Weigh(cards []formats.Sightings, use func(*Work)) error {
	return m.Explain(cards, nil, use)
}

// Explain is Weigh, and calls keep with every part of what the undocumented layouts come to, and the reads that it
// leaves out as misreads by their place in the sample that Samples has first.
func (m *Model) Explain(cards []formats.Sightings, keep func(s *Sample, l Layout, left []int), use func(*Work)) error {
	w, _ := m.spare.Get().(*Work)
	if w == nil {
		w = new(Work)
	}
	defer m.spare.Put(w)
	w.m = m
	if err := m.digest(&w.q, cards); err != nil {
		return err
	}
	if w.Unknown = never; w.q.reads == 0 {
		w.all() // of cards without a read undocumented layouts are like formats
	}
	if w.undocumented(keep); w.q.reads > 0 {
		w.all() // after that, so that formats that are far less likely are not weighed to the end
	}
	if w.stuck() {
		w.Unknown = LogAdd(w.Unknown, math.Log(stuckLine/2)+undocumentedLength(w.q.lens[0]))
	}
	w.doubtTyped()
	use(w)
	return nil
}

// Total returns the log of the joint probability of what was seen, over all readings and none.
func (w *Work) Total() float64 {
	mix := newMix()
	mix.add(w.Unknown)
	for i := range w.Results {
		mix.add(w.Results[i].Log)
	}
	for i := range w.Frames {
		mix.add(w.Frames[i].Log)
	}
	return mix.log()
}

// all weighs every format and wiring that the lengths allow.
func (w *Work) all() {
	n := len(w.q.cards)
	w.cards, w.low, w.repair = resize(w.cards, n), resize(w.low, n), resize(w.repair, n)
	for len(w.mends) < n {
		w.mends = append(w.mends, nil)
	}
	w.mendLogs = resize(w.mendLogs, n)
	w.how, w.Results, w.general = resize(w.how, len(w.q.slots)), w.Results[:0], newMix()
	if w.q.reads == 0 {
		for i := range w.m.formats {
			w.model, w.wiring = &w.m.formats[i], None
			w.reset()
			w.anyFirst(w.model.log)
		}
		return
	}
	low, high := w.q.lens[0], w.q.lens[len(w.q.lens)-1]
	w.undo()
	for length := low - 1; length <= high+1; length++ {
		ways := Fault(wirings)
		if !slices.Contains(w.q.lens, length) {
			ways = None + 1 // all reads would be misreads, of which no wiring is made out
		}
		for _, i := range w.m.byLen[length] {
			m := &w.m.formats[i]
			for wiring := range ways {
				if n > 1 || wiring == None || m.fixed.holds(w.heads[wiring]) { // else one read makes no wiring out
					w.score(m, wiring)
				}
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
func (w *Work) undo() {
	n := len(w.q.cards)
	w.undone, w.heads = resize(w.undone, n*wirings), resize(w.heads, n*wirings)
	for i := range w.q.cards {
		read := w.q.cards[i].read
		reversed := read.Reverse()
		w.undone[int(None)*n+i], w.undone[int(SwappedLines)*n+i] = read, read.Invert()
		w.undone[int(Reversed)*n+i], w.undone[int(SwappedReversed)*n+i] = reversed, reversed.Invert()
	}
	for i := range w.undone {
		w.heads[i] = w.undone[i].Words()[0]
	}
}

// wirings is how many faults of the wiring there are, None counted.
const wirings = int(SwappedReversed) + 1

// score adds the readings of one format and wiring to the results.
func (w *Work) score(m *formatModel, wiring Fault) {
	w.model, w.wiring = m, wiring
	n := len(w.q.cards)
	undone, heads := w.undone[int(wiring)*n:][:n], w.heads[int(wiring)*n:][:n]
	good, bad := 0, 0
	for i := range undone { // most formats fail here, before any memory is touched
		switch b := &undone[i]; {
		case b.Len() == 0:
		case m.fixed.holds(heads[i]) && m.format.Layout.Holds(*b):
			good++
		default:
			bad++
		}
	}
	log := m.log + w.m.wirings[wiring]
	if bad == 0 {
		w.clean(undone)
		w.doubt(undone, good, 0)
		w.anyFirst(log + misreads(good, 0))
		return
	}
	if wiring == None {
		w.atEnds(undone, log)
	}
	if bad > 1+good/2 || wiring != None && good < 2*bad {
		return // reads that mostly fail are better explained by another layout
	}
	if good == 0 && len(undone) == 1 && !m.fixed.possible(faultBetween(m.format.Layout.Len(), undone[0].Len()),
		undone[0]) {
		return // quicker than trying every repair
	}
	if w.mend(undone) {
		w.doubt(undone, good, bad)
		w.anyFirst(log + misreads(good, bad) + w.alikeMends(undone))
	}
}

// faultBetween is the misread that makes a read of n bits of a good one of l bits.
func faultBetween(l, n int) Fault {
	switch {
	case n < l:
		return LostBit
	case n > l:
		return ExtraBit
	}
	return FlippedBit
}

func (w *Work) reset() {
	w.wrong = w.wrong[:0]
	clear(w.cards)
	clear(w.low)
	for i := range w.repair {
		w.repair[i] = Repair{Chance: 1}
	}
	for i := range w.q.cards {
		w.mends[i] = w.mends[i][:0]
	}
}

// clean decodes all reads, whose checks are known to hold.
func (w *Work) clean(undone []wiegand.Bits) {
	w.reset()
	for i := range undone {
		if undone[i].Len() > 0 {
			w.decode(i, &undone[i])
			w.repair[i] = Repair{Fault: w.wiring, Chance: 1}
		}
	}
}

// decode takes a read for card i; false where it has the wrong length or a check fails.
func (w *Work) decode(i int, b *wiegand.Bits) bool {
	c, l := &w.cards[i], w.model.format.Layout
	if b.Len() != l.Len() || l.DecodeInto(&c.Record, b) != nil || !c.Record.OK() {
		return false // asked for the length first, since making that error takes longer than decoding
	}
	c.Format, c.Known = w.model.format, allFields(w.model)
	return true
}

func allFields(m *formatModel) formats.FieldSet { return formats.FieldSet(1<<len(m.fields) - 1) }

// anyFirst goes through the slots of prints and serials. Where no read says what a card is and two prints do, either
// can be the one that is wrong: so each slot is the first to say it once.
func (w *Work) anyFirst(log float64) {
	w.first = 0
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
	if w.resolved(s) {
		l := w.explain(k)
		undo := w.reweigh(k)
		if w.branch(next, log+l); undo != nil {
			undo()
		}
		if !slices.ContainsFunc(s.entries, func(e slotEntry) bool { return w.partly(e.card) }) {
			return
		}
	}
	kind := w.model.shares[s.kind]
	if w.q.reads > 0 && !w.resolved(s) && (s.kind != formats.Serial || w.someTold(s)) {
		// of cards that were not read nothing is known if their prints have to do with nothing; serials alone are asked
		// about for what readers make of them
		w.how[k] = ""
		w.branch(next, log+w.unrelated(s))
	}
	saved, low := slices.Clone(w.cards), slices.Clone(w.low)
	for o := range w.model.forms {
		opt := &w.model.forms[o]
		if !opt.of(s.kind) {
			continue
		}
		if l, ok := w.suppose(s, opt); ok {
			w.how[k] = opt.name()
			w.branch(next, log+opt.log-kind+w.model.relations[s.kind]+l)
		}
		copy(w.cards, saved)
		copy(w.low, low)
	}
}

// shareOf is the log of the weight of all options for a kind of sighting together: their chance is that of one of them,
// given the kind. Where the site says how it prints, it says of which kind its prints are, so that nothing is given.
func (m *formatModel) shareOf(kind formats.SightingKind) float64 {
	sum := newMix()
	for o := range m.forms {
		if m.forms[o].of(kind) {
			sum.add(m.forms[o].log)
		}
	}
	if log := sum.log(); !m.told || kind == formats.Serial || math.IsInf(log, -1) {
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
	sum, best := newMix(), none
	w.how[k] = ""
	if s.whole > s.nothing {
		w.how[k] = WholeRead
	}
	sum.add(none)
	for o := range w.model.forms {
		opt := &w.model.forms[o]
		if !opt.of(s.kind) {
			continue
		}
		if !w.fitAll(s, func(c *formats.Card, seen *Seen) fit { return opt.fit(c, seen, w.text[:]) }) {
			continue
		}
		log := opt.log - kind + w.model.relations[s.kind] + fitsLog(w.fits)
		if sum.add(log); log > best && w.follows() {
			best, w.how[k] = log, opt.name()
		}
	}
	w.explainOtherwise(s, func(log float64, how string) {
		if sum.add(log); log > best && w.follows() {
			best, w.how[k] = log, how
		}
	})
	return sum.log()
}

// unrelated is the log probability of a slot's sightings if they follow from no field of the cards.
func (w *Work) unrelated(s *slot) float64 {
	log := w.model.unrelated(s.kind, s.nothing, s.whole)
	if math.IsInf(w.model.shares[s.kind], -1) { // it has no form for them
		log -= math.Log(w.model.unrelatedShare(s.kind))
	}
	return log
}

// follows reports whether any print does follow from its card, in the way that was fitted last: not but for a slip.
func (w *Work) follows() bool {
	return slices.ContainsFunc(w.fits, func(f fit) bool { return f.styles != 0 })
}

// fitOf returns how a sighting fits one way in which it can follow from a card, given how it fits a card that is known.
func (w *Work) fitOf(known func(*formats.Card, *Seen) fit, card int, s *Seen) fit {
	if len(w.mends[card]) == 0 {
		return known(&w.cards[card], s)
	}
	var f fit
	f.slip = s.astray()
	for i := range w.mends[card] {
		m := &w.mends[card][i]
		if m.nothing {
			f.any += m.weight * s.floor
			continue
		}
		c := formats.Card{Format: w.model.format, Record: m.record, Known: allFields(w.model)}
		one := known(&c, s)
		if f.styles == 0 || f.styles == one.styles {
			f.weight += m.weight * one.weight * float64(min(one.styles, 1))
			f.styles |= one.styles
		}
		f.slip += m.weight * one.slip
		f.near.add(&one.near, m.weight)
	}
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
			known := func(c *formats.Card, seen *Seen) fit { return opt.fit(c, seen, w.text[:]) }
			w.fits = append(w.fits, w.fitOf(known, e.card, e.seen))
			continue
		}
		f, read := w.read(e.card, opt, e.seen)
		if !read {
			f, wrong = fit{slip: e.seen.floor}, true
		}
		w.fits = append(w.fits, f)
		ok = ok || read
	}
	if !ok && !(wrong && w.follows()) {
		return 0, false
	}
	w.meant(s, opt)
	return fitsLog(w.fits), true
}

// readMore is read for a card of which some fields are known, and adds others; false where a sighting tells none. Where
// it contradicts what is known, that stands, and the sighting has a slip.
func (w *Work) readMore(card int, opt *option, s *Seen) (f fit, ok bool) {
	if opt.leavesOut(w.model.format) {
		return f, false
	}
	c, f, ok := opt.parse(w.model.format, s, w.text[:])
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
func (w *Work) read(card int, opt *option, s *Seen) (f fit, ok bool) {
	if !opt.leavesOut(w.model.format) {
		var c formats.Card
		if c, f, ok = opt.parse(w.model.format, s, w.text[:]); ok {
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
		w.low[card] = shown{v, true}
	}
	return f, ok
}

// leaf adds the probability of the cards' values, and keeps the reading.
func (w *Work) leaf(log float64) {
	if log < w.Unknown-2*cutOff { // whatever the values come to
		return
	}
	log += w.valuesLog()
	for i := range w.q.cards {
		if len(w.mends[i]) > 0 {
			log += w.mendLogs[i]
		}
	}
	if math.IsInf(log, -1) || math.IsNaN(log) {
		return
	}
	if !w.model.ofSite && w.q.reads == 0 { // without a read, nothing else says what its layout is like
		w.general.add(log - w.model.log + w.model.split)
	}
	for i := range w.Results {
		r := &w.Results[i]
		if r.Format == w.model.format && r.Wiring == w.wiring && slices.EqualFunc(r.Cards, w.cards, sameCard) {
			if r.first != w.first {
				r.before, r.now, r.first = r.Log, never, w.first
			}
			r.now = LogAdd(r.now, log)
			if r.Log = max(r.before, r.now); log > r.best {
				r.best = log
				copy(r.Repair, w.repair)
				copy(r.How, w.how)
			}
			return
		}
	}
	if len(w.Results) < cap(w.Results) {
		w.Results = w.Results[:len(w.Results)+1]
	} else {
		w.Results = append(w.Results, Result{})
	}
	r := &w.Results[len(w.Results)-1]
	r.Format, r.Wiring, r.Log, r.best = w.model.format, w.wiring, log, log
	r.first, r.now, r.before = w.first, log, never
	r.Cards, r.Repair, r.How = append(r.Cards[:0], w.cards...), append(r.Repair[:0], w.repair...),
		append(r.How[:0], w.how...)
	for i := range w.q.cards {
		if len(w.mends[i]) > 0 {
			r.Cards[i], r.Repair[i] = w.shown(i)
		}
	}
}

func sameCard(a, b formats.Card) bool {
	return a.Format == b.Format && a.Known == b.Known && a.Record.Bits() == b.Record.Bits()
}

// fieldLog is the log probability of one field's values over the cards.
func (w *Work) fieldLog(f int) float64 {
	m := &w.model.fields[f]
	log := 0.0
	w.values = w.values[:0]
	for i := range w.cards {
		c := &w.cards[i]
		if !c.Known.Has(f) {
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
		log += m.log(w.values)
	case numberRole:
		log += w.numbersLog(f)
	case dateRole:
		log += m.dates(w.values)
	}
	return log
}

// stuck reports whether every read is of one bit again and again, as where a data line is cut or shorted.
func (w *Work) stuck() bool {
	for i := range w.q.cards {
		b := w.q.cards[i].read
		if n := b.OnesCount(); n != 0 && n != b.Len() {
			return false
		}
	}
	return w.q.reads > 0
}

// undocumented weighs the layouts that no table has.
func (w *Work) undocumented(keep func(*Sample, Layout, []int)) {
	w.Frames = w.Frames[:0]
	if keep == nil && w.q.reads == 1 && len(w.q.cards) == 1 && len(w.q.slots) == 0 { // what all sums come to for one read
		b := w.q.cards[0].read
		alone := misreads(1, 0)
		w.Unknown = w.m.unknown + undocumentedLength(b.Len()) + w.ends.whole(b) + alone + startsWith(b.Bit(0))
		known := w.m.frames[b.Len()]
		for k := range known {
			if f := &known[k]; f.Layout.Holds(b) {
				if w.ends.from != f.From || w.ends.to != f.To {
					w.ends.take(b, f.From, f.To)
				}
				w.Frames = append(w.Frames, FrameResult{f, f.log + w.ends.log(f.numbers) + alone})
			}
		}
		return
	}
	rest := 0.0 // of cards without a read
	for i := range w.q.cards {
		if w.q.cards[i].read.Len() == 0 {
			for k := range w.q.cards[i].more {
				rest += math.Log(w.q.cards[i].more[k].floor)
			}
		}
	}
	samples := w.Samples()
	if len(samples) == 0 {
		w.Unknown = w.unread(rest)
		return
	}
	if len(samples) > 1 {
		w.lengths(samples, rest, keep)
		return
	}
	own, frames := Undocumented(samples[0], w.m.unknown, w.m.frames[samples[0].Length], keep)
	w.Unknown = own + rest
	for k, log := range frames {
		if !math.IsInf(log, -1) {
			w.Frames = append(w.Frames, FrameResult{&w.m.frames[samples[0].Length][k], log + rest})
		}
	}
}

// unread returns the log probability of what is seen of cards of which none was read, if it has to do with nothing, of
// which the log is given, or their layout is in no table: then what is printed on them is as with the fields of some
// format of the catalogue, whichever.
func (w *Work) unread(nothing float64) float64 {
	log := nothing + w.m.unknown - math.Log(unknownPrior)
	for i := range w.q.slots {
		if w.q.slots[i].kind == formats.Serial { // it is of some card, surely
			log += math.Log(serialUnrelated * unknownPrior)
		} else {
			log += math.Log(printUnrelated + printedRead)
		}
	}
	return LogAdd(log, w.m.unknown+math.Log(likeListed)+w.general.log())
}

// Samples returns the reads by length, each with what else was seen of its card.
func (w *Work) Samples() []*Sample {
	var all []*Sample
	for i := 0; i < len(w.q.cards); {
		n, from := w.q.cards[i].read.Len(), i
		for i < len(w.q.cards) && w.q.cards[i].read.Len() == n {
			i++
		}
		reads, prints := make([]wiegand.Bits, i-from), make([][]Seen, i-from)
		for k, c := range w.q.cards[from:i] {
			reads[k], prints[k] = c.read, c.more
		}
		if n > 0 {
			all = append(all, NewSample(reads, prints))
		}
	}
	return all
}

// Fault returns the fault of the wiring or, where there is none, of the first read that has one.
func (r *Result) Fault() Fault {
	if r.Wiring != None {
		return r.Wiring
	}
	for i := range r.Repair {
		if f := r.Repair[i].Fault; f != None {
			return f
		}
	}
	return None
}
