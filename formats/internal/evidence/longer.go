package evidence

import (
	"math"
	"math/bits"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// LongerNumber is the name of the way in which a print is a longer number of which the data bits of the card are the
// last: a fob shows ten digits, which are 32 bits, and its reader sends 24 of them (common practice, no source).
const LongerNumber = "longer-number"

// mostBefore is how many bits there are at most before the data bits.
const mostBefore = 32

// bitsBefore returns the bits of a print before its last so many, and those; false where it is no one number, or none
// that is so long.
func bitsBefore(s *typing.Seen, width int) (before, data uint64, ok bool) {
	base := 10
	switch {
	case s.Kind == formats.Hex:
		base = 16
	case s.Kind != formats.Printed || s.Pair:
		return 0, 0, false
	}
	v, err := strconv.ParseUint(s.Digits, base, 64)
	return v >> width, v & (1<<width - 1), err == nil && width < 64
}

// longerFit is how a print fits a card in that way.
func longerFit(c *formats.Card, s *typing.Seen) typing.Fit {
	fit := typing.Fit{Slip: s.Astray()}
	if c.Format == nil || !c.Whole() {
		return fit
	}
	if all := dataBits(c); len(all) > 0 {
		own := all[len(all)-1]
		v, _ := own.Uint64()
		if _, data, ok := bitsBefore(s, own.Len()); ok && data == v {
			fit = typing.Fit{Styles: s.NumberStyles(), Weight: 1}
		}
	}
	return fit
}

// beforeLog is the log probability of what stands before the data bits of all prints of a slot: as often the same on
// all as anything on each, in whole bytes. False where nothing does on any.
func (w *Work) beforeLog(s *slot) (log float64, ok bool) {
	_, width := dataWidths(w.model.format)
	if width == 0 {
		return 0, false
	}
	all, most, same, n := uint64(0), uint64(0), true, 0
	for _, e := range s.entries {
		before, _, ok := bitsBefore(e.seen, width)
		if !ok {
			continue
		}
		same = same && (n == 0 || before == all)
		all, most, n = before, max(most, before), n+1
	}
	size := (bits.Len64(most) + 7) / 8 * 8
	if size == 0 || size > mostBefore {
		return 0, false
	}
	each := -float64(size) * math.Ln2
	log = float64(n) * each
	if same {
		log = logp.Add(log, each)
	}
	return log - math.Ln2 - math.Log(mostBefore/8), true
}

// longer weighs that the prints of a slot are longer numbers, each with its card's data bits at its end; where a card
// is not known, it is what its print says. It calls use with the log of that.
func (w *Work) longer(s *slot, use func(log float64, how string)) {
	before, ok := w.beforeLog(s)
	if !ok || w.someTold(s) && !(w.fitAll(s, longerFit) && w.follows()) {
		return
	}
	if !w.someTold(s) {
		w.fits = resize(w.fits, len(s.entries))
	}
	for i, e := range s.entries {
		if w.told(e.card) {
			continue
		}
		w.fits[i] = typing.Fit{Slip: e.seen.Floor}
		if c, ok := w.endingIn(e.seen); ok {
			w.cards[e.card], w.fits[i] = c, longerFit(&c, e.seen)
		}
	}
	use(math.Log(judgement.PrintedLonger)+before+typing.FitsLog(w.fits), LongerNumber)
}

// endingIn returns the card of which a print has the data bits at its end.
func (w *Work) endingIn(s *typing.Seen) (c formats.Card, ok bool) {
	_, width := dataWidths(w.model.format)
	_, data, ok := bitsBefore(s, width)
	if !ok {
		return c, false
	}
	form, _ := formats.FormByName("decimal")
	c, err := form.Parse(w.model.format, strconv.FormatUint(data, 10))
	return c, err == nil
}
