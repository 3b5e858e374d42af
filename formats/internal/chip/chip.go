// Package chip compares the serial numbers of chips.
package chip

import "github.com/cardtell/cardtell/wiegand"

// Same reports whether two serials can be of one chip: the shorter one begins or ends the other one, in whichever order
// its bytes are, as readers cut serials at either end, and turn them round (common practice, no source). Each has whole
// bytes.
func Same(a, b wiegand.Bits) bool {
	if a.Len() > b.Len() {
		a, b = b, a
	}
	turned, _ := a.ReverseBytes() // whole bytes, so that it can't fail
	first, last := b.Slice(0, a.Len()), b.Slice(b.Len()-a.Len(), b.Len())
	return a == first || a == last || turned == first || turned == last
}
