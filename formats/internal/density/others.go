package density

import "slices"

// Others is the values that other cards have in a field, for asking how probable one more is.
type Others struct {
	Sorted  []uint64 // the values, in rising order
	log     float64  // of them, but for steps, once it was asked for
	steps   Steps
	asked   bool
	halves  Halving            // their parts, which are kept
	next    map[uint64]float64 // what Few.Next said, by the value: few are asked about, again and again
	scratch []uint64
}

// Reset forgets all values, and keeps the memory.
func (o *Others) Reset() {
	clear(o.next)
	*o = Others{Sorted: o.Sorted[:0], next: o.next, scratch: o.scratch}
}

// Take adds a value.
func (o *Others) Take(v uint64) {
	at, _ := slices.BinarySearch(o.Sorted, v)
	o.Sorted = slices.Insert(o.Sorted, at, v)
	o.asked = false
	o.halves.forget(v, o.Sorted)
	clear(o.next)
}

// Given returns the log probability of the values under the model that is asked, the same each time.
func (o *Others) Given(log func([]uint64) float64) float64 {
	if !o.asked {
		o.log, o.steps, o.asked = log(o.Sorted), StepsOf(o.Sorted), true
	}
	return o.log
}

// With returns the values with one more, until it is called again.
func (o *Others) With(v uint64) []uint64 {
	at, _ := slices.BinarySearch(o.Sorted, v)
	o.scratch = append(append(append(o.scratch[:0], o.Sorted[:at]...), v), o.Sorted[at:]...)
	return o.scratch
}

// halving returns the values with one more as parts of a field, and whether there is the same already.
func (o *Others) halving(n *Numbers, v uint64) (h *Halving, there bool) {
	h = &o.halves
	if h.kept == nil {
		*h = Halving{Limit: n.limit, Whole: n.whole, Sorted: o.Sorted, another: true, kept: map[stretch]Wide{}}
	}
	_, there = slices.BinarySearch(o.Sorted, v)
	h.more, h.Different = v, !there && AllDifferent(o.Sorted)
	return h, there
}
