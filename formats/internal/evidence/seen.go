package evidence

import (
	"bytes"
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
		if i := strings.IndexAny(t.Text, betweenTwo); t.pair {
			t.high, t.low = strings.TrimLeft(t.Text[:i], "0"), strings.TrimLeft(t.Text[i+1:], "0")
			t.bare = t.high + t.low
		}
	case formats.Hex:
		t.floor = hexShare * widthShare * math.Pow(16, -float64(len(t.digits)))
	case formats.Serial:
		t.floor = math.Ldexp(1, -s.Bits.Len())
	}
	return t
}

// A site writes what a form gives in one style. Styles are numbered: as the form does, with other separators, zeros at
// the start dropped, filled with zeros up to a width of digits, the last so many digits alone.
const (
	asWritten = iota
	otherSeparator
	zerosDropped
	filled                       // up to 3 digits, and so on up to filledTo
	lastDigits = filled + 18     // the last 3, and so on
	styles     = lastDigits + 18 // how many there are
	fewest     = 3               // digits of a filled or cut print
)

// styleSet is a set of styles.
type styleSet uint64

var stylePrior = func() (p [styles]float64) {
	p[asWritten], p[otherSeparator], p[zerosDropped] = styleExact, styleSeparator, styleDropped
	for i := filled; i < lastDigits; i++ {
		p[i] = styleFilled * filledTo(i-filled+fewest)
	}
	for i := lastDigits; i < styles; i++ {
		p[i] = styleLast / (styles - lastDigits)
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
	digits := buf[:0]
	for _, c := range text {
		if c != ',' && c != ':' {
			digits = append(digits, c)
		}
	}
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

// last is the style of writing so many last digits.
func last(digits int) styleSet {
	if n := lastDigits + digits - fewest; n >= lastDigits && n < styles {
		return 1 << n
	}
	return 0
}

// filledPair is fills for the second number of a pair, whatever zeros the first one has. Pairs are mostly written in full
// or without zeros, so that their widths are among those that are rare for one number.
func (s *Seen) filledPair() styleSet {
	const further = 8
	high := strings.IndexAny(s.Text, betweenTwo)
	return fills(len(s.Text)-1-high, s.low) & (1<<(filled+further) - 1) << further
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

// slip returns the probability that a print is written down as s where its form gives text, with the zeros that this
// has or without those at the start: by a digit that is another, two swapped, one missing, one too many; or is that of
// another card.
func (s *Seen) slip(text []byte) float64 {
	var buf [96]byte
	digits := buf[:0]
	for _, c := range text {
		if c != ',' && c != ':' {
			digits = append(digits, c)
		}
	}
	p := slipDigits(digits, s.digits)
	bare := bytes.TrimLeft(digits, "0")
	switch cut := bytes.IndexByte(text, ','); {
	case cut >= 0 && s.pair:
		if p == 0 {
			high, low := bytes.TrimLeft(text[:cut], "0"), bytes.TrimLeft(text[cut+1:], "0")
			p = slipDigits(append(append(digits[:0], high...), low...), s.bare)
		}
	case len(bare) < len(digits):
		p += slipDigits(bare, s.bare) / 2
	}
	return p + s.astray()
}

// nearby is how many widths there are that a print with a slip can have been meant to have: a digit fewer, as many, one
// more.
const nearby = 3

// near is the probabilities of slips in numbers that are filled with zeros up to a width, and in their last digits
// alone, by that width. They are beside those of slip.
type near struct {
	least       int // the first width
	filled, cut [nearby]float64
}

// near returns how a print can be written down wrong where its form gives text.
func (s *Seen) near(text []byte) (n near) {
	n.least = len(s.digits) - 1
	if bytes.ContainsAny(text, ",:") {
		return n
	}
	bare := bytes.TrimLeft(text, "0")
	var buf [96]byte
	for i := range nearby {
		width := n.least + i
		switch {
		case width < fewest || width >= lastDigits-filled+fewest:
		case width < len(text):
			n.cut[i] = slipDigits(text[len(text)-width:], s.digits)
			fallthrough
		default:
			if width > len(bare) && width != len(text) {
				zeros := buf[:width-len(bare)]
				for i := range zeros {
					zeros[i] = '0'
				}
				n.filled[i] = slipDigits(append(zeros, bare...), s.digits)
			}
		}
	}
	return n
}

// in returns the probability of a slip in a style, as far as it is not that of all styles.
func (n *near) in(style int) float64 {
	by, first := &n.filled, filled
	if style >= lastDigits {
		by, first = &n.cut, lastDigits
	}
	if i := style - first + fewest - n.least; style >= filled && i >= 0 && i < nearby {
		return by[i]
	}
	return 0
}

// styles returns those in which the print can be one with a slip.
func (n *near) styles() (set styleSet) {
	for i := range nearby {
		if n.filled[i] > 0 {
			set |= fill(n.least + i)
		}
		if n.cut[i] > 0 {
			set |= last(n.least + i)
		}
	}
	return set
}

// add adds the probabilities of another one of the same print, by their weight.
func (n *near) add(o *near, weight float64) {
	n.least = o.least
	for i := range nearby {
		n.filled[i] += weight * o.filled[i]
		n.cut[i] += weight * o.cut[i]
	}
}

// astray returns the probability of a sighting that is written down for the wrong card, or is anything.
func (s *Seen) astray() float64 { return slipOther*s.others + slipNothing*s.floor }

// slipDigits is slip for digits alone.
func slipDigits(meant []byte, got string) float64 {
	n := len(meant)
	switch {
	case len(got) == n:
		first, last, different := -1, -1, 0
		for i := range got {
			if got[i] != meant[i] {
				if first < 0 {
					first = i
				}
				last = i
				different++
			}
		}
		switch {
		case different == 1:
			return slipDigit / float64(9*n)
		case different == 2 && last == first+1 && got[first] == meant[last] && got[last] == meant[first]:
			return slipSwap / float64(n)
		}
	case len(got) == n-1:
		return slipLost / float64(n) * oneMissing(string(meant), got)
	case len(got) == n+1:
		return slipExtra / float64(10*(n+1)) * oneMissing(got, string(meant))
	}
	return 0
}

// oneMissing returns in how many places a character can be taken out of long so that short is left.
func oneMissing(long, short string) float64 {
	i := 0
	for i < len(short) && long[i] == short[i] {
		i++
	}
	if long[i+1:] != short[i:] {
		return 0
	}
	ways := 1
	for i > 0 && long[i-1] == long[i] {
		i--
		ways++
	}
	return float64(ways)
}

// fit is how one card's sighting fits what one form gives for it: for each style the probability of it, and that of a
// slip.
type fit struct {
	styles styleSet
	weight float64 // of the styles; of a card whose read has to be repaired, that of the repairs that give what is seen
	slip   float64
	near   near    // what is to be added to slip, by style
	any    float64 // probability of what is seen where the card can be any: its read tells nothing
}

// fitsLog returns the log probability of the prints of a kind of card in one form, summed over the styles and over how
// often somebody slips.
func fitsLog(fits []fit) float64 {
	var all, common styleSet
	common = ^common
	plain := 0 // cards that are just what one and the same set of styles gives: all of these count alike
	for i := range fits {
		all |= fits[i].styles | fits[i].near.styles()
		if fits[i].plain() {
			common &= fits[i].styles
			plain++
		}
	}
	mix := newMix()
	for k, e := range TypingErrors {
		for set := all; set != 0; set &= set - 1 {
			style := trailing(set)
			log := printErrorLogs[k] + stylePriorLogs[style]
			every := plain > 0 && common>>uint(style)&1 == 1
			if every {
				log += float64(plain) * math.Log1p(-e.Rate)
			}
			for i := range fits {
				if f := &fits[i]; !every || !f.plain() {
					log += math.Log(f.in(style, e.Rate))
				}
			}
			mix.add(log)
		}
		slips := printErrorLogs[k] // a slip on every card
		for i := 0; i < len(fits) && slips > mix.top-cutOff; i++ {
			f := &fits[i]
			slips += math.Log(e.Rate*(f.slip+otherStyle*f.weight*float64(min(f.styles, 1))) + f.any)
		}
		mix.add(slips)
	}
	return mix.log()
}

// cutOff is how much less likely, as a log, something is that need not be added.
const cutOff = 40

// plain reports whether a fit is that of a card whose read is known, and whose print is what the form gives.
func (f *fit) plain() bool { return f.styles != 0 && f.weight == 1 && f.slip == 0 && f.any == 0 }

// in returns the probability of a fit where a kind of card is printed in one style and slips come at a rate.
func (f *fit) in(style int, rate float64) float64 {
	p := rate*(f.slip+f.near.in(style)) + f.any
	if f.styles>>uint(style)&1 == 1 {
		return p + (1-rate)*f.weight
	}
	if f.styles != 0 {
		p += rate * otherStyle * f.weight
	}
	return p
}

var printErrorLogs, stylePriorLogs = func() (e [len(TypingErrors)]float64, s [styles]float64) {
	for i := range e {
		e[i] = math.Log(TypingErrors[i].Share)
	}
	for i := range s {
		s[i] = math.Log(stylePrior[i])
	}
	return e, s
}()

// MeanTypingErrors is how often a print is written down wrong, over all sites.
func MeanTypingErrors() (mean float64) {
	for _, e := range TypingErrors {
		mean += e.Share * e.Rate
	}
	return mean
}

// Digits returns a print without what stands between its digits.
func Digits(text string) string { return joiners.Replace(text) }
