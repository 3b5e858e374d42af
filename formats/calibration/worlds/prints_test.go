package worlds

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// What is printed on cards.

// habit writes what is printed on a card.
type habit func(k *Kind, c *Card) formats.Sighting

func digits(text string) formats.Sighting { return formats.Sighting{Kind: formats.Printed, Text: text} }

// width returns the bits of a field, 0 where the layout has none of that name.
func width(l *wiegand.Layout, name string) int {
	if i := l.Field(name); i >= 0 {
		return l.Spec().Fields[i].Bits.Len()
	}
	return 0
}

// places returns how many decimal digits the largest number of n bits has.
func places(n int) int { return len(digitsOf(ones(n))) }

func digitsOf(v uint64) string { return strconv.FormatUint(v, 10) }

func plain(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprint(c.Number)) }

// full writes the number with all digits that its field can need.
func full(k *Kind, c *Card) formats.Sighting {
	return digits(fmt.Sprintf("%0*d", places(width(k.Layout, wiegand.FieldNumber)), c.Number))
}

func ten(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprintf("%010d", c.Number)) }

// pairWith writes facility and number with a sign between.
func pairWith(sign string) habit {
	return func(k *Kind, c *Card) formats.Sighting {
		f, n := places(width(k.Layout, wiegand.FieldFacility)), places(width(k.Layout, wiegand.FieldNumber))
		return digits(fmt.Sprintf("%0*d%s%0*d", f, c.Facility, sign, n, c.Number))
	}
}

// shortPair is pairWith without zeros at the start.
func shortPair(sign string) habit {
	return func(_ *Kind, c *Card) formats.Sighting {
		return digits(fmt.Sprintf("%d%s%d", c.Facility, sign, c.Number))
	}
}

// filledTo writes the number with zeros up to so many digits.
func filledTo(n int) habit {
	return func(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprintf("%0*d", n, c.Number)) }
}

// whole is the facility and the number as one number.
func whole(k *Kind, c *Card) uint64 {
	return c.Facility<<uint(width(k.Layout, wiegand.FieldNumber)) | c.Number
}

func decimal(k *Kind, c *Card) formats.Sighting { return digits(fmt.Sprint(whole(k, c))) }

func decimalTen(k *Kind, c *Card) formats.Sighting { return digits(fmt.Sprintf("%010d", whole(k, c))) }

func hex(k *Kind, c *Card) formats.Sighting {
	n := (width(k.Layout, wiegand.FieldFacility) + width(k.Layout, wiegand.FieldNumber) + 7) / 8 * 2
	return formats.Sighting{Kind: formats.Hex, Text: fmt.Sprintf("%0*X", n, whole(k, c))}
}

// low24 is the last 24 bits of the number.
func low24(c *Card) uint64 { return c.Number & ones(24) }

func low24Decimal(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprint(low24(c))) }

func low24Full(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprintf("%08d", low24(c))) }

func low24Pair(_ *Kind, c *Card) formats.Sighting {
	return digits(fmt.Sprintf("%03d,%05d", low24(c)>>16, low24(c)&ones(16)))
}

// lastDigits writes the last n digits of the number.
func lastDigits(n int) habit {
	limit := uint64(1)
	for range n {
		limit *= 10
	}
	return func(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprintf("%0*d", n, c.Number%limit)) }
}

// inFrontOf writes the number, with all digits that its field can need, behind other digits.
func inFrontOf(front string) habit {
	return func(k *Kind, c *Card) formats.Sighting { return digits(front + full(k, c).Text) }
}

func facilityAlone(_ *Kind, c *Card) formats.Sighting { return digits(fmt.Sprint(c.Facility)) }

func numberHex(k *Kind, c *Card) formats.Sighting {
	n := (width(k.Layout, wiegand.FieldNumber) + 3) / 4
	return formats.Sighting{Kind: formats.Hex, Text: fmt.Sprintf("%0*X", n, c.Number)}
}

// readDecimal, readHex and readHexLeft write the whole read, the last with the first bit at the left of whole bytes.
func readDecimal(k *Kind, c *Card) formats.Sighting {
	if v, ok := c.Read.Uint64(); ok {
		return digits(digitsOf(v))
	}
	return readHex(k, c)
}

func readHex(_ *Kind, c *Card) formats.Sighting {
	return formats.Sighting{Kind: formats.Hex, Text: string(c.Read.AppendHex(nil))}
}

func readHexLeft(_ *Kind, c *Card) formats.Sighting {
	return formats.Sighting{Kind: formats.Hex, Text: fmt.Sprintf("%X", c.Read.AppendBytesLeft(nil))}
}

// usualHabit draws how a site's cards of a kind are printed.
func usualHabit(rng *rand.Rand, k *Kind) habit {
	if width(k.Layout, wiegand.FieldFacility) == 0 {
		return one(rng, plain, plain, plain, full, ten, ten, hex)
	}
	return one(rng, plain, plain, plain, full, ten, pairWith(","), pairWith(","), pairWith("-"), pairWith(" "),
		pairWith(""), pairWith(""),
		decimal, decimalTen, hex)
}

// printed writes cards by a habit.
func (s *site) printed(h habit, cards ...int) {
	for _, i := range cards {
		s.Cards[i] = append(s.Cards[i], h(&s.Kinds[s.Truth[i].Kind], &s.Truth[i]))
	}
}

// all returns the places of all cards of a kind.
func (s *site) all(kind int) []int {
	var at []int
	for i := range s.Truth {
		if s.Truth[i].Kind == kind {
			at = append(at, i)
		}
	}
	return at
}

// usualPrints prints none, one, or all cards of a kind.
func (s *site) usualPrints(kind int) {
	all := s.all(kind)
	switch {
	case len(all) == 0:
		return
	case chance(s.rng, 0.4):
		all = nil
	case chance(s.rng, 0.4):
		all = []int{one(s.rng, all...)}
	}
	s.printed(usualHabit(s.rng, &s.Kinds[kind]), all...)
}

// mistyped puts mistakes into prints, each card's with the same chance.
func (s *site) mistyped(rate float64) {
	var texts []string
	for _, c := range s.Cards {
		if len(c) > 1 {
			texts = append(texts, c[1].Text)
		}
	}
	for i, c := range s.Cards {
		if len(c) > 1 && chance(s.rng, rate) {
			if text := mistake(s.rng, c[1].Text, texts); text != c[1].Text {
				c[1].Text, s.Truth[i].Wrong = text, true
			}
		}
	}
}

// mistake makes one of the mistakes that people make when they copy digits: a digit wrong, two swapped, one lost, or
// what is on another card. The shares are judgements.
func mistake(rng *rand.Rand, text string, others []string) string {
	for range maxTries {
		if t := slip(rng, text, others); t != text {
			return t
		}
	}
	return text
}

func slip(rng *rand.Rand, text string, others []string) string {
	at := rng.IntN(len(text))
	b := []byte(text)
	switch x := rng.Float64(); {
	case x < 0.15:
		return one(rng, others...)
	case !isDigit(text[at]):
	case x < 0.3 && len(strings.Trim(text, ",- ")) > 2:
		if t := text[:at] + text[at+1:]; isDigit(t[0]) && isDigit(t[len(t)-1]) {
			return t
		}
	case x < 0.5:
		if at+1 < len(b) && isDigit(b[at+1]) {
			b[at], b[at+1] = b[at+1], b[at]
		}
	default:
		b[at] = '0' + byte(rng.IntN(10))
	}
	return string(b)
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
