package learn_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// What an installer meets that is not tidy, asked of identify and learn: reads are made by the layouts of the
// catalogue, or by layouts written down here; what has to come out is arithmetic.

// question is cards as both ask about them.
type question struct {
	t     *testing.T
	cards []formats.Sightings
	reads []learn.Read
}

func (q *question) add(b wiegand.Bits, print string) {
	q.reads = append(q.reads, learn.Read{Line: len(q.reads) + 1, Bits: b, Printed: print})
	card := formats.Sightings{{Kind: formats.Read, Bits: b}}
	if print != "" {
		card = append(card, formats.Sighting{Kind: formats.Printed, Text: print})
	}
	q.cards = append(q.cards, card)
}

func (q *question) rank() rank.Answer {
	q.t.Helper()
	r, err := rank.New(formats.Builtin())
	require.NoError(q.t, err)
	ans, err := r.Rank(q.cards)
	require.NoError(q.t, err)
	return ans
}

func encode(t *testing.T, id string, values ...uint64) wiegand.Bits {
	t.Helper()
	b, err := formats.Builtin().Find(id)[0].Layout.Encode(values...)
	require.NoError(t, err)
	return b
}

// Asset numbers: the format as without the prints, and the remark that they are another numbering.
func TestAssetNumbers(t *testing.T) {
	rng := rand.New(rand.NewPCG(seed, 1))
	plain, assets := &question{t: t}, &question{t: t}
	for range 12 {
		b := encode(t, "26-8-16", 121, rng.Uint64N(1<<16))
		plain.add(b, "")
		assets.add(b, fmt.Sprintf("%06d", 400000+rng.IntN(99999)))
	}
	want, got := plain.rank(), assets.rank()
	assert.Equal(t, "26-8-16", got.Candidates[0].Format.ID)
	assert.InDelta(t, want.Candidates[0].Probability, got.Candidates[0].Probability, 0.02)
	all, err := learn.Learn(assets.reads, formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Greater(t, all[0].Unrelated, 0.9)
	assert.Contains(t, strings.Join(all[0].Warnings, "\n"), "another numbering")
}

// 34-0-32 printed as the low 24 bits is named so, from few cards or many.
func TestLow24Bits(t *testing.T) {
	for _, n := range []int{2, 6, 12, 50} {
		rng := rand.New(rand.NewPCG(seed, uint64(n)))
		q := &question{t: t}
		for range n {
			v := rng.Uint64N(1 << 32)
			q.add(encode(t, "34-0-32", v), fmt.Sprint(v&(1<<24-1)))
		}
		c := q.rank().Candidates[0]
		assert.Equal(t, "34-0-32", c.Format.ID, "%d cards", n)
		assert.Equal(t, []string{"number24"}, c.Printed, "%d cards", n)
		assert.Greater(t, c.Probability, 0.8, "%d cards", n)
	}
}

// Two facilities next to one another are no long number.
func TestNeighbouringFacilities(t *testing.T) {
	rng := rand.New(rand.NewPCG(seed, 3))
	q := &question{t: t}
	for i := range uint64(100) {
		q.add(encode(t, "26-8-16", 77+i%2, rng.Uint64N(1<<16)), "")
	}
	c := q.rank().Candidates[0]
	assert.Equal(t, "26-8-16", c.Format.ID)
	assert.Greater(t, c.Probability, 0.9)
}

// A flipped bit with the card's own pair beside it: that card.
func TestFlipWithItsPrint(t *testing.T) {
	for bit := range 26 {
		q := &question{t: t}
		b := encode(t, "26-8-16", 77, 5489)
		q.add(b.WithBit(bit, 1-b.Bit(bit)), "077,05489")
		c := q.rank().Candidates[0]
		require.Equal(t, "26-8-16", c.Format.ID, "bit %d", bit+1)
		assert.Equal(t, b, c.Cards[0].Record.Encode(), "bit %d", bit+1)
		assert.Greater(t, c.Repairs[0].Chance, 0.99, "bit %d", bit+1)
		// Where a parity bit is wrong, or the top bit of the facility, a private layout with another parity there says as
		// much.
		least := 0.99
		if bit < 2 || bit == 25 {
			least = 0.94
		}
		assert.Greater(t, c.Probability, least, "bit %d", bit+1)
	}
}

// Two wrong bits in one read of three: two good reads and a bad one.
func TestTwoFlipsInOneRead(t *testing.T) {
	q := &question{t: t}
	for i, v := range []uint64{17, 43, 212} {
		b := encode(t, "26-8-16", 121, v)
		if i == 1 {
			b = b.WithBit(3, 1-b.Bit(3)).WithBit(20, 1-b.Bit(20))
		}
		q.add(b, "")
	}
	c := q.rank().Candidates[0]
	require.Equal(t, "26-8-16", c.Format.ID)
	assert.Greater(t, c.Probability, 0.5)
	assert.Equal(t, "17", c.Cards[0].Text(1))
	assert.Equal(t, "212", c.Cards[2].Text(1))
	assert.Less(t, c.Repairs[1].Chance, 0.5, "which card it was, nobody can tell")
}

// Where only the frame is known, no format of a table is sure.
func TestKnownFramesOfOtherParts(t *testing.T) {
	for _, c := range []struct{ bits, facility int }{{34, 8}, {32, 12}} {
		rng := rand.New(rand.NewPCG(seed, uint64(c.bits)))
		q := &question{t: t}
		for range 12 {
			v := uint64(44)<<(32-c.facility) | rng.Uint64N(1<<(32-c.facility))
			id := "32-0-32"
			if c.bits == 34 {
				id = "34-0-32"
			}
			q.add(encode(t, id, v), "")
		}
		ans := q.rank()
		assert.Less(t, ans.Candidates[0].Probability, 0.9, "%d bits", c.bits)
		require.NotEmpty(t, ans.Frames)
		assert.Greater(t, ans.Frames[0].Probability, 0.1, "%d bits", c.bits)
	}
}

// A number that is small for its field is likelier counted up in it than a facility and a number printed as one.
func TestSmallNumberInAWideField(t *testing.T) {
	q := &question{t: t}
	q.cards = []formats.Sightings{{{Kind: formats.Printed, Text: "1666436"}}}
	one, two := 0.0, 0.0
	for _, c := range q.rank().Candidates {
		switch {
		case c.Format.ID == "34-0-32":
			one += c.Probability
		case c.Format.ID == "34-16-16":
			two += c.Probability
		}
	}
	assert.Greater(t, one, two)
}
