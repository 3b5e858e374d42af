package relate_test

import (
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

func BenchmarkFind(b *testing.B) {
	cat := formats.Builtin()
	for _, pairs := range [][]relate.Pair{
		{{A: "0009876543", B: "150,46143"}},
		{{A: "0009876543", B: "15046143"}, {A: "0007625328", B: "11623152"}},
		{{A: "26:32D687E", B: "46143"}, {A: "26:3A83702", B: "7041"}},
	} {
		b.Run(pairs[0].A+"="+pairs[0].B, func(b *testing.B) {
			for b.Loop() {
				if _, err := relate.Find(pairs, cat); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkRule converts one number; a list has a million of them.
func BenchmarkRule(b *testing.B) {
	rel, err := relate.Find([]relate.Pair{{A: "3974465139", B: "1938220524"}, {A: "70892138", B: "1790589188"}},
		formats.Catalogue{})
	if err != nil {
		b.Fatal(err)
	}
	rule, buf := rel.Rules[0].Rule, make([]byte, 0, 32)
	b.ReportAllocs()
	for b.Loop() {
		if buf, err = rule.Append(buf[:0], "144814787"); err != nil {
			b.Fatal(err)
		}
	}
}
