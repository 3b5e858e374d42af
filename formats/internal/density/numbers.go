// Package density says how probable the values are that the cards of one kind have in a field: numbers, which are
// different on every card ([Numbers]), and facilities and the like, of which there are few ([Few]). Probabilities are
// natural logarithms unless a name says otherwise.
package density

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Numbers is how the numbers of a kind of card are distributed over their field: anyhow, counted up from 1, or in
// boxes at any place and of any size. Which, and how dense, is summed over by halving the field again and again: in
// each part the numbers are spread evenly from here on, or all lie in one half of it, or some lie in each. So a box
// costs what it takes to say where it is, and numbers that are spread cost nothing more than being spread. That finds
// several boxes; one box by itself, which may lie across a border of halves, has a closed form besides. All over all
// lists of numbers adds up to 1.
type Numbers struct {
	Width    int         // bits
	limit    float64     // values: 2^width, or fewer for decimal digits
	whole    bool        // limit is 2^width
	spread   float64     // share of kinds whose numbers lie anyhow
	up       float64     // of those that count up from 1; the others lie in boxes
	single   [65]float64 // of one number that counts up from 1, by its length
	harmonic float64     // of limit+1
	anyhow   float64     // of one number that does not count up from 1
	beyond   float64     // 1/(limit+1)
}

// NewNumbers makes the model of a field of so many bits (0 to 64), which holds limit values; spread is the share of
// kinds whose numbers are spread evenly over all of it.
func NewNumbers(width int, limit, spread float64) Numbers {
	return newNumbers(width, limit, spread, (1-spread)*judgement.FromOne)
}

// newNumbers is NewNumbers where it is said which share of kinds counts up from 1.
func newNumbers(width int, limit, spread, up float64) Numbers {
	n := Numbers{Width: width, limit: limit, whole: limit >= math.Ldexp(1, width), spread: spread, up: up}
	n.harmonic, n.beyond, n.anyhow = harmonic(limit+1), 1/(limit+1), (1-up)/limit
	n.fillSingle()
	return n
}

// fillSingle works out the probability of one number that counts up from 1, by halving, which depends on its length in
// bits alone.
func (n *Numbers) fillSingle() {
	left, counted := 1.0, 0.0 // the chance to get this deep on the way of zeros; the sum of what ended on it
	for r := n.Width; r >= 0; r-- {
		counted += left * stops[r] * Halved(r)
		n.single[r] = counted
		if r > 0 { // the highest bit is 1: off the way of zeros, where either half is as likely as the other
			n.single[r] += left * (1 - stops[r]) * (1 - judgement.StaysLow) / 2 * Halved(r-1)
		}
		left *= (1 - stops[r]) * (judgement.StaysLow + (1-judgement.StaysLow)/2)
	}
}

// stops[r] is the chance that a part of 2^r values is spread evenly, if no larger one is: so that all usual sizes of
// boxes are as likely.
var stops = func() (s [65]float64) {
	sum := 0.0
	for r := range s {
		w := 1.0
		if r < judgement.SmallBox || r > judgement.LargeBox {
			w = judgement.RareBox
		}
		sum += w
		s[r] = w / sum
	}
	return s
}()

// Single returns the log probability of one number by itself.
func (n *Numbers) Single(v uint64) float64 { return math.Log(n.Chance(v)) }

// Chance is the probability of one number by itself.
func (n *Numbers) Chance(v uint64) float64 {
	if !n.whole {
		return n.alone(v)
	}
	counted := n.single[bits.Len64(v)]
	if n.limit > 1 {
		counted = (counted + (1/(float64(v)+1)-n.beyond)/(n.harmonic-1)) / 2
	}
	return n.anyhow + n.up*counted
}

// alone is Log for one number, without the sums that one number does not need: half of all halves have it.
func (n *Numbers) alone(v uint64) float64 {
	up, w := 0.0, 1.0 // what ended on the way of zeros, and the chance to get this deep on it
	r, high := n.Width, uint64(0)
	for ; r > 0 && high == 0; r-- {
		if half := uint64(1) << (r - 1); float64(half) < n.limit {
			up += w * stops[r] / min(Halved(-r), n.limit)
			if w *= 1 - stops[r]; v < half {
				w *= judgement.StaysLow + (1-judgement.StaysLow)/2
			} else {
				w *= (1 - judgement.StaysLow) / 2
				high = half
			}
		}
	}
	up += w * n.within(v, r, high)
	boxes := (n.within(v, n.Width, 0) + 1/n.limit) / 2
	up = (up + counted(1, v, n.limit, n.harmonic).f) / 2
	return n.spread/n.limit + (1-n.spread-n.up)*boxes + n.up*up
}

