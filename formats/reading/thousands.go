package reading

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/words"
)

// inThousands mends a number in two groups of digits with a sign between, 27,217, where it can be nothing else: the
// list has numbers by themselves, among which it is, and its first group is no facility of theirs. Where those lie
// too far apart it can as well be facility and number of a stranger. What ends in three zeros can have decimal places.
func (r *Reading) inThousands(m Mended, p *Plan) Mended {
	if !r.shape.bare() || !p.settled || !p.plain || r.parse == nil || digitsOnly(string(m.Value)) {
		return m
	}
	digits, groups, _ := words.Ungrouped(string(m.Value))
	if groups != 2 || p.grouped == 0 && digits[len(digits)-3:] == "000" || digits[0] == '0' || p.hasPairs() {
		return m
	}
	first, err := strconv.ParseUint(digits[:len(digits)-3], 10, 64)
	if err != nil || slices.ContainsFunc(p.readings, func(r Reading) bool { return r.mayHave(first) }) {
		return m
	}
	var s Seen
	if !r.fast([]byte(digits), &s) || !r.inBlocks(&s) || !r.among(&s) {
		return m
	}
	if card := s.Card(); r.values.LogGiven(&card, r.numbers) < likelierThanPair-math.Log1p(float64(p.grouped)) {
		return m
	}
	return Mended{Value: []byte(digits), Repair: "a sign between thousands taken away"}
}

// leastGrouped is how many different numbers in groups of digits settle that a column is written so.
const leastGrouped = 8

// ungrouped returns the texts of a column without the signs between thousands, and how many have some, where the
// column as a whole can be nothing else: all its numbers above 999 have them, and the groups behind have zeros in
// front, which no number of a pair has that is not filled up with them, but are not all 000, as decimal places are.
// Pairs filled up to three digits would have one facility or two; that it is the thousands of the site's own blocks, by
// which their cards would be the site's, is left as a chance too small.
func (p *Plan) ungrouped(texts []string) (whole []string, grouped int) {
	if p.hasPairs() {
		return texts, 0
	}
	firsts, zeros := map[string]bool{}, false
	for _, text := range texts {
		digits, groups, _ := words.Ungrouped(text)
		switch {
		case groups < 2 && (!digitsOnly(text) || len(text) > 3):
			return texts, 0
		case groups < 2:
			digits = text
		default:
			last := digits[len(digits)-3:]
			firsts[digits[:len(digits)-3]], zeros = true, zeros || last[0] == '0' && last != "000"
			grouped++
		}
		whole = append(whole, digits)
	}
	anywhere := slices.ContainsFunc(p.readings, func(r Reading) bool { return !r.blocks })
	if grouped < leastGrouped || !zeros || anywhere && len(firsts) < 3 {
		return texts, 0
	}
	return whole, grouped
}

// decimals are what a column's numbers end in where all of them are shown with decimal places.
var decimals = [...]string{",00", ".00", ".0"}

// withoutDecimals returns the texts of a column without its decimal places, and what those are, where all have the
// same: as pairs they would be cards of so many facilities, all with number 0.
func (p *Plan) withoutDecimals(texts []string) (whole []string, places string) {
	if len(texts) < leastGrouped || p.hasPairs() {
		return texts, ""
	}
	at := slices.IndexFunc(decimals[:], func(end string) bool { return strings.HasSuffix(texts[0], end) })
	if at < 0 {
		return texts, ""
	}
	for _, text := range texts {
		number, found := strings.CutSuffix(text, decimals[at])
		if !found || strings.Trim(number, "0123456789,. ") != "" {
			return texts, ""
		}
		whole = append(whole, number)
	}
	return whole, decimals[at]
}

// hasPairs reports whether two numbers are one of the forms that the list has.
func (p *Plan) hasPairs() bool {
	pair := func(r Reading) bool { return !r.second && r.shape.Second > 0 }
	return slices.ContainsFunc(p.readings, pair) || slices.ContainsFunc(p.strangers, pair)
}

// mayHave reports whether cards of the reading can have a facility.
func (r *Reading) mayHave(facility uint64) bool {
	switch {
	case r.Format.Facility() < 0:
		return false
	case len(r.cards.Facilities) > 0:
		return r.cards.HasFacility(facility)
	}
	return r.facility == "" || r.fill == facility
}
