package learn

import (
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// Prints that are not the number in the read itself, but follow from it.

// derived looks for runs of bits from which the whole printed number follows by cutting digits off or by adding a constant.
func (k *seeker) derived() {
	t := k.targets()[0]
	if t.form != PrintFull || len(k.rows) < 2 {
		return
	}
	mod, digits := uint64(10), 1
	for _, r := range k.rows {
		for d := k.s.printed[r].digits; digits < d; digits++ {
			mod *= 10
		}
	}
	for i := range k.s.length {
		for w := 4; w <= min(k.s.length-i, 63); w++ {
			if !k.tight(i, w) {
				continue
			}
			for _, order := range []wiegand.Order{wiegand.MSBFirst, wiegand.LSBFirst} {
				h := number{Number: Number{Order: order}, at: run(i, w, order)}
				cost := 0.0
				if order == wiegand.LSBFirst {
					cost = costLSB
				}
				k.last(h, t, mod, digits, cost)
				k.offset(h, t, cost)
			}
		}
	}
}

// run returns the w bits from index i on, most significant first.
func run(i, w int, order wiegand.Order) []int {
	at := make([]int, w)
	for j := range at {
		at[j] = i + j
	}
	if order == wiegand.LSBFirst {
		slices.Reverse(at)
	}
	return at
}

// tight reports whether both ends of a run of w bits from index i on vary, so that no shorter run does as well.
func (k *seeker) tight(i, w int) bool { return k.s.varying.has(i) && k.s.varying.has(i+w-1) }

// last adds the hypothesis that the last digits alone are printed. Where no number has more digits, it says nothing.
func (k *seeker) last(h number, t target, mod uint64, digits int, cost float64) {
	h.Print, h.Digits = PrintLast, digits
	if digits < 2 || len(h.at) <= bits.Len64(mod-1)-1 {
		return
	}
	if k.agrees(&h, t, func(v uint64) uint64 { return v % mod }) {
		k.keep(h, t, cost+costLast)
	}
}

// offset adds the hypothesis that a constant is added. The constant is the one that most of the first few reads agree on.
func (k *seeker) offset(h number, t target, cost float64) {
	diff := func(x int) int64 { return int64(t.values[x]) - int64(h.value(k.s.words[k.rows[x]])) }
	for x := range min(3, len(k.rows)-1) {
		c := diff(x)
		if k.slack > 0 && diff(x+1) != c && x < 2 {
			continue // with misreads about, two neighbours have to agree before all are tried
		}
		if c == 0 || k.slack == 0 && diff(x+1) != c {
			return
		}
		h.Print, h.Offset = PrintOffset, c
		if k.agrees(&h, t, func(v uint64) uint64 { return v + uint64(c) }) {
			k.keep(h, t, cost+costOffset+2*log2(float64(abs(c))+1))
			return
		}
	}
}

func abs(v int64) int64 {
	if v < 0 {
		return -v
	}
	return v
}