// within is halving.part for one number.
func (n *Numbers) within(v uint64, r int, base uint64) (p float64) {
	w := 1.0
	for ; r > 0; r-- {
		high := base + 1<<(r-1)
		if float64(high) >= n.limit { // there is no upper half
			continue
		}
		p += w * stops[r] / min(Halved(-r), n.limit-float64(base))
		w *= (1 - stops[r]) / 2
		if v >= high {
			base = high
		}
	}
	return p + w
}

// Log returns the log probability of the numbers of a kind, in the order in which they are given. They must be sorted.
func (n *Numbers) Log(sorted []uint64) float64 {
	switch len(sorted) {
	case 0:
		return 0
	case 1:
		return n.Single(sorted[0])
	}
	return n.log(&Halving{Limit: n.limit, Whole: n.whole, Different: AllDifferent(sorted), Sorted: sorted})
}

// log is Log for numbers that are ready for halving.
func (n *Numbers) log(t *Halving) float64 {
	all := len(t.Sorted)
	low, high := t.ends(0, all, n.Width, 0)
	boxes, up := t.First(0, all, n.Width)
	return n.Mix(t.count(0, all, n.Width, 0), low, high, t.Different, boxes, up).Log()
}

// Mix adds up all ways in which so many numbers can lie, given what halving has of boxes and of numbers that count up;
// where all are different, there are closed forms besides, and they are spread as different numbers are.
func (n *Numbers) Mix(count int, low, high uint64, different bool, boxes, up Wide) Wide {
	even := evenly(count, n.Width, n.whole, n.limit)
	if float64(count) <= n.limit { // else there can't be so many different ones
		even, boxes, up = even.Scale(0.5), boxes.Scale(0.5), up.Scale(0.5)
		if different {
			even = even.Add(falling(n.limit, count).inverse().Scale(0.5))
			boxes = boxes.Add(box(count, high-low, n.limit, n.harmonic).Scale(0.5))
			up = up.Add(counted(count, high, n.limit, n.harmonic).Scale(0.5))
		}
	}
	return even.Scale(n.spread).Add(boxes.Scale(1 - n.spread - n.up)).Add(up.Scale(n.up))
}

// evenly is n numbers spread over 2^r values, or where that is not whole over so many.
func evenly(n, r int, whole bool, values float64) Wide {
	switch {
	case whole:
		return Power(n * r)
	case n > MostLinear:
		return wideOf(-float64(n) * math.Log(values))
	}
	p := One
	for range n {
		p = p.Scale(1 / values)
	}
	return p
}

// Next returns the log probability of one more number, given others.
func (n *Numbers) Next(v uint64, o *Others) float64 {
	if len(o.Sorted) == 0 {
		return n.Single(v)
	}
	halving, _ := o.halving(n, v)
	return n.log(halving) - o.Given(n.Log)
}

// NextOrSteps is Next where numbers may be in equal steps.
func (n *Numbers) NextOrSteps(v uint64, o *Others) float64 {
	if len(o.Sorted) == 0 {
		return n.Single(v)
	}
	given := o.Given(n.Log) // with the steps of the others
	halving, there := o.halving(n, v)
	return n.OrSteps(n.log(halving), o.stepsWith(v, there)) - n.OrSteps(given, o.steps)
}

// Halving works out parts of a field. The numbers of a part are those of sorted from lo to hi-1, and one more where it
// lies there.
type Halving struct {
	Limit     float64  // how many values the field holds
	Whole     bool     // as many as its bits have
	Different bool     // all numbers are, so that they can be boxes in closed form
	Sorted    []uint64 // the numbers, in rising order
	more      uint64   // one more number, where another is
	another   bool
	kept      map[stretch]Wide // what parts come to in which the one more is not; nil where nothing is kept
}

// stretch is a part whose value is kept.
type stretch struct {
	base      uint64
	r         int
	different bool
	low       bool
	side      float64 // as part has it
}

// forget leaves out what is kept of parts in which a number lies that is now among the sorted ones.
func (t *Halving) forget(v uint64, sorted []uint64) {
	t.Sorted = sorted
	for r := range 65 {
		for _, different := range [...]bool{false, true} {
			part := stretch{v >> r << r, r, different, false, judgement.OneSide}
			low, several := part, part
			low.low, several.side = true, judgement.SeveralSide
			delete(t.kept, part)
			delete(t.kept, low)
			delete(t.kept, several)
		}
	}
}

// holds reports whether the one more number lies in the 2^r values from base on.
func (t *Halving) holds(r int, base uint64) bool {
	return t.another && t.more >= base && (t.more-base)>>r == 0
}

// count returns how many numbers a part has.
func (t *Halving) count(lo, hi, r int, base uint64) int {
	if t.holds(r, base) {
		return hi - lo + 1
	}
	return hi - lo
}

