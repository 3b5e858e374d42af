package rank

import (
	"fmt"
	"math/rand/v2"
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

// BenchmarkRankInto ranks good reads that all differ, one after another, as identify --each does.
func BenchmarkRankInto(b *testing.B) {
	r, err := New(formats.Builtin())
	if err != nil {
		b.Fatal(err)
	}
	for _, id := range []string{"26-8-16", "34-16-16", "37-16-19"} {
		f := formats.Builtin().Find(id)[0]
		cards := make([][]formats.Sightings, 1<<12)
		for i := range cards {
			read, err := f.Layout.Encode(uint64(100+i%3), uint64(1+i))
			if err != nil {
				b.Fatal(err)
			}
			cards[i] = []formats.Sightings{{{Kind: formats.Read, Bits: read}}}
		}
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			var ans Answer
			for i := 0; b.Loop(); i++ {
				if err := r.RankInto(&ans, cards[i%len(cards)]); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkHand asks questions of which one takes as long as any that is asked by hand: heaps of all sorts of cards,
// and prints of many lots.
func BenchmarkHand(b *testing.B) {
	r, err := New(formats.Builtin())
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	var heap, lots []string
	for range 12 {
		heap = append(heap, anyText(rng))
	}
	for range 7 {
		facility, number := 1+rng.IntN(255), rng.IntN(60000)
		for i := range 11 - len(lots)/66 {
			lots = append(lots, fmt.Sprintf("%03d,%05d", facility, number+i*(1+rng.IntN(2))))
		}
	}
	for _, bench := range []struct {
		name  string
		texts []string
	}{{"heap of 12", heap}, {"seven lots", lots}} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				ans, err := r.RankTexts(bench.texts)
				if err != nil {
					b.Fatal(err)
				}
				if _, _, err := r.Divide(ans.Taken[0].Cards, &ans.Answer); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
