package match

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A lost bit is as likely any of the card's. Which of them make the shown number is counted here by losing each in
// turn.
func TestLostBitsAreCounted(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	const width = 24
	for range 200 {
		card := rnd.Uint64N(1<<width) >> rnd.UintN(12) << rnd.UintN(8) & (1<<width - 1)
		m := &Matcher{index: ruleIndex{data: map[uint64][]int32{card: {0}}}}
		times := map[uint64]int32{}
		for i := range width {
			times[card>>(i+1)<<i|card&(1<<i-1)]++
		}
		for shown, want := range times {
			u := &Unknown{Value: "shown"}
			m.byData(u, shown, width)
			if w := u.way(0, Lost); assert.NotNil(t, w, "%b shown as %b", card, shown) {
				assert.Equal(t, want, w.times, "%b shown as %b", card, shown)
				assert.Equal(t, int32(width), w.variants)
			}
		}
	}
}

// Data bits that are no whole bytes are filled up with zeros in front before their bytes are turned round: the 35 bits
// of 37-16-19, facility 864 and number 51600, are 00 1B 00 C9 90 in hex, and so 90C9001B00 in 5 bytes, worked out by
// hand; of number 103 and facility 195 they are 00 06 18 00 67, which turned round has digits alone.
func TestBytesOfAnyWidth(t *testing.T) {
	m := &Matcher{index: ruleIndex{widths: []int{24, 35}, data: map[uint64][]int32{864<<19 | 51600: {0}}}}
	for _, shown := range []string{"621847517952", "90C9001B00"} {
		u := &Unknown{Value: shown}
		m.byBytes(u)
		assert.NotNil(t, u.way(0, ByteOrder), shown)
	}
	m.index.data[195<<19|103] = []int32{1}
	u := &Unknown{Value: "6700180600"}
	m.byBytes(u)
	assert.NotNil(t, u.way(1, ByteOrder))
	u = &Unknown{Value: "621847517953"}
	m.byBytes(u)
	assert.Nil(t, u.way(0, ByteOrder))
}