// ends returns the lowest and the highest number of a part that has some.
func (t *Halving) ends(lo, hi, r int, base uint64) (least, most uint64) {
	if !t.holds(r, base) {
		return t.Sorted[lo], t.Sorted[hi-1]
	}
	if least, most = t.more, t.more; lo < hi {
		least, most = min(least, t.Sorted[lo]), max(most, t.Sorted[hi-1])
	}
	return least, most
}

// cut returns where the numbers of a part from high on begin.
func (t *Halving) cut(lo, hi int, high uint64) int {
	switch {
	case lo == hi || t.Sorted[hi-1] < high:
		return hi
	case t.Sorted[lo] >= high:
		return lo
	}
	return lo + place(t.Sorted[lo:hi], high)
}

// values returns how many values of the field lie in a part.
func (t *Halving) values(r int, base uint64) float64 {
	return min(Halved(-r), t.Limit-float64(base))
}

func (t *Halving) evenly(n, r int, base uint64) Wide {
	if t.Whole {
		return Power(n * r)
	}
	return evenly(n, r, false, t.values(r, base))
}

// found returns what a part came to before, if that is kept.
func (t *Halving) found(key stretch, base uint64) (p Wide, ok bool) {
	if t.kept == nil || t.holds(key.r, base) {
		return p, false
	}
	p, ok = t.kept[key]
	return p, ok
}

// keep keeps what a part comes to.
func (t *Halving) keep(key stretch, base uint64, p Wide) Wide {
	if t.kept != nil && !t.holds(key.r, base) {
		t.kept[key] = p
	}
	return p
}

// part returns the probability of the numbers in the 2^r values from base on, once it is known that they are there.
// side is the chance that all of them are in one half.
func (t *Halving) part(lo, hi, r int, base uint64, side float64) Wide {
	switch n := t.count(lo, hi, r, base); {
	case n == 0 || r == 0:
		return One
	case n == 1 && t.Whole:
		return Power(r)
	case !t.another && t.values(r, base) == Halved(-r): // all of its values are in the field
		return t.plain(t.Sorted[lo:hi], r, side)
	}
	key := stretch{base, r, t.Different, false, side}
	if p, ok := t.found(key, base); ok {
		return p
	}
	high := base + 1<<(r-1)
	if !t.Whole && float64(high) >= t.Limit { // there is no upper half
		return t.keep(key, base, t.part(lo, hi, r-1, base, side))
	}
	at := t.cut(lo, hi, high)
	below, above := t.count(lo, at, r-1, base), t.count(at, hi, r-1, high)
	var rest Wide
	switch 0 {
	case above:
		rest = oneHalf(below, t.part(lo, at, r-1, base, side), side)
	case below:
		rest = oneHalf(above, t.part(at, hi, r-1, high, side), side)
	default:
		rest = t.piece(lo, at, r-1, base).mul(t.piece(at, hi, r-1, high)).mul(orders(below, above))
		rest = rest.Scale(1 - side)
	}
	return t.keep(key, base, StopOrGo(r, t.evenly(below+above, r, base), rest))
}

// plain is part where it is whole and has these numbers: what they begin with alike needs no look at each half.
func (t *Halving) plain(sorted []uint64, r int, side float64) Wide {
	n := len(sorted)
	if n == 1 {
		return Power(r)
	}
	p := One
	apart := bits.Len64(sorted[0] ^ sorted[n-1]) // of the smallest part that has all
	if apart > 0 {
		at := place(sorted, sorted[n-1]>>(apart-1)<<(apart-1))
		p = t.plainPiece(sorted[:at], apart-1).mul(t.plainPiece(sorted[at:], apart-1)).mul(orders(at, n-at))
		p = StopOrGo(apart, Power(n*apart), p.Scale(1-side))
	}
	for k := apart + 1; k <= r; k++ {
		p = StopOrGo(k, Power(n*k), oneHalf(n, p, side))
	}
	return p
}

// plainPiece is piece of plain.
func (t *Halving) plainPiece(sorted []uint64, r int) Wide {
	n := len(sorted)
	p := t.plain(sorted, r, judgement.SeveralSide)
	return OrBox(p, n, sorted[n-1]-sorted[0], t.Different, Halved(-r), HarmonicBits[r])
}

// OneHalf is the chance that all of n numbers of a field lie in one half, times what they come to there.
func OneHalf(n int, there Wide) Wide { return oneHalf(n, there, judgement.OneSide) }

func oneHalf(n int, there Wide, side float64) Wide {
	return there.Scale(side/2 + (1-side)/float64(n+1))
}

// StopOrGo adds up that a part of 2^r values is spread evenly, and that it is halved.
func StopOrGo(r int, even, halved Wide) Wide {
	return even.Scale(stops[r]).Add(halved.Scale(1 - stops[r]))
}

