package evidence

import "slices"

// others is the values that other cards have in a field, for asking how probable one more is.
type others struct {
	sorted  []uint64
	log     float64 // of them, once it was asked for
	asked   bool
	halves  halving // their parts, which are kept
	scratch []uint64
}

// reset forgets all values, and keeps the memory.
func (o *others) reset() { *o = others{sorted: o.sorted[:0], scratch: o.scratch} }

// take adds a value, of which next is the log probability given those that are there.
func (o *others) take(v uint64, next float64) {
	at, _ := slices.BinarySearch(o.sorted, v)
	o.sorted = slices.Insert(o.sorted, at, v)
	o.log += next
	o.halves.forget(v, o.sorted)
}

// given returns the log probability of the values under the model that is asked, the same each time.
func (o *others) given(log func([]uint64) float64) float64 {
	if !o.asked {
		o.log, o.asked = log(o.sorted), true
	}
	return o.log
}

// with returns the values with one more, until it is called again.
func (o *others) with(v uint64) []uint64 {
	at, _ := slices.BinarySearch(o.sorted, v)
	o.scratch = append(append(append(o.scratch[:0], o.sorted[:at]...), v), o.sorted[at:]...)
	return o.scratch
}

// halving returns the values with one more as parts of a field.
func (o *others) halving(n *Numbers, v uint64) *halving {
	h := &o.halves
	if h.kept == nil {
		*h = halving{limit: n.limit, whole: n.whole, sorted: o.sorted, another: true, kept: map[stretch]wide{}}
	}
	_, there := slices.BinarySearch(o.sorted, v)
	h.more, h.different = v, !there && allDifferent(o.sorted)
	return h
}
