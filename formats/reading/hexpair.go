package reading

import "strings"

// pairShape is how two numbers with a sign between are written: the sign, and how many digits the two have.
type pairShape struct {
	sign          byte
	first, second int
}

// pairShapeOf returns the shape of two numbers with a sign between, in decimal or in hex, and whether one of them has
// a letter; ok is false where a text is anything else.
func pairShapeOf(text string) (s pairShape, letters, ok bool) {
	at := strings.IndexAny(text, signs)
	if at <= 0 || at == len(text)-1 || !isHex(text[:at]) || !isHex(text[at+1:]) {
		return s, false, false
	}
	return pairShape{text[at], at, len(text) - at - 1}, !digitsOnly(text[:at]) || !digitsOnly(text[at+1:]), true
}

// hexPairs returns the shapes of pairs of which some have letters, as hex has: digits alone are hex there, too. Fewer
// than one in twenty, or than three, are slips.
func hexPairs(texts []string) (hex map[pairShape]bool) {
	all, with := map[pairShape]int{}, map[pairShape]int{}
	for _, text := range texts {
		if s, letters, ok := pairShapeOf(text); ok {
			if all[s]++; letters {
				with[s]++
			}
		}
	}
	for s, n := range with {
		if n >= fewShown && n*hardlyAny >= all[s] {
			if hex == nil {
				hex = map[pairShape]bool{}
			}
			hex[s] = true
		}
	}
	return hex
}

// inHexPairs reports whether a number is a pair of digits among pairs in hex.
func (p *Plan) inHexPairs(text string) bool {
	if p.hexPairs == nil {
		return false
	}
	s, _, ok := pairShapeOf(text)
	return ok && p.hexPairs[s]
}
