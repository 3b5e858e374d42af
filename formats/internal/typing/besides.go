package typing

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Besides is a way in which prints have more on them than the card's number, turn facility and number or the bytes of a
// number round, or are in hex and happen to have no letter: what is left of them, and how likely it is that prints are
// so, and have just that beside the number.
type Besides struct {
	Words  string   // what such a print is, such as "a number with another behind it"
	Prints []string // without what is beside the number, HexPrefix before those in hex; as they were where nothing is
	Log    float64
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
	{checkedWords, judgement.PrintedChecked, checkedNumber},
	{"a number and one more digit", judgement.PrintedDigit, func(s *Seen) (number, rest string, ok bool) {
		number, rest, ok = checkedNumber(s)
		return number, rest, ok && len(number) >= Fewest
	}},
	{"a number in hex", judgement.PrintedDigitsHex, func(s *Seen) (number, rest string, ok bool) {
		return HexPrefix + s.Text, "", s.Kind == formats.Printed && len(s.Digits) == len(s.Text) && len(s.Text) >= Fewest && len(s.Text) <= mostHex
	}},
	{lastByteFirst, judgement.PrintedBytesTurned, bytesTurned},
}

const lastByteFirst = "a number with its last byte first"

// bytesTurned turns the bytes round of a number of 3 bytes, or of 5: those of 4 and more that are chip serials have
// forms with their bytes turned round.
func bytesTurned(s *Seen) (number, rest string, ok bool) {
	v, n := uint64(0), len(s.Text)/2
	var err error
	switch {
	case s.Kind == formats.Hex:
		v, err = strconv.ParseUint(s.Text, 16, 64)
		ok = err == nil && len(s.Text)%2 == 0 && n > 2
	case len(s.Digits) == len(s.Text):
		v, err = strconv.ParseUint(s.Text, 10, 64)
		n = len(strconv.FormatUint(v, 16)+"0") / 2
		n = max(n, 3)
		ok = err == nil && (n == 3 || n == 5)
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

// mostHex is how many digits a number of 64 bits has in hex.
const mostHex = 16

// checkedWords is what a print is whose last digit checks the others.
const checkedWords = "a number and its check digit"

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
		one := Besides{Words: way.words, Prints: slices.Clone(prints), Log: math.Log(way.share)}
		var rests []*Seen
		checks, changed := true, false
		for i, print := range prints {
			s := seenOf(print)
			number, rest, ok := way.apart(&s)
			if !ok {
				continue
			}
			if one.Prints[i], changed = number, true; rest != "" {
				seen := NewSeen(formats.Sighting{Kind: formats.Printed, Text: rest})
				rests = append(rests, &seen)
				checks = checks && checkDigit(number) == rest[0]
			}
		}
		switch {
		case !changed || way.words == checkedWords && !checks:
			continue
		case len(rests) > 0 && way.words != checkedWords:
			one.Log += restsLog(rests)
		}
		all = append(all, one)
	}
	return all
}

func seenOf(print string) Seen {
	if hex, ok := strings.CutPrefix(print, HexPrefix); ok {
		return NewSeen(formats.Sighting{Kind: formats.Hex, Text: hex})
	}
	return NewSeen(formats.Sighting{Kind: formats.Printed, Text: print})
}

// restsLog is the log probability of what is beside numbers: the same on all, or anything.
func restsLog(rests []*Seen) float64 {
	log := NothingLog(rests)
	if !slices.ContainsFunc(rests, func(s *Seen) bool { return s.Text != rests[0].Text }) {
		log = logp.Add(log, math.Log(rests[0].Floor)) - math.Ln2
	}
	return log
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
