package learn

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// target is a number that each printed read shows, in one way of reading the print.
type target struct {
	form   PrintForm
	digits int
	values []uint64 // by printed read
	cost   float64
}

// seeker looks for the printed numbers in the reads.
type seeker struct {
	s     *sample
	rows  []int // the reads that have a printed number
	slack int   // how many of them may disagree: misreads, or slips of the pen
	found []number
	runs  map[printKey][]bitRun // that hold the facility
}

// numbers returns the hypotheses about the card number that agree with all reads but a few, cheapest first.
func numbers(s *sample, slack int) []number {
	k := seeker{s: s, slack: slack}
	for r := range s.printed {
		if s.printed[r].known {
			k.rows = append(k.rows, r)
		}
	}
	if len(k.rows) == 0 {
		return nil
	}
	if every := len(k.rows) / maxSought; every > 1 {
		var few []int
		for x := 0; x < len(k.rows); x += every {
			few = append(few, k.rows[x])
		}
		k.rows, k.slack = few, (k.slack+every-1)/every
	}
	for _, t := range k.targets() {
		k.binary(t)
		k.decimal(t)
	}
	k.derived()
	slices.SortStableFunc(k.found, func(a, b number) int { return cmp.Compare(a.cost, b.cost) })
	var found []number
	for _, h := range k.distinct() {
		if h.holds(s, slack) {
			found = append(found, h)
		}
	}
	return found
}

// maxSought is how many printed reads are looked at in the search; what is found there is held against all reads after.
const maxSought = 200

// distinct drops the dearer of two hypotheses that say the same, and all past the first few dozen. One behind a facility must
// have that facility in the read.
func (k *seeker) distinct() []number {
	seen := map[string]bool{}
	var r []number
	for _, h := range k.found {
		if len(r) == 32 {
			break
		}
		key := fmt.Sprint(h.at, h.Order, h.Coding, h.Inverse, h.Offset, h.Digits)
		if seen[key] {
			continue
		}
		if h.Print == PrintJoined || h.Print == PrintPair {
			h.facility = k.facility(&h)
			if h.facility == nil && h.Print == PrintJoined {
				continue // a constant prefix that is nowhere in the read is an offset
			}
		}
		seen[key] = true
		r = append(r, h)
	}
	return r
}

// targets returns the ways of reading what is printed as one number: whole, the part after the separator, or the last
// digits after a facility.
func (k *seeker) targets() []target {
	pair, low, digits, uneven := true, k.s.printed[k.rows[0]].low, 0, false
	for _, r := range k.rows {
		p := k.s.printed[r]
		pair = pair && p.low > 0
		uneven = uneven || p.low != low
		digits = max(digits, p.digits)
	}
	if pair {
		return []target{k.target(PrintPair, 0, 0, func(p printed) uint64 { return p.tail })}
	}
	all := []target{k.target(PrintFull, 0, 0, func(p printed) uint64 { return p.value })}
	div := uint64(10)
	for d := 1; d < digits; d++ {
		t := k.target(PrintJoined, d, costJoined+log2(float64(digits)), func(p printed) uint64 { return p.value % div })
		if k.fewAbove(div) {
			all = append(all, t)
		}
		div *= 10
	}
	return all
}

// fewAbove reports whether the digits above the given power of ten are one of a few numbers, as facilities are.
func (k *seeker) fewAbove(div uint64) bool {
	seen := map[uint64]bool{}
	for _, r := range k.rows {
		seen[k.s.printed[r].value/div] = true
	}
	return !seen[0] && len(seen) <= 1+len(k.rows)/4
}

func (k *seeker) target(form PrintForm, digits int, cost float64, value func(printed) uint64) target {
	t := target{form: form, digits: digits, cost: cost}
	for _, r := range k.rows {
		t.values = append(t.values, value(k.s.printed[r]))
	}
	return t
}

// table says which columns are which bits of the target: equal[j] is the set of columns that equal bit j, counted from the
// least significant, in all printed reads but slack.
type table struct {
	width int
	equal []mask
}

func (k *seeker) table(t target, inverse bool, width int) table {
	tab := table{width: width, equal: make([]mask, width)}
	cols := make([]vec, k.s.length)
	for i := range cols {
		cols[i] = newVec(len(k.rows))
		for x, r := range k.rows {
			if k.s.words[r].has(i) != inverse {
				cols[i].set(x)
			}
		}
	}
	for j := range width {
		bit := newVec(len(k.rows))
		for x, v := range t.values {
			if v>>uint(j)&1 == 1 {
				bit.set(x)
			}
		}
		for i := range cols {
			if differ(cols[i], bit) <= k.slack {
				tab.equal[j].add(i)
			}
		}
	}
	return tab
}

// widths returns how many bits the target's values take: all of them, and without the few that may be wrong. Which it is can't be
// seen from the values, since the highest bit of good ones may be as rare as misreads are.
func (k *seeker) widths(t target) []int {
	lens := make([]int, len(t.values))
	for x, v := range t.values {
		lens[x] = bits.Len64(v)
	}
	slices.Sort(lens)
	all := lens[len(lens)-1]
	if most := lens[max(len(lens)-1-k.slack, 0)]; most < all {
		return []int{most, all}
	}
	return []int{all}
}

