package worlds

import (
	"fmt"
	"math/rand/v2"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// World draws samples of sites that share one habit.
type World struct {
	Name    string
	Outside bool // a habit that no model is asked to have: stated and true may differ by more
	OneIn   int  // where it is above 0, one sample is drawn for so many of other worlds
	Draw    func(rng *rand.Rand) Sample
}

// Worlds returns all worlds, in the order of the table.
func Worlds() []World {
	return []World{
		{Name: "tidy", Draw: tidy},
		{Name: "asset numbers", Draw: assetNumbers},
		{Name: "low 24 bits as a decimal", Draw: low24Site(low24Decimal, low24Full)},
		{Name: "low 24 bits as a pair", Draw: low24Site(low24Pair)},
		{Name: "prints alone", Draw: printsAlone},
		{Name: "last digits", Draw: lastDigitsSite},
		{Name: "more digits in front", Draw: inFront},
		{Name: "the whole read", Draw: habitSite(readDecimal, readHex, readHex, readHexLeft)},
		{Name: "one field alone", Draw: habitSite(facilityAlone, numberHex)},
		{Name: "mistyped, 1 in 30", Draw: mistypedSite(1.0 / 30)},
		{Name: "mistyped, 1 in 10", Draw: mistypedSite(0.1)},
		{Name: "mistyped, 1 in 5", Draw: mistypedSite(0.2)},
		{Name: "mistyped, zeros left out", Draw: spelledSite(0.1)},
		{Name: "read in part", Draw: partlyRead},
		{Name: "two prints, mistyped", Draw: twoPrints},
		{Name: "serials of few makers", Draw: makers},
		{Name: "neighbouring facilities", Draw: facilitiesSite(true)},
		{Name: "three facilities", Draw: facilitiesSite(false)},
		{Name: "dense boxes", Draw: dense},
		{Name: "sparse numbers", Draw: sparse},
		{Name: "counted up in wide fields", Draw: wide},
		{Name: "one flipped bit", Draw: spoiltSite(false, flip(1))},
		{Name: "one flipped bit, own print", Draw: spoiltSite(true, flip(1))},
		{Name: "two flips in a read", Draw: spoiltSite(false, flip(2))},
		{Name: "two flips, own print", Draw: spoiltSite(true, flip(2))},
		{Name: "lost bits", Draw: spoiltSite(false, lose)},
		{Name: "lost bits, own print", Draw: spoiltSite(true, lose)},
		{Name: "swapped lines", Draw: wired(Line{Swapped: true})},
		{Name: "reversed", Draw: wired(Line{Reversed: true})},
		{Name: "last bit first", Draw: orderedSite(false)},
		{Name: "bytes turned round", Draw: orderedSite(true)},
		{Name: "undocumented splits", Draw: undocumented(undocumentedSplits)},
		{Name: "no parity", Draw: undocumented(noParity)},
		{Name: "undocumented frames", Draw: undocumented(undocumentedFrame)},
		{Name: "two kinds of one length", Draw: sameLength},
		{Name: "two kinds of two lengths", Draw: kinds(2)},
		{Name: "three kinds", Draw: kinds(3)},
		{Name: "hundreds of cards, misread", OneIn: 5, Draw: hundredsMisread},
		{Name: "hundreds of cards, two facilities", OneIn: 5, Draw: hundredsOfTwo},
		{Name: "a bit 1 before the frame", Outside: true, Draw: sentinel},
		{Name: "26 bits padded with zeros", Outside: true, Draw: padded},
	}
}

// numbersOf draws how the numbers of a kind lie at a site: serials of chips lie anywhere, others in boxes.
func numbersOf(rng *rand.Rand, k *Kind) func() uint64 {
	n := width(k.Layout, wiegand.FieldNumber)
	if k.Format != "" && format(k.Format).Kind == formats.KindSerial && chance(rng, 0.75) {
		return spread(rng, n)
	}
	return usualNumbers(rng, n)
}

// usual adds n cards of a kind with one facility.
func (s *site) usual(kind, n int) {
	k := &s.Kinds[kind]
	s.fill(kind, n, always(facility(s.rng, width(k.Layout, wiegand.FieldFacility))), numbersOf(s.rng, k))
}

// tidy: 1 to 12 cards of any format of the catalogue, of one facility.
func tidy(rng *rand.Rand) Sample {
	s := newSite(rng)
	f := drawFormat(rng, anyFormat)
	if k := s.kind(known(f)); simple(f) {
		s.usual(k, between(rng, 1, 12))
		s.usualPrints(k)
	} else {
		s.odd(k, f, between(rng, 1, 12))
	}
	return s.done()
}

// odd adds cards of a format that has other fields than facility and number, or other codings. Printed are those with a
// joined form.
func (s *site) odd(kind int, f *formats.Format, n int) {
	spec := f.Layout.Spec()
	values := make([]func() string, len(spec.Fields))
	for i, x := range spec.Fields {
		values[i] = s.texts(x, f.Kind == formats.KindSerial)
	}
	prints := chance(s.rng, 0.6)
	for range n {
		c := f.Blank()
		for i, x := range spec.Fields {
			if x.Constant != "" {
				continue
			}
			var err error
			if c, err = c.With(i, values[i]()); err != nil {
				panic(err)
			}
		}
		number, _ := c.Record.Uint64(f.Number())
		facility, _ := c.Record.Uint64(f.Facility())
		if !s.put(Card{Kind: kind, Read: c.Record.Encode(), Number: number, Facility: facility}) {
			continue
		}
		form, _ := formats.FormByName("joined")
		if text, err := form.Text(&c); err == nil && prints {
			s.Cards[len(s.Cards)-1] = append(s.Cards[len(s.Cards)-1], digits(text))
		}
	}
}

// texts returns what draws the value of a field for each card of a site: another each time for the fields that tell
// cards apart, and one and the same for the others.
func (s *site) texts(f wiegand.Field, serial bool) func() string {
	n := f.Bits.Len()
	text := func() string { return s.text(f) }
	switch f.Name {
	case wiegand.FieldUnknown, "credential", "person":
		return text
	case wiegand.FieldNumber:
		if f.Coding == wiegand.Binary && !serial && n <= 64 {
			numbers := usualNumbers(s.rng, n)
			return func() string { return digitsOf(numbers()) }
		}
		return text
	case wiegand.FieldFacility:
		v := digitsOf(facility(s.rng, n))
		return func() string { return v }
	}
	v := text()
	return func() string { return v }
}

// text draws the value of a field as digits.
func (s *site) text(f wiegand.Field) string {
	n := f.Bits.Len()
	switch {
	case f.Name == "expiry":
		return "2030" + one(s.rng, "0331", "0630", "0930", "1231")
	case f.Coding == wiegand.Binary && n <= 64:
		return digitsOf(s.rng.Uint64() & ones(n))
	case f.Coding == wiegand.Binary:
		n = n * 3 / 10 // digits that always fit
	case f.Coding == wiegand.BCD:
		n /= 4
	default:
		n /= 5
	}
	b := make([]byte, n)
	for i := range b {
		b[i] = '0' + byte(s.rng.IntN(10))
	}
	return string(b)
}

// simpleSite returns a site of n cards of a format with a number and perhaps a facility, and the place of its kind.
func simpleSite(rng *rand.Rand, n int, wanted func(*formats.Format) bool) (*site, int) {
	s := newSite(rng)
	k := s.kind(known(drawFormat(rng, wanted)))
	s.usual(k, n)
	return s, k
}

// assetNumbers: every card has a number on it that has nothing to do with its read.
func assetNumbers(rng *rand.Rand) Sample {
	s, k := simpleSite(rng, between(rng, 2, 16), simple)
	from, size := rng.Uint64N(90_000), one[uint64](rng, 30, 300, 3000)
	n, zeros := rng.Perm(int(size)), one(rng, 0, 0, 4, 5, 6)
	for i, at := range s.all(k) {
		s.Cards[at] = append(s.Cards[at], digits(fmt.Sprintf("%0*d", zeros, from+uint64(n[i]))))
	}
	return s.done()
}

// low24Site: cards with a 32-bit number, printed as the low 24 bits of it.
func low24Site(habits ...habit) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s, k := simpleSite(rng, between(rng, 1, 12), func(f *formats.Format) bool { return f.ID == "34-0-32" })
		s.printed(one(rng, habits...), s.all(k)...)
		return s.done()
	}
}

