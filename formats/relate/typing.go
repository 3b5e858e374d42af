package relate

import (
	"math"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/judgement"
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
	n, short := float64(len(meant)), min(len(meant), len(typed))
	first, behind := alike(meant, typed), 0
	for behind < short && meant[len(meant)-1-behind] == typed[len(typed)-1-behind] {
		behind++
	}
	// of a sign that is lost or too many, which one of several alike it is nobody knows
	switch ways := float64(max(0, first+behind+1-short)); len(typed) - len(meant) {
	case 0:
		switch first + behind {
		case short - 1:
			return judgement.SlipDigit / (n * (base - 1))
		case short - 2:
			if meant[first] == typed[first+1] && meant[first+1] == typed[first] {
				return judgement.SlipSwap / (n - 1)
			}
		}
	case -1:
		return judgement.SlipLost * ways / n
	case 1:
		return judgement.SlipExtra * ways / ((n + 1) * base)
	}
	return 0
}

// alike is how many signs two texts have in common at their beginning.
func alike(a, b string) (n int) {
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	return n
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
	if t.Kind.ofRead() {
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
			prefix = prefix[:alike(s, prefix)]
		}
	}
	return prefix
}
