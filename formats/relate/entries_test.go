package relate_test

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

// TestEntriesSurvive: every exported entry takes zero values, nil, foreign numbers and what a caller makes by hand,
// with an error or a text that says so, and never a panic.
func TestEntriesSurvive(t *testing.T) {
	known, none := formats.Builtin(), formats.Catalogue{}
	weightless, err := formats.NewCatalogue([]formats.Format{*known.Find("26-8-16")[0]})
	require.NoError(t, err)
	weightless.At(0).Weight = math.NaN()
	found, err := relate.Find([]relate.Pair{{A: "26:32D687E", B: "46143"}, {A: "26:3A83702", B: "7041"}}, known)
	require.NoError(t, err)
	mine := found.Rules[0].Rule
	for _, s := range mine.Steps() { // a copy: what becomes of it is nothing to the rule
		s.Op, s.A = 255, -1
	}
	var null *relate.Rule
	steps := []relate.Step{{}, {Op: 255, A: -1, B: math.MaxInt32, C: math.MinInt64}, {Op: relate.StripParity},
		{Op: relate.Add, C: math.MinInt64}, {Op: relate.KeepDigits, A: -7}}
	texts := []relate.Text{{}, {Kind: 255, Digits: -1, Bits: -1, Sep: 255}, {Kind: relate.BitText, Bits: math.MaxInt32},
		{Kind: relate.JoinedText, Digits: -3}}
	long := strings.Repeat("9", 1000)
	for name, c := range map[string]struct {
		do func() error
		is error // nil: any answer without one
	}{
		"no pairs": {func() error { _, err := relate.Find(nil, known); return err }, relate.ErrPairs},
		"an empty pair": {func() error { _, err := relate.Find([]relate.Pair{{}}, known); return err },
			formats.ErrSyntax},
		"no catalogue": {func() error { _, err := relate.Find([]relate.Pair{{A: "1", B: "1"}}, none); return err },
			nil},
		"a weight of no sum": {func() error {
			_, err := relate.Find([]relate.Pair{{A: "26:1", B: "1"}},
				weightless)
			return err
		}, nil},
		"too long": {func() error { _, err := relate.Find([]relate.Pair{{A: long, B: long}}, known); return err },
			formats.ErrSyntax},
		"zero rule":          {func() error { _, err := new(relate.Rule).Apply("1"); return err }, relate.ErrInput},
		"nil rule":           {func() error { _, err := null.Apply("1"); return err }, relate.ErrInput},
		"nil rule, appended": {func() error { _, err := null.Append(nil, ""); return err }, relate.ErrInput},
		"zero rule, back":    {func() error { _, err := new(relate.Rule).Reverse(); return err }, relate.ErrRule},
		"nil rule, back":     {func() error { _, err := null.Reverse(); return err }, relate.ErrRule},
		"nil rule, in words": {func() error {
			_ = fmt.Sprint(null.String(), null.From(), null.To(),
				null.Steps())
			return nil
		}, nil},
		"nil rule, in a file": {func() error {
			_, err := relate.ParseRule("r", null.AppendFile(nil, "\x00"), known)
			return err
		}, relate.ErrRule},
		"no file":            {func() error { _, err := relate.ParseRule("", nil, none); return err }, relate.ErrRule},
		"its steps changed":  {func() error { _, err := mine.Apply("26:32D687E"); return err }, nil},
		"an input of length": {func() error { _, err := mine.Apply(long); return err }, relate.ErrInput},
		"steps by hand":      {func() error { _, err := json.Marshal(steps); _ = fmt.Sprint(steps); return err }, nil},
		"texts by hand":      {func() error { _, err := json.Marshal(texts); _ = fmt.Sprint(texts); return err }, nil},
		"numbers that are no kinds": {func() error {
			require.Equal(t, "Op(255) TextKind(255)", fmt.Sprint(relate.Op(255), " ", relate.TextKind(255)))
			return nil
		}, nil},
	} {
		require.NotPanics(t, func() {
			if err := c.do(); c.is == nil {
				require.NoError(t, err, name)
			} else {
				require.ErrorIs(t, err, c.is, name)
			}
		}, name)
	}
}

// TestOneWrongPair: whichever of four pairs is typed wrong, and however, the same rule comes first, hardly less likely
// than without, and the pair is named with what it should be.
func TestOneWrongPair(t *testing.T) {
	good := []string{"0007625328=116,23152", "0007666343=116,64167", "0009876543=150,46143", "0013900673=212,07041"}
	best, err := relate.Find(pairsOf(good...), formats.Builtin())
	require.NoError(t, err)
	require.Empty(t, best.Slips)
	for i, wrong := range []string{"0007625328=116,23125", "0007666343=116,6416", "0009876543=116,64167",
		"001390673=212,07041"} {
		pairs := slices.Clone(good)
		pairs[i] = wrong
		answer, err := relate.Find(pairsOf(pairs...), formats.Builtin())
		require.NoError(t, err)
		require.Equal(t, best.Rules[0].Rule.String(), answer.Rules[0].Rule.String(), wrong)
		require.InDelta(t, best.Rules[0].Probability, answer.Rules[0].Probability, 0.02, wrong)
		require.Len(t, answer.Slips, 1, wrong)
		require.Equal(t, i, answer.Slips[0].Pair)
		require.Greater(t, answer.Slips[0].Probability, 0.99)
		require.Equal(t, pairsOf(good[i])[0], answer.Slips[0].Meant)
	}
	either, err := relate.Find(pairsOf(append(slices.Clone(good[:3]), "0013900873=212,07041")...), formats.Builtin())
	require.NoError(t, err)
	require.Greater(t, either.Slips[0].Probability, 0.99)
	require.Zero(t, either.Slips[0].Meant, "0013900673 and 212,07241 are a digit away each")
	small, err := relate.Find(pairsOf("1=1", "2=2", "3=4"), formats.Builtin())
	require.NoError(t, err)
	require.Equal(t, "read as decimal; write as decimal", small.Rules[0].Rule.String())
	require.Equal(t, 2, small.Slips[0].Pair)
	require.Greater(t, small.Slips[0].Probability, 0.9)
	require.Zero(t, small.Slips[0].Meant, "it can be 3=3 or 4=4")
}

