package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
)

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
	Frame *undocumented.Frame
	Log   float64
}

// leaf adds the probability of the cards' values, and keeps the reading.
func (w *Work) leaf(log float64) {
	if log < w.Unknown-2*logp.CutOff { // whatever the values come to
		return
	}
	log += w.valuesLog()
	for i := range w.q.cards {
		if len(w.mends[i]) > 0 {
			log += w.mendLogs[i]
		}
	}
	w.keep(log)
	w.forgetLow()
}

// keep adds to the reading of the cards as they are, whose log probability is given.
func (w *Work) keep(log float64) {
	if math.IsInf(log, -1) || math.IsNaN(log) {
		return
	}
	if !w.model.ofSite && w.q.reads == 0 { // without a read, nothing else says what its layout is like
		w.general.Add(log - w.model.log + w.model.split)
	}
	for i := range w.Results {
		r := &w.Results[i]
		if r.Format == w.model.format && r.Wiring == w.wiring && slices.EqualFunc(r.Cards, w.cards, sameCard) {
			if r.first != w.first {
				r.before, r.now, r.first = r.Log, logp.Never, w.first
			}
			r.now = logp.Add(r.now, log)
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
	r.first, r.now, r.before = w.first, log, logp.Never
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
