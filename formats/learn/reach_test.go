package learn_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/calibration"
	"github.com/cardtell/cardtell/formats/calibration/keep"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// These tests measure what learning reaches on formats it has never seen. The goals are the project's own; the
// information limit behind them is that two checks over runs of a 16-bit number are settled by 8 cards in some 37 of
// 100 cases, by 10 in 80, by 12 in 95.

// layouts is how many formats a measurement draws: fewer with -short.
func layouts(full, short int) int {
	if testing.Short() {
		return short
	}
	return full
}

// atLeast fails where so few successes would be seen less than once in 1,000 runs if the true rate were the goal, and
// logs what was measured.
func atLeast(t *testing.T, what string, right, n int, goal float64) {
	t.Helper()
	t.Logf("%s: %d of %d (goal %.0f %%)", what, right, n, 100*goal)
	require.Greater(t, distuv.Binomial{N: float64(n), P: goal}.CDF(float64(right)), 0.001, "%s: %d of %d, goal %v", what,
		right, n, goal)
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

// reached is what learning, and the observer who knows how layouts are drawn, make of the same samples.
type reached struct {
	learned, limit calibration.Forecasts
	settled        int // samples that only the world's own checks fit
}

// TestReachPrinted measures prediction and calibration on random layouts, with printed numbers, beside the most that
// could be predicted. What the observer states is exact, so that its mean and its share of right answers must agree:
// that is the check of the observer.
func TestReachPrinted(t *testing.T) {
	var all, sure, limit calibration.Forecasts
	table := calibration.Table{{"series", "cards", "n", "stated", "right", "low", "high", "limit", "limit_stated",
		"settled", "brier", "limit_brier"}}
	for _, c := range []struct {
		cards, full, short int
		goal               float64
	}{
		{4, 1000, 5, 0}, {5, 1000, 5, 0}, {6, 1000, 60, 0}, {8, 1000, 60, 0}, {10, 1000, 60, 0.75}, {12, 1000, 60, 0},
		{16, 1000, 60, 0.98},
		{20, 300, 5, 0.98}, {28, 300, 5, 0.98}, {40, 300, 5, 0.98},
	} {
		n := layouts(c.full, c.short)
		r := reach(t, c.cards, n, &all, &sure, &limit)
		right, most := float64(r.learned.True())/float64(n), float64(r.limit.True())/float64(r.limit.N())
		t.Logf("%d cards: stated %.3f; the most that can be right is %.3f, with only the right checks left in %.3f",
			c.cards, r.learned.Stated(), most, float64(r.settled)/float64(r.limit.N()))
		atLeast(t, "right", r.learned.True(), n, c.goal)
		low, high := calibration.Band(r.learned.True(), n)
		table = append(table, append([]string{"printed numbers"}, calibration.Cells(c.cards, n, r.learned.Stated(), right,
			low, high,
			most, r.limit.Stated(), float64(r.settled)/float64(n), r.learned.Brier(), r.limit.Brier())...))
		if c.cards >= 8 && !testing.Short() {
			require.Greater(t, right, most-0.05, "%d cards: right, and the most that can be", c.cards)
		}
	}
	honest(t, &all)
	require.InDelta(t, limit.Stated(), float64(limit.True())/float64(limit.N()), 3.3*0.5/math.Sqrt(float64(limit.N())),
		"the observer")
	t.Logf("stated above 0.99: wrong %d of %d", sure.N()-sure.True(), sure.N())
	atLeast(t, "right where stated above 0.99", sure.True(), sure.N(), 0.99)
	if testing.Short() {
		return
	}
	series := calibration.Series{Name: "4 to 40 cards with printed numbers", Forecasts: &all}
	keep.Table(t, "../..", "learn-cards.csv", table)
	keep.Table(t, "../..", "learn-reliability.csv", calibration.Reliability(series))
	keep.Table(t, "../..", "learn-scores.csv",
		calibration.Scores(series, calibration.Series{Name: "the observer, on the same samples", Forecasts: &limit}))
}

func reach(t *testing.T, cards, n int, all, sure, limit *calibration.Forecasts) *reached {
	rng := newRand(t, uint64(cards))
	r := &reached{}
	for i := range n {
		w := drawWorld(rng)
		reads := w.cards(rng, cards)
		one := learnOne(t, reads)
		right := w.predicts(t, one, rng)
		r.learned.Add(one.Probability, right)
		all.Add(one.Probability, right)
		if one.Probability > 0.99 {
			sure.Add(one.Probability, right)
		}
		if i >= layouts(n, 10) {
			continue // the observer looks at few, with -short
		}
		o := observe(reads)
		best, p := o.best()
		r.limit.Add(p, best.predicts(&w))
		limit.Add(p, best.predicts(&w))
		if o.settled(&w) {
			r.settled++
		}
	}
	return r
}

// honest holds what was stated to within 5 points of what came true: in every tenth with 50 or more, beyond what
// sampling alone makes of it (2.6 standard errors, one chance in a hundred), and over all.
func honest(t *testing.T, f *calibration.Forecasts) {
	t.Helper()
	for i := range calibration.Bins {
		b := f.Bin(i)
		n := max(float64(b.N), 1)
		said, came := b.Stated/n, float64(b.True)/n
		t.Logf("stated %.1f to %.1f: on average %.3f, right %.3f of %d", float64(i)/10, float64(i+1)/10, said, came, b.N)
		if b.N >= 50 {
			require.InDelta(t, said, came, 0.05+2.6*math.Sqrt(said*(1-said)/n), "stated %d to %d %%", 10*i, 10*i+10)
		}
	}
	require.InDelta(t, f.Stated(), float64(f.True())/float64(f.N()), 0.05, "stated and true frequency")
}

// TestReachUnprinted: 40 cards and no printed number.
func TestReachUnprinted(t *testing.T) {
	rng := newRand(t, 40)
	n, right := layouts(500, 20), 0
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
		n, right := layouts(200, 20), 0
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
	if len(r.Number.Bits) != 1 || r.Number.Bits[0].To != last || r.Number.Order != wiegand.MSBFirst ||
		r.Number.Bits[0].From < w.from {
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
	n, right := layouts(500, 20), 0
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
	n, right := layouts(500, 20), 0
	for range n {
		w := drawInterleaved(rng)
		if w.predicts(t, learnOne(t, w.cards(rng, 40)), rng) {
			right++
		}
	}
	atLeast(t, "interleaved layouts", right, n, 0.90)
}
