package evidence

import (
	"cmp"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// mend is what a bad read can have been.
type mend struct {
	record  wiegand.Record
	repair  Repair
	weight  float64 // its probability, the read, the other cards and prints given; those of one read add up to 1
	nothing bool    // more is wrong than can be put right: nothing is known of the card
}

// alikeMends returns the log of how much likelier all bad reads are together than each by itself.
func (w *Work) alikeMends(undone []wiegand.Bits) (log float64) {
	var all misread.Line
	for i := range w.q.cards { // there is memory for more
		if len(w.mends[i]) == 0 {
			continue
		}
		var could misread.Line
		for k := range w.mends[i] {
			m := &w.mends[i][k]
			way := misread.Beyond
			if !m.nothing {
				read := undone[i]
				if read.Len() == m.record.Bits().Len() {
					read = w.unpadded(i, read, m.repair.Fault)
				}
				way = misread.Way(m.record.Bits(), read)
			}
			could[way] += m.weight
		}
		log += all.Take(&could)
	}
	return log
}

func likeliestMend(all []mend) mend {
	return slices.MaxFunc(all, func(a, b mend) int { return cmp.Compare(a.weight, b.weight) })
}

// mostLost is how many bits a read can have too few or too many and still be a misread.
const mostLost = 3

// mend takes the reads whose checks hold as they are, and for each of the others all that it can have been; false
// where a read is of a length that no misread makes.
func (w *Work) mend(undone []wiegand.Bits) bool {
	w.reset()
	L := w.model.format.Layout.Len()
	for i := range undone {
		if b := &undone[i]; w.model.format.Layout.Holds(*b) && w.decode(i, b) {
			w.repair[i] = Repair{Fault: w.wiring, Chance: 1}
			continue
		}
		w.cards[i] = formats.Card{}
		if d := undone[i].Len() - L; undone[i].Len() > 0 && (d < -mostLost || d > mostLost) {
			return false
		}
	}
	w.seenValues()
	w.noteGood()
	like := w.likeness(undone)
	for i := range undone {
		if undone[i].Len() > 0 && w.cards[i].Format == nil {
			w.mends[i] = w.mendsOf(w.mends[i][:0], i, undone[i], like)
			w.mendLogs[i] = scaleMends(w.mends[i])
			w.goesOn(likeliestMend(w.mends[i]))
		}
	}
	return true
}

// noteGood notes the cards that were read well.
func (w *Work) noteGood() {
	if w.good == nil {
		w.good = map[wiegand.Bits]bool{}
	}
	clear(w.good)
	for i := range w.cards {
		if w.cards[i].Format != nil {
			w.good[w.cards[i].Record.Bits()] = true
		}
	}
}

// sureMend is from which probability a read that was put right is taken for one that others have to go with: a number
// that is another card's would leave that one none.
const sureMend = 0.9

// goesOn takes a read that was surely put right for one of those that the next ones have to go with: numbers that fill
// the gaps of a box fill them one after the other.
func (w *Work) goesOn(m mend) {
	if m.nothing || m.weight < sureMend || w.good[m.record.Bits()] {
		return
	}
	w.good[m.record.Bits()] = true
	for f := range w.model.fields {
		if v, ok := m.record.Uint64(f); ok {
			w.seen[f].Take(v)
		}
	}
}

// seenValues notes the values of each field on the cards decoded so far, sorted.
func (w *Work) seenValues() {
	for len(w.seen) < len(w.model.fields) {
		w.seen = append(w.seen, density.Others{})
	}
	for f := range w.model.fields {
		seen := &w.seen[f]
		seen.Reset()
		for i := range w.cards {
			if w.cards[i].Format != nil {
				if v, ok := w.cards[i].Record.Uint64(f); ok {
					seen.Sorted = append(seen.Sorted, v)
				}
			}
		}
		slices.Sort(seen.Sorted)
	}
}

// onceWrong is how many misreads have one wrong bit, by what that is called.
var onceWrong = [...]float64{
	FlippedBit: judgement.MisreadFlip, LostBit: judgement.MisreadLost, ExtraBit: judgement.MisreadExtra,
}

// mendsOf returns what a bad read can have been: one bit wrong, lost or too many; two of that, where it goes with the
// good ones then; what its print says, where that is within a few bits of it; or nothing that can be told.
func (w *Work) mendsOf(all []mend, i int, b wiegand.Bits, like func(wiegand.Bits) float64) []mend {
	l, once := w.model.format.Layout, w.onceMore()
	fault, more := faultBetween(l.Len(), b.Len()), b.Len()-l.Len()
	add := func(r wiegand.Record, rep Repair, chance float64) {
		for k := range all {
			if all[k].record.Bits() == r.Bits() {
				return
			}
		}
		log := math.Log(chance)
		if once > 0 && len(w.q.cards[i].more) == 0 {
			if log += math.Log1p(-once); w.good[r.Bits()] { // a card that was read well besides, as in a log
				log = math.Log(chance * once / float64(len(w.good)))
				all = append(all, mend{record: r, repair: rep, weight: log})
				return
			}
		}
		log += w.model.given(&formats.Card{Record: r, Known: allFields(w.model)}, w.seen)
		all = append(all, mend{record: r, repair: rep, weight: log})
	}
	if more >= -1 && more <= 1 {
		w.model.repairs(fault, b, func(r wiegand.Record, rep Repair, chance float64) {
			add(r, rep, chance*onceWrong[fault])
		})
	}
	if more == 0 {
		w.ofOtherLength(i, b, add)
	}
	w.twoWrong(b, more, add)
	w.fromPrints(i, b, add)
	none := like(b)
	if len(w.good) > 0 {
		none = spoilt(b, none)
	} else { // of all bits alike the line is at fault, not one read
		none += logSpoilt
	}
	return append(all, mend{nothing: true, weight: none, repair: Repair{Fault: fault}})
}

// ofOtherLength adds what a read as long as it should be can have been if it was not as long on the line.
func (w *Work) ofOtherLength(i int, b wiegand.Bits, add func(wiegand.Record, Repair, float64)) {
	for _, fault := range []Fault{LostBit, ExtraBit} {
		if other := w.unpadded(i, b, fault); other != b {
			w.model.repairs(fault, other, func(r wiegand.Record, rep Repair, chance float64) {
				add(r, rep, chance*onceWrong[fault])
			})
		}
	}
}

// unpadded returns the read of a card as it came off the line if it has lost a bit or got one too many: where nobody
// said how long it is, the bit 0 before it is no part of it, or one more is that was not written down. It is b for a
// read that is just as long as it is.
func (w *Work) unpadded(i int, b wiegand.Bits, fault Fault) wiegand.Bits {
	c := &w.q.cards[i]
	switch {
	case !c.loose:
	case fault == LostBit && c.read.Len() > 1 && c.read.Bit(0) == 0:
		short, _ := c.read.Delete(0)
		return w.wiring.Undo(short)
	case fault == ExtraBit:
		if long, ok := c.read.Insert(0, 0); ok {
			return w.wiring.Undo(long)
		}
	}
	return b
}

// logSpoilt is the log of the chance that more is wrong with a misread than can be put right.
var logSpoilt = math.Log(judgement.MisreadTwo + judgement.MisreadMore)

// spoilt is the log probability of a read of which more is wrong than can be put right, given that of its bits: all may
// be alike, since no pulse came on one of the lines.
func spoilt(b wiegand.Bits, like float64) float64 {
	if n := b.OnesCount(); n == 0 || n == b.Len() {
		return logp.Add(logSpoilt+like, logOneLine)
	}
	return logSpoilt + like
}

// logOneLine is the log of the chance that all bits of a misread are alike, and 0 or 1 just so.
var logOneLine = math.Log(judgement.MisreadMore * judgement.OneLine / 2)

// likeness returns a function that gives the log probability of a read of which more is wrong than can be put right:
// one like the good ones, or any bits where there are none of its length.
func (w *Work) likeness(undone []wiegand.Bits) func(wiegand.Bits) float64 {
	var good []wiegand.Bits
	for i := range undone {
		if w.cards[i].Format != nil && undone[i].Len() == w.model.format.Layout.Len() {
			good = append(good, undone[i])
		}
	}
	if len(good) == 0 {
		return func(b wiegand.Bits) float64 { return -float64(b.Len()) * math.Ln2 }
	}
	like := undocumented.NewSample(good, nil).Likeness()
	return func(b wiegand.Bits) float64 {
		if b.Len() != good[0].Len() {
			return -float64(b.Len()) * math.Ln2
		}
		return like(b)
	}
}

// fromPrints adds the cards that a bad read's own print says, where the read is within two wrong bits of them, or one
// that is lost or too many and one that is wrong.
func (w *Work) fromPrints(i int, b wiegand.Bits, add func(wiegand.Record, Repair, float64)) {
	for k := range w.q.cards[i].more {
		s := &w.q.cards[i].more[k]
		for o := range w.model.forms {
			opt := &w.model.forms[o]
			if !opt.of(s.Kind) {
				continue
			}
			c, _, ok := opt.parse(w.model.format, s, w.text[:])
			if opt.leavesOut(w.model.format) {
				c, ok = w.topped(opt, s, &b)
			}
			if !ok {
				continue
			}
			w.complete(c, func(r wiegand.Record) {
				if rep, chance, ok := apart(r.Encode(), b); ok {
					add(r, rep, chance)
				}
			})
		}
	}
}

// complete calls use with a card whose facility is that of good cards where its print leaves it out.
func (w *Work) complete(c formats.Card, use func(wiegand.Record)) {
	all := allFields(w.model)
	if c.Known == all {
		use(c.Record)
		return
	}
	at := w.model.format.Facility()
	if at < 0 || c.Known|1<<at != all {
		return
	}
	last, tried := uint64(0), 0
	for i, v := range w.seen[at].Sorted {
		if i > 0 && v == last || tried > 3 {
			continue
		}
		last = v
		tried++
		if r, err := c.Record.WithUint64(at, v); err == nil {
			use(r)
		}
	}
}

// apart says how a read can have come from a good one by a few wrong bits, and with what chance.
func apart(good, read wiegand.Bits) (rep Repair, chance float64, ok bool) {
	n := float64(good.Len())
	if good.Len() == read.Len() {
		x := misread.Differ(good, read)
		chance = misread.Flipped(x.OnesCount(), n)
		return Repair{Fault: FlippedBit, Bit: x.LeadingZeros() + 1}, chance, chance > 0
	}
	short, long, fault, share := read, good, LostBit, judgement.MisreadTwo*judgement.MisreadLost
	if read.Len() > good.Len() {
		short, long, fault, share = good, read, ExtraBit, judgement.MisreadTwo*judgement.MisreadExtra
	}
	if long.Len() == short.Len()+2 {
		if at := missing(long, short); at >= 0 {
			return Repair{Fault: fault, Bit: at + 1}, share * 2 / (n * n), true
		}
	}
	if long.Len() != short.Len()+1 {
		return rep, 0, false
	}
	for i := range long.Len() { // one lost or too many, and one wrong
		cut, _ := long.Delete(i)
		if x := misread.Differ(cut, short); x.OnesCount() <= 1 {
			return Repair{Fault: fault, Bit: i + 1}, share / (n * n), true
		}
	}
	return rep, 0, false
}

// missing returns the index of the first of the bits that must be taken out of long to leave short, -1 where short is
// not what is left.
func missing(long, short wiegand.Bits) int {
	first, k := -1, 0
	for i := range long.Len() {
		if k < short.Len() && long.Bit(i) == short.Bit(k) {
			k++
		} else if first < 0 {
			first = i
		}
	}
	if k < short.Len() {
		return -1
	}
	return first
}

// scaleMends turns the logs of what one read can have been into weights that add up to 1, and returns the log of their
// sum.
func scaleMends(all []mend) (log float64) {
	if len(all) == 1 {
		log, all[0].weight = all[0].weight, 1
		return log
	}
	mix := logp.NewMix()
	for k := range all {
		mix.Add(all[k].weight)
	}
	log = mix.Log()
	for k := range all {
		all[k].weight = math.Exp(all[k].weight - log)
	}
	return log
}

// reweigh weighs what bad reads can have been by the prints of slot k, in the way that they were found to follow, for
// the slots behind it. undo takes it back; nil where there are none.
func (w *Work) reweigh(k int) (undo func()) {
	var cards []int
	var saved [][]mend
	s := &w.q.slots[k]
	fit := w.fitNamed(s, w.how[k])
	for _, e := range s.entries {
		if fit != nil && len(w.mends[e.card]) > 0 {
			cards, saved = append(cards, e.card), append(saved, w.mends[e.card])
			w.mends[e.card] = w.withPrint(w.mends[e.card], fit, e.seen)
		}
	}
	if cards == nil {
		return nil
	}
	return func() {
		for i := len(cards) - 1; i >= 0; i-- {
			w.mends[cards[i]] = saved[i]
		}
	}
}

// withPrint returns what a bad read can have been, weighed by the print of its card.
func (w *Work) withPrint(all []mend, fit func(*formats.Card, *typing.Seen) typing.Fit, s *typing.Seen) []mend {
	all = slices.Clone(all)
	sum := 0.0
	for i := range all {
		m := &all[i]
		if m.nothing {
			m.weight *= s.Floor * 0.1
		} else {
			c := formats.Card{Format: w.model.format, Record: m.record, Known: allFields(w.model)}
			f := fit(&c, s)
			m.weight *= f.Weight*float64(min(f.Styles, 1)) + 0.02*f.Slip
		}
		sum += m.weight
	}
	for i := range all {
		all[i].weight /= max(sum, math.SmallestNonzeroFloat64)
	}
	return all
}

// shown returns the likeliest card of a bad read, and how many others it may well be; no card where it is likelier
// that nothing can be told.
func (w *Work) shown(i int) (formats.Card, Repair) {
	all := w.mends[i]
	var best, nothing mend
	some, ways := 0.0, 0
	for k := range all {
		if m := &all[k]; m.nothing {
			nothing = *m
		} else if some += m.weight; m.weight > best.weight {
			best = *m
		}
	}
	for k := range all {
		if m := &all[k]; !m.nothing && m.weight >= best.weight/50 {
			ways++
		}
	}
	if some < nothing.weight {
		return formats.Card{}, Repair{Fault: nothing.repair.Fault, Ways: max(2, ways), Chance: nothing.weight / (some +
			nothing.weight)}
	}
	rep := best.repair
	if rep.Chance = best.weight / (some + nothing.weight); rep.Fault != w.wiring {
		rep.Ways = ways
	}
	return formats.Card{Format: w.model.format, Record: best.record, Known: allFields(w.model)}, rep
}

// given returns the log probability of one more card's fields that are known, given the values of others by field.
func (m *formatModel) given(c *formats.Card, others []density.Others) (log float64) {
	for f := range m.fields {
		if c.Known.Has(f) {
			log += m.next(f, &c.Record, &others[f])
		}
	}
	return log
}

// next returns the log probability of one more card's field.
func (m *formatModel) next(field int, r *wiegand.Record, o *density.Others) float64 {
	v, ok := r.Uint64(field)
	if !ok || m.fields[field].role == freeRole {
		return m.fields[field].even
	}
	return m.fields[field].next(v, o)
}

// atEnds weighs that every read has lost a bit, or one too many, at the same end, as where a reader's first pulse is
// always swallowed.
func (w *Work) atEnds(undone []wiegand.Bits, log float64) {
	if w.q.reads < 2 {
		return // one read is a misread already
	}
	for _, fault := range []Fault{LostBit, ExtraBit} {
		for _, last := range []bool{false, true} {
			if extra, ok := w.atEnd(undone, fault, last); ok {
				w.branch(0, log+math.Log(judgement.AtOneEnd/4)+extra)
			}
		}
	}
}

// atEnd repairs every read at the same end; ok is false where one can't be. log is that of the probability of bits
// that are too many.
func (w *Work) atEnd(undone []wiegand.Bits, fault Fault, last bool) (log float64, ok bool) {
	L, short := w.model.format.Layout.Len(), 1
	if fault == ExtraBit {
		short = -1
	}
	if w.q.lens[0] != L-short || len(w.q.lens) > 1 {
		return 0, false
	}
	w.reset()
	reads, ones := 0, 0
	for i, b := range undone {
		if b.Len() == 0 {
			continue
		}
		at := 0
		if fault == LostBit {
			if last {
				at = b.Len()
			}
			if !w.decodeInserted(i, b, at) {
				return 0, false
			}
		} else {
			if last {
				at = b.Len() - 1
			}
			good, _ := b.Delete(at)
			if !w.decode(i, &good) {
				return 0, false
			}
			reads, ones = reads+1, ones+int(b.Bit(at))
		}
		w.repair[i] = Repair{Fault: fault, Bit: at + 1, Ways: 1, Chance: 1}
	}
	if fault == LostBit {
		return 0, true
	}
	return logp.Bits(ones, reads), true
}

// decodeInserted puts the bit back that makes the checks hold; where either does, 0, as after a line at rest.
func (w *Work) decodeInserted(i int, b wiegand.Bits, at int) bool {
	for v := range uint(2) {
		if good, ok := b.Insert(at, v); ok && w.decode(i, &good) {
			return true
		}
	}
	return false
}
