package rank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// anyText draws what somebody could have written down of some card, which says nothing of any other.
func anyText(rng *rand.Rand) string {
	signs := func(of string, least, most int) string {
		b := make([]byte, least+rng.IntN(most-least+1))
		for i := range b {
			b[i] = of[rng.IntN(len(of))]
		}
		return string(b)
	}
	digits := func(least, most int) string { return signs("0123456789", least, most) }
	hex := func(least, most int) string { return signs("0123456789ABCDEF", least, most) }
	switch rng.IntN(12) {
	case 0:
		return hex(5, 16)
	case 1:
		return "bits:" + signs("01", 20, 100)
	case 2:
		return digits(1, 5) + "," + digits(3, 6)
	case 3:
		return fmt.Sprintf("40:%X", rng.Uint64()>>24)
	case 4:
		return "0x" + hex(5, 10)
	case 5:
		return digits(8, 20)
	case 6:
		return "uid:" + hex(8, 8)
	case 7:
		return digits(1, 3) + "-" + digits(4, 6)
	case 8:
		return "A-" + digits(4, 6)
	case 9:
		return digits(1, 3) + " " + digits(4, 6)
	case 10:
		return "FC " + digits(1, 3) + " ID " + digits(3, 5)
	}
	return digits(3, 12)
}

// sum adds up all that an answer says.
func sum(a *Answer) float64 {
	all := a.Unknown + a.Several
	for i := range a.Candidates {
		all += a.Candidates[i].Probability
	}
	for i := range a.Frames {
		all += a.Frames[i].Probability
	}
	return all
}

// oddHeaps are those that once were answered with a panic or with probabilities of more than 1.
var oddHeaps = [][]string{
	{"89:9E:C3:7A=FC 822 ID 42011", "01110010010110111000110001001101=38 C7 F2 F8 0C 0B", "5483/874=9009B831",
		"484233", "FC 8 ID 28357=90 6751"}, {"4995434848=uid:b024e094=2955206804=B024E094", "15702605631",
		"3879958484=EABBA173", "2828587997=16033198417"},
	// digits among numbers in hex that can't be meant as those are, and a number in hex of 9 bytes, the first one 0
	{"4D86A", "24:43986=43986", "80:47746DE525522147090F=337435761372849594894607"},
	{"00dae615a671465597=uid:e004306b783d53e8=3758370923", "032c860f559a59db62=uid:e00446aab6be3049=3758376618"},
}

// TestHeaps: whatever somebody throws together gets an answer that adds up, also where the likeliest candidate knows a
// card that another one does not, and where the cards are told apart by kinds.
func TestHeaps(t *testing.T) {
	const heaps = 25
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(seed, 12))
	t.Logf("seed %d, 12", seed)
	all := slices.Clone(oddHeaps)
	for range heaps {
		texts := make([]string, 1+rng.IntN(6))
		for i := range texts {
			for texts[i] = anyText(rng); rng.IntN(3) == 0; texts[i] += "=" + anyText(rng) {
			}
		}
		all = append(all, texts)
	}
	for _, texts := range all {
		heap := strings.Join(texts, "|")
		ans, err := r.RankTexts(texts)
		if err != nil { // as two reads on one card
			continue
		}
		for i := range ans.Candidates {
			ans.Candidates[i].Evidence(ans.Taken[ans.Way(i)].Cards)
		}
		assert.InDelta(t, 1, sum(&ans.Answer), 1e-6, heap)
		for _, way := range ans.Taken[:min(3, len(ans.Taken))] {
			one, err := r.Rank(way.Cards)
			require.NoError(t, err, heap)
			r.Settle(way.Cards, &one)
			kinds, err := r.Kinds(way.Cards)
			require.NoError(t, err, heap)
			assert.False(t, math.IsNaN(kinds.Probability), heap)
		}
		_, kinds, err := r.Divide(ans.Taken[0].Cards, &ans.Answer)
		require.NoError(t, err, heap)
		assert.InDelta(t, 1, sum(&ans.Answer), 1e-6, heap)
		for i := range kinds {
			assert.InDelta(t, 1, sum(&kinds[i]), 1e-6, heap)
		}
	}
}
