package rank_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// What is put together by hand and makes no sense is answered with an error, never with a panic or with what is no
// number.
func TestNonsense(t *testing.T) {
	cat := formats.Builtin()
	r, err := rank.New(cat)
	require.NoError(t, err)
	good := formats.Sightings{{Kind: formats.Read, Bits: wiegand.MustParseBits("26:32D687E")}}
	for name, cards := range map[string][]formats.Sightings{
		"no cards":            nil,
		"a card of nothing":   {nil},
		"a zero sighting":     {{{}}},
		"no kind, with bits":  {{{Bits: good[0].Bits}}},
		"a foreign kind":      {{{Kind: 99, Bits: good[0].Bits, Text: "1"}}},
		"the last kind":       {{{Kind: 255, Text: "1"}}},
		"a read of nothing":   {{{Kind: formats.Read}}},
		"a read that is text": {{{Kind: formats.Read, Text: "26:32D687E"}}},
		"a colon in a print":  {{{Kind: formats.Printed, Text: "1:2"}}},
		"a sign in a print":   {{{Kind: formats.Printed, Text: "1,"}}},
		"a print of nothing":  {{{Kind: formats.Printed}}},
		"letters in a print":  {{{Kind: formats.Printed, Text: "é\xff"}}},
		"no hex":              {{{Kind: formats.Hex, Text: "XYZ"}}},
		"hex of nothing":      {{{Kind: formats.Hex}}},
		"a serial of nothing": {{{Kind: formats.Serial, Text: "04:A2:3B:5C"}}},
		"a serial of 26 bits": {{{Kind: formats.Serial, Bits: good[0].Bits}}},
		"beside a good one":   {good, {{Kind: 99}}},
		"on one card":         {append(good[:1:1], formats.Sighting{})},
	} {
		ans, err := r.Rank(cards)
		assert.Error(t, err, name)
		assert.Empty(t, ans.Candidates, name)
		_, err = r.Kinds(cards)
		assert.Error(t, err, name)
		assert.NotPanics(t, func() { r.Settle(cards, &ans) }, name)
	}

	ans, err := r.Rank([]formats.Sightings{good})
	require.NoError(t, err)
	two, err := r.Rank([]formats.Sightings{good, {{Kind: formats.Printed, Text: "46144"}}})
	require.NoError(t, err)
	for name, ask := range map[string]func(){
		"evidence of other cards": func() { ans.Candidates[0].Evidence(nil) },
		"of more cards":           func() { ans.Candidates[0].Evidence([]formats.Sightings{good, good, good}) },
		"of fewer":                func() { two.Candidates[0].Evidence([]formats.Sightings{good}) },
		"of bad ones":             func() { ans.Candidates[0].Evidence([]formats.Sightings{{{Kind: 99}, {}}}) },
		"of a zero candidate":     func() { (&rank.Candidate{}).Evidence([]formats.Sightings{good}) },
		"of no card":              func() { (&rank.Candidate{Format: cat.At(0)}).Evidence(nil) },
		"settle no cards":         func() { r.Settle(nil, &ans) },
		"settle more cards":       func() { r.Settle([]formats.Sightings{good, good, good}, &ans) },
		"settle fewer":            func() { r.Settle([]formats.Sightings{good}, &two) },
		"settle a zero answer":    func() { r.Settle([]formats.Sightings{good}, &rank.Answer{}) },
		"settle zero candidates": func() {
			r.Settle([]formats.Sightings{good}, &rank.Answer{Candidates: []rank.Candidate{{Probability: 0.5},
				{Probability: 0.5}}})
		},
		"settle what is no number": func() {
			bad := ans
			bad.Candidates = append([]rank.Candidate{}, ans.Candidates...)
			bad.Candidates[0].Probability, bad.Candidates[0].Fault = math.NaN(), 99
			r.Settle([]formats.Sightings{good}, &bad)
		},
		"settle no answer": func() { r.Settle([]formats.Sightings{good}, nil) },
		"a form of nothing": func() {
			assert.Error(t, r.RankForm(formats.Form{}, "1", "", nil).Err)
		},
		"a foreign form": func() {
			form, _ := formats.FormByName("pair")
			assert.Empty(t, r.RankForm(form, "1,2", "", []*formats.Format{{ID: "x"}}).Cards)
		},
		"a format that is nil": func() {
			form, _ := formats.FormByName("pair")
			r.RankForm(form, "1,2", "", []*formats.Format{nil})
		},
		"texts of nothing": func() {
			_, err := r.RankTexts(nil)
			assert.Error(t, err)
			_, err = r.RankSpellings([][]formats.Spelling{nil})
			assert.Error(t, err)
			_, err = r.RankSpellings([][]formats.Spelling{{{}}})
			assert.Error(t, err)
			_, err = r.RankSpellings([][]formats.Spelling{{{Weight: 1}}, {{Weight: 1}, {Sightings: good, Weight: 1}}})
			assert.Error(t, err)
			_, err = r.RankSpellings([][]formats.Spelling{{{Sightings: good, Weight: math.NaN()},
				{Sightings: good, Weight: -1}}})
			assert.Error(t, err)
		},
	} {
		assert.NotPanics(t, ask, name)
	}
	for name, p := range map[string]rank.Population{
		"a zero population": {}, "no such format": {Format: "x"},
	} {
		_, err := rank.New(cat, p)
		assert.Error(t, err, name)
	}
	for name, p := range map[string]rank.Population{
		"no such form":     {Format: "26-8-16", Printed: "x"},
		"a range reversed": {Format: "26-8-16", Numbers: []rank.Range{{First: 9, Last: 1}}},
		"far out": {Format: "26-8-16", Facilities: []uint64{math.MaxUint64},
			Numbers: []rank.Range{{First: math.MaxUint64, Last: math.MaxUint64}}},
	} {
		assert.NotPanics(t, func() {
			r, err := rank.New(cat, p)
			if err != nil {
				return
			}
			ans, err := r.Rank([]formats.Sightings{good})
			require.NoError(t, err, name)
			sum := ans.Unknown
			for _, c := range ans.Candidates {
				sum += c.Probability
			}
			assert.False(t, math.IsNaN(sum), name)
		}, name)
	}
}