// printsAlone: no card was read. Of tags of 4 and 5 bytes some have the low 24 bits of their number on them.
func printsAlone(rng *rand.Rand) Sample {
	s, k := simpleSite(rng, between(rng, 1, 12), simple)
	h := usualHabit(rng, &s.Kinds[k])
	if n := width(s.Kinds[k].Layout, wiegand.FieldNumber); n > 24 && n <= 40 && chance(rng, 0.3) {
		h = one(rng, low24Pair, low24Pair, low24Full)
	}
	s.printed(h, s.all(k)...)
	for i := range s.Cards {
		s.Cards[i] = s.Cards[i][1:]
	}
	return s.done()
}

// lastDigitsSite: the last four, five or six digits of the number are printed.
func lastDigitsSite(rng *rand.Rand) Sample {
	n := between(rng, 4, 6)
	s, k := simpleSite(rng, between(rng, 2, 16), func(f *formats.Format) bool {
		return simple(f) && places(width(f.Layout, wiegand.FieldNumber)) > n
	})
	s.printed(lastDigits(n), s.all(k)...)
	return s.done()
}

// inFront: every badge has the same digits before its number.
func inFront(rng *rand.Rand) Sample {
	s, k := simpleSite(rng, between(rng, 3, 16), func(f *formats.Format) bool {
		return simple(f) && places(width(f.Layout, wiegand.FieldNumber)) <= 8
	})
	s.printed(inFrontOf(fmt.Sprint(between(rng, 1, 999))), s.all(k)...)
	return s.done()
}

