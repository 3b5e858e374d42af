package relate_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

// checkDigit puts the check digit of ISO/IEC 7812-1 behind a number: from the right, every second digit counts twice.
func checkDigit(v uint64) uint64 {
	sum, twice := uint64(0), true
	for x := v; x > 0; x /= 10 {
		d := x % 10
		if twice {
			d = 2*d/10 + 2*d%10
		}
		sum, twice = sum+d, !twice
	}
	return 10*v + (10-sum%10)%10
}

// Cards of two kinds have two rules. The rule of the one is not said to be of all, nor are the others typed wrong; and
// of cards of one kind, with a slip in ten, that they are mixed stays unlikely. The numbers are drawn by the test, and
// both rules are its own.
func TestMixed(t *testing.T) {
	t.Parallel()
	for name, second := range map[string]func(uint64) string{
		"bytes turned":   func(v uint64) string { return fmt.Sprint(v>>24 | v>>8&0xFF00 | v&0xFF00<<8 | v&0xFF<<24) },
		"nothing at all": func(v uint64) string { return fmt.Sprint(v * 2654435761 % 99999989) },
		"a check digit":  func(v uint64) string { return fmt.Sprint(checkDigit(v)) },
	} {
		rng := rand.New(rand.NewPCG(77, 0))
		for range 5 {
			var mixed, one []relate.Pair
			var apart []int
			for i := range 12 {
				v := uint64(rng.Uint32())
				p := relate.Pair{A: fmt.Sprint(v), B: fmt.Sprint(v)}
				if one = append(one, p); i%4 > 1 && second(v) != p.B {
					p.B, apart = second(v), append(apart, i)
				}
				mixed = append(mixed, p)
			}
			a, err := relate.Find(mixed, formats.Catalogue{})
			require.NoError(t, err)
			for _, r := range a.Rules {
				assert.Less(t, r.Probability, 0.9, "%s: %v", name, r.Rule.String())
			}
			assert.Greater(t, a.Mixed.Probability, 0.1, name)
			if name != "bytes turned" { // there, either rule may be the one
				assert.Equal(t, apart, a.Mixed.Apart, name)
			}
			one[4].B = one[4].B[:3] + string('0'+(one[4].B[3]-'0'+1)%10) + one[4].B[4:]
			a, err = relate.Find(one, formats.Catalogue{})
			require.NoError(t, err)
			require.NotEmpty(t, a.Rules)
			assert.Greater(t, a.Rules[0].Probability, 0.95, name)
			assert.Less(t, a.Mixed.Probability, 0.05, name)
			require.Len(t, a.Slips, 1)
			assert.Equal(t, 4, a.Slips[0].Pair)
		}
	}
}

// Digits that are put behind a number or into it, which no rule here does, are no slips of a rule that is nearly right:
// neither a check digit nor a constant one. The numbers are drawn by the test.
func TestDigitsPutIn(t *testing.T) {
	t.Parallel()
	for name, put := range map[string]func(facility, number uint64) string{
		"check digit": func(f, n uint64) string { return fmt.Sprintf("%09d", checkDigit(f*100_000+n)) },
		"behind":      func(f, n uint64) string { return fmt.Sprintf("%03d%05d7", f, n) },
		"between":     func(f, n uint64) string { return fmt.Sprintf("%03d4%05d", f, n) },
	} {
		for seed := range uint64(4) {
			rng := rand.New(rand.NewPCG(15, seed))
			var pairs []relate.Pair
			for i := range 3 {
				facility, number := []uint64{121, 117}[i/2], 47_000+rng.Uint64N(300)
				pairs = append(pairs, relate.Pair{A: fmt.Sprintf("%03d%05d", facility, number), B: put(facility, number)})
			}
			a, err := relate.Find(pairs, formats.Builtin())
			require.NoError(t, err)
			assert.Greater(t, a.Unknown, 0.9, "%s: %v", name, pairs)
		}
	}
}

// A facility that is put before numbers can be another on the next card: one pair does not show that it is not, and the
// more there are the surer it is. A card of another facility is no typing error, but shows that the rule is not of all.
// The reads are of the published 26-bit frame, put together by hand: facility 112 or 99, and number.
func TestOtherFacility(t *testing.T) {
	pairs, last := pairsOf("623=26:0C604DE", "661=26:0C6052A", "482=26:0C603C4", "790=26:0C6062C"), 0.0
	for n := range pairs {
		a, err := relate.Find(pairs[:n+1], formats.Builtin())
		require.NoError(t, err)
		require.NotEmpty(t, a.Rules)
		assert.Greater(t, a.Rules[0].Probability, last)
		if last = a.Rules[0].Probability; n < 2 {
			assert.Less(t, last, 0.96)
		}
	}
	a, err := relate.Find(append(pairsOf("662=26:2E0052C"), pairs[:3]...), formats.Builtin())
	require.NoError(t, err)
	assert.Empty(t, a.Rules)
	assert.Empty(t, a.Slips)
	assert.Greater(t, a.Mixed.Probability, 0.99)
	assert.Equal(t, []int{0}, a.Mixed.Apart)
}

// The rule that is told is the likeliest, rather than one that takes larger numbers and is hardly ever meant; and a
// constant that is added is likelier than three odd steps that come to the same. 150,46143 is the README's card.
func TestSimplestRule(t *testing.T) {
	a, err := relate.Find(pairsOf("46143=150,46143", "1213=150,01213", "77=150,00077"), formats.Builtin())
	require.NoError(t, err)
	require.NotEmpty(t, a.Rules)
	assert.Equal(t, []relate.Step{{Op: relate.SetFacility, A: 16, C: 150}}, a.Rules[0].Rule.Steps())
	a, err = relate.Find(pairsOf("1001=2001", "1002=2002", "1010=2010", "1013=2031"), formats.Builtin())
	require.NoError(t, err)
	require.NotEmpty(t, a.Rules)
	assert.Equal(t, []relate.Step{{Op: relate.Add, C: 1000}}, a.Rules[0].Rule.Steps())
	assert.Greater(t, a.Rules[0].Probability, 0.9)
}

// Of numbers that follow one another, what is added may be another in the next box.
func TestRun(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		pairs []string
		run   bool
	}{
		{[]string{"1000=7518", "1001=7519", "1002=7520", "1003=7521"}, true},
		{[]string{"1000=7518", "1001=7519", "1902=8420", "1003=7521"}, false},
		{[]string{"3974465139=1938220524", "70892138=1790589188"}, false},
	} {
		a, err := relate.Find(pairsOf(c.pairs...), formats.Catalogue{})
		require.NoError(t, err)
		require.NotEmpty(t, a.Rules)
		assert.Equal(t, c.run, a.Run, c.pairs)
	}
}
