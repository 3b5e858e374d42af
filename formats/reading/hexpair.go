package reading

import "strings"

// pairShapeOf returns how two numbers with a sign between are written, in decimal or in hex: the sign, and how many
// digits the two have; and whether one of them has a letter. It is "" where a text is anything else.
func pairShapeOf(text string) (shape string, letters bool) {
	at := strings.IndexAny(text, signs)
	if at <= 0 || at == len(text)-1 || !isHex(text[:at]) || !isHex(text[at+1:]) {
		return "", false
	}
	return string([]byte{text[at], byte(at), byte(len(text))}), !digitsOnly(text[:at]) || !digitsOnly(text[at+1:])
}

// hexPairs returns the shapes of pairs of which some have letters, as hex has: digits alone are hex there, too. Fewer
// than one in twenty, or than three, are slips.
func hexPairs(texts []string) (hex map[string]bool) {
	all, with := map[string]int{}, map[string]int{}
	for _, text := range texts {
		if s, letters := pairShapeOf(text); s != "" {
			if all[s]++; letters {
				with[s]++
			}
		}
	}
	for s, n := range with {
		if n >= fewShown && n*hardlyAny >= all[s] {
			if hex == nil {
				hex = map[string]bool{}
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
	s, _ := pairShapeOf(text)
	return p.hexPairs[s]
}
