package worlds_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats/calibration"
	"github.com/cardtell/cardtell/formats/calibration/keep"
	"github.com/cardtell/cardtell/formats/calibration/worlds"
)

func newRand(stream int) *rand.Rand { return rand.New(rand.NewPCG(seed(), uint64(stream))) }

// TestLimit measures what learning predicts of layouts with two parity checks beside the most that could be predicted,
// in each order of the number's bits and where the order is not known before. What the observer states is exact, so
// that its mean and its share of right answers must agree: that is the check of the observer.
func TestLimit(t *testing.T) {
	n := 200
	if testing.Short() {
		n = 8
	}
	e := engine(t)
	table := calibration.Table{{"order", "cards", "n", "stated", "right", "limit", "limit_stated", "settled"}}
	var observed calibration.Forecasts
	all := []worlds.Order{worlds.FirstBitFirst, worlds.LastBitFirst, worlds.BytesTurned}
	for k, orders := range [][]worlds.Order{all[:1], all[1:2], all[2:], all} {
		name := fmt.Sprint(orders[0])
		if len(orders) > 1 {
			name = "any order"
		}
		for _, cards := range []int{4, 6, 8, 10, 12, 16} {
			var limit, learned calibration.Forecasts
			settled := 0
			rng := newRand(1000*k + cards)
			for range n {
				p := worlds.DrawPuzzle(rng, cards, orders...)
				o := p.Observe()
				limit.Add(o.Stated, o.True)
				observed.Add(o.Stated, o.True)
				if o.Settled {
					settled++
				}
				if l, err := e.Learn(p.Cards); err == nil {
					for _, v := range p.Learn(l, rng) {
						learned.Add(v.Stated, v.True)
					}
				}
			}
			most := float64(limit.True()) / float64(n)
			right := float64(learned.True()) / float64(max(1, learned.N()))
			table = append(table, append([]string{name}, calibration.Cells(cards, n, learned.Stated(), right, most,
				limit.Stated(),
				float64(settled)/float64(n))...))
			low, _ := calibration.Band(learned.True(), learned.N())
			assert.LessOrEqual(t, low, limit.Stated()+0.05, "%s, %d cards: nobody is right more often than the observer", name,
				cards)
		}
	}
	if testing.Verbose() {
		printTable(table)
	}
	assert.InDelta(t, observed.Stated(), float64(observed.True())/float64(observed.N()),
		3.3*0.5/math.Sqrt(float64(observed.N())), "the observer")
	if !*mend && !testing.Short() {
		keep.Table(t, "../../..", "worlds-limit.csv", table)
	}
}
