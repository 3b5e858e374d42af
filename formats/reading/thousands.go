package reading

import (
	"slices"
	"strconv"

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
	if groups != 2 || digits[len(digits)-3:] == "000" || digits[0] == '0' || p.hasPairs() {
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
	if card := s.Card(); r.values.LogGiven(&card, r.numbers) < likelierThanPair {
		return m
	}
	return Mended{Value: []byte(digits), Repair: "a sign between thousands taken away"}
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
