package relate_test

import (
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

// move is a step written down again for the test, on text: bits and hex digits as strings, so that it has nothing in
// common with the package's arithmetic.
type move struct {
	name string
	do   func(v uint64) (uint64, bool)
}

func reverseText(s string) string {
	r := []byte(s)
	for i, j := 0, len(r)-1; i < j; i, j = i+1, j-1 {
		r[i], r[j] = r[j], r[i]
	}
	return string(r)
}

// onBits does something to the number's bits as a text of w signs.
func onBits(w int, f func(string) string) func(uint64) (uint64, bool) {
	return func(v uint64) (uint64, bool) {
		s := strconv.FormatUint(v, 2)
		if len(s) > w {
			return 0, false
		}
		r, err := strconv.ParseUint(f(strings.Repeat("0", w-len(s))+s), 2, 64)
		return r, err == nil
	}
}

// onBytes does something to the number's bytes.
func onBytes(n int, f func([]byte)) func(uint64) (uint64, bool) {
	return func(v uint64) (uint64, bool) {
		s := strconv.FormatUint(v, 16)
		if len(s) > 2*n {
			return 0, false
		}
		b, err := hex.DecodeString(strings.Repeat("0", 2*n-len(s)) + s)
		if err != nil {
			return 0, false
		}
		f(b)
		r, err := strconv.ParseUint(hex.EncodeToString(b), 16, 64)
		return r, err == nil
	}
}

// moves are the steps that keep the information of a 32-bit number.
func moves() []move {
	var all []move
	for _, n := range []int{4, 5, 7, 8} {
		all = append(all, move{fmt.Sprintf("swap %d bytes", n), onBytes(n, func(b []byte) {
			for i, j := 0, len(b)-1; i < j; i, j = i+1, j-1 {
				b[i], b[j] = b[j], b[i]
			}
		})})
	}
	for _, w := range []int{32, 40, 56, 64} {
		all = append(all,
			move{fmt.Sprintf("reverse %d bits", w), onBits(w, reverseText)},
			move{fmt.Sprintf("invert %d bits", w), onBits(w, func(s string) string {
				return strings.NewReplacer("0", "1", "1", "0").Replace(s)
			})})
	}
	return append(all,
		move{"reverse bits of each byte", onBytes(8, func(b []byte) {
			for i := range b {
				r, _ := strconv.ParseUint(reverseText(fmt.Sprintf("%08b", b[i])), 2, 8)
				b[i] = byte(r)
			}
		})},
		move{"swap nibbles", onBytes(8, func(b []byte) {
			for i := range b {
				b[i] = b[i]<<4 | b[i]>>4
			}
		})},
		move{"decimal digits as hex", func(v uint64) (uint64, bool) {
			r, err := strconv.ParseUint(strconv.FormatUint(v, 10), 16, 64)
			return r, err == nil
		}},
		move{"add", func(v uint64) (uint64, bool) { return v + 1000, v+1000 > v }},
		move{"add more", func(v uint64) (uint64, bool) { return v + 654321, v+654321 > v }},
	)
}

// spellings are ways of writing a 32-bit number as people do.
var spellings = []func(v uint64) string{
	func(v uint64) string { return strconv.FormatUint(v, 10) },
	func(v uint64) string { return fmt.Sprintf("%010d", v) },
	func(v uint64) string { return fmt.Sprintf("hex:%08X", v) },
	func(v uint64) string { return fmt.Sprintf("%d,%05d", v>>16, v&0xFFFF) },
	func(v uint64) string { return fmt.Sprintf("%d%05d", v>>16, v&0xFFFF) },
	func(v uint64) string { return fmt.Sprintf("uid:%08X", v) },
}

// TestReachRelate: for compositions of up to three steps that keep the information, two random pairs put a rule first
// that is right on other 32-bit numbers.
func TestReachRelate(t *testing.T) {
	rng := newRand(t, 2)
	all := moves()
	right, n := 0, 400
	if testing.Short() {
		n = 30
	}
	cat := formats.Builtin()
	var missed []string
	for done := 0; done < n; {
		var names []string
		var chain []move
		for range rng.IntN(4) {
			m := all[rng.IntN(len(all))]
			chain, names = append(chain, m), append(names, m.name)
		}
		from := spellings[rng.IntN(len(spellings))]
		to := spellings[rng.IntN(len(spellings))]
		number := func(v uint64) (uint64, bool) {
			ok := true
			for _, m := range chain {
				if v, ok = m.do(v); !ok {
					return 0, false
				}
			}
			return v, true
		}
		for _, v := range corners() {
			if r, _ := number(v); r>>32 != 0 {
				to = spellings[0] // a wider number is written in decimal alone
			}
		}
		truth := func(v uint64) (string, bool) {
			r, ok := number(v)
			return to(r), ok
		}
		pairs, ok := drawPairs(rng, from, truth)
		if !ok {
			continue // not for all 32-bit numbers
		}
		done++
		rel, err := relate.Find(pairs, cat)
		require.NoError(t, err, "%v %v", names, pairs)
		if len(rel.Rules) > 0 && agrees(rng, &rel.Rules[0].Rule, from, truth) {
			right++
		} else {
			missed = append(missed, fmt.Sprint(names, pairs))
		}
	}
	for _, m := range missed[:min(len(missed), 10)] {
		t.Log("missed: ", m)
	}
	t.Logf("rules from two pairs: %d of %d", right, n)
	// So few would be seen less than once in 1,000 runs if the true rate were 95 %.
	require.Greater(t, distuv.Binomial{N: float64(n), P: 0.95}.CDF(float64(right)), 0.001)
	if !testing.Short() {
		require.GreaterOrEqual(t, float64(right), 0.95*float64(n))
	}
}

// drawPairs draws two pairs of a rule. It is false where the rule does not take every 32-bit number, or spells numbers
// of different size in different ways.
func drawPairs(rng *rand.Rand, from func(uint64) string, truth func(uint64) (string, bool)) ([]relate.Pair, bool) {
	for _, v := range append(corners(), uint64(rng.Uint32()), uint64(rng.Uint32())) {
		if _, ok := truth(v); !ok {
			return nil, false
		}
	}
	var pairs []relate.Pair
	for range 2 {
		v := uint64(rng.Uint32())
		b, _ := truth(v)
		pairs = append(pairs, relate.Pair{A: from(v), B: b})
	}
	kind := func(s string) string { return strings.Map(shape, s) }
	return pairs, kind(pairs[0].B) == kind(pairs[1].B)
}

// shape keeps of a text what tells one spelling from another.
func shape(r rune) rune {
	if strings.ContainsRune(",:xu", r) {
		return r
	}
	return -1
}

// corners are the 32-bit numbers of which a rule must take each: none, every bit alone, all.
func corners() []uint64 {
	all := []uint64{0, 1<<32 - 1}
	for i := range 32 {
		all = append(all, 1<<i)
	}
	return all
}

// agrees reports whether a rule gives the true number on every corner and on random numbers. Zeros before a number,
// which two pairs need not show, make no difference.
func agrees(rng *rand.Rand, r *relate.Rule, from func(uint64) string, truth func(uint64) (string, bool)) bool {
	numbers := corners()
	for range 300 {
		numbers = append(numbers, uint64(rng.Uint32()))
	}
	for _, v := range numbers {
		want, _ := truth(v)
		got, err := r.Apply(from(v))
		if err != nil || bareNumber(got) != bareNumber(want) {
			return false
		}
	}
	return true
}

func bareNumber(s string) string {
	s = strings.TrimPrefix(strings.TrimPrefix(s, "hex:"), "uid:")
	parts := strings.Split(s, ",")
	for i := range parts {
		parts[i] = strings.TrimLeft(parts[i], "0")
	}
	return strings.Join(parts, ",")
}

// newRand returns random numbers that are the same in every run; a failure names them.
func newRand(t *testing.T, stream uint64) *rand.Rand {
	t.Logf("random numbers: rand.NewPCG(20261125, %d)", stream)
	return rand.New(rand.NewPCG(20261125, stream))
}
