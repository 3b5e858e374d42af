package line

import (
	"math"
	"slices"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// roundedStep returns the sampling step that pulses show where it is no whole number of the unit to which the file has
// rounded their times, else 0. The error of a step adds up from one to the next, so that no common divisor of the times
// finds it, even one that leaves a rest. Instead each step is tried of which the shortest pulse lasts one and which
// divides the read: from the first edge to the last, every edge must then be within a unit of a whole step.
//
// Steady pulses keep to any step that divides their pace. What shows a recorder's are intervals so uneven that by
// chance none of the steps tried would fit; where the read before has shown that step, one that fits is enough.
func roundedStep(pulses []Pulse, unit, before time.Duration) time.Duration {
	const most, chance = 1 << 12, 1e-4
	shortest, end := time.Duration(math.MaxInt64), time.Duration(0)
	for _, p := range pulses {
		if p.Width > 0 {
			shortest = min(shortest, p.Width)
		}
		end = max(end, p.At+p.Width-pulses[0].At)
	}
	if unit <= 0 || unit > shortest/16 || shortest == math.MaxInt64 {
		return 0
	}
	from, to := end/(shortest+unit), end/(shortest-unit)+1
	if to-from > most {
		return 0
	}
	for n := max(1, from); n <= to; n++ {
		step := float64(end) / float64(n)
		found := time.Duration(math.Round(step))
		if !fitsSteps(pulses, step, float64(unit)) {
			continue
		}
		within := math.Pow(3*float64(unit)/step, float64(unevenness(pulses, step))) * float64(to-from+1)
		if within < chance || distance(found, before) <= unit {
			return found
		}
	}
	return 0
}

// fitsSteps tells whether all edges are within a unit of whole steps after the first one.
func fitsSteps(pulses []Pulse, step, unit float64) bool {
	off := func(at time.Duration) bool {
		return math.Abs(math.Remainder(float64(at-pulses[0].At), step)) > unit
	}
	return !slices.ContainsFunc(pulses, func(p Pulse) bool { return off(p.At) || off(p.At+p.Width) })
}

// unevenness returns how many intervals tell, each by itself, that all last whole steps. Those that a reader keeps to
// tell it once: one of its pauses between bytes, and none where pulses are lost, which leaves whole beats. Where some
// differ by one step, as those of a steady reader do in samples, each change from one to the next tells it.
func unevenness(pulses []Pulse, step float64) int {
	var intervals [wiegand.MaxBits]int
	v := intervals[:0]
	for i := 1; i < min(len(pulses), len(intervals)); i++ {
		v = append(v, int(math.Round(float64(pulses[i].At-pulses[i-1].At)/step)))
	}
	changes, byOne := 0, false
	for i := 1; i < len(v); i++ {
		changes += int(boolBit(v[i] != v[i-1]))
		byOne = byOne || v[i]-v[i-1] == 1 || v[i-1]-v[i] == 1
	}
	if byOne {
		return changes
	}
	slices.Sort(v)
	different := 0
	for _, n := range slices.Compact(v) {
		different += int(boolBit(n%max(1, v[0]) > 0))
	}
	return different
}
