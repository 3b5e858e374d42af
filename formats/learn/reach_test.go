package learn_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// These tests measure what learning reaches on formats it has never seen. The goals are the project's own; the information
// limit behind them is that two checks over runs of a 16-bit number are settled by 8 cards in some 37 of 100 cases, by 10 in 80,
// by 12 in 95.

// layouts is how many formats a measurement draws: fewer with -short.
func layouts(full, short int) int {
	if testing.Short() {
		return short
	}
	return full
}

// atLeast fails where so few successes would be seen less than once in 1,000 runs if the true rate were the goal, and logs what
// was measured.
func atLeast(t *testing.T, what string, right, n int, goal float64) {
	t.Helper()
	t.Logf("%s: %d of %d (goal %.0f %%)", what, right, n, 100*goal)
	require.Greater(t, distuv.Binomial{N: float64(n), P: goal}.CDF(float64(right)), 0.001, "%s: %d of %d, goal %v", what, right, n, goal)
	if !testing.Short() {
		require.GreaterOrEqual(t, float64(right), goal*float64(n), what)
	}
}

func learnOne(t *testing.T, reads []learn.Read) *learn.Result {
	t.Helper()
	all, err := learn.Learn(reads, formats.Catalogue{})
	require.NoError(t, err)
	require.Len(t, all, 1)
	return &all[0]
}

// seed makes every run the same; a failure names it.
const seed = 20261125

func newRand(t *testing.T, stream uint64) *rand.Rand {
	t.Logf("random numbers: rand.NewPCG(%d, %d)", seed, stream)
	return rand.New(rand.NewPCG(seed, stream))
}

// TestReachPrinted measures prediction and calibration on random layouts, with printed numbers.
func TestReachPrinted(t *testing.T) {
	type bin struct{ stated, right, n float64 }
	var all, sure bin
	bins := make([]bin, 10)
	for _, c := range []struct {
		cards int
		goal  float64
	}{{6, 0}, {8, 0}, {10, 0.75}, {12, 0}, {16, 0.98}} {
		rng := newRand(t, uint64(c.cards))
		n, right, stated := layouts(1000, 60), 0, 0.0
		for range n {
			w := drawWorld(rng)
			r := learnOne(t, w.cards(rng, c.cards))
			one := bin{stated: r.Probability, n: 1}
			if w.predicts(t, r, rng) {
				right++
				one.right = 1
			}
			stated += r.Probability
			for _, b := range []*bin{&all, &bins[min(int(10*r.Probability), 9)]} {
				b.stated, b.right, b.n = b.stated+one.stated, b.right+one.right, b.n+1
			}
			if r.Probability > 0.99 {
				sure.right, sure.n = sure.right+one.right, sure.n+1
			}
		}
		t.Logf("%d cards: stated %.3f", c.cards, stated/float64(n))
		atLeast(t, "right", right, n, c.goal)
	}
	for i, b := range bins {
		t.Logf("stated %.1f to %.1f: on average %.3f, right %.3f of %.0f", float64(i)/10, float64(i+1)/10, b.stated/max(b.n, 1), b.right/max(b.n, 1), b.n)
	}
	t.Logf("stated above 0.99: wrong %.0f of %.0f", sure.n-sure.right, sure.n)
	require.InDelta(t, all.stated/all.n, all.right/all.n, 0.05, "stated and true frequency")
	atLeast(t, "right where stated above 0.99", int(sure.right), int(sure.n), 0.99)
}

// TestReachUnprinted: 40 cards and no printed number.
func TestReachUnprinted(t *testing.T) {
	rng := newRand(t, 40)
	n, right := layouts(500, 50), 0
	for range n {
		w := drawWorld(rng)
		reads := w.cards(rng, 40)
		for i := range reads {
			reads[i].Printed = ""
		}
		for !seesChecks(&w, reads) { // a check over constant bits alone can't be seen by anybody
			w = drawWorld(rng)
			reads = w.cards(rng, 40)
			for i := range reads {
				reads[i].Printed = ""
			}
		}
		if w.explains(t, learnOne(t, reads), rng) {
			right++
		}
	}
	atLeast(t, "number and parities without prints", right, n, 0.90)
}

// seesChecks reports whether both parity bits vary.
func seesChecks(w *world, reads []learn.Read) bool {
	for _, c := range w.spec.Checks {
		same := true
		for _, r := range reads {
			same = same && r.Bits.Bit(c.Bit-1) == reads[0].Bits.Bit(c.Bit-1)
		}
		if same {
			return false
		}
	}
	return true
}

// TestReachSequence: 100 cards with successive numbers, in order or not, and no printed number.
func TestReachSequence(t *testing.T) {
	for _, shuffled := range []bool{false, true} {
		rng := newRand(t, 100)
		n, right := layouts(500, 50), 0
		for range n {
			w := drawWorld(rng)
			v := rng.Uint64N(1<<w.width - 100)
			var reads []learn.Read
			for i := range uint64(100) {
				reads = append(reads, learn.Read{Line: int(i) + 1, Bits: w.read(v + i)})
			}
			if shuffled {
				rng.Shuffle(len(reads), func(i, j int) { reads[i], reads[j] = reads[j], reads[i] })
			}
			if w.lowEnd(learnOne(t, reads)) {
				right++
			}
		}
		atLeast(t, "low end and order of numbers in sequence", right, n, 0.95)
	}
}

// lowEnd reports whether the number's low end and order are right and all bits above are open.
func (w *world) lowEnd(r *learn.Result) bool {
	last := w.from + w.width - 1
	if len(r.Number.Bits) != 1 || r.Number.Bits[0].To != last || r.Number.Order != wiegand.MSBFirst || r.Number.Bits[0].From < w.from {
		return false
	}
	open := map[int]bool{}
	for bit := range r.Open.Bits() {
		open[bit] = true
	}
	for bit := w.from; bit < r.Number.Bits[0].From; bit++ {
		if !open[bit] {
			return false
		}
	}
	return true
}

// TestReachMisreads: 60 cards with printed numbers of which three were misread in one bit.
func TestReachMisreads(t *testing.T) {
	rng := newRand(t, 60)
	n, right := layouts(500, 50), 0
	for range n {
		w := drawWorld(rng)
		reads := w.cards(rng, 60)
		wrong := map[int]bool{}
		for len(wrong) < 3 {
			k := rng.IntN(len(reads))
			if !wrong[k+1] {
				bit := rng.IntN(reads[k].Bits.Len())
				reads[k].Bits = reads[k].Bits.WithBit(bit, 1-reads[k].Bits.Bit(bit))
			}
			wrong[k+1] = true
		}
		r := learnOne(t, reads)
		named := len(r.Misreads) == len(wrong)
		for _, m := range r.Misreads {
			named = named && wrong[m.Line]
		}
		if named && w.predicts(t, r, rng) {
			right++
		}
	}
	atLeast(t, "layout and misreads named", right, n, 0.95)
}

// TestReachInterleaved: three parities over two bits in three and everything, 40 cards with printed numbers.
func TestReachInterleaved(t *testing.T) {
	rng := newRand(t, 35)
	n, right := layouts(500, 50), 0
	for range n {
		w := drawInterleaved(rng)
		if w.predicts(t, learnOne(t, w.cards(rng, 40)), rng) {
			right++
		}
	}
	atLeast(t, "interleaved layouts", right, n, 0.90)
}
