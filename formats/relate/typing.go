package relate

import (
	"iter"
	"math"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// What a number that is typed wrong mostly is: as package judgement has it, where other zeros before it are a part of
// what is here another card's number.
const (
	slipOther = 0.10 // the number of another card that was given
	slipZeros = judgement.SlipOther - slipOther
)

// slipped is the probability that who means one text and types it wrong types the other, by digits alone. base is how
// many digits there are.
func slipped(meant, typed string, base float64) float64 {
	n := float64(len(meant))
	switch len(typed) - len(meant) {
	case 0:
		i, last := differs(meant, typed)
		switch {
		case i < 0:
			return 0
		case i == last:
			return judgement.SlipDigit / (n * (base - 1))
		case i+1 == last && meant[i] == typed[last] && meant[last] == typed[i]:
			return judgement.SlipSwap / (n - 1)
		}
	case -1:
		return judgement.SlipLost * float64(omissions(meant, typed)) / n
	case 1:
		return judgement.SlipExtra * float64(omissions(typed, meant)) / ((n + 1) * base)
	}
	return 0
}

// differs returns the first and the last place where texts of one length differ, -1 where they don't.
func differs(a, b string) (first, last int) {
	first, last = -1, -1
	for i := range len(a) {
		if a[i] != b[i] {
			if last = i; first < 0 {
				first = i
			}
		}
	}
	return first, last
}

// omissions is how many signs of long there are of which any one, left out, gives short, which is a sign shorter.
func omissions(long, short string) int {
	n := 0
	for i := range len(long) {
		if long[:i] == short[:i] && long[i+1:] == short[i:] {
			n++
		}
		if i < len(short) && long[i] != short[i] {
			break
		}
	}
	return n
}

// neighbours yields every text that, typed wrong by a digit or two, can have become s.
func neighbours(s, digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, slip := range []typing.Slip{typing.Lengthened, typing.Shortened, typing.Replaced, typing.Swapped} {
			for meant := range slip(s, digits) {
				if !yield(string(meant)) {
					return
				}
			}
		}
	}
}

// digits are those of a way of writing.
func (t *Text) digits() string {
	switch {
	case t.Kind == BitText:
		return "01"
	case t.Kind != Hex && t.Kind < BitText:
		return "0123456789"
	case t.Lower:
		return "0123456789abcdef"
	}
	return "0123456789ABCDEF"
}

// even is the probability of the digits of a text, if each can be any.
func (t *Text) even(s string) float64 {
	n := 0
	for i := range len(s) {
		if unhex(s[i]) <= 15 {
			n++
		}
	}
	return math.Pow(float64(len(t.digits())), -float64(n))
}

// fresh is the probability of a text of whose number nothing is known: numbers of every size are as likely, zeros
// before them not counted, and so are all numbers of a size.
func (t *Text) fresh(s string) float64 {
	if t.Kind >= BitText && t.Kind <= LeftText {
		return t.even(s[strings.LastIndexByte(s, ':')+1:])
	}
	if i := strings.IndexByte(s, t.Sep); t.Kind == PairText && i >= 0 {
		t := Text{Kind: Decimal}
		return t.fresh(s[:i]) * t.fresh(s[i+1:])
	}
	return t.even(strings.TrimLeft(s, "0:-")) / float64(len(s)+1)
}

// chance is the probability of a text where the others of its side begin alike: it does so too, or it is any.
func (t *Text) chance(s, prefix string) float64 {
	p := t.fresh(s)
	if prefix == "" {
		return p
	}
	if rest, ok := strings.CutPrefix(s, prefix); ok {
		p += t.even(rest)
	}
	return p / 2
}

// beginning is what all texts but one have in common at their beginning.
func beginning(texts []string, but int) (prefix string) {
	first := true
	for i, s := range texts {
		switch {
		case i == but:
		case first:
			prefix, first = s, false
		default:
			n := 0
			for n < min(len(s), len(prefix)) && s[n] == prefix[n] {
				n++
			}
			prefix = prefix[:n]
		}
	}
	return prefix
}
