package evidence

import (
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
)

// BenchmarkNew makes the model of the whole catalogue, as every command does when it begins.
func BenchmarkNew(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := New(formats.Builtin(), nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkNewValues makes the model of one format's values.
func BenchmarkNewValues(b *testing.B) {
	f := formats.Builtin().Find("26-8-16")[0]
	b.ReportAllocs()
	for b.Loop() {
		NewValues(f, &formats.Population{Format: f.ID})
	}
}

// BenchmarkNewNumbers makes the model of one field.
func BenchmarkNewNumbers(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		density.NewNumbers(20, 1<<20, judgement.NumbersSpread)
	}
}

// BenchmarkLogGiven weighs one more card beside 20, as for every row of a list that is in doubt.
func BenchmarkLogGiven(b *testing.B) {
	f := formats.Builtin().Find("26-8-16")[0]
	v := NewValues(f, &formats.Population{Format: f.ID})
	var seen []uint64
	for n := range uint64(20) {
		seen = append(seen, 5000+50*n)
	}
	read, err := f.Encode(map[string]string{"facility": "121", "number": "5501"})
	if err != nil {
		b.Fatal(err)
	}
	card, err := f.Read(read)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		v.LogGiven(&card, seen)
	}
}
