package rank

import (
	"testing"

	"github.com/cardtell/cardtell/formats"
)

// BenchmarkRank ranks over the whole catalogue: one read, as identify --each does for every line, and a site of five
// cards.
func BenchmarkRank(b *testing.B) {
	r, err := New(formats.Builtin())
	if err != nil {
		b.Fatal(err)
	}
	for _, bench := range []struct {
		name  string
		cards []string
	}{
		{"one 26-bit read", []string{"26:32D687E"}},
		{"one 37-bit read", []string{"37:0303913C81"}},
		{"one misread", []string{"26:32D687F"}},
		{"one 200-bit read", []string{"200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC"}},
		{"five cards and a print", []string{"26:32D687E=46143", "26:32D6880", "26:32D6883", "26:32D6885", "26:32D6886"}},
	} {
		var cards []formats.Sightings
		for _, text := range bench.cards {
			s, err := formats.ParseSightings(text)
			if err != nil {
				b.Fatal(err)
			}
			cards = append(cards, s)
		}
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := r.Rank(cards); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
