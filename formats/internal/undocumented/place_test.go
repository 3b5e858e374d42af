package undocumented

import (
	"testing"

	"github.com/cardtell/cardtell/wiegand"
)

// TestPlaceBits holds the bits of a number to what the number of a read is that has one of them alone.
func TestPlaceBits(t *testing.T) {
	for turn := range turns {
		for _, width := range []int{16, 32, 40} {
			p := Place{From: 3, To: 3 + width, Turn: turn}
			for j, i := range p.Bits() {
				w := wiegand.BitsFromWords([4]uint64{}, 64).WithBit(i, 1).Words()
				if v, _ := p.Number(&w); v != 1<<uint(j) {
					t.Fatalf("turn %d of %d bits: bit %d at index %d makes %#x", turn, width, j, i, v)
				}
			}
		}
	}
	two := Place{From: 20, To: 28, High: [2]int{4, 10}}
	for j, i := range two.Bits() {
		w := wiegand.BitsFromWords([4]uint64{}, 64).WithBit(i, 1).Words()
		if v, _ := two.Number(&w); v != 1<<uint(j) {
			t.Fatalf("two runs: bit %d at index %d makes %#x", j, i, v)
		}
	}
}
