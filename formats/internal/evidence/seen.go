package evidence

import (
	"bytes"
	"cmp"
	"math"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Seen is a sighting that is no read, prepared for comparing.
type Seen struct {
	Kind   formats.SightingKind
	Text   string
	Serial wiegand.Bits // of a chip serial

	digits string  // without separators
	bare   string  // without zeros at the start either, of both numbers of a pair
	pair   bool    // two numbers with one separator between
	high   string  // of a pair, the first number without zeros at its start
	low    string  // and the second one
	floor  float64 // probability of seeing just this by chance
	others float64 // share of the other cards with such a sighting that have the same
}

// betweenTwo are the signs that stand between the two numbers of a pair.
const betweenTwo = ",-/ .:"

// joiners takes out what stands between the digits of a print or a serial.
var joiners = strings.NewReplacer(",", "", "-", "", "/", "", " ", "", ":", "", ".", "")

// NewSeen prepares a sighting.
func NewSeen(s formats.Sighting) Seen {
	t := Seen{Kind: s.Kind, Text: s.Text, Serial: s.Bits}
	t.digits = joiners.Replace(s.Text)
	t.bare = strings.TrimLeft(t.digits, "0")
	switch s.Kind {
	case formats.Printed:
		t.floor = (1 - hexShare) * widthShare * math.Pow(10, -float64(len(t.digits)))
		if len(t.digits) < len(t.Text) {
			t.floor *= separated
		}
		t.pair = len(t.digits)+1 == len(t.Text)
		if t.pair {
			t.high, t.low = strings.TrimLeft(t.part(0), "0"), strings.TrimLeft(t.part(1), "0")
			t.bare = t.high + t.low
		}
	case formats.Hex:
		t.floor = hexShare * widthShare * math.Pow(16, -float64(len(t.digits)))
	case formats.Serial:
		t.floor = math.Ldexp(1, -s.Bits.Len())
	}
	return t
}

// part returns the first or the second number of a pair as it is printed, "" of what is no pair.
func (s *Seen) part(i int) string {
	if cut := strings.IndexAny(s.Text, betweenTwo); s.pair {
		return [...]string{s.Text[:cut], s.Text[cut+1:]}[i]
	}
	return ""
}

// A site writes what a form gives in one style. Styles are numbered: as the form does, with other separators, zeros at
// the start dropped, filled with zeros up to a width of digits, the last so many digits alone.
const (
	asWritten = iota
	otherSeparator
	zerosDropped
	firstDropped                       // of a pair: those of its first number alone
	allDigits                          // filled with zeros up to as many digits as the largest number has
	filled                             // up to 3 digits, and so on up to filledTo
	lastDigits   = filled + widths     // the last 3, and so on
	filledPairs  = lastDigits + widths // of a pair: each number filled up to a width of its own, by the first one's
	styles       = filledPairs + firstWidths*secondWidths
	fewest       = 3 // digits of a filled or cut print
)

// How many widths the first number of a pair is filled up to, with none, and how many the second: 3 digits and so on.
const firstWidths, secondWidths = 4, 5

// styleSet is a set of styles.
type styleSet uint64

var stylePrior = func() (p [styles]float64) {
	p[asWritten], p[otherSeparator], p[zerosDropped], p[firstDropped], p[allDigits] = styleExact, styleSeparator,
		styleDropped, styleFirst, styleAll
	for i := filled; i < lastDigits; i++ {
		p[i] = styleFilled * filledTo(i-filled+fewest)
	}
	for i := lastDigits; i < filledPairs; i++ {
		p[i] = styleLast / (filledPairs - lastDigits)
	}
	for i := filledPairs; i < styles; i++ {
		p[i] = styleFilledPair / (styles - filledPairs)
	}
	return p
}()

// stylesOf returns the styles in which what a form gives can be written as s. joined says that the form puts two
// numbers together with nothing between.
func (s *Seen) stylesOf(text []byte, joined bool) (set styleSet) {
	if string(text) == s.Text {
		set |= 1 << asWritten
	}
	if s.pair && joined {
		return set // the form with a separator says where it stands
	}
	var buf [96]byte
	digits := appendDigits(buf[:0], text)
	two := len(digits) < len(text)
	if cut := bytes.IndexByte(text, ','); cut >= 0 && s.pair {
		high, low := bytes.TrimLeft(text[:cut], "0"), bytes.TrimLeft(text[cut+1:], "0")
		if string(high) != s.high || string(low) != s.low {
			return set // the same digits parted elsewhere are two other numbers
		}
		if len(s.high)+len(s.low)+1 == len(s.Text) {
			set |= 1 << zerosDropped
		}
		if string(digits) == s.digits {
			set |= 1 << otherSeparator
		}
		if len(s.high)+len(text)-cut == len(s.Text) && strings.HasSuffix(s.Text, string(text[cut+1:])) {
			set |= 1 << firstDropped
		}
		return set | s.filledPair()
	}
	if string(digits) == s.digits {
		set |= 1 << otherSeparator
	}
	bare := bytes.TrimLeft(digits, "0")
	switch {
	case string(bare) == s.bare:
		if len(s.bare) == len(s.digits) || s.bare == "" && len(s.digits) == 1 {
			set |= 1 << zerosDropped
		}
		set |= fills(len(s.digits), s.bare)
		if !two && len(bare) <= len(s.digits) { // the last digits of a short number are all of it
			set |= last(len(s.digits))
		}
	case !two && len(s.digits) < len(digits) && string(digits[len(digits)-len(s.digits):]) == s.digits:
		set |= last(len(s.digits))
	}
	return set
}

// numberStyles is stylesOf for a print that shows the right number, whatever zeros are before it.
func (s *Seen) numberStyles() styleSet { return s.stylesOf([]byte(cmp.Or(s.bare, "0")), false) }

// appendDigits appends what a form gives without what it puts between digits.
func appendDigits(dst, text []byte) []byte {
	for _, c := range text {
		if c != ',' && c != ':' {
			dst = append(dst, c)
		}
	}
	return dst
}

// last is the style of writing so many last digits.
func last(digits int) styleSet {
	if n := lastDigits + digits - fewest; n >= lastDigits && n < filledPairs {
		return 1 << n
	}
	return 0
}

// filledPair is the styles in which a pair is filled with zeros: both its numbers, or the second one alone. A number
// that begins with no zero can be filled up to any width that it has the digits for.
func (s *Seen) filledPair() (set styleSet) {
	first, second := s.part(0), s.part(1)
	high := min(max(len(first), fewest)-fewest+1, firstWidths-1)
	low := min(len(second)-fewest, secondWidths-1)
	if low < 0 {
		return 0
	}
	lows, highs := styleSet(1)<<low, styleSet(1)<<(high*secondWidths)
	if len(s.low) == len(second) {
		lows = 1<<(low+1) - 1
	}
	if len(s.high) == len(first) {
		highs = 1 // not filled
		for i := 1; i <= high && fewest <= len(first); i++ {
			highs |= 1 << (i * secondWidths)
		}
	}
	return highs * lows << filledPairs // each with each
}

// fills is the styles in which a number is written in so many digits: where it begins with no zero it has as many
// digits as it needs, and can be filled up to fewer.
func fills(digits int, bare string) styleSet {
	if digits > len(bare) {
		return fill(digits)
	}
	return 1<<max(filled, min(lastDigits, filled+digits-fewest+1)) - 1<<filled
}

// fill is the style of filling up to so many digits.
func fill(digits int) styleSet {
	if n := filled + digits - fewest; n >= filled && n < lastDigits {
		return 1 << n
	}
	return 0
}

// Digits returns a print without what stands between its digits.
func Digits(text string) string { return joiners.Replace(text) }

// digitsOf returns how many decimal digits the largest number of so many bits has, 0 for none.
func digitsOf(bits int) int { return int(math.Ceil(float64(bits) * math.Log10(2))) }
