package evidence

import (
	"math"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/wiegand"
)

// doubtLone says of a card that alone lies apart from the others, and has no print that follows from it, how likely it
// is of their format: among a site's cards there can be a visitor's, of another format of the same length.
func (w *Work) doubtLone(r *Result) {
	if w.q.reads < leastSplit || len(w.q.cards) > amongMost {
		return
	}
	w.model, w.wiring = w.m.modelsOf(r.Format)[0], r.Wiring
	w.cards = append(w.cards[:0], r.Cards...)
	for _, o := range w.outliers() {
		if w.q.cards[o.place].read.Len() == 0 || r.Repair[o.place].Fault != r.Wiring || w.confirmed(r, o.place) {
			continue
		}
		together, card := w.fieldsLog(), w.cards[o.place]
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
		for f := range m.fields {
			log += m.next(f, &c.Record, &density.Others{})
		}
		mix.Add(log)
	}
	return mix.Log()
}
