package learn

import "github.com/cardtell/cardtell/wiegand"

// steady is how large a part of the steps from one read to the next must be +1 for the cards to count as presented in
// sequence: a stack of new cards with a few missing, or a few misread.
const steady = 0.75

// sequences returns the hypotheses that the cards were presented one after the other with rising numbers: runs of bits that
// count up by one. Sixteen reads are the least from which that shows beyond doubt.
func sequences(s *sample) []number {
	if s.n < 16 {
		return nil
	}
	var found []number
	for _, order := range []wiegand.Order{wiegand.MSBFirst, wiegand.LSBFirst} {
		for low := range s.length {
			if s.varying.has(low) {
				if h, ok := longest(s, low, order); ok {
					found = append(found, h)
				}
			}
		}
	}
	return found
}

// steps returns how many steps from a read to the next make the number in these bits, most significant first, go up by one,
// wrapping round.
func steps(s *sample, at []int) int {
	h := number{at: at}
	wrap := uint64(1)<<uint(len(at)) - 1
	good := 0
	last := h.value(s.words[0])
	for _, w := range s.words[1:] {
		v := h.value(w)
		if v == (last+1)&wrap {
			good++
		}
		last = v
	}
	return good
}

// longest takes the run of bits from the lowest one up for as long as every step that counts up still does and its highest bit
// varies.
func longest(s *sample, low int, order wiegand.Order) (number, bool) {
	step := -1
	if order == wiegand.LSBFirst {
		step = 1
	}
	var at, best []int
	least := int(steady * float64(s.n-1))
	for i := low; i >= 0 && i < s.length && len(at) < 63; i += step {
		at = append([]int{i}, at...)
		if !s.varying.has(i) {
			continue
		}
		good := steps(s, at)
		if good < least {
			break
		}
		least, best = good, at
	}
	// Two bits that count could be anything, such as a number's lowest bit and a parity bit beside it.
	if len(best) < 3 {
		return number{}, false
	}
	h := number{at: best, cost: float64(len(best))}
	h.Print, h.near = PrintSequence, true
	if order == wiegand.LSBFirst {
		h.cost += costLSB
	}
	for _, i := range best {
		h.cols.add(i)
	}
	h.Bits, h.Order = spansInOrder(best, wiegand.Binary, order)
	return h, true
}
