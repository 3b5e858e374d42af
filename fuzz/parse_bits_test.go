package fuzz

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/wiegand"
)

// FuzzParseBits: whatever reads as bits is written and read again as the same bits, in every spelling.
func FuzzParseBits(f *testing.F) {
	for _, text := range []string{
		"",                                 // no bits
		"11001011010110100001111110",       // a 26-bit read
		"1100 1011_0101.1010 0001 1111 10", // the same, spaced
		"bits:1",                           // with its prefix
		"26:32D687E",                       // in hex
		"left:26:CB5A1F80",                 // from the left
		"26:CB5A1F80",                      // from the left by mistake
		"left:26:CB5A1F81",                 // a spare bit is set
		"257:0",                            // too long
		"256:" + strings.Repeat("F", 64),   // as long as can be
		"256:1" + strings.Repeat("0", 64),  // one bit more
		"0:0",                              // no bits in hex
		"4:0000000000000000000000000000000000000000000000000000000000000000000000000000000000000000F", // zeros before
		"left:0:", "left::", ":", "26:", "1é", "1\xff", "-1:0",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		b, err := wiegand.ParseBits(text)
		if err != nil {
			declared(t, err)
			if b != (wiegand.Bits{}) {
				t.Fatalf("an error, and %d bits", b.Len())
			}
			return
		}
		if b.Len() > wiegand.MaxBits {
			t.Fatalf("%d bits", b.Len())
		}
		left := fmt.Sprintf("left:%d:%X", b.Len(), b.AppendBytesLeft(nil))
		if b.Len() == 0 {
			left = "left:0:00"
		}
		for _, spelling := range []string{b.String(), "bits:" + b.String(), b.Hex(), strings.ToLower(b.Hex()), left} {
			if again, err := wiegand.ParseBits(spelling); err != nil || again != b {
				t.Fatalf("%q reads as %s, not %s: %v", spelling, again, b, err)
			}
		}
		var again wiegand.Bits
		if err := again.UnmarshalText(must(b.MarshalText())); err != nil || again != b {
			t.Fatalf("text reads as %s, not %s: %v", again, b, err)
		}
		if again := must(wiegand.BitsFromRight(b.AppendBytesRight(nil), b.Len())); again != b {
			t.Fatalf("bytes from the right read as %s, not %s", again, b)
		}
		if b.Reverse().Reverse() != b || b.Invert().Invert() != b || strings.Count(b.String(), "1") != b.OnesCount() {
			t.Fatalf("reversed, inverted or counted wrongly: %s", b)
		}
	})
}
