package relate

import (
	"math/bits"
	"math/rand/v2"
	"slices"
)

// Probes: numbers that were not given, by which rules that fit all pairs are told apart.

// outputs returns what a rule makes of each probe, "" where it can't take it. Rules that make the same of all are one.
func (q *question) outputs(r *Rule) []string {
	var buf [96]byte
	all := make([]string, len(q.probes))
	for i, p := range q.probesAs(&r.from) {
		if p.ok {
			if b, ok := r.appendNumber(buf[:0], p.number); ok {
				all[i] = string(b)
			}
		}
	}
	return all
}

// probe is a probe as some text has it; ok is false where it is none.
type probe struct {
	number uint64
	ok     bool
}

// probesAs returns the probes as a text has them.
func (q *question) probesAs(t *Text) []probe {
	all, ok := q.probed[*t]
	if !ok {
		all = make([]probe, len(q.probes))
		for i, p := range q.probes {
			all[i].number, all[i].ok = t.parse(p)
		}
		q.probed[*t] = all
	}
	return all
}

// probeCount is how many probes of each sort there are.
const probeCount = 12

// questions returns texts of the same kind as A: numbers beside those given, then any. They are the same every time.
func (q *question) questions(t Text) []string {
	rng := rand.New(rand.NewPCG(0x9E3779B97F4A7C15, 1))
	padded := func(a string) bool { return len(a) > 1 && a[0] == '0' }
	if t.Kind == Decimal && t.Digits == 0 && slices.ContainsFunc(q.bareA, padded) {
		t.Digits = len(q.bareA[0])
	}
	given := map[string]bool{}
	widest := 1
	var nums []uint64
	for _, p := range q.pairs[:min(len(q.pairs), 4)] {
		if v, ok := t.parse(p.A); ok {
			nums = append(nums, v)
			widest = max(widest, bits.Len64(v))
		}
	}
	for _, a := range q.bareA {
		given[a] = true
	}
	all := q.beside(nums, t, rng, widest)
	if t.Kind < BitText {
		all = append(all, 1<<32-1, 1<<31, 1<<24-1, 1<<16-1)
		for i := range probeCount {
			all = append(all, rng.Uint64()>>32, rng.Uint64()>>40, rng.Uint64()>>uint(64-widest), uint64(i))
		}
	}
	var r []string
	var buf [96]byte
	for _, v := range all {
		if b, ok := t.append(buf[:0], v); ok && !given[string(b)] {
			given[string(b)] = true
			r = append(r, string(b))
		}
	}
	return r
}

// beside returns numbers that a person may be able to look up: the next ones, others with the same facility, others
// with the same number. Reads are made good ones of every format of their length.
func (q *question) beside(nums []uint64, t Text, rng *rand.Rand, widest int) []uint64 {
	var all []uint64
	if t.Kind.ofRead() {
		for _, f := range q.frames {
			for range probeCount {
				if v, ok := f.frame.add(rng.Uint64() >> uint(64-f.frame.width)); ok && f.frame.length == t.Bits {
					all = append(all, v)
				}
			}
		}
	}
	for _, v := range nums {
		all = append(all, v+1, v&^0xFFFF|uint64(rng.Uint32()>>16), v&0xFFFF|uint64(rng.Uint32()>>24)<<16, v+256, v+65536)
	}
	for range probeCount {
		all = append(all, rng.Uint64()>>uint(64-max(widest, 8)))
	}
	return all
}
