package learn

import "github.com/cardtell/cardtell/wiegand"

// Where a number and its facility are: bits written as spans, and the search for the facility beside the number.

// spansInOrder writes bits, most significant first, as spans. Runs that fall are spans of a field with its last bit first.
func spansInOrder(at []int, coding wiegand.Coding, order wiegand.Order) (wiegand.Spans, wiegand.Order) {
	if coding != wiegand.Binary {
		return wiegand.Spans{{From: at[0] + 1, To: at[len(at)-1] + 1}}, order
	}
	if len(at) > 1 && at[0] == at[1]+1 && at[0]-at[len(at)-1] == len(at)-1 {
		return wiegand.Spans{{From: at[len(at)-1] + 1, To: at[0] + 1}}, wiegand.LSBFirst
	}
	var s wiegand.Spans
	for _, i := range at {
		if last := len(s) - 1; last >= 0 && s[last].To == i {
			s[last].To = i + 1
		} else {
			s = append(s, wiegand.Span{From: i + 1, To: i + 1})
		}
	}
	return s, wiegand.MSBFirst
}

// facility finds the run of bits that holds the facility as printed: of those that do, the one nearest to the number, and
// of these the longest, since what is left over are zeros before it.
func (k *seeker) facility(h *number) wiegand.Spans {
	var best wiegand.Spans
	bestGap := k.s.length
	at := h.cols.list()
	for _, r := range k.facilities(h) {
		if !span(r.from, r.to).and(h.cols).empty() {
			continue
		}
		if gap := min(distance(r.to, at), distance(r.from, at)); gap <= bestGap {
			best, bestGap = wiegand.Spans{{From: r.from + 1, To: r.to + 1}}, gap
		}
	}
	return best
}

// bitRun is a run of bits by its first and last index.
type bitRun struct{ from, to int }

// printKey is all that decides what facility is printed on the cards.
type printKey struct {
	print         PrintForm
	digits, slack int
}

// facilities returns the runs that hold the facility as printed, wherever the number is: worked out once, since many hypotheses
// share a way of printing.
func (k *seeker) facilities(h *number) []bitRun {
	key := printKey{h.Print, h.Digits, k.slack}
	if held, ok := k.runs[key]; ok {
		return held
	}
	var held []bitRun
	for i := range k.s.length {
		for w := 1; w <= min(k.s.length-i, 63); w++ {
			if k.facilityAt(h, i, w) {
				held = append(held, bitRun{i, i + w - 1})
			}
		}
	}
	if k.runs == nil {
		k.runs = map[printKey][]bitRun{}
	}
	k.runs[key] = held
	return held
}

// distance is how far index i is from the nearest of some others.
func distance(i int, others []int) int {
	best := wiegand.MaxBits
	for _, j := range others {
		best = min(best, max(i-j, j-i))
	}
	return best
}

// facilityAt reports whether the w bits from index i on hold the facility of every printed read that h does not miss.
func (k *seeker) facilityAt(h *number, i, w int) bool {
	f := number{at: run(i, w, wiegand.MSBFirst)}
	div := uint64(1)
	for range h.Digits {
		div *= 10
	}
	misses := 0
	for _, r := range k.rows {
		want := k.s.printed[r].high
		if h.Print == PrintJoined {
			want = k.s.printed[r].value / div
		}
		if f.value(k.s.words[r]) != want {
			if misses++; misses > k.slack {
				return false
			}
		}
	}
	return true
}
