package learn

import (
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// The ways of meaning prints that can be several things, as formats.Spellings has them, the likeliest first: in hex
// nearly all cards have some other letter, or none.
const afterLetters, inHex = "a printed number after letters", "a number in hex"

// meant returns reads whose prints are written as printOf takes them, where they were not and can be meant so: two
// numbers with a colon between as with a comma, a number without the letters before it, hex with hex: before it.
// Letters from A to F before decimal digits are no hex where they are the same on all cards. as is what was made of
// prints that can be meant in several ways, "" where there are none, or none that all of them can be.
func meant(reads []Read) (out []Read, as string) {
	var open []int
	out = slices.Clone(reads)
	letters := map[string]bool{}
	left := []string{afterLetters, inHex}
	for i := range out {
		r := &out[i]
		if _, _, err := printOf(r.Line, r.Printed); err == nil || len(r.Printed) > mostSpelled ||
			strings.Trim(r.Printed, "0123456789,-/ ") == "" {
			continue
		}
		ways, _ := formats.Spellings(r.Printed)
		ways = slices.DeleteFunc(ways, func(s formats.Spelling) bool { return s.Sightings[0].Kind == formats.Read })
		if len(ways) == 1 && ways[0].As != inHex {
			r.Printed = textOf(ways[0].Sightings)
			continue
		}
		open = append(open, i)
		letters[strings.TrimRight(r.Printed, "0123456789")] = true
		left = slices.DeleteFunc(left, func(way string) bool { return meantAs(r.Printed, way) == "" })
	}
	if len(letters) > 1 {
		left = slices.DeleteFunc(left, func(way string) bool { return way == afterLetters })
	}
	if len(open) == 0 || len(left) == 0 {
		return out, ""
	}
	if left[0] == inHex { // others have no letter by accident
		for i, r := range out {
			if _, known, err := printOf(r.Line, r.Printed); err == nil && known && allDigits(r.Printed) {
				open = append(open, i)
			}
		}
	}
	for _, i := range open {
		out[i].Printed = meantAs(out[i].Printed, left[0])
	}
	return out, left[0]
}

// allDigits reports whether a print is one number or two.
func allDigits(print string) bool { return strings.Trim(print, "0123456789,-/") == "" }

// mostSpelled is how long a print is at most that is looked into: none that 64 bits hold is longer.
const mostSpelled = 64

// meantAs returns a print in one way of meaning it, "" where it can't be meant so.
func meantAs(print, way string) string {
	if way == inHex {
		print = typing.HexPrefix + print // letters alone are a word by themselves
	}
	ways, err := formats.Spellings(print)
	if err != nil {
		return ""
	}
	for i := range ways {
		if ways[i].As == way {
			return textOf(ways[i].Sightings)
		}
	}
	return ""
}

// textOf is what printOf takes for one sighting; what it does not take, for others.
func textOf(s formats.Sightings) string {
	if len(s) == 1 && s[0].Kind == formats.Hex {
		return typing.PrintText(s[0])
	}
	return s[0].Text
}
