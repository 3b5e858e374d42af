package reading

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// What is clear without weighing comes out as it does when it is weighed: the same card, or the same doubt.
func TestClearlyIsAsWeighed(t *testing.T) {
	rnd := rand.New(rand.NewPCG(21, 22))
	block := []formats.Range{{First: 41_000, Last: 41_299}}
	write := map[string]func(n int) string{
		"number":    func(n int) string { return fmt.Sprint(n) },
		"number10":  func(n int) string { return fmt.Sprintf("%010d", n) },
		"pair":      func(n int) string { return fmt.Sprintf("121,%05d", n) },
		"decimal":   func(n int) string { return fmt.Sprint(121<<16 + n) },
		"decimal10": func(n int) string { return fmt.Sprintf("%010d", 121<<16+n) },
		"joined":    func(n int) string { return fmt.Sprintf("121%05d", n) },
		"hex":       func(n int) string { return fmt.Sprintf("%06X", 121<<16+n) },
	}
	sole := 0
	for form, text := range write {
		for _, numbers := range [][]formats.Range{nil, block} {
			var sample []string
			for range 120 {
				sample = append(sample, text(41_000+rnd.IntN(300)))
			}
			cards := []formats.Population{{Format: "26-8-16", Printed: form, Facilities: []uint64{121}, Numbers: numbers}}
			p := settledOn(t, cards, sample, Options{Second: []string{"decimal10", "hex", "pair"}})
			weighed := *p
			weighed.sole = false
			if p.sole {
				sole++
			}
			for range 400 {
				v := []byte(text(rnd.IntN(65_536)))
				if rnd.IntN(2) == 0 {
					v = []byte(text(40_900 + rnd.IntN(500)))
				}
				if at := rnd.IntN(len(v)); rnd.IntN(3) == 0 {
					v = append(v[:at], append([]byte("0123456789ABCDEF,- "[rnd.IntN(19):][:1]), v[at:]...)...)
				}
				var a, b Seen
				errA, errB := p.Read(v, &a), weighed.Read(v, &b)
				assert.Equal(t, errB, errA, "%s: %s", form, v)
				if errA == nil && errB == nil {
					assert.Equal(t, b.Card(), a.Card(), "%s: %s", form, v)
					assert.Equal(t, b.Repair, a.Repair, "%s: %s", form, v)
				}
			}
		}
	}
	assert.Greater(t, sole, 6, "settings of which one kind is the only one")
}
