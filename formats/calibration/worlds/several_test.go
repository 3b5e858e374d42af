package worlds

import (
	"math/rand/v2"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Sites of which not the same is known of every card.

// partlyRead: all cards are printed in one way, and some were not read.
func partlyRead(rng *rand.Rand) Sample {
	s, k := simpleSite(rng, between(rng, 2, 12), simple)
	s.printed(usualHabit(rng, &s.Kinds[k]), s.all(k)...)
	for _, i := range s.some(between(rng, 1, len(s.Cards)-1)) {
		s.Cards[i] = s.Cards[i][1:]
	}
	return s.done()
}

// twoPrints: all cards have facility and number on them, and all data bits as one decimal besides. Of some of them one
// of the two was copied alone, and some were not read. Where that leaves two sightings a print may be mistyped: a
// mistake in the only one nothing can show.
func twoPrints(rng *rand.Rand) Sample {
	s, k := simpleSite(rng, between(rng, 1, 12), func(f *formats.Format) bool {
		return simple(f) && width(f.Layout, wiegand.FieldFacility) > 0
	})
	read := one(rng, 0.0, 0.7, 1)
	for i := range s.Cards {
		pair, decimal := pairWith(",")(&s.Kinds[k], &s.Truth[i]), decimalTen(&s.Kinds[k], &s.Truth[i])
		prints := one(rng, formats.Sightings{pair}, formats.Sightings{decimal}, formats.Sightings{pair, decimal},
			formats.Sightings{decimal, pair})
		if s.Cards[i] = append(s.Cards[i], prints...); i > 0 && !chance(rng, read) {
			s.Cards[i] = prints
		}
		if last := &s.Cards[i][len(s.Cards[i])-1]; len(s.Cards[i]) > 1 && chance(rng, 1.0/20) {
			last.Text = mistake(rng, last.Text, []string{last.Text})
			s.Truth[i].Wrong = true
		}
	}
	return s.done()
}
