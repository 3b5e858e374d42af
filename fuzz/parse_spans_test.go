package fuzz

import (
	"slices"
	"testing"

	"github.com/cardtell/cardtell/wiegand"
)

// FuzzParseSpans: whatever reads as spans is written and read again as the same bits, all of them within a read.
func FuzzParseSpans(f *testing.F) {
	for _, text := range []string{
		"",                         // no spans
		"2-9",                      // a field
		"25-32, 17-24",             // two spans in another order
		"10-55/5",                  // every fifth bit
		"1-10/9223372036854775807", // a step that overflows
		"0-\n5",                    // a line break between
		"9-2", "0", "257", "1-9/0", // out of bounds
		"2--5", "+2", "-", ",", "/1", // no spans
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		spans, err := wiegand.ParseSpans(text)
		if err != nil {
			declared(t, err)
			return
		}
		bits := slices.Collect(spans.Bits())
		if len(bits) != spans.Len() {
			t.Fatalf("%d bits, counted as %d", len(bits), spans.Len())
		}
		for _, bit := range bits {
			if bit < 1 || bit > wiegand.MaxBits {
				t.Fatalf("bit %d", bit)
			}
		}
		again, err := wiegand.ParseSpans(spans.String())
		if err != nil || again.String() != spans.String() || !slices.Equal(bits, slices.Collect(again.Bits())) {
			t.Fatalf("%q reads as %v: %v", spans.String(), again, err)
		}
	})
}