// piece is part for numbers that lie apart from others: as often they are one box, in closed form, so that several
// boxes cost what each would alone; else they are several.
func (t *Halving) piece(lo, hi, r int, base uint64) Wide {
	return t.boxed(t.part(lo, hi, r, base, judgement.SeveralSide), lo, hi, r, base)
}

// boxed is piece, given what part is.
func (t *Halving) boxed(p Wide, lo, hi, r int, base uint64) Wide {
	n := t.count(lo, hi, r, base)
	if n < 2 {
		return p
	}
	least, most := t.ends(lo, hi, r, base)
	harmonicLimit := HarmonicBits[r]
	if !t.Whole {
		harmonicLimit = harmonic(t.values(r, base) + 1)
	}
	return OrBox(p, n, most-least, t.Different, t.values(r, base), harmonicLimit)
}

// orCounted is that the numbers of the first 2^r values are p or, as often, one box that begins with the lowest of
// them, in closed form.
func (t *Halving) orCounted(p Wide, lo, hi, r int) Wide {
	n := t.count(lo, hi, r, 0)
	if n < 2 || float64(n) > t.values(r, 0) {
		return p
	}
	if _, most := t.ends(lo, hi, r, 0); t.Different {
		harmonicLimit := HarmonicBits[r]
		if !t.Whole {
			harmonicLimit = harmonic(t.values(r, 0) + 1)
		}
		p = p.Add(counted(n, most, t.values(r, 0), harmonicLimit))
	}
	return p.Scale(0.5)
}

// OrBox is that numbers are p or, as often, one box in closed form.
func OrBox(p Wide, n int, span uint64, different bool, values, harmonicLimit float64) Wide {
	switch {
	case n < 2 || float64(n) > values:
		return p
	case !different:
		return p.Scale(0.5)
	}
	return p.Add(box(n, span, values, harmonicLimit)).Scale(0.5)
}

// First returns what part does for the first 2^r values of the field, and the same for numbers that count up from 1:
// those of the lower half are likelier to be all.
func (t *Halving) First(lo, hi, r int) (part, low Wide) {
	n := t.count(lo, hi, r, 0)
	if n == 0 || r == 0 {
		return One, One
	}
	key := stretch{0, r, t.Different, false, judgement.OneSide}
	lowKey := key
	lowKey.low = true
	if part, ok := t.found(key, 0); ok {
		low, _ = t.found(lowKey, 0)
		return part, low
	}
	high := uint64(1) << (r - 1)
	if !t.Whole && float64(high) >= t.Limit { // there is no upper half
		return t.First(lo, hi, r-1)
	}
	at := t.cut(lo, hi, high)
	below := t.count(lo, at, r-1, 0)
	part, low = t.First(lo, at, r-1)
	if below == n {
		part, low = OneHalf(n, part), t.notLow(low.Scale(1/float64(n+1)), lo, hi, r).Add(low.Scale(judgement.StaysLow))
	} else {
		side := judgement.OneSide
		if below > 0 {
			side = judgement.SeveralSide
		}
		upper, order := t.part(at, hi, r-1, high, side), orders(below, n-below)
		part = OneHalf(n, upper)
		upper = t.boxed(upper, at, hi, r-1, high)
		if below > 0 {
			part = t.piece(lo, at, r-1, 0).mul(upper).mul(order).Scale(1 - judgement.OneSide)
		}
		low = t.notLow(t.orCounted(low, lo, at, r-1).mul(upper).mul(order), lo, hi, r)
	}
	even := t.evenly(n, r, 0)
	if part = StopOrGo(r, even, part); n == 1 && t.Whole {
		part = Power(r)
	}
	return t.keep(key, 0, part), t.keep(lowKey, 0, StopOrGo(r, even, low))
}

// notLow is that numbers which count up from 1 are not said to be all in the lower half of the first 2^r values: then
// they lie as halves tell or, as often, in one box that begins somewhere, so that where a low box lies across the
// border of the halves it is one.
func (t *Halving) notLow(halves Wide, lo, hi, r int) Wide {
	return t.boxed(halves, lo, hi, r, 0).Scale(1 - judgement.StaysLow)
}

// orders returns a!b!/(a+b+1)!, as Orders has it.
func orders(a, b int) Wide {
	if a+b < len(fewOrders) {
		return Wide{f: fewOrders[a][b]}
	}
	return wideOf(logp.Orders(a, b))
}

var fewOrders = func() (t [MostLinear + 1][MostLinear + 1]float64) {
	for a := range t {
		for b := range t {
			t[a][b] = math.Exp(logp.Orders(a, b))
		}
	}
	return t
}()

// place returns how many of the sorted numbers are below v.
func place(sorted []uint64, v uint64) int {
	at, _ := slices.BinarySearch(sorted, v)
	return at
}
