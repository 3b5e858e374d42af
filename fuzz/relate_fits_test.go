package fuzz

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

// FuzzRelateFits relates any two pairs. Every rule maps each pair as it stands, or else the pair is one that may be
// typed wrong; it is the same after being written to a file, undoes itself where it says it can, and the probabilities
// add up to 1.
func FuzzRelateFits(f *testing.F) {
	f.Add("0009876543", "150,46143", "0007625328", "116,23152")
	f.Add("5", "5", "5", "5")                                                 // next to nothing
	f.Add("1", "2", "1", "3")                                                 // a contradiction
	f.Add("26:32D687E", "46143", "26:3A83702", "7041")                        // reads
	f.Add("left:26:CB5A1F80", "hex:96b43f", "left:26:EA0DC080", "hex:d41b81") // lower case
	f.Add("bits:1100 1011", "203", "bits:0000_0001", "1")                     // separators
	f.Add("04:A9:DB:A2:85:32:80", "3685287048", "04-39-BA-6A", "1")           // serials of two lengths
	f.Add("18446744073709551615", "0", "0", "18446744073709551615")           // as large as it gets
	f.Add("", "=", "zz", "\x00")                                              // nothing
	catalogue := formats.Builtin()
	f.Fuzz(func(t *testing.T, a1, b1, a2, b2 string) {
		pairs := []relate.Pair{{A: a1, B: b1}, {A: a2, B: b2}}
		rel, err := relate.Find(pairs, catalogue)
		if err != nil {
			declared(t, err)
			return
		}
		sum := rel.Unknown
		for i := range rel.Rules {
			sum += rel.Rules[i].Probability
			fits(t, &rel.Rules[i].Rule, pairs, catalogue, func(pair int) bool {
				return rel.Rules[i].Probability < 0.99 || slices.ContainsFunc(rel.Slips,
					func(s relate.Slip) bool { return s.Pair == pair && s.Probability > 0.9 })
			})
		}
		if !(math.Abs(sum-1) <= 1e-9) { // NaN too
			t.Fatalf("probabilities add up to %v", sum)
		}
	})
}

func fits(t *testing.T, rule *relate.Rule, pairs []relate.Pair, catalogue formats.Catalogue,
	wrong func(pair int) bool) {
	text := rule.AppendFile(nil)
	again, err := relate.ParseRule("rule.toml", text, catalogue)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	back, backErr := rule.Reverse()
	for i, p := range pairs {
		got, err := rule.Apply(p.A)
		if err != nil || !sameText(got, p.B) {
			if wrong(i) {
				continue
			}
			t.Fatalf("%q becomes %q, not %q: %v by %s", p.A, got, p.B, err, rule)
		}
		if second, err := again.Apply(p.A); err != nil || second != got {
			t.Fatalf("%q becomes %q after reading the file: %v", p.A, second, err)
		}
		if backErr != nil {
			continue
		}
		first, err := back.Apply(got)
		if err != nil {
			t.Fatalf("%q does not go back: %v by %s", got, err, &back)
		}
		if third, err := rule.Apply(first); err != nil || third != got {
			t.Fatalf("%q there and back and there is %q: %v", p.A, third, err)
		}
	}
}

// sameText reports whether a rule's text is the one given, but for a prefix, and for how the bits of a read are
// spelled.
func sameText(got, want string) bool {
	a, errA := formats.ParseSighting(got)
	b, errB := formats.ParseSighting(want)
	if errB == nil && b.Kind == formats.Read {
		if errA != nil { // fewer than 24 bits need a prefix
			a, errA = formats.ParseSighting("bits:" + got)
		}
		return errA == nil && a.Bits == b.Bits
	}
	want = strings.TrimSpace(want)
	for _, prefix := range []string{"hex:", "uid:", "printed:"} {
		want = strings.TrimPrefix(want, prefix)
	}
	return got == strings.TrimSpace(want)
}
