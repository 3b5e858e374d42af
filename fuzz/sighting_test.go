package fuzz

import (
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
)

// FuzzSighting: whatever reads as a card reads as the same card once its kind is spelled out.
func FuzzSighting(f *testing.F) {
	for _, text := range []string{
		"26:32D687E=46143",           // a read and what is printed on it
		"bits:1", "left:26:CB5A1F80", // reads
		"0009876543", "150,46143", "printed:12-34-56-78", // printed numbers
		"04:A2:3B:5C:11:22:80", "uid:04A23B5C", "04-A2-3B-5C", // chip serials
		"hex:96B43F",              // a number in hex
		"12-34-56-78", "04A23B5C", // two kinds
		"04::A2:3B:5C", "uid:04:A2-3B:5C", "=", // none
		strings.Repeat("1", 257), strings.Repeat("7", 81), // too long
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		all, err := formats.ParseSightings(text)
		if err != nil {
			declared(t, err)
			if all != nil {
				t.Fatal("an error, and sightings")
			}
			return
		}
		if len(all) != strings.Count(text, "=")+1 {
			t.Fatalf("%d sightings", len(all))
		}
		for _, s := range all {
			prefix := map[formats.SightingKind]string{formats.Printed: "printed:", formats.Serial: "uid:", formats.Hex: "hex:"}[s.Kind]
			again, err := formats.ParseSighting(prefix + s.Text)
			if err != nil || again != s {
				t.Fatalf("%q is %+v, not %+v: %v", prefix+s.Text, again, s, err)
			}
			bits := s.Kind == formats.Read || s.Kind == formats.Serial
			if bits != (s.Bits.Len() > 0) || !strings.Contains(strings.ToUpper(text), strings.ToUpper(s.Text)) {
				t.Fatalf("%+v made of %q", s, text)
			}
		}
	})
}
