package typing

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Besides is a way in which prints have more on them than the card's number, turn facility and number or the bytes of a
// number round, or are in hex and happen to have no letter, and what is left of them.
type Besides struct {
	Words  string   // what such a print is, such as "a number with another behind it"
	Prints []string // without what is beside the number, HexPrefix before those in hex; as they were where nothing is

	share float64 // log of how usual the way is
	rests []*Seen // by print: what is beside it that tells something, nil where there is none
	zeros []Fit   // of prints that do not show it any more: how they were filled with zeros
}

// Log is the log probability that prints are so, and the first n of them have just that beside the number.
func (b *Besides) Log(n int) float64 {
	var rests []*Seen
	for _, s := range b.rests[:min(n, len(b.rests))] {
		if s != nil {
			rests = append(rests, s)
		}
	}
	log := b.share
	if len(rests) > 0 {
		log += restsLog(rests)
	}
	if b.zeros != nil {
		log += FitsLog(b.zeros[:min(n, len(b.zeros))])
	}
	return log
}

// HexPrefix stands before prints in hex.
const HexPrefix = "hex:"

// besides are those ways. Each takes a print apart; ok is false where it is none of those.
var besides = [...]struct {
	words string
	share float64
	apart func(s *Seen) (number, rest string, ok bool)
}{
	{"a number with another behind it", judgement.PrintedBefore, func(s *Seen) (number, rest string, ok bool) {
		return s.Part(0), s.Part(1), s.Pair
	}},
	{"a number with another before it", judgement.PrintedBehind, func(s *Seen) (number, rest string, ok bool) {
		return s.Part(1), s.Part(0), s.Pair
	}},
	{"a number, then its facility", judgement.PrintedTurned, func(s *Seen) (number, rest string, ok bool) {
		return s.Part(1) + "," + s.Part(0), "", s.Pair
	}},
	{"a number with a sign between thousands", judgement.PrintedThousands, func(s *Seen) (number, rest string, ok bool) {
		return s.Digits, "", s.InThousands()
	}},
	{checkedWords, judgement.PrintedChecked, checkedNumber},
	{digitWords, judgement.PrintedDigit, func(s *Seen) (number, rest string, ok bool) {
		number, rest, ok = checkedNumber(s)
		return number, rest, ok && len(number) >= Fewest
	}},
	{prefixedWords, judgement.PrintedPrefixed / 4, prefixed(1)},
	{prefixedWords, judgement.PrintedPrefixed / 2, prefixed(2)},
	{prefixedWords, judgement.PrintedPrefixed / 8, prefixed(3)},
	{prefixedWords, judgement.PrintedPrefixed / 8, prefixed(4)},
	{"a number in hex", judgement.PrintedDigitsHex, func(s *Seen) (number, rest string, ok bool) {
		return HexPrefix + s.Text, "", s.Kind == formats.Printed && len(s.Digits) == len(s.Text) && len(s.Text) >= Fewest && len(s.Text) <= mostHex
	}},
	{"facility and number in hex", judgement.PrintedDigitsHex, pairInHex},
	{lastByteFirst, judgement.PrintedBytesTurned, bytesTurned},
}

// BesidesShare is how usual the most usual of those ways is.
const BesidesShare = judgement.PrintedDigitsHex

// prefixedWords is what a print is that begins with digits of a year or the like, without a sign between.
const prefixedWords = "a number with more digits before it"

// prefixed parts so many digits from the number behind them.
func prefixed(n int) func(s *Seen) (number, rest string, ok bool) {
	return func(s *Seen) (number, rest string, ok bool) {
		if s.Kind == formats.Hex || len(s.Digits) != len(s.Text) || len(s.Text) < n+Fewest {
			return "", "", false
		}
		return s.Text[n:], s.Text[:n], true
	}
}

// pairInHex takes facility and number for hex that happen to have no letter. A number has 4 digits at least then: those
// of a field.
func pairInHex(s *Seen) (number, rest string, ok bool) {
	facility, err := strconv.ParseUint(s.Part(0), 16, 16)
	low, lowErr := strconv.ParseUint(s.Part(1), 16, 32)
	return fmt.Sprintf("%d,%d", facility, low), "", len(s.Part(1)) > 3 && err == nil && lowErr == nil
}

const lastByteFirst = "a number with its last byte first"

// bytesTurned turns the bytes round of a number of 3 bytes to 5, in hex to 8; chip serials have forms with their bytes
// turned round.
func bytesTurned(s *Seen) (number, rest string, ok bool) {
	v, n := uint64(0), len(s.Text)/2
	var err error
	switch {
	case s.Kind == formats.Hex:
		v, err = strconv.ParseUint(s.Text, 16, 64)
		ok = err == nil && len(s.Text)%2 == 0 && n > 2 && n <= 8
	case len(s.Digits) == len(s.Text):
		v, err = strconv.ParseUint(s.Text, 10, 64)
		n = len(strconv.FormatUint(v, 16)+"0") / 2
		n = max(n, 3)
		ok = err == nil && n <= 5
	}
	if !ok {
		return "", "", false
	}
	v = bits.ReverseBytes64(v) >> (64 - 8*n)
	if s.Kind == formats.Hex {
		return fmt.Sprintf("%s%0*X", HexPrefix, 2*n, v), "", true
	}
	return strconv.FormatUint(v, 10), "", true
}

