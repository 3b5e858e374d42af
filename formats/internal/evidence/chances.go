package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/wiegand"
)

// notWorthDoubt is by how much less likely, as a log, than the likeliest a result is whose cards are taken as they are.
const notWorthDoubt = 5

// doubtCards says of the cards of results not far behind the likeliest how likely it is that they are these.
func (w *Work) doubtCards() {
	top := math.Inf(-1)
	for i := range w.Results {
		top = max(top, w.Results[i].Log)
	}
	for i := range w.Results {
		if r := &w.Results[i]; r.Log >= top-notWorthDoubt {
			w.doubtTyped(r)
			w.doubtLone(r)
			w.doubtUnchecked(r)
		}
	}
}

// doubtLone says of a card that alone lies apart from the others, and has no print that follows from it, how likely it
// is of their format: among a site's cards there can be a visitor's, of another format of the same length.
func (w *Work) doubtLone(r *Result) {
	if w.q.reads < leastSplit || len(w.q.cards) > amongMost {
		return
	}
	w.model, w.wiring = w.m.modelsOf(r.Format)[0], r.Wiring
	w.cards = append(w.cards[:0], r.Cards...)
	apart := w.outliers()
	if len(apart) == 0 {
		return
	}
	together := w.fieldsLog()
	for _, o := range apart {
		if w.q.cards[o.place].read.Len() == 0 || r.Repair[o.place].Fault != r.Wiring || w.confirmed(r, o.place) {
			continue
		}
		card := w.cards[o.place]
		w.cards[o.place] = formats.Card{}
		own := together - w.fieldsLog()
		w.cards[o.place] = card
		r.Repair[o.place].Chance *= 1 - share(w.otherFormat(r, w.q.cards[o.place].read)-own)
	}
}

// otherFormat is the log of the probability that one card is dealt out of the cards of a result, as the splitter does
// it, and is of another format of its length.
func (w *Work) otherFormat(r *Result, read wiegand.Bits) float64 {
	mix := logp.NewMix()
	dealt := math.Log(2*judgement.SeveralKinds/(1-judgement.SeveralKinds)) - 2*math.Log(float64(w.q.reads))
	first := NewReading(r.Format, r.Wiring, r.How)
	for _, i := range w.m.byLen[read.Len()] {
		m := &w.m.formats[i]
		c, err := m.format.Read(r.Wiring.Undo(read))
		if m.format == r.Format || err != nil || !c.Record.OK() {
			continue
		}
		log := dealt + m.log + math.Log(w.m.Beside(first, Reading{Format: m.format, Wiring: r.Wiring}))
		mix.Add(log + m.given(&c, make([]density.Others, len(m.fields))))
	}
	return mix.Log()
}

// doubtUnchecked says of reads of formats without checks, on a line that has misreads, how likely it is that they are
// as they should be: where no print follows from one, nothing would show that it is not.
func (w *Work) doubtUnchecked(r *Result) {
	if len(r.Format.Layout.Checks()) > 0 {
		return
	}
	good, bad := 0, 0
	var open []int
	for i := range w.q.cards {
		switch {
		case w.q.cards[i].read.Len() == 0:
		case r.Repair[i].Fault != r.Wiring:
			bad++
		case w.confirmed(r, i):
			good++
		default:
			open = append(open, i)
		}
	}
	if bad == 0 {
		return
	}
	for _, i := range open {
		r.Repair[i].Chance *= 1 - misread.Unseen(good, bad, len(open)-1)
	}
}

// confirmed reports whether a print of all that a card has follows from its read.
func (w *Work) confirmed(r *Result, place int) bool {
	return slices.ContainsFunc(r.How, func(how string) bool {
		if _, low := lowForms[how]; low || how == "" || how == FacilityAlone {
			return false
		}
		for k := range w.q.cards[place].more {
			if Follows(how, &r.Cards[place], w.q.cards[place].read, &w.q.cards[place].more[k]) {
				return true
			}
		}
		return false
	})
}