// habitSite: cards with a facility and a number, all noted down in one unusual way.
func habitSite(habits ...habit) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s, k := simpleSite(rng, between(rng, 2, 16), func(f *formats.Format) bool {
			return simple(f) && width(f.Layout, wiegand.FieldFacility) > 0
		})
		s.printed(one(rng, habits...), s.all(k)...)
		return s.done()
	}
}

// mistypedSite: the prints of all cards were copied by hand.
func mistypedSite(rate float64) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s, k := simpleSite(rng, between(rng, 2, 24), simple)
		s.printed(usualHabit(rng, &s.Kinds[k]), s.all(k)...)
		s.mistyped(rate)
		return s.done()
	}
}

// spelledSite: likewise, but with other zeros and signs than the form has.
func spelledSite(rate float64) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s, k := simpleSite(rng, between(rng, 2, 24), simple)
		habits := []habit{filledTo(5), filledTo(8), filledTo(10), lastDigits(4)}
		if width(s.Kinds[k].Layout, wiegand.FieldFacility) > 0 {
			habits = append(habits, shortPair(","), shortPair("/"), shortPair("-"), shortPair(" "))
		}
		s.printed(one(rng, habits...), s.all(k)...)
		s.mistyped(rate)
		return s.done()
	}
}

// makers: chip serials of 7 or 8 bytes as the standards have them, of one maker or two (ISO/IEC 14443-3, ISO/IEC
// 15693-3, ISO/IEC 7816-6).
func makers(rng *rand.Rand) Sample {
	s := newSite(rng)
	k := s.kind(known(drawFormat(rng, func(f *formats.Format) bool {
		n := width(f.Layout, wiegand.FieldNumber)
		return simple(f) && f.Kind == formats.KindSerial && (n == 56 || n == 64)
	})))
	codes := []int{between(rng, 1, 0x7F)}
	if chance(rng, 0.3) {
		codes = append(codes, between(rng, 1, 0x7F))
	}
	first := uint64(0)
	if width(s.Kinds[k].Layout, wiegand.FieldNumber) == 64 {
		first = 0xE0 << 56
	}
	s.fill(k, between(rng, 1, 16), always(0), func() uint64 {
		return first | uint64(one(rng, codes...))<<48 | rng.Uint64()&ones(48)
	})
	s.usualPrints(k)
	return s.done()
}

