package rank

import (
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// withHex gives digits beside a read, which are a print by themselves, all that they can be where the print of another
// card has letters: some numbers in hex have none.
func withHex(spelled [][]formats.Spelling) [][]formats.Spelling {
	if !slices.ContainsFunc(spelled, func(all []formats.Spelling) bool {
		return slices.ContainsFunc(all, lettersBeside) && !slices.ContainsFunc(all, digitsBeside)
	}) {
		return spelled
	}
	out := slices.Clone(spelled)
	for i, all := range spelled {
		out[i] = slices.Clip(all)
		for _, s := range all {
			if digitsBeside(s) {
				out[i] = append(out[i], inHex(s)...)
			}
		}
	}
	return out
}

// inHex returns all else that the digits beside a read can be.
func inHex(s formats.Spelling) (all []formats.Spelling) {
	digits := s.Sightings[1].Text
	ways, err := formats.Spellings(digits)
	if err == nil && !slices.ContainsFunc(ways, isHex) { // too few digits for hex by themselves
		ways, err = formats.Spellings("hex:" + digits)
	}
	if err != nil {
		return nil
	}
	read, _, _ := strings.Cut(s.As, words.And)
	for _, w := range ways {
		if one := w.Sightings; len(one) == 1 && one[0].Kind != formats.Read && one[0].Text != digits {
			all = append(all, formats.Spelling{As: read + words.And + w.As,
				Sightings: formats.Sightings{s.Sightings[0], one[0]}, Weight: s.Weight * w.Weight})
		}
	}
	return all
}

func isHex(s formats.Spelling) bool { return s.Sightings[0].Kind == formats.Hex }

// lettersBeside and digitsBeside report whether a card is a read and a print beside it, in hex or in digits alone.
func lettersBeside(s formats.Spelling) bool {
	return len(s.Sightings) == 2 && s.Sightings[0].Kind == formats.Read && s.Sightings[1].Kind == formats.Hex
}

func digitsBeside(s formats.Spelling) bool {
	return len(s.Sightings) == 2 && s.Sightings[0].Kind == formats.Read && s.Sightings[1].Kind == formats.Printed &&
		!strings.HasSuffix(s.As, "in hex")
}