// filling is how decimals are filled with zeros whose bytes were turned round, after which that is not to be seen; nil
// where none are such.
func filling(prints, turned []string) (fits []Fit) {
	longest := 0
	for _, print := range prints {
		longest = max(longest, len(print))
	}
	for i, print := range prints {
		if turned[i] != print && !strings.HasPrefix(turned[i], HexPrefix) {
			s := seenOf(print)
			set := s.NumberStyles()
			if len(print) == longest {
				set |= 1 << AllDigits
			}
			fits = append(fits, Fit{Styles: set, Weight: 1})
		}
	}
	return fits
}

// mostHex is how many digits a number of 64 bits has in hex.
const mostHex = 16

// checkedWords is what a print is whose last digit checks the others.
const checkedWords = "a number and its check digit"

// digitWords is what a print is that has one more digit, which goes with the number as a check does: no number has two.
const digitWords = "a number and one more digit"

// checkedNumber parts the last digit of a number from the others.
func checkedNumber(s *Seen) (number, digit string, ok bool) {
	n := len(s.Text) - 1
	if n < 1 || s.Kind == formats.Hex || len(s.Digits) != len(s.Text) {
		return "", "", false
	}
	return s.Text[:n], s.Text[n:], true
}

// BesidesOf returns the ways in which some of the prints, which are as in Besides, have more on them.
func BesidesOf(prints []string) (all []Besides) {
	for _, way := range besides {
		one := Besides{Words: way.words, Prints: slices.Clone(prints), share: math.Log(way.share),
			rests: make([]*Seen, len(prints))}
		checks, changed := true, false
		beside, of := map[string]bool{}, map[string]string{} // what is beside numbers, and of each number
		for i, print := range prints {
			s := seenOf(print)
			number, rest, ok := way.apart(&s)
			if !ok {
				continue
			}
			if one.Prints[i], changed = number, true; rest == "" {
				continue
			}
			if other, again := of[number]; way.words == digitWords && again && other != rest {
				changed = false
				break
			}
			beside[rest], of[number] = true, rest
			if checks = checks && checkDigit(number) == rest[0]; way.words != checkedWords { // else it says nothing more
				seen := NewSeen(formats.Sighting{Kind: formats.Printed, Text: rest})
				one.rests[i] = &seen
			}
		}
		if way.words == lastByteFirst {
			one.zeros = filling(prints, one.Prints)
		}
		if way.words == prefixedWords && len(beside) > 2+len(prints)/4 {
			continue // digits of many values are the number's own
		}
		if changed && (checks || way.words != checkedWords) {
			all = append(all, one)
		}
	}
	return all
}

// PrintText returns a print as Besides has it, "" for other sightings.
func PrintText(s formats.Sighting) string {
	switch s.Kind {
	case formats.Printed:
		return s.Text
	case formats.Hex:
		return HexPrefix + s.Text
	}
	return ""
}

// seenOf prepares a print as Besides has it.
func seenOf(print string) Seen {
	if hex, ok := strings.CutPrefix(print, HexPrefix); ok {
		return NewSeen(formats.Sighting{Kind: formats.Hex, Text: hex})
	}
	return NewSeen(formats.Sighting{Kind: formats.Printed, Text: print})
}

// restsLog is the log probability of what is beside numbers: one of a few on all cards, mostly the same, or anything.
func restsLog(rests []*Seen) float64 {
	log := NothingLog(rests)
	floors, values := map[uint64]float64{}, make([]uint64, 0, len(rests))
	for _, s := range rests {
		if len(s.Digits) < len(s.Text) || !OneWord(s.Digits) {
			return log
		}
		v := Number(s.Digits)
		floors[v], values = s.Floor, append(values, v)
	}
	slices.Sort(values)
	few := density.FewLog(values, func(v uint64) float64 { return floors[v] })
	return logp.Add(log, few) - math.Ln2
}

// checkDigit is the digit that ISO/IEC 7812-1, annex B, puts behind a number: from the right, every second digit counts
// twice, and the digits of all together with the check digit come to a multiple of ten.
func checkDigit(number string) byte {
	sum := 0
	for i := range number {
		d := int(number[len(number)-1-i] - '0')
		if i%2 == 0 {
			d *= 2
		}
		sum += d/10 + d%10
	}
	return '0' + byte((10-sum%10)%10)
}