// facilitiesSite: cards of two facilities next to each other, or of three that lie anywhere.
func facilitiesSite(neighbours bool) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s := newSite(rng)
		kind := s.kind(known(drawFormat(rng, withFacility)))
		k := &s.Kinds[kind]
		w := width(k.Layout, wiegand.FieldFacility)
		f := facility(rng, w)
		all := []uint64{f, (f + 1) & ones(w)}
		if !neighbours {
			all = []uint64{f, facility(rng, w), facility(rng, w)}
		}
		n := one(rng, 4, 8, 16, 32, 64, 100)
		for i, f := range all {
			s.fill(kind, n*(i+1)/len(all)-n*i/len(all), always(f), numbersOf(rng, k))
		}
		s.shuffle()
		if chance(rng, 0.5) {
			s.printed(usualHabit(rng, k), s.some(between(rng, 1, n))...)
		}
		return s.done()
	}
}

// dense: nearly all cards of a small box.
func dense(rng *rand.Rand) Sample {
	s := newSite(rng)
	kind := s.kind(known(drawFormat(rng, simple)))
	k, n := &s.Kinds[kind], between(rng, 4, 60)
	s.fill(kind, n, always(facility(rng, width(k.Layout, wiegand.FieldFacility))),
		box(rng, width(k.Layout, wiegand.FieldNumber), uint64(n+rng.IntN(n/2+1))))
	s.usualPrints(kind)
	return s.done()
}

// sparse: numbers from all over the field.
func sparse(rng *rand.Rand) Sample {
	s := newSite(rng)
	kind := s.kind(known(drawFormat(rng, simple)))
	k := &s.Kinds[kind]
	s.fill(kind, between(rng, 2, 40), always(facility(rng, width(k.Layout, wiegand.FieldFacility))),
		spread(rng, width(k.Layout, wiegand.FieldNumber)))
	s.usualPrints(kind)
	return s.done()
}

// wide: numbers counted up in a field of 32 to 35 bits.
func wide(rng *rand.Rand) Sample {
	s := newSite(rng)
	kind := s.kind(known(drawFormat(rng, func(f *formats.Format) bool {
		n := width(f.Layout, wiegand.FieldNumber)
		return simple(f) && n >= 32 && n <= 35 && f.ID != "32-0-32-reversed"
	})))
	s.fill(kind, between(rng, 2, 30), always(0), counted(rng, width(s.Kinds[kind].Layout, wiegand.FieldNumber)))
	s.usualPrints(kind)
	return s.done()
}

// spoiltSite: one card in six or so, one at least, was badly read; its print, and some others', can be seen.
func spoiltSite(own bool, spoil func(*rand.Rand, wiegand.Bits) wiegand.Bits) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		n := between(rng, 2, 16)
		s, k := simpleSite(rng, n, func(f *formats.Format) bool { return simple(f) && len(f.Layout.Checks()) > 0 })
		bad := s.some(1 + n/6)
		for _, i := range bad {
			s.spoil(i, spoil(rng, s.Cards[i][0].Bits))
		}
		switch h := usualHabit(rng, &s.Kinds[k]); {
		case own && chance(rng, 0.5):
			s.printed(h, s.all(k)...)
		case own:
			s.printed(h, bad...)
		}
		return s.done()
	}
}

func flip(n int) func(*rand.Rand, wiegand.Bits) wiegand.Bits {
	return func(rng *rand.Rand, b wiegand.Bits) wiegand.Bits {
		for _, i := range rng.Perm(b.Len())[:n] {
			b = b.WithBit(i, 1-b.Bit(i))
		}
		return b
	}
}

