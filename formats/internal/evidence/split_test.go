package evidence

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// What a few cards of each kind show to be hopeless is hardly worth more when all are weighed: the two kinds are less
// likely than what is left out of answers. (The bound is a likelihood ratio's: that which is false exceeds the true one
// e^k times in at most one sample in e^k.)
func TestHopelessOfAFewIsHopelessOfAll(t *testing.T) {
	const seed = 4
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	m, hopeless, weighed := builtin(t), 0, 0
	for range 20 {
		cards := mixedCards(rng)
		s, err := m.splitter(cards, 0, new(Memory))
		require.NoError(t, err)
		places := make([]int, len(cards))
		for i := range places {
			places[i] = i
		}
		places = s.ordered(places)
		joint := s.log(places)
		for _, d := range s.dealings(places) {
			groups := s.dealt(places, d)
			weighed++
			if s.hopeless(groups) {
				hopeless++
				assert.Less(t, s.gain(groups, joint), math.Log(unlikely), "%d and %d cards", len(groups[0]), len(groups[1]))
			}
		}
	}
	assert.Greater(t, hopeless, weighed/4, "of %d ways", weighed)
	assert.Less(t, hopeless, weighed)
}

// mixedCards are 30 to 59 cards of the published 26-bit format (SIA AC-01-1996.10) of two facilities, some misread,
// with nothing in print or their number, or those of one facility with their number and the others with a number of a
// list.
func mixedCards(rng *rand.Rand) (cards []formats.Sightings) {
	n := 30 + rng.IntN(30)
	second, misreads, printed := rng.IntN(n), rng.Float64()/10, rng.IntN(3)
	format := formats.Builtin().Find("26-8-16")[0]
	facility, other := rng.Uint64N(256), rng.Uint64N(256)
	first := rng.Uint64N(60_000)
	for i := range n {
		of, number := facility, first+uint64(3*i)+rng.Uint64N(3)
		if i < second {
			of, number = other, (first+rng.Uint64N(5000))&0xFFFF
		}
		read := must(format.Layout.Encode(of, number))
		if rng.Float64() < misreads {
			v, _ := read.Uint64()
			read = must(wiegand.BitsFromUint(v^1<<rng.IntN(26), 26))
		}
		card := formats.Sightings{readOf(read)}
		switch {
		case printed == 1 || printed == 2 && i >= second:
			card = append(card, printedOf(strconv.FormatUint(number, 10)))
		case printed == 2:
			card = append(card, printedOf(strconv.Itoa(2000+rng.IntN(3000))))
		}
		cards = append(cards, card)
	}
	return cards
}
