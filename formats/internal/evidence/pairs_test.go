package evidence

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
)

// Of a serial of 56 bits between two parities that lost two, 4*58*57/2 insertions make thousands of serials, none of
// which goes better with the others than the rest; of a card of 26 bits with 20 others near it few do.
func TestTwoLostBits(t *testing.T) {
	count := func(id string, read uint64, seen ...[]uint64) int {
		f := formats.Builtin().Find(id)[0]
		w := &Work{model: &formatModel{format: f, fields: modelFields(f)}}
		for _, values := range seen {
			w.seen = append(w.seen, density.Others{Sorted: values})
		}
		two := twoFaults{w: w, n: f.Layout.Len()}
		two.mask, two.value = w.common()
		two.losses(read)
		return len(two.found)
	}
	wide := count("58-0-56", 0x7A9E9A4CEFE1D6, []uint64{0x05245FFC0929C6, 0xB64DAFFD98BC4E})
	assert.Greater(t, wide, mostMended) // and it was given up not far above
	assert.Less(t, wide, 2*mostMended)
	// 121,00017 is 1 01111001 0000000000010001 1 (SIA AC-01-1996.10); two of its zeros are lost.
	near := count("26-8-16", 0b101111001000000000100011, []uint64{121}, []uint64{1, 20})
	assert.Positive(t, near)
	assert.Less(t, near, mostMended/3)
}