// lose loses a bit, now and then two.
func lose(rng *rand.Rand, b wiegand.Bits) wiegand.Bits {
	for range one(rng, 1, 1, 1, 2) {
		b, _ = b.Delete(rng.IntN(b.Len()))
	}
	return b
}

// wired: the wiring does something to all reads.
func wired(l Line) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s, k := simpleSite(rng, between(rng, 1, 16), simple)
		s.usualPrints(k)
		s.wire(l)
		return s.done()
	}
}

// undocumented: cards of a layout that no table has, printed or not.
func undocumented(kind func(*rand.Rand) Kind) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s := newSite(rng)
		k := s.kind(kind(rng))
		s.usual(k, between(rng, 4, 40))
		s.usualPrints(k)
		return s.done()
	}
}

// orderedSite: numbers with the last bit first or the bytes turned round; half of the sites have one wrong print or
// two.
func orderedSite(bytes bool) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		s := newSite(rng)
		kind := s.kind(turned(rng, bytes))
		k := &s.Kinds[kind]
		s.fill(kind, between(rng, 8, 40), always(facility(rng, width(k.Layout, wiegand.FieldFacility))), numbersOf(rng, k))
		if chance(rng, 0.8) {
			s.printed(usualHabit(rng, k), s.all(kind)...)
		}
		if chance(rng, 0.5) {
			s.mistyped(0.08)
		}
		return s.done()
	}
}

// sameLength: two formats of one length.
func sameLength(rng *rand.Rand) Sample {
	a := drawFormat(rng, func(f *formats.Format) bool { return simple(f) && partner(f) })
	b := drawFormat(rng, func(f *formats.Format) bool {
		return simple(f) && f.Layout.Len() == a.Layout.Len() &&
			f.ID != a.ID
	})
	s := newSite(rng)
	s.together(known(a), known(b))
	return s.done()
}

func partner(f *formats.Format) bool {
	for g := range formats.Builtin().OfLength(f.Layout.Len()) {
		if simple(g) && g.ID != f.ID {
			return true
		}
	}
	return false
}

// together adds 3 to 12 cards of each kind, mixed, all printed or none.
func (s *site) together(all ...Kind) {
	habits := make([]habit, len(all))
	for i := range all {
		kind := s.kind(all[i])
		s.usual(kind, between(s.rng, 3, 12))
		habits[i] = usualHabit(s.rng, &all[i])
	}
	if chance(s.rng, 0.7) {
		for i, h := range habits {
			s.printed(h, s.all(i)...)
		}
	}
	s.shuffle()
}

// kinds: cards of several formats of different lengths.
func kinds(n int) func(*rand.Rand) Sample {
	return func(rng *rand.Rand) Sample {
		var all []Kind
		lengths := map[int]bool{}
		for len(all) < n {
			f := drawFormat(rng, func(f *formats.Format) bool { return simple(f) && !lengths[f.Layout.Len()] })
			all, lengths[f.Layout.Len()] = append(all, known(f)), true
		}
		s := newSite(rng)
		s.together(all...)
		return s.done()
	}
}

// sentinel: a bit that is always 1 comes before the frame.
func sentinel(rng *rand.Rand) Sample {
	return within(rng, behind(drawFormat(rng, simple), wiegand.BitsFromWords([4]uint64{1 << 63}, 1)))
}

// padded: a 26-bit read at the end of 32, 34, 37 or 40 bits, zeros before it.
func padded(rng *rand.Rand) Sample {
	n := one(rng, 32, 34, 37, 40)
	return within(rng, known(format(fmt.Sprintf("%d-8-16", n))))
}

// within: cards of a kind whose reads begin with bits that say nothing.
func within(rng *rand.Rand, kind Kind) Sample {
	s := newSite(rng)
	k := s.kind(kind)
	s.usual(k, between(rng, 2, 24))
	s.usualPrints(k)
	return s.done()
}

// Unprinted draws 2 to 30 reads of a format of the catalogue with one facility, and no prints: it is no world of the
// table.
func Unprinted(rng *rand.Rand) Sample {
	s, _ := simpleSite(rng, between(rng, 2, 30), simple)
	return s.done()
}
