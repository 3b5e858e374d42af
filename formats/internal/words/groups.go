package words

import "strings"

// grouping are the signs that stand between groups of three digits, and what they are called.
var grouping = [...]struct{ sign, name string }{
	{",", "commas"}, {".", "full stops"}, {" ", "spaces"}, {"'", "apostrophes"}, {"\u2019", "apostrophes"},
	{"\u00A0", "no-break spaces"}, {"\u202F", "narrow no-break spaces"}, {"\u2009", "thin spaces"},
	{"\u2007", "figure spaces"},
}

// Ungrouped returns the digits of a number that is written in groups of three, how many groups it has, and what the
// signs between them are called; no groups where it is no such number. Two groups may be two numbers as well.
func Ungrouped(s string) (digits string, groups int, signs string) {
	for _, g := range grouping {
		parts := strings.Split(s, g.sign)
		if len(parts) < 2 || len(parts[0]) > 3 || !allDigits(parts[0]) {
			continue
		}
		sound := true
		for _, p := range parts[1:] {
			sound = sound && len(p) == 3 && allDigits(p)
		}
		if sound {
			return strings.Join(parts, ""), len(parts), g.name
		}
	}
	return s, 0, ""
}

func allDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
