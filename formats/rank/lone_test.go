package rank

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// readAs is the read of a card of the catalogue, from its fields.
func readAs(t *testing.T, id string, values ...uint64) wiegand.Bits {
	c := formats.Builtin().Find(id)[0].Blank()
	for i, v := range values {
		var err error
		c, err = c.With(i, fmt.Sprint(v))
		require.NoError(t, err)
	}
	return c.Record.Encode()
}

// seed is of what is drawn here.
const seed = 20261129

// crowd is so many cards of 26-8-16 of one facility, out of a box of seven times as many.
func crowd(t *testing.T, n int) (all []formats.Sightings) {
	for _, i := range rand.New(rand.NewPCG(seed, 2)).Perm(7 * n)[:n] {
		read := readAs(t, "26-8-16", 198, uint64(1200+i))
		all = append(all, formats.Sightings{{Kind: formats.Read, Bits: read}})
	}
	return all
}

// TestLoneCard: one card of another facility among twenty can be a visitor's of 26-0-24, which has the same two checks
// (arithmetic: 26-0-24 has the same bits, and no facility); with its pair printed on it, it can not.
func TestLoneCard(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	lone := readAs(t, "26-8-16", 243, 58751)
	cards := append(crowd(t, 20), formats.Sightings{{Kind: formats.Read, Bits: lone}})
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	best := ans.Candidates[0]
	assert.Equal(t, "26-8-16", best.Format.ID)
	assert.Less(t, best.Repairs[20].Chance, 0.99)
	assert.Greater(t, best.Repairs[20].Chance, 0.5)
	assert.Equal(t, 1.0, best.Repairs[3].Chance)
	assert.Contains(t, strings.Join(ans.First, "\n"), "card 21 lies apart from the others")

	cards[20] = append(cards[20], formats.Sighting{Kind: formats.Printed, Text: "243,58751"})
	ans, err = r.Rank(cards)
	require.NoError(t, err)
	assert.Equal(t, 1.0, ans.Candidates[0].Repairs[20].Chance)
	assert.NotContains(t, strings.Join(ans.First, "\n"), "lies apart")
}

// TestUncheckedReads: on a line that misreads, a read of a format without checks can be wrong unseen; one whose print
// follows from it is not.
func TestUncheckedReads(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []formats.Sightings
	for _, text := range []string{ // the first read has bit 31 wrong
		"64:E0126AB1C1D28091=16146084934360137873", "64:E0A55B0E3312F147=16187444552197665095",
		"64:E019C87721E65C05", "64:E077310D5AB29E3C",
	} {
		card, err := formats.ParseSightings(text)
		require.NoError(t, err)
		cards = append(cards, card)
	}
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	best := ans.Candidates[0]
	assert.Equal(t, "64-0-64", best.Format.ID)
	assert.Equal(t, FlippedBit, best.Repairs[0].Fault)
	assert.Equal(t, 1.0, best.Repairs[1].Chance)
	for _, i := range []int{2, 3} {
		assert.Less(t, best.Repairs[i].Chance, 0.99)
	}
	assert.Contains(t, strings.Join(ans.First, "\n"), "cards 3, 4: nothing shows whether their reads are right")
}

// TestOneVisitor: twelve cards of 37-0-35 with their eleven digits, and one of 37-16-19 with its number, are of two
// kinds; the one does not make the twelve cards of its format.
func TestOneVisitor(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []formats.Sightings
	for i := range 12 {
		number := uint64(3*i + 6)
		read := readAs(t, "37-0-35", number)
		cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: read},
			{Kind: formats.Printed, Text: fmt.Sprintf("%011d", number)}})
	}
	read := readAs(t, "37-16-19", 71, 191306)
	cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: read}, {Kind: formats.Printed, Text: "191306"}})
	kinds, err := r.Kinds(cards)
	require.NoError(t, err)
	assert.Len(t, kinds.Groups, 2)
	assert.Greater(t, kinds.Probability, 0.9)
}

// TestStrays: among 200 cards of one facility are 12 from anywhere, each of any facility (drawn here). They are not
// said to be of a format that the others are not of.
func TestStrays(t *testing.T) {
	rng := rand.New(rand.NewPCG(seed, 1))
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	cards := crowd(t, 200)
	for range 12 {
		read := readAs(t, "26-8-16", 1+rng.Uint64N(255), 1+rng.Uint64N(65535))
		cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: read}})
	}
	kinds, err := r.Kinds(cards)
	require.NoError(t, err)
	assert.Less(t, kinds.Probability, 0.9, "seed %d", seed)
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID, "seed %d", seed)
}
