package evidence

import "math"

// derived looks for numbers of which only the last digits are printed, or to which a constant is added: where nothing
// simpler fits.
func (k *seeker) derived() {
	n := k.u.s.Length
	if len(k.rows) < 3 {
		return
	}
	for from := range n {
		for to := from + 4; to <= min(n, from+64); to++ {
			p := Place{From: from, To: to}
			k.last(p)
			k.offset(p)
		}
	}
}

// last tries the last digits of a number.
func (k *seeker) last(p Place) {
	digits := len(k.seen[0].digits)
	if digits < fewest || digits > 18 {
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
	for x, r := range k.rows {
		w := k.u.s.Reads[r].Words()
		if len(k.seen[x].digits) != digits || k.seen[x].pair || value(&w, p.From, p.To)%div != number(k.seen[x].digits) {
			if wrong++; wrong > allowed(len(k.rows)) {
				return
			}
		}
	}
	h := Hypothesis{Place: p, Print: PrintLast, Digits: digits}
	log := math.Log(printedLast/(filledPairs-lastDigits)) - stylePriorLogs[asWritten]
	k.plain(&h, log, func(x int, w *[4]uint64) styleSet {
		if value(w, p.From, p.To)%div != number(k.seen[x].digits) {
			return 0
		}
		return 1 << asWritten
	})
}

// offset tries a number with a constant added.
func (k *seeker) offset(p Place) {
	more := func(x int) (int64, bool) {
		w := k.u.s.Reads[k.rows[x]].Words()
		return printedMore(value(&w, p.From, p.To), &k.seen[x])
	}
	var first [3]int64 // two are alike, or none can be right
	for x := range first {
		first[x], _ = more(x)
	}
	if first[0] != first[1] && first[0] != first[2] && first[1] != first[2] {
		return
	}
	c, ok := added(len(k.rows), more)
	if !ok {
		return
	}
	h := Hypothesis{Place: p, Print: PrintOffset, Offset: c}
	k.plain(&h, math.Log(printedOffset)+addedLog(c), func(x int, _ *[4]uint64) styleSet {
		if d, is := more(x); !is || d != c {
			return 0
		}
		return k.seen[x].numberStyles()
	})
}

// plain weighs a hypothesis whose prints are right, in the styles that right returns, or anything.
func (k *seeker) plain(h *Hypothesis, log float64, right func(x int, w *[4]uint64) styleSet) {
	fits := make([]fit, len(k.rows))
	for x, r := range k.rows {
		w := k.u.s.Reads[r].Words()
		if set := right(x, &w); set != 0 {
			fits[x] = fit{styles: set, weight: 1}
		} else {
			fits[x] = fit{slip: k.seen[x].astray()}
			h.Wrong = append(h.Wrong, r)
		}
	}
	for x := range k.leftSeen {
		fits = append(fits, fit{any: k.leftSeen[x].floor})
	}
	h.log = log + fitsLog(fits)
	h.value, _ = k.u.data.number(h.Place)
	k.u.hyps = append(k.u.hyps, *h)
}
