package learn

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// posterior is what one sample says: layouts in classes that predict the same, likeliest first.
type posterior struct {
	s       *sample
	f       *finder
	classes []prediction
	total   float64 // log2 of the weight of everything
}

// prediction is the layouts that predict the same read for every number.
type prediction struct {
	best layout
	logw float64
}

// infer weighs all layouts against a sample, taking every read as it is.
func infer(s *sample, set *patternSet) posterior {
	p := posterior{s: s, f: newFinder(s, set), total: math.Inf(-1)}
	var all []layout
	floor := math.Inf(-1)
	weigh := func(h *number, given int, doubt float64) {
		layouts, missed := p.f.weigh(h, given, floor+doubt)
		for _, l := range layouts {
			l.logw -= doubt
			floor = max(floor, l.logw)
			all = append(all, l)
		}
		p.total = logAdd(p.total, missed-doubt)
	}
	hyps := numbers(s, 0)
	for i := range hyps {
		weigh(&hyps[i], s.prints(), 0)
	}
	none := 0.0
	if s.prints() > 0 {
		none = costNone
	}
	for _, h := range sequences(s) {
		weigh(&h, s.n, none)
	}
	if s.prints() == 0 || len(hyps) == 0 || s.n < 4 {
		weigh(nil, 0, none)
	}
	for i := range all {
		p.total = logAdd(p.total, all[i].logw)
	}
	p.group(all)
	return p
}

// group puts layouts that predict the same together. Where the number is known from prints, what counts is the read that
// each gives for the numbers of the likeliest one: two ways of writing the same thing are one answer.
func (p *posterior) group(all []layout) {
	if len(all) == 0 {
		return
	}
	slices.SortStableFunc(all, func(a, b layout) int { return cmp.Compare(b.logw, a.logw) })
	all = all[:cut(all)]
	probes := all[0].probes()
	at := map[string]int{}
	for i := range all {
		key := p.signature(&all[i], probes)
		k, ok := at[key]
		if !ok {
			k = len(p.classes)
			at[key] = k
			p.classes = append(p.classes, prediction{best: all[i], logw: math.Inf(-1)})
		}
		c := &p.classes[k]
		c.logw = logAdd(c.logw, all[i].logw)
		if all[i].plainness() > c.best.plainness() {
			c.best = all[i]
		}
	}
	slices.SortStableFunc(p.classes, func(a, b prediction) int { return cmp.Compare(b.logw, a.logw) })
}

// cut returns how many of the sorted layouts are worth keeping.
func cut(all []layout) int {
	n := 0
	for n < len(all) && all[n].logw > all[0].logw-dropBits {
		n++
	}
	return n
}

// plainness is the weight of the layout with each check in its likeliest spelling alone.
func (l *layout) plainness() float64 {
	w := l.logw
	for _, c := range l.checks {
		w += c.class.best - c.class.logw
	}
	return w
}

// probability returns how likely the first class is.
func (p *posterior) probability() float64 {
	if len(p.classes) == 0 {
		return 0
	}
	return math.Min(1, math.Exp2(p.classes[0].logw-p.total))
}

// probes returns numbers at which two layouts that differ somewhere differ: for a binary number nothing, and each bit alone,
// since a read is an affine function of the number's bits.
func (l *layout) probes() []uint64 {
	if l.num == nil || l.num.Print == PrintNone || l.num.Print == PrintSequence {
		return nil
	}
	probes := []uint64{l.num.shown(0)}
	if l.num.Coding == wiegand.Binary {
		for j := range len(l.num.at) {
			probes = append(probes, l.num.shown(1<<uint(j)))
		}
		return probes
	}
	for v := uint64(1); v <= l.num.max(); v *= 10 {
		probes = append(probes, v, 2*v, 4*v, 8*v)
	}
	return probes
}

// max returns the highest number that fits.
func (h *number) max() uint64 {
	if h.Coding == wiegand.Binary {
		return 1<<uint(len(h.at)) - 1
	}
	n := 4
	if h.Coding == wiegand.Digits5 {
		n = 5
	}
	v := uint64(1)
	for range min(len(h.at)/n, 19) {
		v *= 10
	}
	return v - 1
}

// shown returns the printed number of the number v in the read, for prints that say all of it.
func (h *number) shown(v uint64) uint64 {
	if h.Print == PrintOffset {
		return v + uint64(h.Offset)
	}
	return v
}

// stored is the inverse of shown.
func (h *number) stored(v uint64) uint64 {
	if h.Print == PrintOffset {
		return v - uint64(h.Offset)
	}
	return v
}

// signature returns a text that two layouts share just where they predict the same.
func (p *posterior) signature(l *layout, probes []uint64) string {
	var b strings.Builder
	put := func(m mask) {
		for _, w := range m {
			for s := 56; s >= 0; s -= 8 {
				b.WriteByte(byte(w >> uint(s)))
			}
		}
	}
	put(l.rest.cols)
	if probes == nil || l.num == nil {
		if l.num != nil {
			for _, i := range l.num.at {
				b.WriteByte(byte(i))
			}
		}
		for i, c := range l.checks {
			if !l.resolved[i].empty() {
				b.WriteByte(byte(c.bit))
				put(l.resolved[i])
			}
		}
		return b.String()
	}
	for _, x := range probes {
		w, ok := p.predict(l, l.num.stored(x))
		if !ok {
			b.WriteByte('x')
			continue
		}
		put(w)
	}
	return b.String()
}

// predict returns the read of number v under a layout, with whatever is neither number nor check as in the first read. ok is
// false where the number does not fit.
func (p *posterior) predict(l *layout, v uint64) (w mask, ok bool) {
	first := p.s.words[0]
	w = first
	if !l.num.put(&w, v) {
		return mask{}, false
	}
	for i, c := range l.checks {
		m := l.resolved[i]
		bit := w.and(m).parity() ^ first.and(m).parity()
		w.drop(c.bit)
		if (bit == 1) != first.has(c.bit) {
			w.add(c.bit)
		}
	}
	return w, true
}

// put writes the number v into a read. ok is false where it does not fit.
func (h *number) put(w *mask, v uint64) bool {
	if v > h.max() {
		return false
	}
	if h.Coding != wiegand.Binary {
		h.putDigits(w, v)
		return true
	}
	if h.Inverse {
		v = ^v
	}
	for k, i := range h.at {
		if v>>uint(len(h.at)-1-k)&1 == 1 {
			w.add(i)
		} else {
			w.drop(i)
		}
	}
	return true
}

func (h *number) putDigits(w *mask, v uint64) {
	n := 4
	if h.Coding == wiegand.Digits5 {
		n = 5
	}
	for c := len(h.at) - n; c >= 0; c -= n {
		d, ones := v%10, uint64(0)
		v /= 10
		for j := range 4 {
			bit := d >> uint(3-j) & 1
			if n == 5 || h.Order == wiegand.LSBFirst {
				bit = d >> uint(j) & 1
			}
			ones ^= bit
			w.drop(h.at[c+j])
			if bit == 1 {
				w.add(h.at[c+j])
			}
		}
		if n == 5 {
			w.drop(h.at[c+4])
			if ones == 0 {
				w.add(h.at[c+4])
			}
		}
	}
}
