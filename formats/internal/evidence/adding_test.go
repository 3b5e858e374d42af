package evidence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// Adding up, for layouts that no table has (axioms of probability): everything that so many cards of a length can send.

// eachSample calls use with every list of different reads of so many bits.
func eachSample(bits, cards int, use func([]wiegand.Bits)) {
	reads := make([]wiegand.Bits, 0, cards)
	var fill func(taken map[uint64]bool)
	fill = func(taken map[uint64]bool) {
		if len(reads) == cards {
			use(reads)
			return
		}
		for v := range uint64(1) << bits {
			if taken[v] {
				continue
			}
			b, err := wiegand.BitsFromUint(v, bits)
			if err != nil {
				panic(err)
			}
			taken[v], reads = true, append(reads, b)
			fill(taken)
			taken[v], reads = false, reads[:len(reads)-1]
		}
	}
	fill(map[uint64]bool{})
}

// undocumentedSum adds up the probabilities of all lists of different reads of a length.
func undocumentedSum(bits, cards int) float64 {
	prior := math.Log(judgement.UnknownPrior) + undocumented.LengthLog(bits) + misread.Log(cards, 0)
	sum := 0.0
	eachSample(bits, cards, func(reads []wiegand.Bits) {
		sample := undocumented.NewSample(reads, make([][]typing.Seen, cards))
		own := undocumented.Weigh(sample, undocumented.NewReads, math.Log(judgement.UnknownPrior), nil, nil).Own
		sum += math.Exp(own - prior)
	})
	return sum
}

// TestUndocumentedIsNoMoreThanAll: no layout is counted twice. The same read twice says nothing new and is left out
// here, and so are places that are not looked at, so that the sum may be less than 1; 1e-9 is what rounding makes of
// some ten thousand terms.
func TestUndocumentedIsNoMoreThanAll(t *testing.T) {
	for _, c := range []struct{ bits, cards int }{{4, 1}, {5, 1}, {6, 1}, {7, 1}, {8, 1}, {4, 2}, {5, 2}, {6, 2}, {4, 3},
		{5, 3}} {
		sum := undocumentedSum(c.bits, c.cards)
		assert.LessOrEqual(t, sum, 1+1e-9, "%d cards of %d bits", c.cards, c.bits)
		t.Logf("%d cards of %d bits: %.3f", c.cards, c.bits, sum)
	}
}

// TestUndocumentedAddsUp: one card sends something, so that nothing is lost.
func TestUndocumentedAddsUp(t *testing.T) {
	for bits := 9; bits <= 11; bits++ { // shorter ones have no room for some checks
		assert.InDelta(t, 1, undocumentedSum(bits, 1), 1e-9, "%d bits", bits)
	}
}

// TestOneReadEitherWay: what identify says of one read without adding anything up is what learn adds up (algebra).
func TestOneReadEitherWay(t *testing.T) {
	m, err := New(formats.Builtin(), nil)
	require.NoError(t, err)
	for _, text := range []string{"26:32D687E", "26:0000001", "30:12345678", "34:2CBC374E8", "37:10E35CC8BC",
		"57:1FFFFFFFFFFFFFF"} {
		s, err := formats.ParseSightings(text)
		require.NoError(t, err)
		var short, long [3]float64
		note := func(to *[3]float64) func(*Work) {
			return func(w *Work) {
				*to = [3]float64{w.Unknown, w.Total()}
				for _, f := range w.Frames {
					to[2] += math.Exp(f.Log)
				}
			}
		}
		require.NoError(t, m.Weigh([]formats.Sightings{s}, note(&short)))
		keep := func(*undocumented.Sample, undocumented.Layout, []int) {}
		require.NoError(t, m.Explain([]formats.Sightings{s}, nil, keep, note(&long)))
		for i := range short {
			assert.InDelta(t, short[i], long[i], 1e-9, "%s, %d", text, i)
		}
	}
}
