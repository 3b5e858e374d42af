package evidence

import (
	"math"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Reading is what cards of one kind can be, as far as cards of another kind beside them go: a format, in some wiring
// and printed in some way. Without a format it is a layout that no table has.
type Reading struct {
	Format *formats.Format
	Wiring Fault
	How    string // "" where nothing is printed
}

// weighed is a Reading and the log of its joint probability with the cards.
type weighed struct {
	Reading
	log float64
}

// NewReading makes the Reading of a format, given its fault, which is none of the wiring where single reads have it,
// and the ways in which each kind of sighting follows.
func NewReading(f *formats.Format, fault Fault, how []string) Reading {
	if !fault.Wiring() {
		fault = None
	}
	way := ""
	for _, h := range how {
		way += h + "," // so that prints that follow from nothing are there
	}
	return Reading{f, fault, way}
}

// Beside returns how much likelier two kinds of card are together than each by itself. A second kind is mostly of
// another format than the first, not seldom of its length; or it is of the same, and wired or printed otherwise, or
// else it is no kind of its own. Which of the two came first makes no difference.
func (m *Model) Beside(a, b Reading) float64 {
	if a.Format != b.Format || a.Format == nil {
		return (m.another(a.Format, b.Format) + m.another(b.Format, a.Format)) / 2
	}
	if a.Wiring == b.Wiring && (a.How == b.How && strings.Trim(a.How, ",") != "" || a.How == "" || b.How == "") {
		return 0
	}
	return judgement.SameFormat / m.share(a.Format)
}

// another is how much likelier a second kind is of a format, given that the first is of another one.
func (m *Model) another(first, second *formats.Format) float64 {
	if first == nil || second == nil {
		return 1
	}
	length, own := first.Layout.Len(), 0.0
	for _, i := range m.byLen[length] {
		own += math.Exp(m.formats[i].log)
	}
	if second.Layout.Len() != length {
		return (1 - judgement.SameFormat) * (1 - judgement.SameLength) / max(1-own, leastShare)
	}
	return (1 - judgement.SameFormat) * judgement.SameLength / max(own-m.share(first), leastShare)
}

// leastShare is the least share of formats that is scaled up to be all of one length, or of the others.
const leastShare = 0.02

// share is the share of cards that have a format, before anything is seen.
func (m *Model) share(f *formats.Format) (p float64) {
	for _, i := range m.byLen[f.Layout.Len()] {
		if m.formats[i].format == f {
			p += math.Exp(m.formats[i].log)
		}
	}
	return p
}

// farBelow is how much less likely, as a log, a reading is that changes nothing beside cards of another kind.
const farBelow = 20

// readings is everything that the cards can be as one kind.
func (w *Work) readings() []weighed {
	less := w.Joint() - w.Total()
	none := logp.NewMix()
	none.Add(w.Unknown)
	for i := range w.Frames {
		none.Add(w.Frames[i].Log)
	}
	all := []weighed{{log: none.Log() + less}}
	least := w.Total() - farBelow
	for i := range w.Results {
		if r := &w.Results[i]; r.Log > least {
			all = append(all, weighed{NewReading(r.Format, r.Wiring, r.How), r.Log + less})
		}
	}
	return all
}

// together is the log of the joint probability of cards of two kinds.
func (m *Model) together(a, b []weighed) float64 {
	mix := logp.NewMix()
	for i := range a {
		for k := range b {
			if log := a[i].log + b[k].log; log > mix.Top-logp.CutOff {
				mix.Add(log + math.Log(m.Beside(a[i].Reading, b[k].Reading)))
			}
		}
	}
	return mix.Log()
}
