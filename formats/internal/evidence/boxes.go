package evidence

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// numbersLog is the log probability of the cards' numbers, which are in values. Where the cards have several
// facilities, a second order has numbers of its own as often as it goes on with those of the first: without that, two
// facilities with a box of cards each look like one long number without a facility.
func (w *Work) numbersLog(f int) float64 {
	m := &w.model.fields[f]
	if !w.severalFacilities(f) {
		return m.orSteps(w.values)
	}
	return m.byFacility(w.boxes, w.values, m.orSteps)
}

// orSteps is log, or that numbers are in equal steps: of some of many cards that would be so by how those were taken.
func (m *fieldModel) orSteps(values []uint64) float64 {
	log := m.log(values)
	if m.numbers == nil || m.usual != nil {
		return log
	}
	return m.numbers.OrSteps(log, density.StepsOf(values))
}

// byFacility is numbersLog for facilities and numbers, of which there are several; values is memory to work in. Each
// further facility has numbers of its own, or goes on with those of others: of few facilities all ways to share numbers
// are added up, as a Chinese restaurant process has them, of many that all share them or none do.
func (m *fieldModel) byFacility(boxes [][2]uint64, values []uint64, log func([]uint64) float64) float64 {
	slices.SortFunc(boxes, func(a, b [2]uint64) int { return cmp.Compare(a[0], b[0]) })
	var ends [mostSharing + 1]int
	facilities := 0
	for i := range boxes {
		if i == 0 || boxes[i][0] != boxes[i-1][0] {
			facilities++
		}
		if facilities <= mostSharing {
			ends[facilities] = i + 1
		}
	}
	if facilities > mostSharing {
		return m.byManyFacilities(boxes, values, log)
	}
	var logs [1 << mostSharing]float64 // of the numbers of each set of facilities together
	for set := 1; set < 1<<facilities; set++ {
		values = values[:0]
		var counts [mostSharing]int
		some := counts[:0]
		for f := range facilities {
			if set>>f&1 == 0 {
				continue
			}
			some = append(some, ends[f+1]-ends[f])
			for _, box := range boxes[ends[f]:ends[f+1]] {
				values = append(values, box[1])
			}
		}
		logs[set] = m.logShared(log(values), values, some)
	}
	// The sum over all ways to part a set: what is with its first facility, and the ways to part the rest.
	var ways [1 << mostSharing]float64
	for set := 1; set < 1<<facilities; set++ {
		mix := logp.NewMix()
		first := set & -set
		for part := set; part > 0; part = (part - 1) & set {
			if part&first != 0 {
				mix.Add(logStrength + logp.Factorial(bits.OnesCount(uint(part))-1) + logs[part] + ways[set&^part])
			}
		}
		ways[set] = mix.Log()
	}
	return ways[1<<facilities-1] - density.LogRising(judgement.OwnNumbers/(1-judgement.OwnNumbers), facilities)
}

var logStrength = math.Log(judgement.OwnNumbers / (1 - judgement.OwnNumbers))

// mostSharing is of how many facilities all ways to share numbers are looked at.
const mostSharing = 4

// byManyFacilities is byFacility where not all ways are looked at: all share their numbers, each has its own, or one
// has and the others' cards are from anywhere.
func (m *fieldModel) byManyFacilities(boxes [][2]uint64, values []uint64, log func([]uint64) float64) float64 {
	var counts []int
	apart, most, from := 0.0, 0.0, 0 // most is of the one with the most cards, which are from there on
	for i := 0; i < len(boxes); {
		start := i
		values = values[:0]
		for facility := boxes[i][0]; i < len(boxes) && boxes[i][0] == facility; i++ {
			values = append(values, boxes[i][1])
		}
		own := log(values)
		if apart += own; len(counts) == 0 || i-start > slices.Max(counts) {
			most, from = own, start
		}
		counts = append(counts, i-start)
	}
	all := func(boxes ...[][2]uint64) []uint64 {
		values = values[:0]
		for _, box := range slices.Concat(boxes...) {
			values = append(values, box[1])
		}
		return values
	}
	scattered := most + log(all(boxes[:from], boxes[from+slices.Max(counts):]))
	values = all(boxes)
	return logp.Add(math.Log(1-judgement.OwnNumbers)+m.logShared(log(values), values, counts),
		math.Log(judgement.OwnNumbers/2)+logp.Add(apart, scattered))
}

// severalFacilities gathers the cards' facilities and numbers into boxes, and reports whether the facilities differ;
// false where the format has none, or that of a card is not known.
func (w *Work) severalFacilities(number int) bool {
	if len(w.values) < 2 {
		return false
	}
	facility := w.model.format.Facility()
	if facility < 0 || facility == number {
		return false
	}
	w.boxes = w.boxes[:0]
	differ := false
	for i := range w.cards {
		c := &w.cards[i]
		if !c.Known.Has(number) {
			continue
		}
		n, whole := c.Record.Uint64(number)
		v, ok := c.Record.Uint64(facility)
		if !whole || !ok || !c.Known.Has(facility) {
			return false
		}
		w.boxes = append(w.boxes, [2]uint64{v, n})
		differ = differ || v != w.boxes[0][0]
	}
	return differ
}
