package rank

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// misread takes the reads whose checks hold as they are, and repairs each of the others in every way that makes it good; the
// likeliest repair is kept. It returns the log probability of the misreads and of the repaired cards' values; ok is false
// where no read is bad, or one can't be repaired.
func (w *work) misread() (log float64, ok bool) {
	w.reset()
	clean, bad := 0, 0
	for i := range w.q.cards {
		if b := &w.q.cards[i].read; b.Len() > 0 {
			switch {
			case !w.model.fixed.possible(w.fault, *b): // quicker than decoding, and true of every good read
				return 0, false
			case w.decode(i, b):
				clean++
			default:
				w.cards[i] = formats.Card{}
				bad++
			}
		}
	}
	if bad == 0 {
		return 0, false
	}
	w.seenValues()
	for i := range w.q.cards {
		b := w.q.cards[i].read
		if b.Len() == 0 || w.cards[i].Format != nil {
			continue
		}
		one := w.repairOne(i, b)
		if math.IsInf(one, -1) {
			return 0, false
		}
		log += one
	}
	return log + misreads(clean, bad), true
}

// misreads returns the log probability that just these reads go bad on a line on which at least one does: the prior of the
// fault says that one does.
func misreads(clean, bad int) float64 {
	p := 0.0
	for _, m := range misreadRates {
		good := 1 - m.rate
		some := 1 - math.Pow(good, float64(clean+bad))
		p += m.share * math.Exp(float64(clean)*math.Log(good)+float64(bad)*math.Log(m.rate)) / some
	}
	return math.Log(p)
}

// seenValues notes the values of each field on the cards decoded so far, sorted.
func (w *work) seenValues() {
	for len(w.seen) < len(w.model.fields) {
		w.seen = append(w.seen, nil)
	}
	for f := range w.model.fields {
		seen := w.seen[f][:0]
		for i := range w.cards {
			if w.cards[i].Format != nil {
				if v, ok := w.cards[i].Record.Uint64(f); ok {
					seen = append(seen, v)
				}
			}
		}
		slices.Sort(seen)
		w.seen[f] = seen
	}
}

// repairOne returns the log probability of a bad read, summed over its repairs.
func (w *work) repairOne(i int, b wiegand.Bits) float64 {
	sum, best := never, never
	ways := 0
	w.model.repairs(w.fault, b, func(r wiegand.Record, rep Repair, chance float64) {
		ways++
		log := math.Log(chance)
		for f := range w.model.fields {
			log += w.model.next(f, &r, w.seen[f])
		}
		sum = logAdd(sum, log)
		if log > best {
			best = log
			w.cards[i] = formats.Card{Format: w.model.format, Record: r, Known: allFields(w.model)}
			w.repair[i] = rep
			w.counted[i] = true
		}
	})
	w.repair[i].Ways = ways
	return sum
}

// next returns the log probability of one more card's field.
func (m *formatModel) next(field int, r *wiegand.Record, seen []uint64) float64 {
	v, ok := r.Uint64(field)
	if !ok || m.fields[field].role == freeRole {
		return m.fields[field].even
	}
	return m.fields[field].next(v, seen)
}

// atEnd repairs every read at the same end, as where a reader's first pulse is always swallowed. ok is false unless every
// read is bad in that way.
func (w *work) atEnd(last bool) (log float64, ok bool) {
	w.reset()
	if w.q.reads < 2 {
		return 0, false // one read is in misread already
	}
	L := w.model.format.Layout.Len()
	for i := range w.q.cards {
		b := w.q.cards[i].read
		if b.Len() == 0 {
			continue
		}
		at := 0
		switch {
		case w.fault == LostBit && b.Len() == L-1:
			if last {
				at = b.Len()
			}
			if !w.decodeInserted(i, b, at) {
				return 0, false
			}
		case w.fault == ExtraBit && b.Len() == L+1:
			if last {
				at = b.Len() - 1
			}
			good, _ := b.Delete(at)
			if !w.decode(i, &good) {
				return 0, false
			}
		default:
			return 0, false
		}
		w.repair[i] = Repair{Fault: w.fault, Bit: at + 1, Ways: 1}
	}
	if w.fault == ExtraBit {
		log = -math.Ln2 // one value for the pulse too many, at every read
	}
	return log, true
}

// decodeInserted puts the bit back that makes the checks hold; where either does, 0, as after a line at rest.
func (w *work) decodeInserted(i int, b wiegand.Bits, at int) bool {
	for v := range uint(2) {
		if good, ok := b.Insert(at, v); ok && w.decode(i, &good) {
			return true
		}
	}
	return false
}
