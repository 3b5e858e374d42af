package evidence

import (
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/misread"
)

// What a question says is weighed by itself, whatever was asked before it in the same memory.
func TestNothingIsLeftOfAQuestion(t *testing.T) {
	ask := func(m *Model, texts ...string) (log float64) {
		var cards []formats.Sightings
		for _, text := range texts {
			s, err := formats.ParseSighting(text)
			require.NoError(t, err)
			cards = append(cards, formats.Sightings{s})
		}
		require.NoError(t, m.Weigh(cards, func(w *Work) { log = w.Total() }))
		return log
	}
	var many []string
	for i := range 40 { // facility 121, numbers of which every fifth read has a bit wrong
		data := 121<<16 | 500 + i
		read := bits.OnesCount(uint(data>>12))%2<<25 | data<<1 | (1 - bits.OnesCount(uint(data&0xFFF))%2)
		many = append(many, fmt.Sprintf("26:%07X", read^(i%5/4)<<7))
	}
	small := many[:5]
	fresh, used := must(New(formats.Builtin(), nil)), must(New(formats.Builtin(), nil))
	want := ask(fresh, small...)
	ask(used, many...)
	assert.Equal(t, want, ask(used, small...))
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// However many reads there are, a share of them that goes bad is no reason to give a format up.
func TestManyMisreadsAreWeighed(t *testing.T) {
	for _, n := range []int{100, 10_000, 1_000_000} {
		log := misread.Log(n*19/20, n/20)
		assert.False(t, math.IsInf(log, 0))
		assert.Greater(t, log, -0.25*float64(n)) // the entropy of one in twenty is 0.198 a read
	}
}

// TestBitsTooManyAreNoKind: of many reads one in ten has a bit too many behind it. They are cards of one kind, whether
// their numbers are counted up or lie anywhere.
func TestBitsTooManyAreNoKind(t *testing.T) {
	m, rng := must(New(formats.Builtin(), nil)), rand.New(rand.NewPCG(20261128, 1))
	up, anyhow := func(i int) int { return 500 + i }, func(int) int { return rng.IntN(65536) }
	for _, numbers := range []func(int) int{up, anyhow} {
		k, err := m.Kinds(withBitsTooMany(t, rng, 900, 0.1, numbers))
		require.NoError(t, err)
		assert.Len(t, k.Groups, 1)
		assert.Less(t, k.Probability, 0.1)
	}
}

// withBitsTooMany returns so many reads of 26 bits with these numbers, a share of them with a bit behind it (the frame
// is that of the published 26-bit standard, by arithmetic).
func withBitsTooMany(t *testing.T, rng *rand.Rand, n int, spoilt float64, numbers func(i int) int) []formats.Sightings {
	var cards []formats.Sightings
	for i := range n {
		data := 121<<16 | numbers(i)
		read := bits.OnesCount(uint(data>>12))%2<<25 | data<<1 | 1 - bits.OnesCount(uint(data&0xFFF))%2
		text := fmt.Sprintf("26:%07X", read)
		if rng.Float64() < spoilt {
			text = fmt.Sprintf("27:%07X", read<<1|rng.IntN(2))
		}
		s, err := formats.ParseSighting(text)
		require.NoError(t, err)
		cards = append(cards, formats.Sightings{s})
	}
	return cards
}

// TestReadOnceMoreOrAnother: what is put right in undocumented layouts and what is put right in formats comes to the
// same, also where a misread can be of a card that was read well besides: of 2,000 reads, one in ten or more has a
// bit too many behind it, and some cards are there twice.
func TestReadOnceMoreOrAnother(t *testing.T) {
	m := must(New(formats.Builtin(), nil))
	for seed, spoilt := range map[uint64]float64{2: 0.1, 6: 0.15, 23: 0.15} {
		rng := rand.New(rand.NewPCG(20261128, seed))
		cards := withBitsTooMany(t, rng, 2000, spoilt, func(int) int { return rng.IntN(65536) })
		require.NoError(t, m.Weigh(cards, func(w *Work) {
			i := slices.IndexFunc(w.Results, func(r Result) bool { return r.Format.ID == "26-8-16" && r.Wiring == None })
			require.GreaterOrEqual(t, i, 0)
			assert.Greater(t, math.Exp(w.Results[i].Log-w.Total()), 0.95)
		}))
	}
}

// TestMisreadsByParts: whether a line's misreads are taken one after the other or together comes to the same where
// each can have gone wrong in one way alone (the Dirichlet-multinomial distribution, by its textbook formula from
// memory).
func TestMisreadsByParts(t *testing.T) {
	counts := [len(misread.Line{})]int{3, 0, 7, 1, 0, 0, 12, 2}
	want, all := logp.Gamma(judgement.WayStrength), 0
	for way, n := range counts {
		a := judgement.WayStrength * misread.Shares[way]
		want += logp.Gamma(a+float64(n)) - logp.Gamma(a) - float64(n)*math.Log(misread.Shares[way])
		all += n
	}
	want -= logp.Gamma(judgement.WayStrength + float64(all))
	var l misread.Line
	got := 0.0
	for way, n := range counts {
		for range n {
			got += l.Take(misread.Only(way))
		}
	}
	assert.InDelta(t, want, got, 1e-9)
}
