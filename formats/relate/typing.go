package relate

import (
	"math"
	"strings"
)

// typingErrors is how often numbers are typed wrong at different sites: hardly ever, or up to one pair in four. From memory, no
// count was found; which it is, is integrated over.
var typingErrors = [...]struct{ share, rate float64 }{{0.50, 0.003}, {0.25, 0.02}, {0.15, 0.07}, {0.10, 0.20}}

// What a number that is typed wrong mostly is. They add up to 1.
const (
	slipDigit   = 0.45 // one digit is another one
	slipSwap    = 0.15 // two digits beside one another are swapped
	slipLost    = 0.10 // a digit is missing
	slipExtra   = 0.05 // a digit is there too many
	slipOther   = 0.10 // the number of another card that was given
	slipZeros   = 0.05 // other zeros before it
	slipNothing = 0.10 // anything
)

// slipped is the probability that who means one text and types it wrong types the other, by digits alone. base is how many digits
// there are.
func slipped(meant, typed string, base float64) float64 {
	n := float64(len(meant))
	switch len(typed) - len(meant) {
	case 0:
		i, last := differs(meant, typed)
		switch {
		case i < 0:
			return 0
		case i == last:
			return slipDigit / (n * (base - 1))
		case i+1 == last && meant[i] == typed[last] && meant[last] == typed[i]:
			return slipSwap / (n - 1)
		}
	case -1:
		return slipLost * float64(omissions(meant, typed)) / n
	case 1:
		return slipExtra * float64(omissions(typed, meant)) / ((n + 1) * base)
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

// neighbours calls f with every text that, typed wrong by a digit or two, can have become s.
func neighbours(s, digits string, f func(meant string)) {
	for i := range len(s) + 1 {
		for _, d := range digits {
			f(s[:i] + string(d) + s[i:]) // it was lost
		}
		if i == len(s) || !strings.ContainsRune(digits, rune(s[i])) {
			continue
		}
		f(s[:i] + s[i+1:]) // it is too many
		for _, d := range digits {
			f(s[:i] + string(d) + s[i+1:])
		}
		if i+1 < len(s) {
			f(s[:i] + s[i+1:i+2] + s[i:i+1] + s[i+2:])
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

// anything is the probability that a text of so many digits is a given one, if it can be any.
func (t *Text) anything(s string) float64 {
	if _, rest, ok := strings.Cut(strings.TrimPrefix(s, "left:"), ":"); ok && (t.Kind == ReadText || t.Kind == LeftText) {
		s = rest
	}
	n := 0
	for i := range len(s) {
		if unhex(s[i]) <= 15 {
			n++
		}
	}
	return math.Pow(float64(len(t.digits())), -float64(n))
}
