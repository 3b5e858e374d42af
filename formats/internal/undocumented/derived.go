package undocumented

import (
	"fmt"
	"math"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// derived looks for numbers of which only the last digits are printed, or to which a constant is added: where nothing
// simpler fits as many prints.
func (k *seeker) derived() {
	n := k.u.s.Length
	values := make([]uint64, len(k.seen))
	for x := range k.seen {
		values[x] = typing.Number(k.seen[x].Digits)
	}
	for from := range n {
		for to := from + 4; to <= min(n, from+64); to++ {
			for turn := range turns {
				if p := (Place{From: from, To: to, Turn: turn}); turn <= LastHigh || bytesLong(p.Width()) {
					k.last(p, values)
					k.offset(p)
				}
			}
		}
	}
}

// last tries the last digits of a number; values are what is printed.
func (k *seeker) last(p Place, values []uint64) {
	digits := len(k.seen[0].Digits)
	if digits < typing.Fewest || digits > 18 {
		return
	}
	div := uint64(1)
	for range digits {
		div *= 10
	}
	if p.Max() < div {
		return
	}
	wrong := 0
	for x := range k.rows {
		s := &k.seen[x]
		if len(s.Digits) != digits || s.Pair || s.Kind == formats.Hex || p.binary(&k.words[x])%div != values[x] {
			if wrong++; wrong > k.most || wrong == typing.Hopeless && x+1 == typing.Hopeless {
				return
			}
		}
	}
	h := Hypothesis{Place: p, Print: PrintLast, Digits: digits}
	log := math.Log(judgement.PrintedLast/(typing.FilledPairs-typing.LastDigits)) - typing.StylePriorLogs[typing.AsWritten]
	k.plain(&h, log, func(x int, w *[4]uint64) typing.Fit {
		v := p.binary(w) % div
		if v != values[x] {
			var buf [20]byte
			return typing.Fit{Slip: k.seen[x].Slip(fmt.Appendf(buf[:0], "%0*d", digits, v))}
		}
		return typing.Fit{Styles: 1 << typing.AsWritten, Weight: 1}
	})
}

// offset tries a number with a constant added.
func (k *seeker) offset(p Place) {
	if len(k.rows) < typing.LeastAdded {
		return
	}
	more := func(x int) (int64, bool) {
		return typing.PrintedMore(p.binary(&k.words[x]), &k.seen[x])
	}
	var first [typing.LeastAdded]int64 // two are alike, or none can be right
	for x := range first {
		first[x], _ = more(x)
	}
	if first[0] != first[1] && first[0] != first[2] && first[1] != first[2] {
		return
	}
	c, ok := typing.Added(len(k.rows), more)
	if !ok {
		return
	}
	h := Hypothesis{Place: p, Print: PrintOffset, Offset: c}
	k.plain(&h, math.Log(judgement.PrintedOffset)+typing.AddedLog(c), func(x int, w *[4]uint64) typing.Fit {
		return k.seen[x].AddedFit(p.binary(w), c)
	})
}

// plain weighs a hypothesis whose prints fit as fit has it.
func (k *seeker) plain(h *Hypothesis, log float64, fit func(x int, w *[4]uint64) typing.Fit) {
	k.fits = append(k.fits[:0], make([]typing.Fit, len(k.rows))...)
	fits := k.fits
	for x, r := range k.rows {
		if fits[x] = fit(x, &k.words[x]); fits[x].Styles == 0 {
			if h.Wrong = append(h.Wrong, r); len(h.Wrong) > k.most {
				return
			}
		}
	}
	for x := range k.leftSeen {
		fits = append(fits, typing.Fit{Any: k.leftSeen[x].Floor})
	}
	k.fits = fits
	h.log = log + typing.FitsLog(fits)
	h.value, _ = k.u.data.number(h.Place)
	k.u.add(h)
}
