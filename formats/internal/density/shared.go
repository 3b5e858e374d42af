package density

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Shared is the log probability of numbers of which several facilities have some out of one range, no facility one of
// them twice: counts is how many each has, low and high are the lowest and the highest of all. They lie anywhere in the
// field, or low as numbers that count up from 1, or are spread over all of it.
func (n *Numbers) Shared(low, high uint64, counts []int) float64 {
	most, even := float64(slices.Max(counts)), 0.0
	if most > float64(high-low)+1 {
		return logp.Never
	}
	for _, k := range counts {
		even -= falling(n.limit, k).Log()
	}
	place, left := (1-n.spread-n.up)/n.limit, n.up // of the range's beginning
	for r := n.Width; r > 0; r-- {
		size := min(Halved(-r), n.limit)
		if float64(high) >= size {
			break
		}
		place += left * (1 - judgement.StaysLow) / size
		left *= judgement.StaysLow
	}
	boxes := math.Log(place) + n.ranges(float64(high-low), counts) - math.Log(n.harmonic-harmonic(most))
	return logp.Add(math.Log(n.spread)+even, boxes)
}

// ranges sums over the sizes of a range that holds numbers of which the lowest is so far below the highest: how often
// it is at a place that holds them, and the numbers of each facility, each order of them as likely.
func (n *Numbers) ranges(span float64, counts []int) float64 {
	mix, all := logp.NewMix(), 0
	for _, k := range counts {
		all += k
	}
	for from := span + 1; from <= n.limit; {
		step := min(max(1, math.Floor(from/float64(rangeSteps*all))), n.limit-from+1)
		size := from + (step-1)/2
		from += step
		log := math.Log((size - span) / (size + 1))
		for _, k := range counts {
			log -= falling(size, k).Log()
		}
		if mix.Add(log + math.Log(step)); log < mix.Top-logp.CutOff/2 {
			break
		}
	}
	return mix.Log()
}

// rangeSteps is how many sizes of a range are looked at while their probability falls to about a third: it does so by
// the size of the range itself, shared among all numbers.
const rangeSteps = 8
