package reading_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// withCut returns the bare numbers of cards, from first on, and the low 16 bits of serials, which lie elsewhere.
func withCut(r *rand.Rand, serials, cards int, first uint64) (texts []string, cut map[string]bool) {
	cut = map[string]bool{}
	for _, n := range r.Perm(2 * cards)[:cards] {
		texts = append(texts, strconv.FormatUint(first+uint64(n), 10))
	}
	for len(cut) < serials {
		low := uint64(r.Uint32()) & 0xFFFF
		if text := strconv.FormatUint(low, 10); low+200 < first || low > first+400 {
			cut[text], texts = true, append(texts, text)
		}
	}
	r.Shuffle(len(texts), func(i, k int) { texts[i], texts[k] = texts[k], texts[i] })
	return texts, cut
}

// Of chip serials a list has the low 16 bits alone, beside bare numbers of cards: each row is the site's, and no form
// says what it is. The cards are known by how the list was made; the serials' low bits are Go's own arithmetic. That
// serials are printed so is common practice, no source.
func TestSerialsCutTo16Bits(t *testing.T) {
	for _, test := range []struct {
		format, printed string
		blocks          bool
	}{
		{"34-0-32", "number24", false}, {"56-0-56", "number24", false}, {"37-0-35", "number24", false},
		{"34-0-32", "number", true}, {"34-0-32", "number10", true}, {"56-0-56", "number10", true}, {"34-0-32", "", false},
	} {
		for seed := range uint64(4) {
			r := rand.New(rand.NewPCG(seed, 16))
			serials, cards := 20+r.IntN(60), 20+r.IntN(60)
			first := 1 + r.Uint64N(60000)
			texts, cut := withCut(r, serials, cards, first)
			site := []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}, Printed: "number"},
				{Format: test.format, Printed: test.printed}}
			if test.blocks {
				site[0].Numbers = []formats.Range{{First: first, Last: first + uint64(2*cards)}}
			}
			column, err := reading.Settle(formats.Builtin(), site, slices.Values(texts), reading.Options{})
			require.NoError(t, err)
			for text, cell := range column.All(slices.Values(texts)) {
				if cut[text] && cell.Outcome == reading.IsCard {
					require.Fail(t, "a serial's end is taken for a card",
						"%s as %s, seed %d, %d serials beside %d numbers from %d: %s",
						test.format, test.printed, seed, serials, cards, first, text)
				}
			}
		}
	}
}

// Numbers of one kind that lie together are cards, though the site has serials as well.
func TestNumbersThatLieTogetherAreNotCut(t *testing.T) {
	site := []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}, Printed: "number"},
		{Format: "34-0-32", Printed: "uid"}}
	var texts []string
	for n := range 60 {
		texts = append(texts, strconv.Itoa(31000+3*n))
	}
	r := rand.New(rand.NewPCG(1, 4))
	for range 40 {
		v := r.Uint32()
		texts = append(texts, fmt.Sprintf("%02X:%02X:%02X:%02X", v>>24, v>>16&255, v>>8&255, v&255))
	}
	column, err := reading.Settle(formats.Builtin(), site, slices.Values(texts), reading.Options{})
	require.NoError(t, err)
	for text, cell := range column.All(slices.Values(texts)) {
		require.Equal(t, reading.IsCard, cell.Outcome, text)
	}
}
