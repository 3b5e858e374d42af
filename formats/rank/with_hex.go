package rank

import (
	"cmp"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// withHex gives digits, which are a print by themselves, all that they can be where the print of another card has
// letters, and a sign between as they have, or none: some numbers in hex have no letter.
func withHex(spelled [][]formats.Spelling) [][]formats.Spelling {
	like := map[bool]bool{} // by whether they have a sign between
	for _, all := range spelled {
		if slices.ContainsFunc(all, withLetters) && !slices.ContainsFunc(all, withDigits) {
			like[slices.ContainsFunc(all, twoInHex)] = true
		}
	}
	if len(like) == 0 {
		return spelled
	}
	out := slices.Clone(spelled)
	for i, all := range spelled {
		if slices.ContainsFunc(all, withLetters) {
			continue
		}
		out[i] = slices.Clip(all)
		for _, s := range all {
			print, _ := printOf(s)
			if withDigits(s) && like[strings.ContainsAny(print.Text, ",-/")] {
				out[i] = append(out[i], inHex(s)...)
			}
		}
	}
	return out
}

// withLike puts digits that look like prints with letters, as long, with zeros before them or a sign between as those
// have, with those: they may be numbers in hex among others in decimal. nil where that changes nothing, or leaves no
// digits to the others.
func withLike(spelled [][]formats.Spelling, texts []open) (out []open) {
	of := map[look]string{}
	for i, all := range spelled {
		if slices.ContainsFunc(all, withLetters) && !slices.ContainsFunc(all, withDigits) {
			of[lookOf(all)] = cmp.Or(texts[i].signature, of[lookOf(all)], likeHex)
		}
	}
	out = slices.Clone(texts)
	some, left := false, false
	for i, all := range spelled {
		if texts[i].signature == "" || !slices.ContainsFunc(all, withDigits) {
			continue
		}
		if sign, like := of[lookOf(all)]; like {
			out[i].signature, some = sign, true
		} else {
			left = true
		}
	}
	if !some || !left {
		return nil
	}
	return out
}

// look is what a print looks like: how many digits it has, where the sign between two numbers is, -1 for none, and
// whether it begins with zeros.
type look struct {
	digits, sign int
	zeros        bool
}

// lookOf returns it of a print with letters, or one of digits.
func lookOf(all []formats.Spelling) (l look) {
	two := false
	for _, s := range all {
		print, _ := printOf(s)
		digits := typing.Digits(print.Text)
		one := look{len(digits), strings.IndexAny(print.Text, ",-/"), strings.HasPrefix(digits, "0")}
		switch {
		case withDigits(s):
			return one
		case print.Kind == formats.Hex:
			l = one
		}
		two = two || twoInHex(s)
	}
	if two {
		l.sign = l.digits - 4 // the number has the digits of 16 bits
	}
	return l
}

// likeHex is the signature of digits that look like prints which can't be meant but in hex.
const likeHex = "like those in hex"

// inHex returns all else that the digits can be.
func inHex(s formats.Spelling) (all []formats.Spelling) {
	last := len(s.Sightings) - 1
	digits := s.Sightings[last].Text
	ways, err := formats.Spellings(digits)
	if err == nil && !slices.ContainsFunc(ways, isHex) { // too few digits for hex by themselves
		ways, err = formats.Spellings("hex:" + digits)
	}
	if err != nil {
		return nil
	}
	before := ""
	if last > 0 {
		before, _, _ = strings.Cut(s.As, words.And)
		before += words.And
	}
	for _, w := range ways {
		one := w.Sightings
		if len(one) == 1 && one[0].Kind != formats.Read && (one[0].Kind == formats.Hex || one[0].Text != digits) {
			all = append(all, formats.Spelling{As: before + w.As, Weight: s.Weight * w.Weight,
				Sightings: append(slices.Clone(s.Sightings[:last]), one[0])})
		}
	}
	return all
}

func isHex(s formats.Spelling) bool { return s.Sightings[0].Kind == formats.Hex }

// withLetters and withDigits report whether a card is a print in hex, or one of digits alone, with a read or without,
// and twoInHex whether it is two numbers in hex.
func withLetters(s formats.Spelling) bool {
	print, ok := printOf(s)
	return ok && print.Kind == formats.Hex || twoInHex(s)
}

func withDigits(s formats.Spelling) bool {
	print, ok := printOf(s)
	return ok && print.Kind == formats.Printed && !twoInHex(s)
}

func twoInHex(s formats.Spelling) bool {
	print, ok := printOf(s)
	return ok && print.Kind == formats.Printed && strings.HasSuffix(s.As, "in hex")
}

// printOf returns what stands beside a read, or alone; ok is false where there is more of the card, or less.
func printOf(s formats.Spelling) (print formats.Sighting, ok bool) {
	last := len(s.Sightings) - 1
	if last < 0 || last > 1 || last == 1 && !isRead(s.Sightings[0]) {
		return print, false
	}
	return s.Sightings[last], true
}
