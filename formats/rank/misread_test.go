package rank

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// A bad read among good ones is weighed over all that it can have been, each by how it fits the good ones, and by how often reads go
// bad; a card without a read says nothing to that.
func TestMisreadIsASum(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	texts := []string{"26:32D6882", "26:32D6884", "26:2F20057", "46143"}
	for _, fault := range []Fault{FlippedBit, LostBit, ExtraBit} {
		_, good := cardOf(t, "26-8-16", 150, 46140)
		bad := spoil(good, fault, 20, 1)
		cards := append(parse(t, texts...), formats.Sightings{{Kind: formats.Read, Bits: bad}})
		w := workOn(t, r, "26-8-16", fault, cards)
		got, ok := w.misread()
		require.True(t, ok, fault)
		var seen [2][]uint64
		for _, text := range texts[:3] {
			c, err := w.model.format.Read(parse(t, text)[0][0].Bits)
			require.NoError(t, err)
			for f := range seen {
				v, _ := c.Record.Uint64(f)
				seen[f] = append(seen[f], v)
			}
		}
		sum, best, ways := 0.0, 0.0, tried(w.model.format.Layout, fault, bad)
		var likeliest wiegand.Bits
		for g, way := range ways {
			c, _ := w.model.format.Read(g)
			p := way.chance
			for f := range seen {
				v, _ := c.Record.Uint64(f)
				slices.Sort(seen[f])
				p *= math.Exp(w.model.fields[f].next(v, seen[f]))
			}
			if sum += p; p > best {
				best, likeliest = p, g
			}
		}
		line := 0.0
		for _, m := range misreadRates {
			line += m.share * m.rate * math.Pow(1-m.rate, 3) / (1 - math.Pow(1-m.rate, 4))
		}
		assert.InEpsilon(t, sum*line, math.Exp(got), 1e-9, fault)
		at := w.q.input[4]
		assert.Equal(t, likeliest, w.cards[at].Record.Bits())
		assert.Equal(t, Repair{Fault: fault, Bit: ways[likeliest].bit, Ways: len(ways)}, w.repair[at])
		for i, c := range w.counted {
			assert.Equal(t, i == at, c, "the repaired card's values are in already")
		}
		assert.Nil(t, w.cards[w.q.input[3]].Format, "no read, no card")
	}
	w := workOn(t, r, "26-8-16", FlippedBit, parse(t, texts...))
	_, ok := w.misread()
	assert.False(t, ok, "no read is bad")
	w = workOn(t, r, "26-8-16", LostBit, append(parse(t, texts...), formats.Sightings{{Kind: formats.Read, Bits: bitsOf(t, "110100101101001")}}))
	_, ok = w.misread()
	assert.False(t, ok, "more than one bit is missing")
}
