package evidence

import (
	"slices"

	"github.com/cardtell/cardtell/formats/internal/misread"
)

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
