package typing

import (
	"bytes"
	"cmp"
	"math"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// Seen is a sighting that is no read, prepared for comparing.
type Seen struct {
	Kind   formats.SightingKind
	Text   string       // as it was given
	Serial wiegand.Bits // of a chip serial

	Digits string  // without separators
	bare   string  // without zeros at the start either, of both numbers of a pair
	Pair   bool    // two numbers with one separator between
	High   string  // of a pair, the first number without zeros at its start
	Low    string  // and the second one
	Floor  float64 // probability of seeing just this by chance
	Others float64 // share of the other cards with such a sighting that have the same
	One    bool    // of InThousands: reads of other cards say that such are one number
}

// Significant returns how many digits are left where zeros at the start are none, and the first so many others may not
// have been there: at least so many a print of one number has before as many slips.
func (s *Seen) Significant(slips int) int {
	digits := s.bare
	for ; slips > 0 && digits != ""; slips-- {
		digits = strings.TrimLeft(digits[1:], "0")
	}
	return len(digits)
}

// betweenTwo are the signs that stand between the two numbers of a pair.
const betweenTwo = ",-/ .:"

// joiners takes out what stands between the digits of a print or a serial.
var joiners = strings.NewReplacer(",", "", "-", "", "/", "", " ", "", ":", "", ".", "")

// NewSeen prepares a sighting.
func NewSeen(s formats.Sighting) Seen {
	t := Seen{Kind: s.Kind, Text: s.Text, Serial: s.Bits}
	t.Digits = joiners.Replace(s.Text)
	t.bare = strings.TrimLeft(t.Digits, "0")
	switch s.Kind {
	case formats.Printed:
		t.Floor = (1 - judgement.HexShare) * judgement.WidthShare * math.Pow(10, -float64(len(t.Digits)))
		if len(t.Digits) < len(t.Text) {
			t.Floor *= judgement.Separated
		}
		if t.Pair = IsPair(t.Text); t.Pair {
			t.High, t.Low = strings.TrimLeft(t.Part(0), "0"), strings.TrimLeft(t.Part(1), "0")
			t.bare = t.High + t.Low
		}
	case formats.Hex:
		t.Floor = judgement.HexShare * judgement.WidthShare * math.Pow(16, -float64(len(t.Digits)))
	case formats.Serial:
		t.Floor = math.Ldexp(1, -s.Bits.Len())
	}
	return t
}

// IsPair reports whether a print is two numbers with one separator between.
func IsPair(text string) bool {
	n := 0
	for i := range len(text) {
		if strings.IndexByte(betweenTwo, text[i]) >= 0 {
			n++
		}
	}
	return n == 1
}

// Part returns the first or the second number of a pair as it is printed, "" of what is no pair.
func (s *Seen) Part(i int) string {
	if cut := strings.IndexAny(s.Text, betweenTwo); s.Pair {
		return [...]string{s.Text[:cut], s.Text[cut+1:]}[i]
	}
	return ""
}

// Sign returns what stands between the numbers of a pair, 0 for what is no pair.
func (s *Seen) Sign() byte {
	if s.Pair {
		return s.Text[strings.IndexAny(s.Text, betweenTwo)]
	}
	return 0
}

// InThousands reports whether a print can be one number with a sign between its thousands.
func (s *Seen) InThousands() bool {
	first := s.Part(0)
	return s.Pair && len(first) <= 3 && first[0] != '0' && len(s.Part(1)) == 3
}

// A site writes what a form gives in one style. Styles are numbered: as the form does, with other separators, zeros at
// the start dropped, filled with zeros up to a width of digits, the last so many digits alone.
const (
	AsWritten = iota
	OtherSeparator
	ZerosDropped
	firstDropped                                 // of a pair: those of its first number alone
	AllDigits                                    // filled with zeros up to as many digits as the largest number has
	Filled                                       // up to 3 digits, and so on
	LastDigits   = Filled + judgement.Widths     // the last 3, and so on
	FilledPairs  = LastDigits + judgement.Widths // of a pair: each number up to a width of its own, by the first one's
	styles       = FilledPairs + firstWidths*secondWidths
	Fewest       = 3 // digits of a filled or cut print
)

// How many widths the first number of a pair is filled up to, with none, and how many the second: 3 digits and so on.
const firstWidths, secondWidths = 4, 5

// StyleSet is a set of styles.
type StyleSet uint64

// StylePrior is how usual each style is.
var StylePrior = func() (p [styles]float64) {
	p[AsWritten], p[OtherSeparator], p[AllDigits] = judgement.StyleExact, judgement.StyleSeparator, judgement.StyleAll
	p[ZerosDropped], p[firstDropped] = judgement.StyleDropped, judgement.StyleFirst
	for i := Filled; i < LastDigits; i++ {
		p[i] = judgement.StyleFilled * judgement.FilledTo(i-Filled+Fewest)
	}
	for i := LastDigits; i < FilledPairs; i++ {
		p[i] = judgement.StyleLast / (FilledPairs - LastDigits)
	}
	for i := FilledPairs; i < styles; i++ {
		p[i] = judgement.StyleFilledPair / (styles - FilledPairs)
	}
	return p
}()

// StylesOf returns the styles in which what a form gives can be written as s. joined says that the form puts two
// numbers together with nothing between.
func (s *Seen) StylesOf(text []byte, joined bool) (set StyleSet) {
	if string(text) == s.Text {
		set |= 1 << AsWritten
	}
	if s.Pair && joined {
		return set // the form with a separator says where it stands
	}
	var buf [96]byte
	digits := appendDigits(buf[:0], text)
	two := len(digits) < len(text)
	if cut := bytes.IndexByte(text, ','); cut >= 0 && s.Pair {
		high, low := bytes.TrimLeft(text[:cut], "0"), bytes.TrimLeft(text[cut+1:], "0")
		if string(high) != s.High || string(low) != s.Low {
			return set // the same digits parted elsewhere are two other numbers
		}
		if bareLen(s.High)+bareLen(s.Low)+1 == len(s.Text) {
			set |= 1 << ZerosDropped
		}
		if string(digits) == s.Digits {
			set |= 1 << OtherSeparator
		}
		if bareLen(s.High)+len(text)-cut == len(s.Text) && strings.HasSuffix(s.Text, string(text[cut+1:])) {
			set |= 1 << firstDropped
		}
		return set | s.filledPair()
	}
	if string(digits) == s.Digits {
		set |= 1 << OtherSeparator
	}
	bare := bytes.TrimLeft(digits, "0")
	switch {
	case string(bare) == s.bare:
		if len(s.bare) == len(s.Digits) || s.bare == "" && len(s.Digits) == 1 {
			set |= 1 << ZerosDropped
		}
		set |= fills(len(s.Digits), s.bare)
		if !two && len(bare) <= len(s.Digits) { // the last digits of a short number are all of it
			set |= Last(len(s.Digits))
		}
	case !two && len(s.Digits) < len(digits) && string(digits[len(digits)-len(s.Digits):]) == s.Digits:
		set |= Last(len(s.Digits))
	}
	return set
}

// bareLen is how many digits a number has that is given without zeros at its start: one for 0.
func bareLen(bare string) int { return max(1, len(bare)) }

// NumberStyles is StylesOf for a print that shows the right number, whatever zeros are before it.
func (s *Seen) NumberStyles() StyleSet { return s.StylesOf([]byte(cmp.Or(s.bare, "0")), false) }

// appendDigits appends what a form gives without what it puts between digits.
func appendDigits(dst, text []byte) []byte {
	for _, c := range text {
		if c != ',' && c != ':' {
			dst = append(dst, c)
		}
	}
	return dst
}

// Last is the style of writing so many last digits.
func Last(digits int) StyleSet {
	if n := LastDigits + digits - Fewest; n >= LastDigits && n < FilledPairs {
		return 1 << n
	}
	return 0
}

// filledPair is the styles in which a pair is filled with zeros: both its numbers, or the second one alone. A number
// that begins with no zero can be filled up to any width that it has the digits for.
func (s *Seen) filledPair() (set StyleSet) {
	first, second := s.Part(0), s.Part(1)
	high := min(max(len(first), Fewest)-Fewest+1, firstWidths-1)
	low := min(len(second)-Fewest, secondWidths-1)
	if low < 0 {
		return 0
	}
	lows, highs := StyleSet(1)<<low, StyleSet(1)<<(high*secondWidths)
	if bareLen(s.Low) == len(second) {
		lows = 1<<(low+1) - 1
	}
	if bareLen(s.High) == len(first) {
		highs = 1 // not filled
		for i := 1; i <= high && Fewest <= len(first); i++ {
			highs |= 1 << (i * secondWidths)
		}
	}
	return highs * lows << FilledPairs // each with each
}

// fills is the styles in which a number is written in so many digits: where it begins with no zero it has as many
// digits as it needs, and can be filled up to fewer.
func fills(digits int, bare string) StyleSet {
	if digits > len(bare) {
		return fill(digits)
	}
	return 1<<max(Filled, min(LastDigits, Filled+digits-Fewest+1)) - 1<<Filled
}

// fill is the style of filling up to so many digits; the widest one is that of all wider ones too, as numbers of more
// than 64 bits have.
func fill(digits int) StyleSet {
	if n := Filled + digits - Fewest; n >= Filled {
		return 1 << min(n, LastDigits-1)
	}
	return 0
}

// Digits returns a print without what stands between its digits.
func Digits(text string) string { return joiners.Replace(text) }

// DigitsOf returns how many decimal digits the largest number of so many bits has, 0 for none.
func DigitsOf(bits int) int { return int(math.Ceil(float64(bits) * math.Log10(2))) }
