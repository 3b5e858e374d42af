package evidence

import (
	"math"
	"slices"
	"sort"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// Reads are doubted whose checks hold: two wrong bits can leave every check as it was.
const (
	leastDoubt   = 3  // good reads that show what a read should be like
	mostOdd      = 4  // reads doubted for one value
	farFromOther = 16 // a number is far from the others where it makes their range so many times wider
	// log of how much likelier a read is as it is than all that it can have been, for those to be left out
	negligible = 7
	// the same of another result than this one, however much likelier its reads are without those that are doubted
	farBehind = 40
)

// outlier is a read whose checks hold and which has, in one field, another value than the rest; or whose print is that
// of a read near it.
type outlier struct {
	place int
	odd   bool // it has another value
}

// doubt weighs of reads that do not go with the others whether two of their bits are wrong: for each the read as it is,
// and all that it can have been. log is that of the result beside its cards.
func (w *Work) doubt(undone []wiegand.Bits, good, bad int, log float64) {
	var all []outlier
	if good >= leastDoubt && w.model.format.Layout.Len() <= widestPairs {
		all = w.outliers()
	}
	all = w.contradicted(all)
	if len(all) == 0 || w.farBehind(log, len(all)) {
		return
	}
	rate := misread.Log(good-1, bad+1) - misread.Log(good, bad)
	asRead := make([]formats.Card, len(all))
	for k, o := range all {
		asRead[k] = w.cards[o.place]
		w.cards[o.place] = formats.Card{}
	}
	w.seenValues()
	asReadLogs := make([]float64, len(all))
	for k, o := range all { // each given the others, and those before it as they were read
		asReadLogs[k] = w.weighDoubt(o, asRead[k], undone[o.place], rate)
		w.cards[o.place] = asRead[k]
	}
	takeOut := func() {
		for _, o := range all {
			if len(w.mends[o.place]) > 0 {
				w.cards[o.place] = formats.Card{}
			}
		}
	}
	takeOut()
	before := w.fieldsLog()
	for k, o := range all { // and now given those that can only be what they are, too
		if len(w.mends[o.place]) > 0 {
			w.cards[o.place] = asRead[k]
			log := w.fieldsLog()
			w.mendLogs[o.place] += log - before - asReadLogs[k]
			before = log
		}
	}
	takeOut()
}

// farBehind reports whether another result is far likelier than this one can be, so many of whose reads are doubted:
// each of them costs no more than its bits, and what is printed costs something, too.
func (w *Work) farBehind(log float64, doubted int) bool {
	best := math.Inf(-1)
	for i := range w.Results {
		best = max(best, w.Results[i].Log)
	}
	most := float64(doubted*w.model.format.Layout.Len()) * math.Ln2
	return log+w.fieldsLog()+most < best-farBehind
}

// weighDoubt works out what one read can have been; nothing where only what it is. It returns the log of how likely the
// card is as it was read.
func (w *Work) weighDoubt(o outlier, asRead formats.Card, read wiegand.Bits, rate float64) (asReadLog float64) {
	c := &w.cards[o.place]
	others := w.fieldsLog()
	all := w.mends[o.place][:0]
	add := func(r wiegand.Record, rep Repair, chance float64) {
		if slices.ContainsFunc(all, func(m mend) bool { return m.record.Bits() == r.Bits() }) || w.there(r.Bits()) {
			return
		}
		*c = formats.Card{Format: w.model.format, Record: r, Known: allFields(w.model)}
		all = append(all, mend{record: r, repair: rep, weight: math.Log(chance) + w.fieldsLog() - others})
		*c = formats.Card{}
	}
	add(asRead.Record, Repair{Fault: w.wiring}, 1)
	asReadLog = all[0].weight
	faults := func(r wiegand.Record, rep Repair, chance float64) { add(r, rep, math.Exp(rate)*chance) }
	if o.odd && all[0].weight < rate+math.Log(misread.Flipped(2, float64(read.Len())))+negligible {
		w.twoWrong(read, 0, faults)
	}
	w.ofOtherLength(o.place, read, faults)
	w.fromPrints(o.place, read, faults)
	if len(all) > 1 {
		w.mends[o.place], w.mendLogs[o.place] = all, scaleMends(all)
	}
	return asReadLog
}

// there reports whether a read is that of a card already: no two cards are the same.
func (w *Work) there(b wiegand.Bits) bool {
	return slices.ContainsFunc(w.cards, func(c formats.Card) bool { return c.Format != nil && c.Record.Bits() == b })
}

// contradicted adds the reads whose print is, in no form, what the read says, where most prints are.
func (w *Work) contradicted(all []outlier) []outlier {
	for k := range w.q.slots {
		s := &w.q.slots[k]
		w.astray = w.astray[:0]
		form := 0 // the one that fitted last
		most := max(4, len(s.entries)/2)
		if s.hopeless(func(e slotEntry) bool {
			return w.cards[e.card].Format != nil && w.fitsSome(&w.cards[e.card], e.seen, &form)
		}) {
			continue
		}
		for i := 0; i < len(s.entries) && len(w.astray) <= most; i++ {
			e := s.entries[i]
			if w.cards[e.card].Format != nil && !w.fitsSome(&w.cards[e.card], e.seen, &form) {
				w.astray = append(w.astray, e.card)
			}
		}
		if len(w.astray) > most {
			continue // prints that mostly do not fit have nothing to do with the reads
		}
		_, added := w.addedTo(s, w.model.format.Number())
		if 2*len(w.astray) > len(s.entries) && (added || w.whole(s) > s.nothing) {
			continue // or they fit in a way that is no form
		}
		if len(w.astray) > 0 {
			w.seenValues()
		}
		for _, place := range w.astray {
			if slices.ContainsFunc(all, func(o outlier) bool { return o.place == place }) {
				continue
			}
			near := false
			w.fromPrints(place, w.cards[place].Record.Bits(), func(r wiegand.Record, _ Repair, _ float64) {
				near = near || !w.there(r.Bits())
			})
			if near {
				all = append(all, outlier{place: place})
			}
		}
	}
	return all
}

// fitsSome reports whether a sighting follows from a card in any way; first is the one that is tried first, and then
// the one that fits.
func (w *Work) fitsSome(c *formats.Card, s *typing.Seen, first *int) bool {
	for i := range w.model.forms {
		o := (*first + i) % len(w.model.forms)
		if opt := &w.model.forms[o]; opt.of(s.Kind) && opt.follows(c, s, w.text[:]) {
			*first = o
			return true
		}
	}
	for i := range otherWays {
		if o := &otherWays[i]; o.kind == s.Kind && o.fit(c, s, w.text[:]).Styles != 0 {
			return true
		}
	}
	return false
}

// fieldsLog is the log probability of the values of all fields of the cards that are known.
func (w *Work) fieldsLog() (log float64) {
	for f := range w.model.fields {
		log += w.fieldLog(f)
	}
	return log
}

// outliers returns the reads that have, alone, another value than the others in a field that has few; or a number far
// from all.
func (w *Work) outliers() (all []outlier) {
	w.seenValues()
	for f := range w.model.fields {
		seen := w.seen[f].Sorted
		if len(seen) < leastDoubt {
			continue
		}
		var odd func(v uint64) bool
		switch w.model.fields[f].role {
		case siteRole:
			usual, ok := commonest(seen)
			if !ok {
				continue
			}
			odd = func(v uint64) bool { return v != usual && alone(seen, v) }
		case numberRole:
			low, high, ok := far(seen)
			if !ok {
				continue
			}
			low, high = about(low, high)
			odd = func(v uint64) bool { return v < low || v > high }
		default:
			continue
		}
		for i := range w.cards {
			if c := &w.cards[i]; c.Format != nil {
				if v, ok := c.Record.Uint64(f); ok && odd(v) {
					all = append(all, outlier{i, true})
				}
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].place < all[j].place })
	all = slices.CompactFunc(all, func(a, b outlier) bool { return a.place == b.place })
	return all[:min(len(all), mostOdd)]
}

// commonest returns the value that most have of sorted ones; ok is false where no two have one, or all have it.
func commonest(sorted []uint64) (v uint64, ok bool) {
	most := 1
	for i, j := 0, 0; i < len(sorted); i = j {
		for j = i; j < len(sorted) && sorted[j] == sorted[i]; j++ {
		}
		if j-i > most {
			most, v = j-i, sorted[i]
		}
	}
	return v, most > 1 && most < len(sorted)
}

// alone reports whether a value is there once among sorted ones.
func alone(sorted []uint64, v uint64) bool {
	at, ok := slices.BinarySearch(sorted, v)
	return ok && (at+1 == len(sorted) || sorted[at+1] != v)
}

// far returns the range of sorted values without the fewest that are far from all others, each by itself; ok is false
// where none are.
func far(sorted []uint64) (low, high uint64, ok bool) {
	n := len(sorted)
	width := sorted[n-1] - sorted[0]
	for drop := 1; drop <= mostOdd && 3*drop <= n; drop++ {
		for at := range drop + 1 {
			to := at + n - drop
			low, high = sorted[at], sorted[to-1]
			if width/farFromOther > high-low && scattered(sorted[:at+1], high-low) && scattered(sorted[to-1:], high-low) {
				return low, high, true
			}
		}
	}
	return 0, 0, false
}

// scattered reports whether sorted values are all further from one another than some distance.
func scattered(sorted []uint64, distance uint64) bool {
	for i := 1; i < len(sorted); i++ {
		if sorted[i]-sorted[i-1] <= distance {
			return false
		}
	}
	return true
}
