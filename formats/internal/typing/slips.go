package typing

import (
	"bytes"

	"github.com/cardtell/cardtell/formats/internal/judgement"
)

// Slip returns the probability that a print is written down as s where its form gives text, with the zeros that this
// has or without those at the start: by a digit that is another, two swapped, one missing, one too many; or is that of
// another card.
func (s *Seen) Slip(text []byte) float64 {
	var buf [96]byte
	digits := appendDigits(buf[:0], text)
	p := SlipDigits(digits, s.Digits)
	bare := bytes.TrimLeft(digits, "0")
	switch cut := bytes.IndexByte(text, ','); {
	case cut >= 0 && s.Pair:
		if p == 0 {
			high, low := bytes.TrimLeft(text[:cut], "0"), text[cut+1:]
			meant := append(append(digits[:0], high...), low...)
			if p = s.slipOf(meant, s.High+s.Part(1)); p == 0 {
				low = bytes.TrimLeft(low, "0")
				if p = s.slipOf(append(append(digits[:0], high...), low...), s.bare); p == 0 {
					p = s.slipPair(high, low)
				}
			}
		}
	case len(bare) < len(digits):
		p += SlipDigits(bare, s.bare) / 2
	}
	return p + s.Astray()
}

// slipOf is SlipDigits for a print without zeros before its numbers, or as it stands: what is a 0 now may have been
// another digit.
func (s *Seen) slipOf(meant []byte, got string) float64 {
	if p := SlipDigits(meant, got); p > 0 {
		return p
	}
	return SlipDigits(meant, s.Digits)
}

// slipPair is SlipDigits for two numbers with a sign between, given without the zeros before them, where each may be
// filled up to the width that it has in other prints: one of the two is right, the other has a slip.
func (s *Seen) slipPair(high, low []byte) (p float64) {
	first, second := s.Part(0), s.Part(1)
	if string(high) == s.High {
		p = slipFilled(low, second) * float64(len(second))
	}
	if string(low) == s.Low {
		p += slipFilled(high, first) * float64(len(first))
	}
	return p / float64(len(first)+len(second))
}

// slipFilled is SlipDigits for a number that was filled with zeros up to the width of the print, or up to a digit more
// or fewer: what is a 0 now may have been another digit.
func slipFilled(bare []byte, got string) (p float64) {
	var buf [96]byte
	for width := max(len(bare), len(got)-1); width <= min(len(got)+1, len(buf)); width++ {
		p = max(p, SlipDigits(filled(buf[:], bare, width), got))
	}
	return p
}

// filled returns a number with zeros before it up to a width that it does not exceed, in buf, which is as long.
func filled(buf, bare []byte, width int) []byte {
	zeros := buf[:width-len(bare)]
	for i := range zeros {
		zeros[i] = '0'
	}
	return append(zeros, bare...)
}

// nearby is how many widths there are that a print with a slip can have been meant to have: a digit fewer, as many, one
// more.
const nearby = 3

// near is the probabilities of slips in numbers that are filled with zeros up to a width, and in their last digits
// alone, by that width. They are beside those of slip.
type near struct {
	least       int // the first width
	all         int // that of AllDigits, 0 where there is no such style
	filled, cut [nearby]float64
}

// Near returns how a print can be written down wrong where its form gives text, and for the largest number so many
// digits.
func (s *Seen) Near(text []byte, all int) (n near) {
	n.least, n.all = len(s.Digits)-1, all
	if bytes.IndexByte(text, ',') >= 0 || bytes.IndexByte(text, ':') >= 0 {
		return n
	}
	bare := bytes.TrimLeft(text, "0")
	var buf [96]byte
	for i := range nearby {
		width := n.least + i
		switch {
		case width < Fewest || width >= LastDigits-Filled+Fewest:
		case width < len(text):
			n.cut[i] = SlipDigits(text[len(text)-width:], s.Digits)
			fallthrough
		default:
			if width > len(bare) && width != len(text) {
				n.filled[i] = SlipDigits(filled(buf[:], bare, width), s.Digits)
			}
		}
	}
	return n
}

// in returns the probability of a slip in a style, as far as it is not that of all styles.
func (n *near) in(style int) float64 {
	by, first := &n.filled, Filled
	if style == AllDigits && n.all > 0 {
		style = min(Filled+n.all-Fewest, LastDigits-1)
	}
	if style >= LastDigits {
		by, first = &n.cut, LastDigits
	}
	if i := style - first + Fewest - n.least; style >= Filled && i >= 0 && i < nearby {
		return by[i]
	}
	return 0
}

// Styles returns those in which the print can be one with a slip.
func (n *near) Styles() (set StyleSet) {
	for i := range nearby {
		if n.filled[i] > 0 {
			set |= fill(n.least + i)
			if n.least+i == n.all {
				set |= 1 << AllDigits
			}
		}
		if n.cut[i] > 0 {
			set |= Last(n.least + i)
		}
	}
	return set
}

// Add adds the probabilities of another one of the same print, by their weight.
func (n *near) Add(o *near, weight float64) {
	n.least, n.all = o.least, o.all
	for i := range nearby {
		n.filled[i] += weight * o.filled[i]
		n.cut[i] += weight * o.cut[i]
	}
}

// Astray returns the probability of a sighting that is written down for the wrong card, or is anything.
func (s *Seen) Astray() float64 { return judgement.SlipOther*s.Others + judgement.SlipNothing*s.Floor }

// SlipDigits is slip for digits alone.
func SlipDigits(meant []byte, got string) float64 {
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
			return judgement.SlipDigit / float64(9*n)
		case different == 2 && last == first+1 && got[first] == meant[last] && got[last] == meant[first]:
			return judgement.SlipSwap / float64(n)
		}
	case len(got) == n-1:
		return judgement.SlipLost / float64(n) * oneMissing(string(meant), got)
	case len(got) == n+1:
		return judgement.SlipExtra / float64(10*(n+1)) * oneMissing(got, string(meant))
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
