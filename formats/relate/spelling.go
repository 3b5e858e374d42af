package relate

import (
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
)

// priced is a way of writing and what it costs to name it, in bits.
type priced struct {
	Text
	cost float64
}

// side is what all texts on one side of the = are.
type side struct {
	kind      formats.SightingKind
	separated bool // a number of two parts
	bits      int  // of a read or a serial
	text      Text // the way in which it is mostly written; found while searching
}

// digits reports whether the texts have digits alone, so that they can be hex too.
func (s *side) digits() bool { return s.kind == formats.Printed && !s.separated }

// sideOf returns what one text is. Digits with a letter from A to F among them, or with 0x before them, are hex.
func sideOf(s string) (side, error) {
	if rest := bare(s); len(rest) < len(s) && (s[1] == 'x' || s[1] == 'X') {
		_, err := formats.HexOf(rest)
		return side{kind: formats.Hex}, err
	}
	letters := strings.Trim(s, "0123456789") != ""
	if letters && strings.Trim(s, "0123456789abcdefABCDEF") == "" {
		return side{kind: formats.Hex}, nil
	}
	one, err := formats.ParseSighting(s)
	pair := one.Kind == formats.Printed && strings.ContainsAny(one.Text, separators)
	return side{kind: one.Kind, separated: pair, bits: one.Bits.Len()}, err
}

// texts returns the ways in which all of the texts can be written, cheapest first.
func (s *side) texts(all []string, output bool) ([]priced, error) {
	var found []priced
	for _, t := range s.candidates(all) {
		if t.check() == nil && t.writes(all, output) {
			found = append(found, t)
		}
	}
	if found == nil {
		return nil, fail("number", all[0], "can't be worked with: rules take numbers of up to 64 bits, in one part or two, "+
			"all reads and serials of one length, hex digits of one case", ErrPairs)
	}
	if !output && s.digits() { // what is in hex has letters mostly
		for i := range found {
			if found[i].Kind == Hex {
				for _, text := range all {
					found[i].cost += float64(len(bare(text))) * math.Log2(16.0/10)
				}
			}
		}
	}
	return found, nil
}

// writes reports whether every text can be read so and, for output, would be written just as it stands.
func (t *Text) writes(all []string, output bool) bool {
	var buf [96]byte
	for _, s := range all {
		v, ok := t.parse(s)
		if !ok {
			return false
		}
		if output {
			if b, ok := t.append(buf[:0], v); !ok || !t.same(b, s) {
				return false
			}
		}
	}
	return true
}

// same reports whether what was written is the text as it stands. Of a read what counts is its bits, since separators
// and zeros before hex make no difference there.
func (t *Text) same(written []byte, s string) bool {
	if t.Kind.ofRead() {
		a, ok1 := t.parse(string(written))
		b, ok2 := t.parse(s)
		return ok1 && ok2 && a == b
	}
	return string(written) == bare(strings.TrimSpace(s))
}

// candidates returns the ways of writing that texts of one kind may be of.
func (s *side) candidates(all []string) []priced {
	text := bare(strings.TrimSpace(all[0]))
	lower := slices.ContainsFunc(all, func(s string) bool {
		return strings.ContainsAny(strings.TrimPrefix(bare(s), "left:"), "abcdef")
	})
	switch s.kind {
	case formats.Read:
		t := Text{Kind: BitText, Bits: s.bits, Lower: lower}
		switch {
		case strings.HasPrefix(text, "left:"):
			t.Kind = LeftText
		case strings.Contains(text, ":"):
			t.Kind = ReadText
		}
		return []priced{{t, 0}}
	case formats.Serial:
		t := Text{Kind: SerialText, Bits: s.bits, Lower: lower}
		if len(text) > 2 && unhex(text[2]) > 15 {
			t.Sep = text[2]
		}
		return []priced{{t, 0}}
	case formats.Hex:
		return []priced{{Text{Kind: Hex, Lower: lower}, 1}, {Text{Kind: Hex, Lower: lower, Digits: len(text)}, 0}}
	}
	if i := strings.IndexAny(text, separators); i >= 0 {
		return pairs(text[i], i, len(text)-i-1)
	}
	return append(numerals(len(text), strings.HasPrefix(text, "0")),
		priced{Text{Kind: Hex}, 4}, priced{Text{Kind: Hex, Digits: len(text)}, 3}) // hex without letters
}

// pairs returns the ways of writing a pair, with a number of 16 bits above all.
func pairs(sep byte, high, low int) []priced {
	var all []priced
	for _, b := range []int{16, 24, 20, 19, 32, 8, 10, 12, 14, 15, 17, 18, 22, 23} {
		cost := 4.0
		if b == 16 {
			cost = 0
		}
		t := Text{Kind: PairText, Bits: b, Sep: sep}
		for _, h := range []int{0, high} {
			for _, d := range []int{0, low} {
				t.High, t.Digits = h, d
				all = append(all, priced{t, cost + padBits(h, 3) + padBits(d, b*30103/100000+1)})
			}
		}
	}
	return all
}

// padBits is the cost of zeros put before a number up to so many digits. As many as its field can need are the usual
// thing.
func padBits(digits, usual int) float64 {
	switch digits {
	case 0:
		return 1
	case usual:
		return 0.8
	}
	return 2
}

// numerals returns the ways of writing digits with nothing between: a number, or a facility and a number of 16 bits,
// say, in five digits.
func numerals(digits int, zeros bool) []priced {
	pad := 3.0
	if zeros {
		pad = 0.5
	}
	all := []priced{{Text{Kind: Decimal}, 0}, {Text{Kind: Decimal, Digits: digits}, pad}}
	for _, b := range []int{16, 24, 20, 19, 32, 10, 13, 14, 15, 17, 18, 22, 23} {
		d := b*30103/100000 + 1 // digits of 2^b-1
		cost := 7.0
		if b == 16 {
			cost = 3
		}
		if digits > d {
			all = append(all, priced{Text{Kind: JoinedText, Bits: b, Digits: d}, cost},
				priced{Text{Kind: JoinedText, Bits: b, Digits: d, High: digits - d}, cost + 1})
		}
	}
	return all
}
