package worlds

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// stating returns the score of n statements of a source that is right as often as come says.
func stating(rng *rand.Rand, n int, come func(stated float64) float64) *Score {
	var s Score
	for i := range n {
		p := 1 - rng.Float64()*rng.Float64()*rng.Float64() // mostly high, as engines are
		s.add(Verdict{Stated: p, True: rng.Float64() < come(p)}, i)
	}
	return &s
}

// TestCriteria: who is honest fails hardly ever, who is too sure nearly always. An honest source is the outside
// standard here: it comes true as often as it states.
func TestCriteria(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 0))
	const series = 300
	fails := func(n int, come func(float64) float64) map[string]int {
		count := map[string]int{}
		for range series {
			for _, f := range stating(rng, n, come).Fails(false) {
				count[f]++
			}
		}
		return count
	}
	for name, k := range fails(300, func(p float64) float64 { return p }) {
		assert.LessOrEqual(t, k, 3, "an honest source fails %s in %d of %d", name, k, series)
	}
	sure := fails(300, func(p float64) float64 { return min(p, 0.8) })
	for _, name := range []string{"0.9", "0.99", "gap"} {
		assert.GreaterOrEqual(t, sure[name], series*9/10, "a source that is right in 80 of 100 at best fails %s", name)
	}
	timid := fails(2000, func(p float64) float64 { return min(1, p+0.35) }) // few of these statements are low
	assert.GreaterOrEqual(t, timid["gap"], series*9/10, "a source that states too little")
	assert.Zero(t, timid["0.9"]+timid["0.99"])
}

// TestMistakes: a mistake changes a print, keeps it a print, and is as common as was asked.
func TestMistakes(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 0))
	prints, wrong := 0, 0
	for range 300 {
		s := mistypedSite(0.2)(rng)
		for i, c := range s.Cards {
			if prints++; s.Truth[i].Wrong {
				wrong++
			}
			assert.NotContains(t, c[1].Text, ",,")
		}
	}
	assert.InDelta(t, 0.2, float64(wrong)/float64(prints), 0.03)
}

// TestAgreement: what is said of a format and its own layout agree, and another format's layout does not.
func TestAgreement(t *testing.T) {
	for i := range 100 {
		rng := rand.New(rand.NewPCG(14, uint64(i)))
		s, _ := simpleSite(rng, 12, simple)
		k := &s.Kinds[0]
		g := Group{Hypotheses: []Hypothesis{{Probability: 1, Format: k.Format}}}
		l := Learned{Stated: 1, Spec: k.Layout.Spec()}
		for i, c := range s.Truth {
			g.Cards, l.Cards = append(g.Cards, i), append(l.Cards, i)
			g.Hypotheses[0].Cards = append(g.Hypotheses[0].Cards, Reading{Layout: k.Layout, Read: c.Read, Chance: 1})
		}
		assert.True(t, s.Agree(&g, &l, rng), "%s with itself", k.Format)
		other := format("32-0-32")
		if k.Format == other.ID || k.Layout.Len() != other.Layout.Len() {
			continue
		}
		l.Spec = other.Layout.Spec()
		assert.False(t, s.Agree(&g, &l, rng), "%s with %s", k.Format, other.ID)
	}
}
