package worlds

import (
	"math/rand/v2"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// leastBits keeps keys of keypads out: 4 to 8 bits are no cards.
const leastBits = 24

// drawFormat draws a format of the catalogue by weight, of those that are wanted.
func drawFormat(rng *rand.Rand, wanted func(*formats.Format) bool) *formats.Format {
	cat := formats.Builtin()
	var all []*formats.Format
	total := 0.0
	for i := range cat.Len() {
		if f := cat.At(i); f.Layout.Len() >= leastBits && wanted(f) {
			all = append(all, f)
			total += f.Weight
		}
	}
	x := rng.Float64() * total
	for _, f := range all {
		if x -= f.Weight; x < 0 {
			return f
		}
	}
	return all[len(all)-1]
}

func anyFormat(*formats.Format) bool { return true }

// simple are the formats of a facility, if any, and a number, both binary and of at most 64 bits.
func simple(f *formats.Format) bool {
	for _, field := range f.Layout.Spec().Fields {
		if field.Coding != wiegand.Binary || field.Bits.Len() > 64 || field.Name != wiegand.FieldFacility &&
			field.Name != wiegand.FieldNumber {
			return false
		}
	}
	for _, c := range f.Layout.Checks() {
		if c.Kind == wiegand.Fixed {
			return false
		}
	}
	return f.Number() >= 0 && f.Kind != formats.KindKeypad
}

// withFacility are those of them that have a facility.
func withFacility(f *formats.Format) bool { return simple(f) && f.Facility() >= 0 }

// known returns the kind of a format of the catalogue.
func known(f *formats.Format) Kind { return Kind{Format: f.ID, Layout: f.Layout} }

func format(id string) *formats.Format { return formats.Builtin().Find(id)[0] }

// unknown returns the kind of a layout that the catalogue does not have.
func unknown(spec wiegand.Spec) Kind { return Kind{Layout: wiegand.MustCompile(spec)} }

func field(name string, from, to int) wiegand.Field {
	return wiegand.Field{Name: name, Bits: wiegand.Spans{{From: from, To: to}}}
}

// fields returns a facility of some bits from a bit on, and a number in the rest up to the last bit. No bits are no
// facility.
func fields(from, facility, last int) []wiegand.Field {
	number := field(wiegand.FieldNumber, from+facility, last)
	if facility == 0 {
		return []wiegand.Field{number}
	}
	return []wiegand.Field{field(wiegand.FieldFacility, from, from+facility-1), number}
}

// halves returns the two parities that most frames have: even over the first half, odd over the second, of reads of n
// bits.
func halves(n int) []wiegand.Check {
	return []wiegand.Check{
		{Kind: wiegand.Even, Bit: 1, Over: wiegand.Spans{{From: 2, To: n / 2}}},
		{Kind: wiegand.Odd, Bit: n, Over: wiegand.Spans{{From: n/2 + 1, To: n - 1}}},
	}
}

// undocumentedSplits draws a frame that the catalogue has, with other parts. They are invented. There is none of 26
// bits: reads alone don't show where its facility ends, and there is no doubt that nearly all such cards are of the
// published standard.
func undocumentedSplits(rng *rand.Rand) Kind {
	split := func(id string, facility int) Kind {
		f := format(id)
		last := f.Layout.Len() - 1
		return unknown(wiegand.Spec{Length: last + 1, Fields: fields(2, facility, last), Checks: f.Layout.Spec().Checks})
	}
	switch rng.IntN(6) {
	case 0:
		return split("34-16-16", 8)
	case 1:
		return split("34-16-16", 12)
	case 2:
		return unknown(wiegand.Spec{Length: 32, Fields: fields(1, 12, 32)})
	case 3:
		return split("37-16-19", 12)
	case 4:
		return split("36-0-34", 14)
	}
	return unknown(wiegand.Spec{Length: 35, Fields: fields(3, 8, 34), Checks: format("35-12-20").Layout.Spec().Checks})
}

// noParity draws a frame that is a facility and a number, or a number alone, and nothing else.
func noParity(rng *rand.Rand) Kind {
	return draw(func() wiegand.Spec {
		n := between(rng, 24, 44)
		return wiegand.Spec{Length: n, Fields: fields(1, one(rng, 0, 8, 10, 12), n)}
	})
}

// undocumentedFrame draws a frame with the two usual parities and a split anywhere: of any length but 26, for the same
// reason.
func undocumentedFrame(rng *rand.Rand) Kind {
	return draw(func() wiegand.Spec {
		n := between(rng, 24, 64)
		if n == 26 {
			n = 28
		}
		number := between(rng, 14, min(n-2, 32))
		return wiegand.Spec{Length: n, Fields: fields(2, n-2-number, n-1), Checks: halves(n)}
	})
}

// draw draws layouts until one is not in the catalogue.
func draw(spec func() wiegand.Spec) Kind {
	for {
		if k := unknown(spec()); !catalogued(k.Layout) {
			return k
		}
	}
}

// catalogued reports whether the catalogue has a layout under any id.
func catalogued(l *wiegand.Layout) bool {
	for f := range formats.Builtin().OfLength(l.Len()) {
		if describe(f.Layout) == describe(l) {
			return true
		}
	}
	return false
}

// turned draws a frame like that whose number has its bits in another order: the last bit first, or the bytes turned
// round.
func turned(rng *rand.Rand, bytes bool) Kind {
	return draw(func() wiegand.Spec {
		n, number := between(rng, 28, 48), between(rng, 14, 20)
		if bytes {
			number = one(rng, 16, 24)
		}
		spec := wiegand.Spec{Length: n, Fields: fields(2, n-2-number, n-1), Checks: halves(n)}
		f := &spec.Fields[len(spec.Fields)-1]
		if !bytes {
			f.Order = wiegand.LSBFirst
			return spec
		}
		f.Bits = nil
		for to := n - 1; to > n-1-number; to -= 8 {
			f.Bits = append(f.Bits, wiegand.Span{From: to - 7, To: to})
		}
		return spec
	})
}

// behind returns the kind of a format's reads with fixed bits before them.
func behind(f *formats.Format, before wiegand.Bits) Kind {
	n := before.Len()
	old := f.Layout.Spec()
	spec := wiegand.Spec{Length: old.Length + n}
	for _, x := range old.Fields {
		x.Bits = moved(x.Bits, n)
		spec.Fields = append(spec.Fields, x)
	}
	spec.Checks = append(spec.Checks, wiegand.Check{Kind: wiegand.Fixed, Bits: wiegand.Spans{{From: 1, To: n}},
		Value: before})
	for _, x := range old.Checks {
		x.Bit, x.Over = x.Bit+n, moved(x.Over, n)
		spec.Checks = append(spec.Checks, x)
	}
	return Kind{Layout: wiegand.MustCompile(spec), Inner: f, Before: n}
}

func moved(s wiegand.Spans, n int) wiegand.Spans {
	all := make(wiegand.Spans, len(s))
	for i, x := range s {
		all[i] = wiegand.Span{From: x.From + n, To: x.To + n, Step: x.Step}
	}
	return all
}
