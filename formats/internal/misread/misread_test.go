package misread

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/wiegand"
)

// TestAddsUp: over how many of n reads go bad, and which, it adds up to 1; and so do the ways, and the reads with one
// bit wrong (axioms of probability).
func TestAddsUp(t *testing.T) {
	for _, n := range []int{1, 5, len(few) + 3} {
		sum := 0.0
		for bad := range n + 1 {
			sum += math.Exp(logp.Choose(n, bad) + Log(n-bad, bad))
		}
		assert.InDelta(t, 1, sum, 1e-9, "%d reads", n)
	}
	ways := 0.0
	for _, share := range Shares {
		ways += share
	}
	assert.InDelta(t, 1, ways, 1e-9)
	assert.InDelta(t, judgement.MisreadFlip, 26*Flipped(1, 26), 1e-9)
	assert.InDelta(t, judgement.MisreadTwo, 26*25/2*Flipped(2, 26), 1e-9)
	assert.Zero(t, Flipped(0, 26))
	assert.Zero(t, Flipped(4, 26))
}

// TestTake: misreads of known ways, one after the other, are a Pólya urn: what they come to does not depend on their
// order, and over all ways of the next it adds up to 1 (of what is said of a way by itself, its share).
func TestTake(t *testing.T) {
	log := func(ways ...int) (log float64) {
		var l Line
		for _, w := range ways {
			log += l.Take(Only(w)) + math.Log(Shares[w])
		}
		return log
	}
	assert.InDelta(t, log(0, 0, 3, 7), log(3, 0, 7, 0), 1e-12)
	next := 0.0
	for w := range Shares {
		next += math.Exp(log(2, 2, 5, w) - log(2, 2, 5))
	}
	assert.InDelta(t, 1, next, 1e-9)
	assert.Greater(t, log(2, 2)-log(2), log(2), "a line goes wrong in one way mostly")
}

// TestWay: by hand, of 1011.
func TestWay(t *testing.T) {
	good := wiegand.MustParseBits("1011")
	for read, way := range map[string]int{"1111": 0, "111": 1, "011": 2, "101": 3, "10011": 4, "01011": 5, "10110": 6} {
		assert.Equal(t, way, Way(good, wiegand.MustParseBits(read)), read)
	}
	assert.Equal(t, wiegand.MustParseBits("0110"), Differ(good, wiegand.MustParseBits("1101")))
}

// TestUnseen: of reads that nothing checks, drawn from the rates and ways of the judgements, so many are wrong as is
// said , by arithmetic; and more of them on a line with more misreads.
func TestUnseen(t *testing.T) {
	const wrong = judgement.MisreadFlip + judgement.MisreadTwo + judgement.MisreadMore
	mean, seen := 0.0, 0.0 // of a read: that it is wrong and looks right, and that it looks right
	for _, m := range judgement.MisreadRates {
		mean += m.Share * m.Rate * wrong
		seen += m.Share * (1 - m.Rate*(1-wrong))
	}
	assert.InDelta(t, mean/seen, Unseen(0, 0, 0), 1e-12)
	assert.Greater(t, Unseen(3, 1, 5), Unseen(3, 0, 5))
	assert.Less(t, Unseen(30, 1, 5), Unseen(3, 1, 5))
}
