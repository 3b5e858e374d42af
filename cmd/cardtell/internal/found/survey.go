package found

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/survey"
)

// SurveyWords says what was found, as comments of a site file.
func SurveyWords(name string, found *survey.Survey) []string {
	words := []string{fmt.Sprintf("What %s shows; cardtell reads it with --site FILE.", name)}
	if found.Label != "" {
		words = append(words, fmt.Sprintf("The numbers have %q before them, which is taken for a label.", found.Label))
	}
	for i := range found.Kinds {
		k := &found.Kinds[i]
		how := ""
		if len(k.Likely) > 0 {
			how = fmt.Sprintf(" (%s sure)", say.Chance(k.Probability))
		}
		words = append(words, fmt.Sprintf("Format %s%s, written as %s: %d of %s.", k.Format.ID, how, k.Form, k.Rows,
			say.Count(found.Rows, "row")))
		if can := likelyWords(k.Likely); len(can) > 1 {
			words = append(words, "  It can also be "+strings.Join(can[1:],
				", ")+": \"cardtell identify\" with the read of one card settles that.")
		}
		if len(k.Likely) > 0 && len(k.Likely[0].Alike) > 0 {
			words = append(words, fmt.Sprintf("  A list does not tell it from %s: the numbers come out alike.",
				strings.Join(k.Likely[0].Alike, ", ")))
		}
		switch {
		case len(k.Cards) == 0:
			words = append(words, "  They are among the other cards of that format below.")
		case k.Serials:
			words = append(words, "  The numbers are or may be chip serials, which are not bought in blocks: any number is taken for one of these cards.")
		default:
			words = append(words, "  The blocks are the numbers that were seen: make them those that were bought.")
		}
		for _, o := range k.Odd {
			words = append(words, fmt.Sprintf("  Left out: facility %d, on %s only (line %d); is it typed wrong?", o.Facility,
				say.Count(o.Cards, "card"), o.Line))
		}
	}
	for i := range found.Kinds {
		for _, o := range found.Kinds[i].Otherwise {
			words = append(words, fmt.Sprintf("Look at the %s of facility %d, the first in line %d: %s can be facility %d as well, "+
				"written as %s. Then leave that block out.", say.Count(o.Cards, "card"), o.Facility, o.Line,
				say.Clip(o.Example, 24), o.Main, o.Form))
		}
	}
	if n := found.Rows - found.Read; n > 0 {
		words = append(words, fmt.Sprintf("%s of none of these kinds, which check lists%s.", say.Count(n, "row"),
			DoubtWords(found.Doubts, 0.4)))
	}
	return words
}

// likelyWords names the formats that numbers can have, but for the least likely.
func likelyWords(likely []survey.Likely) (words []string) {
	for _, l := range likely[:min(3, len(likely))] {
		if l.Probability > 0.02 {
			what := l.Format
			if l.Part {
				what = "the last digits of " + what
			}
			words = append(words, fmt.Sprintf("%s (%s)", what, say.Chance(l.Probability)))
		}
	}
	return words
}

// DoubtWords says what numbers of no settled kind can be, where some format is at least so likely.
func DoubtWords(doubts []survey.Doubt, least float64) string {
	var words []string
	for _, d := range doubts {
		if can := likelyWords(d.Likely); can != nil && d.Likely[0].Probability > least {
			words = append(words, fmt.Sprintf("those like %s can be %s", say.Clip(d.Example, 24), strings.Join(can, ", ")))
		}
	}
	if words == nil {
		return ""
	}
	return "; " + strings.Join(words, "; ")
}
