package undocumented

import (
	"iter"
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// putRight returns what misreads that were left out of a sample were before a few of their bits went wrong, an empty
// read for those of which that can't be told; ok is false where it can be told of none. u is what the other reads say:
// bits that are the same in all of them, the place of the printed number, checks.
func (u *search) putRight(s *Sample, left []int) (right []wiegand.Bits, ok bool) {
	h := u.likeliest()
	right = make([]wiegand.Bits, len(left))
	for k, r := range left {
		b, good := u.before(h, s.Reads[r], s.Prints[r])
		if good && !slices.Contains(u.s.Reads, b) && !slices.Contains(right, b) {
			right[k], ok = b, true
		}
	}
	return right, ok
}

// likeliest returns the hypothesis that explains the prints best, nil where none does.
func (u *search) likeliest() *Hypothesis {
	best, top := -1, math.Inf(-1)
	for i := range u.hyps {
		h := &u.hyps[i]
		if log := h.log + h.value + h.Place.prior(h.Place.From, u.s.Length); log > top && h.Place.Coding == wiegand.Binary {
			best, top = i, log
		}
	}
	if best < 0 {
		return nil
	}
	return &u.hyps[best]
}

// before returns what one misread was.
func (u *search) before(h *Hypothesis, read wiegand.Bits, more []typing.Seen) (b wiegand.Bits, ok bool) {
	b = read
	in, told := u.byPrint(h, &b, more)
	for i := range b.Len() {
		if v := u.s.Reads[0].Bit(i); !in(i) && b.Bit(i) != v && u.s.constant(i) {
			b = b.WithBit(i, v)
		}
	}
	if told {
		b = u.checked(b, in)
	}
	return b, misread.Flipped(misread.Differ(b, read).OnesCount(), float64(b.Len())) > 0
}

// leastChecked is how many bits a read has that can have checks at both ends.
const leastChecked = 4

// endsOf returns the indices of the bits at the ends of a read of n bits that may be checks.
func endsOf(n int) [4]int { return [...]int{0, 1, n - 2, n - 1} }

// checked returns a read whose data is right with the checks that most say are wrong put right: first the one that
// breaks the most, since the others can cover it. in reports which bits are no checks.
func (u *search) checked(b wiegand.Bits, in func(i int) bool) wiegand.Bits {
	if b.Len() < leastChecked {
		return b
	}
	ends := endsOf(b.Len())
	for range ends {
		at, worst := -1, 0.5
		for _, own := range ends {
			if share := u.finder.failing(own, b); share > worst && !in(own) {
				at, worst = own, share
			}
		}
		if at < 0 {
			break
		}
		b = b.WithBit(at, 1-b.Bit(at))
	}
	return b
}

// byPrint gives a read the number that its print says. in reports which bits it has settled, told whether there are
// any.
func (u *search) byPrint(h *Hypothesis, b *wiegand.Bits, more []typing.Seen) (in func(i int) bool, told bool) {
	nowhere := func(int) bool { return false }
	if h == nil {
		return nowhere, false
	}
	first := firstPrint(more)
	switch h.Print {
	case PrintPair:
		first = pairFirst(more)
	case PrintSerial:
		first = firstSerial(more)
	}
	if first < 0 {
		return nowhere, false
	}
	want, ok := h.shown(&more[first])
	if !ok || want > h.Place.Max() {
		return nowhere, false
	}
	w := b.Words()
	v, _ := h.Place.Number(&w)
	at := h.Place.Bits()
	for x := v ^ want; x != 0; x &= x - 1 {
		i := at[bits.TrailingZeros64(x)]
		*b = b.WithBit(i, 1-b.Bit(i))
	}
	return func(i int) bool { return slices.Contains(at, i) }, true
}

// shown returns the number that a print shows.
func (h *Hypothesis) shown(s *typing.Seen) (v uint64, ok bool) {
	switch {
	case s.Kind == formats.Hex || h.Print == PrintPair && !s.Pair:
		return 0, false
	case h.Print == PrintFull:
		return typing.Number(s.Digits), true
	case h.Print == PrintPair:
		return typing.Number(s.Low), true
	case h.Print == PrintJoined:
		return typing.Number(s.Digits) % uint64(math.Pow10(h.Digits)), true
	case h.Print == PrintSerial:
		if b, ok := judgement.Parts[h.Digits].Take(s.Serial); ok {
			return b.Uint64()
		}
	}
	return 0, false
}

// follows is what Weighed says of prints.
func (u *search) follows() func(b wiegand.Bits, more []typing.Seen) bool {
	h := u.likeliest()
	if h == nil {
		return nil
	}
	return func(b wiegand.Bits, more []typing.Seen) bool {
		w := b.Words()
		v := h.Place.binary(&w)
		return slices.ContainsFunc(more, func(s typing.Seen) bool { return h.shows(v, &s) })
	}
}

// shows reports whether a print is what a number is printed as.
func (h *Hypothesis) shows(v uint64, s *typing.Seen) bool {
	switch h.Print {
	case PrintLast:
		return s.Kind == formats.Printed && v%uint64(math.Pow10(h.Digits)) == typing.Number(s.Digits)
	case PrintOffset:
		more, ok := typing.PrintedMore(v, s)
		return ok && more == h.Offset
	}
	want, ok := h.shown(s)
	return ok && v == want
}

// failing returns the share of the checks of the bit at an index, of those that hold in all other reads, that a read
// breaks.
func (f *Finder) failing(own int, b wiegand.Bits) float64 {
	runs, combs, fr := f.holding(own), f.holdingCombs(own), f.dataBeside(own)
	var odd [wiegand.MaxBits + 1]bool // whether there are odd ones before a bit
	for i := range b.Len() {
		odd[i+1] = odd[i] != (b.Bit(i) == 1)
	}
	fails, set := 0, b.Bit(own) == 1
	for _, r := range runs {
		if odd[r.from] != odd[r.to] != set != r.odd {
			fails++
		}
	}
	for _, c := range combs {
		ones := b.Bit(own)
		c.bits(&fr, own, func(i int) { ones ^= b.Bit(i) })
		if ones == 1 != c.odd {
			fails++
		}
	}
	return float64(fails) / float64(max(1, len(runs)+len(combs)))
}

// Fails is that of a Finder.
func (r *Reads) Fails(b wiegand.Bits) int { return r.finder.Fails(b) }

// Told is that of a Finder.
func (r *Reads) Told() int { return r.finder.Told() }

// Fails returns how many bits at the ends of a read break most of their checks, where there are enough reads to say.
func (f *Finder) Fails(b wiegand.Bits) (n int) {
	for own := range f.ends() {
		if f.failing(own, b) > 0.5 {
			n++
		}
	}
	return n
}

// Told returns how many bits at the ends of a read have checks, as far as there are enough reads to say.
func (f *Finder) Told() (n int) {
	for own := range f.ends() {
		if len(f.holding(own))+len(f.holdingCombs(own)) > 0 {
			n++
		}
	}
	return n
}

// ends yields the indices of the bits at the ends of a read that may be checks; none where there are too few reads.
func (f *Finder) ends() iter.Seq[int] {
	return func(yield func(int) bool) {
		for _, own := range endsOf(f.s.Length) {
			if len(f.s.Reads) < leastSuspect || !yield(own) {
				return
			}
		}
	}
}

// misreadsLog returns the log probability of misreads, given what they were before: bits that went wrong, each as
// likely as any other; and for those of which that can't be told, that they are like the reads of rest.
func (s *Sample) misreadsLog(left []int, right []wiegand.Bits, rest *Sample) (log float64) {
	like := rest.Likeness()
	var all misread.Line
	for k, r := range left {
		if right[k].Len() > 0 {
			wrong := misread.Differ(right[k], s.Reads[r]).OnesCount()
			log += math.Log(misread.Flipped(wrong, float64(s.Length))) + all.Take(misread.Only(0))
		} else {
			const share = judgement.MisreadFlip + judgement.MisreadTwo + judgement.MisreadMore
			log += math.Log(share) + like(s.Reads[r]) + all.Take(&misread.OfOneLength)
		}
	}
	return log
}