// TestOneNumberForAll: a rule that makes one number of all cards of a facility, and of which every other pair would be
// typed wrong, is none that anybody uses: 59692 is 233 and 44 as two bytes, by chance.
func TestOneNumberForAll(t *testing.T) {
	answer, err := relate.Find(pairsOf("044,02107=0000059692", "044,02110=0000059695"), formats.Builtin())
	require.NoError(t, err)
	for _, c := range answer.Rules {
		first, err := c.Rule.Apply("044,02107")
		require.NoError(t, err)
		second, err := c.Rule.Apply("044,02110")
		require.NoError(t, err)
		require.NotEqual(t, first, second, c.Rule.String())
	}
	for _, s := range answer.Slips {
		require.Less(t, s.Probability, 0.05)
	}
}

// TestGrace: from a good sample one more wrong pair moves the odds of the rule against all others by no more than that
// pair's own evidence: its B as any eight digits, besides the chance that it is typed wrong, so that no pair is a
// cliff.
func TestGrace(t *testing.T) {
	good := []string{"0007625328=116,23152", "0007666343=116,64167", "0009876543=150,46143"}
	odds := func(texts ...string) float64 {
		answer, err := relate.Find(pairsOf(texts...), formats.Builtin())
		require.NoError(t, err)
		require.NotEmpty(t, answer.Rules)
		require.Equal(t, "read as decimal of 10 digits; write as a pair with a number of 16 bits",
			answer.Rules[0].Rule.String())
		return math.Log2(answer.Rules[0].Probability / answer.Unknown)
	}
	before := odds(good...)
	for _, wrong := range []string{"0013900673=001,00001", "0013900673=212,07042", "0000000001=999,99999",
		"0013900673=116,64167"} {
		require.Less(t, before-odds(append(slices.Clone(good), wrong)...), 8*math.Log2(10)+math.Log2(1/(0.003*0.10)), wrong)
	}
}

// TestOrder: the order of the pairs makes no difference, and the probabilities add up to 1.
func TestOrder(t *testing.T) {
	texts := []string{"121,101=7930010", "121,102=7929958", "121,340=7930196"}
	var first relate.Answer
	for i, order := range [][]int{{0, 1, 2}, {2, 0, 1}, {1, 0, 2}} {
		var pairs []relate.Pair
		for _, k := range order {
			pairs = append(pairs, pairsOf(texts[k])...)
		}
		answer, err := relate.Find(pairs, formats.Builtin())
		require.NoError(t, err)
		sum := answer.Unknown
		for _, r := range answer.Rules {
			sum += r.Probability
		}
		require.InDelta(t, 1, sum, 1e-9)
		if i == 0 {
			first = answer
		}
		require.Equal(t, first.Rules[0].Rule.String(), answer.Rules[0].Rule.String())
		require.InDelta(t, first.Rules[0].Probability, answer.Rules[0].Probability, 1e-6)
	}
}

// TestHexWithoutPrefix: a side is hex where any of its numbers has letters; where none has, both readings are weighed.
func TestHexWithoutPrefix(t *testing.T) {
	for _, c := range []struct{ pairs, ask, want string }{
		{"96B43F=9876543 123456=1193046", "00FF01", "65281"},
		{"123456=1193046 96B43F=9876543", "000010", "16"}, // published: 0x96B43F is 9876543, 0x123456 is 1193046
		{"9876543=96b43f 1193046=123456", "65281", "00ff01"},
		{"0x123456=1193046 0x96B43F=9876543", "0x000010", "16"}, {"0x123456=1193046 96B43F=9876543", "10", "16"},
		{"10=16 11=17 25=37", "30", "48"}, // by strconv: 0x10, 0x11, 0x25
		{"16=10 17=11 37=25", "48", "30"},
	} {
		answer, err := relate.Find(pairsOf(strings.Fields(c.pairs)...), formats.Builtin())
		require.NoError(t, err)
		require.NotEmpty(t, answer.Rules, c.pairs)
		got, err := answer.Rules[0].Rule.Apply(c.ask)
		require.NoError(t, err, answer.Rules[0].Rule.String())
		require.Equal(t, c.want, got, answer.Rules[0].Rule.String())
	}
}