// binary looks for the target as a binary number: one run of bits in either order, with its bytes or the bits of its bytes
// in the other order, or two runs.
func (k *seeker) binary(t target) {
	for _, inverse := range []bool{false, true} {
		for _, width := range k.widths(t) {
			if width > 0 {
				k.binaryOf(t, inverse, width)
			}
		}
	}
}

func (k *seeker) binaryOf(t target, inverse bool, width int) {
	tab := k.table(t, inverse, width)
	cost := t.cost
	if inverse {
		cost += costInverse
	}
	try := func(cost float64, place func(j int) int) {
		if at, ok := tab.place(k.s.length, place); ok {
			k.add(t, at, wiegand.Binary, inverse, cost)
		}
	}
	for i := range k.s.length {
		try(cost, func(j int) int { return i - j })
		try(cost+costLSB, func(j int) int { return i + j })
	}
	bytes := (width + 7) / 8
	for i := 0; bytes > 1 && i+8*bytes <= k.s.length; i++ {
		try(cost+costBytes, func(j int) int { return i + j&^7 + 7 - j&7 })
		try(cost+costBitBytes, func(j int) int { return i + 8*bytes - 8 - j&^7 + j&7 })
	}
	k.split(t, tab, inverse, cost)
}

// place returns the columns of a target's bits, most significant first, where each is where it should be. Whole bytes are
// filled up with columns that are zero.
func (tab *table) place(length int, place func(j int) int) ([]int, bool) {
	at := make([]int, tab.width)
	for j := range tab.width {
		i := place(j)
		if i < 0 || i >= length || !tab.equal[j].has(i) {
			return nil, false
		}
		at[tab.width-1-j] = i
	}
	return at, true
}

// split looks for the target in two runs, most significant bit first, each of at least two bits.
func (k *seeker) split(t target, tab table, inverse bool, cost float64) {
	run := func(from, to, i int) bool { // bits from to to-1 end at column i
		for j := from; j < to; j++ {
			if c := i - (j - from); c < 0 || !tab.equal[j].has(c) {
				return false
			}
		}
		return true
	}
	for low := 2; low <= tab.width-2; low++ {
		for i := range k.s.length {
			if !run(0, low, i) {
				continue
			}
			for h := range k.s.length {
				apart := h < i-low || h-(tab.width-low) >= i
				if !apart || !run(low, tab.width, h) {
					continue
				}
				at, _ := tab.place(k.s.length, func(j int) int {
					if j < low {
						return i - j
					}
					return h - (j - low)
				})
				k.add(t, at, wiegand.Binary, inverse, cost+costSplit+2*log2(float64(k.s.length)))
			}
		}
	}
}

// decimal looks for the target as decimal digits of 4 or 5 bits.
func (k *seeker) decimal(t target) {
	digits := 1
	for _, v := range t.values {
		digits = max(digits, len(fmt.Sprint(v)))
	}
	for _, c := range []struct {
		coding wiegand.Coding
		order  wiegand.Order
		width  int
		cost   float64
	}{
		{wiegand.BCD, wiegand.MSBFirst, 4, costBCD},
		{wiegand.BCD, wiegand.LSBFirst, 4, costBCD + costLSB},
		{wiegand.Digits5, wiegand.MSBFirst, 5, costDigits5},
	} {
		if digits < 2 || k.slack > 0 && digits < 3 {
			continue
		}
		for i := 0; i+c.width*digits <= k.s.length; i++ {
			h := number{Number: Number{Order: c.order, Coding: c.coding}}
			for j := range c.width * digits {
				h.at = append(h.at, i+j)
			}
			if k.agrees(&h, t, func(v uint64) uint64 { return v }) {
				k.keep(h, t, t.cost+c.cost)
			}
		}
	}
}

// agrees reports whether the hypothesis gives the target on all printed reads but slack, and notes which it does not.
func (k *seeker) agrees(h *number, t target, printed func(uint64) uint64) bool {
	h.misses = nil
	for x, r := range k.rows {
		if v, ok := h.valueOK(k.s.words[r]); !ok || printed(v) != t.values[x] {
			if h.misses = append(h.misses, r); len(h.misses) > k.slack {
				return false
			}
		}
	}
	return true
}

// add keeps a hypothesis about a binary number whose columns agree one by one, if they agree read by read as well.
func (k *seeker) add(t target, at []int, coding wiegand.Coding, inverse bool, cost float64) {
	h := number{Number: Number{Coding: coding, Inverse: inverse}, at: at}
	if k.agrees(&h, t, func(v uint64) uint64 { return v }) {
		k.keep(h, t, cost)
	}
}

// keep completes a hypothesis.
func (k *seeker) keep(h number, t target, cost float64) {
	if h.Print == PrintNone {
		h.Print, h.Digits = t.form, t.digits
	}
	h.cost = cost
	for _, i := range h.at {
		h.cols.add(i)
	}
	h.Bits, h.Order = spansInOrder(h.at, h.Coding, h.Order)
	h.misses = slices.Clone(h.misses)
	k.found = append(k.found, h)
}