// A format's weight that is no weight is an error to both rank and learn, as are reads that are none.
func TestNonsenseElsewhere(t *testing.T) {
	for _, weight := range []float64{math.NaN(), -1, 0, math.Inf(1), math.Inf(-1)} {
		cat := weighted(t, weight)
		_, err := rank.New(cat)
		assert.ErrorContains(t, err, "weight", weight)
		_, err = learn.Learn([]learn.Read{{Line: 1, Bits: wiegand.MustParseBits("26:32D687E")}}, cat)
		assert.ErrorContains(t, err, "weight", weight)
	}
	for name, reads := range map[string][]learn.Read{
		"nothing": nil, "a zero read": {{}}, "no bits": {{Line: -1, Printed: "1"}},
		"a colon": {{Bits: wiegand.MustParseBits("26:32D687E"), Printed: ":"}},
		"rubbish": {{Bits: wiegand.MustParseBits("26:32D687E"), Printed: "é\xff"}},
		"a sign":  {{Bits: wiegand.MustParseBits("26:32D687E"), Printed: ","}},
		"no hex":  {{Bits: wiegand.MustParseBits("26:32D687E"), Printed: "hex:"}},
	} {
		_, err := learn.Learn(reads, formats.Builtin())
		assert.Error(t, err, name)
	}
	assert.NotPanics(t, func() {
		_, _ = learn.Learn([]learn.Read{{Bits: wiegand.MustParseBits("1")}, {Bits: wiegand.MustParseBits("256:1"),
			Printed: "1"}}, formats.Catalogue{})
	})
}

// weighted is a catalogue of one format that has a weight.
func weighted(t *testing.T, weight float64) formats.Catalogue {
	f := *formats.Builtin().Find("26-8-16")[0]
	f.Weight = weight
	cat, err := formats.NewCatalogue([]formats.Format{f})
	require.NoError(t, err)
	return cat
}
