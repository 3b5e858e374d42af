package worlds

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Kind is a kind of card that a site has.
type Kind struct {
	Format string          // id in the catalogue; "" for a layout that no table has
	Layout *wiegand.Layout // what its reads are
	Inner  *formats.Format // for a frame of the catalogue behind other bits: that format; else nil
	Before int             // how many bits are before it
}

// Card is the truth about one card of a sample.
type Card struct {
	Kind             int          // its place among the kinds of the sample
	Facility, Number uint64       // 0 where the kind has no such field, or one that 64 bits do not hold
	Read             wiegand.Bits // what the card holds, before anything happens on the line
	Wrong            bool         // its print is mistyped: not what is printed on cards like it
	Spoilt           bool         // its read lost, gained or changed bits
}

// Line is what the wiring does to all reads of a site.
type Line struct{ Swapped, Reversed bool }

// Send returns a read as it comes off the line. It is its own inverse.
func (l Line) Send(b wiegand.Bits) wiegand.Bits {
	if l.Swapped {
		b = b.Invert()
	}
	if l.Reversed {
		b = b.Reverse()
	}
	return b
}

// Sample is what somebody sees of the cards of one site, and the truth about them.
type Sample struct {
	Cards []formats.Sightings // the read first, then what is printed
	Truth []Card              // for each card
	Kinds []Kind
	Line  Line
}

// Arguments returns the cards as they are written on the command line of identify and learn.
func (s *Sample) Arguments() string {
	texts := make([]string, len(s.Cards))
	for i, c := range s.Cards {
		parts := make([]string, len(c))
		for k, t := range c {
			parts[k] = spell(t)
		}
		texts[i] = strings.Join(parts, "=")
		if strings.Contains(texts[i], " ") {
			texts[i] = "'" + texts[i] + "'"
		}
	}
	return strings.Join(texts, " ")
}

func spell(t formats.Sighting) string {
	switch t.Kind {
	case formats.Read:
		return t.Bits.Hex()
	case formats.Hex:
		return "hex:" + t.Text
	case formats.Serial:
		return "uid:" + t.Text
	}
	if again, err := formats.ParseSighting(t.Text); err != nil || again.Kind != formats.Printed {
		return "printed:" + t.Text
	}
	return t.Text
}

// Describe says in a line what is true of the sample.
func (s *Sample) Describe() string {
	var b strings.Builder
	for i, k := range s.Kinds {
		name := k.Format
		if name == "" {
			name = fmt.Sprintf("no known format, %s", describe(k.Layout))
		}
		fmt.Fprintf(&b, "kind %d is %s; ", i+1, name)
	}
	wrong, spoilt := 0, 0
	facilities := map[uint64]int{}
	for _, c := range s.Truth {
		facilities[c.Facility]++
		if c.Wrong {
			wrong++
		}
		if c.Spoilt {
			spoilt++
		}
	}
	fmt.Fprintf(&b, "%d cards, facilities %v, %d wrong prints, %d spoilt reads, line %+v; first number %d", len(s.Cards),
		facilities, wrong, spoilt, s.Line,
		s.Truth[0].Number)
	return b.String()
}

func describe(l *wiegand.Layout) string {
	var parts []string
	for _, f := range l.Spec().Fields {
		parts = append(parts, fmt.Sprintf("%s %s %s", f.Name, f.Bits, f.Order))
	}
	for _, c := range l.Spec().Checks {
		if c.Kind == wiegand.Fixed {
			parts = append(parts, fmt.Sprintf("fixed %s %s", c.Bits, c.Value))
		} else {
			parts = append(parts, fmt.Sprintf("%s %d over %s", c.Kind, c.Bit, c.Over))
		}
	}
	return fmt.Sprintf("%d bits (%s)", l.Len(), strings.Join(parts, "; "))
}

// site is a sample while it is drawn.
type site struct {
	Sample
	rng  *rand.Rand
	seen map[wiegand.Bits]bool
}

func newSite(rng *rand.Rand) *site { return &site{rng: rng, seen: map[wiegand.Bits]bool{}} }

// kind adds a kind of card.
func (s *site) kind(k Kind) int {
	s.Kinds = append(s.Kinds, k)
	return len(s.Kinds) - 1
}

// maxTries is how often a card is drawn again that the site has already, before it is given up.
const maxTries = 100

// fill adds n cards of a kind. A card that is there already is drawn again, and given up where a box has no more.
func (s *site) fill(kind, n int, facility, number func() uint64) {
	for tries := 0; n > 0 && tries < maxTries; {
		if s.add(kind, facility(), number()) {
			n, tries = n-1, 0
		} else {
			tries++
		}
	}
}

// add adds a card, unless it is there already.
func (s *site) add(kind int, facility, number uint64) bool {
	l := s.Kinds[kind].Layout
	r, c := l.Blank(), Card{Kind: kind}
	for i, f := range l.Spec().Fields {
		var v uint64
		switch {
		case f.Constant != "":
			continue
		case f.Name == wiegand.FieldFacility:
			v, c.Facility = facility, facility
		case f.Name == wiegand.FieldNumber:
			v, c.Number = number, number
		default:
			v = s.rng.Uint64() & ones(f.Bits.Len())
		}
		var err error
		if r, err = r.WithUint64(i, v); err != nil {
			panic(err) // the draws keep to the fields
		}
	}
	c.Read = r.Encode()
	return s.put(c)
}

// put adds a card whose read is known.
func (s *site) put(c Card) bool {
	if s.seen[c.Read] {
		return false
	}
	s.seen[c.Read] = true
	s.Truth = append(s.Truth, c)
	s.Cards = append(s.Cards, formats.Sightings{{Kind: formats.Read, Bits: c.Read}})
	return true
}

// ones returns a number of n bits that are all 1, 64 at most.
func ones(n int) uint64 {
	if n >= 64 {
		return ^uint64(0)
	}
	return 1<<uint(n) - 1
}

// wire turns all reads into what comes off the line.
func (s *site) wire(l Line) {
	s.Line = l
	for i := range s.Cards {
		s.Cards[i][0].Bits = l.Send(s.Cards[i][0].Bits)
	}
}

// spoil changes the read of a card.
func (s *site) spoil(i int, b wiegand.Bits) {
	s.Truth[i].Spoilt = b != s.Truth[i].Read
	s.Cards[i][0].Bits = b
}

// shuffle mixes the cards.
func (s *site) shuffle() {
	s.rng.Shuffle(len(s.Cards), func(i, j int) {
		s.Cards[i], s.Cards[j] = s.Cards[j], s.Cards[i]
		s.Truth[i], s.Truth[j] = s.Truth[j], s.Truth[i]
	})
}

// some returns different places of cards, at most all.
func (s *site) some(n int) []int { return s.rng.Perm(len(s.Cards))[:min(n, len(s.Cards))] }

func (s *site) done() Sample { return s.Sample }

// between returns a number from a to b, both included.
func between(rng *rand.Rand, a, b int) int { return a + rng.IntN(b-a+1) }

func one[T any](rng *rand.Rand, all ...T) T { return all[rng.IntN(len(all))] }

func chance(rng *rand.Rand, p float64) bool { return rng.Float64() < p }
