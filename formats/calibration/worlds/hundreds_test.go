package worlds

import (
	"math/rand/v2"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Sites of hundreds of cards, of which few samples are drawn: each takes as long as many small ones.

// hundreds is how many cards they have.
func hundreds(rng *rand.Rand) int { return between(rng, 100, 500) }

// boxOf draws numbers for n cards of a kind: out of a box that is nearly full or not, or from the whole field.
func boxOf(rng *rand.Rand, k *Kind, n int) func() uint64 {
	w := width(k.Layout, wiegand.FieldNumber)
	if chance(rng, 0.3) {
		return spread(rng, w)
	}
	return box(rng, w, uint64(n)*one[uint64](rng, 11, 15, 30, 80)/10)
}

// hundredsMisread: on a bad line some reads have a bit too many, or too few, at one of the ends or anywhere.
func hundredsMisread(rng *rand.Rand) Sample {
	s := newSite(rng)
	kind := s.kind(known(drawFormat(rng, func(f *formats.Format) bool { return simple(f) && len(f.Layout.Checks()) > 0 })))
	if chance(rng, 0.2) {
		s = newSite(rng)
		kind = s.kind(undocumentedFrame(rng))
	}
	k, n := &s.Kinds[kind], hundreds(rng)
	s.fill(kind, n, always(facility(rng, width(k.Layout, wiegand.FieldFacility))), boxOf(rng, k, n))
	s.shuffle()
	spoil := one(rng, more(false), more(true), lose, lose)
	for _, i := range s.some(len(s.Cards) * between(rng, 2, 12) / 100) {
		s.spoil(i, spoil(rng, s.Cards[i][0].Bits))
	}
	return s.done()
}

// more puts a bit before a read or behind it; always behind where last says so.
func more(last bool) func(*rand.Rand, wiegand.Bits) wiegand.Bits {
	return func(rng *rand.Rand, b wiegand.Bits) wiegand.Bits {
		at := b.Len()
		if !last && chance(rng, 0.5) {
			at = 0
		}
		b, _ = b.Insert(at, uint(rng.IntN(2)))
		return b
	}
}

// hundredsOfTwo: cards of two facilities, which are neighbours or not, with numbers out of one range or each its own.
func hundredsOfTwo(rng *rand.Rand) Sample {
	s := newSite(rng)
	kind := s.kind(known(drawFormat(rng, withFacility)))
	k, n := &s.Kinds[kind], hundreds(rng)
	w := width(k.Layout, wiegand.FieldFacility)
	first := facility(rng, w)
	second := (first + 1) & ones(w)
	if chance(rng, 0.4) {
		second = facility(rng, w)
	}
	numbers := boxOf(rng, k, n)
	s.fill(kind, n/2, always(first), numbers)
	if chance(rng, 0.5) {
		numbers = boxOf(rng, k, n)
	}
	s.fill(kind, n-n/2, always(second), numbers)
	s.shuffle()
	return s.done()
}
