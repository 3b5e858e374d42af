package rank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// entropy of a distribution in bits.
func entropy(p ...float64) float64 {
	h := 0.0
	for _, v := range p {
		if v > 0 {
			h -= v * math.Log2(v)
		}
	}
	return h
}

// What an observation tells is the entropy of what it shows less that of what it shows where the answer is known.
func TestInformation(t *testing.T) {
	type outcomes = map[string]float64
	for _, test := range []struct {
		p    []float64
		out  []outcomes
		want float64
	}{
		{[]float64{0.5, 0.5}, []outcomes{{"a": 1}, {"b": 1}}, 1},
		{[]float64{0.5, 0.5}, []outcomes{{"a": 1}, {"a": 1}}, 0},
		{[]float64{0.3, 0.1}, []outcomes{{"a": 1}, {"b": 1}}, entropy(0.75, 0.25)},
		{[]float64{0.5, 0.5}, []outcomes{{"a": 0.9, "b": 0.1}, {"a": 0.1, "b": 0.9}}, 1 - entropy(0.9, 0.1)},
		{[]float64{0.6, 0.2}, []outcomes{{"a": 1, "b": 0}, {"a": 0.5, "b": 0.5}}, entropy(0.875, 0.125) - 0.25*entropy(0.5,
			0.5)},
	} {
		assert.InDelta(t, test.want, information(test.p, test.out), 1e-12, test)
	}
}

// Cards that are made up are good reads of the candidate as its wiring shows them, of the same facility or of any.
func TestMakeCard(t *testing.T) {
	cat := formats.Builtin()
	rng := rand.New(rand.NewPCG(3, 3))
	s := newSimulator(simSeed)
	ranker, err := New(cat)
	require.NoError(t, err)
	for i := range cat.Len() {
		f := cat.At(i)
		if f.Layout.Len() < shortest {
			continue
		}
		like := s.site(f, 1).cards[0]
		models := ranker.ofSite(cat.At(i))
		for fault := None; fault <= FlippedBit; fault++ {
			c := Candidate{Format: f, Fault: fault, Cards: []formats.Card{like}}
			for _, order := range []bool{false, true} {
				changed := make([]int, len(models))
				for range 12 {
					r, err := f.Layout.Decode(fault.Undo(c.makeCard(rng, models, order)))
					require.NoError(t, err)
					require.True(t, r.OK(), "%s, %v", f.ID, fault)
					for k := range models {
						if r.Value(k) != like.Record.Value(k) {
							changed[k]++
						}
					}
				}
				for k, m := range models {
					name := fmt.Sprintf("%s, field %s, other order: %v", f.ID, f.Layout.Spec().Fields[k].Name, order)
					switch {
					case m && !order:
						assert.Zero(t, changed[k], name)
					case f.Layout.Spec().Fields[k].Constant == "" && f.Layout.Spec().Fields[k].Coding == wiegand.Binary &&
						f.Layout.Spec().Fields[k].Bits.Len() >= 8:
						assert.Positive(t, changed[k], name)
					}
				}
			}
		}
	}
	blank := Candidate{Format: cat.Find("26-8-16")[0]}
	r, err := blank.Format.Layout.Decode(blank.makeCard(rng, ranker.ofSite(blank.Format), false))
	require.NoError(t, err)
	assert.True(t, r.OK())
	v, _ := r.Uint64(blank.Format.Facility())
	assert.Zero(t, v, "nothing is known of the facility")
}

// Whose checks hold is told candidate by candidate, each with its own wiring.
func TestHolds(t *testing.T) {
	cat := frozenCatalogue(t)
	f, g := cat.Find("26-8-16")[0], cat.Find("34-0-32")[0]
	hyps := []*Candidate{{Format: f}, {Format: f, Fault: SwappedLines}, {Format: g}, {Format: f, Fault: SwappedReversed},
		{Format: f, Fault: LostBit}}
	_, b := cardOf(t, "26-8-16", 150, 46143)
	assert.Equal(t, "10011", holds(hyps, b))
	assert.Equal(t, "01000", holds(hyps, b.Invert()))
	assert.Equal(t, "00000", holds(hyps, b.WithBit(5, 1-b.Bit(5))))
	_, c := cardOf(t, "34-0-32", 3974465139)
	assert.Equal(t, "00100", holds(hyps, c))
}

// Presenting a card again tells a misread from a good read: it is told which candidates each outcome speaks for.
func TestPresentAgain(t *testing.T) {
	f, g := frozenCatalogue(t).Find("26-8-16")[0], frozenCatalogue(t).Find("26-0-24")[0]
	cards := parse(t, "26:32D6882", "26:32D687F")
	sound, bad := &Candidate{Format: f, Probability: 0.5, Repairs: make([]Repair, 2)},
		&Candidate{Format: g, Fault: FlippedBit, Probability: 0.5, Repairs: []Repair{{}, {Fault: FlippedBit, Bit: 3}}}
	s := again(cards, []*Candidate{sound, bad})
	assert.Equal(t, "present card 2 again: another read means 26-0-24 (flipped-bit); the same read means 26-8-16",
		s.String())
	assert.InDelta(t, entropy(0.54, 0.46)-(entropy(0.98, 0.02)+entropy(0.1, 0.9))/2, s.Bits, 1e-9)
	assert.Equal(t, Settle{}, again(cards, []*Candidate{sound, sound}))
	s = again(cards, []*Candidate{bad, bad})
	assert.Equal(t, "another read means 26-0-24 (flipped-bit) or 26-0-24 (flipped-bit)", s.Shows)
	assert.InDelta(t, 0, s.Bits, 1e-12)
	assert.Equal(t, "look", Settle{What: "look"}.String())
}

// Where nothing was read, the first read tells candidates apart by its length, or by what it is.
func TestFirstRead(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	b, _ := cardOf(t, "34-0-32", 46143)
	half := a
	half.Known = 1 << a.Format.Number()
	whole := &Candidate{Format: a.Format, Probability: 0.25, Cards: []formats.Card{a}}
	part := &Candidate{Format: a.Format, Probability: 0.25, Cards: []formats.Card{half}}
	other := &Candidate{Format: frozenCatalogue(t).Find("26-0-24")[0], Probability: 0.25, Cards: []formats.Card{half}}
	serial := &Candidate{Format: b.Format, Probability: 0.25, Cards: []formats.Card{b}}
	s := firstRead([]*Candidate{whole, part, other, other, serial})
	assert.Equal(t, "present card 1 at a reader: 26:32D687E means 26-8-16; 26 bits means 26-8-16 or 26-0-24; 34:00001687F means 34-0-32", s.String())
	assert.InDelta(t, entropy(0.2, 0.6, 0.2), s.Bits, 1e-9)
}

// The print that is asked for is that of the first card of which it is not known; what it can show, with all its forms,
// adds up to 1.
func TestReadPrint(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	cards := parse(t, "26:32D687E=46143", "26:32D6882")
	ans, err := r.Rank(parse(t, "26:32D687E", "26:32D6882"))
	require.NoError(t, err)
	hyps := []*Candidate{&ans.Candidates[0], &ans.Candidates[1]}
	assert.True(t, strings.HasPrefix(r.readPrint(cards, hyps).What, "read the number printed on card 2"))
	assert.Equal(t, Settle{}, r.readPrint(cards[:1], hyps))
	for _, h := range hyps {
		sum := 0.0
		for _, p := range r.prints(h, 0) {
			sum += p
		}
		assert.InDelta(t, 1, sum, 1e-9, h.Format.ID)
	}
	assert.Positive(t, r.prints(hyps[0], 0)["46143"])
	type outcomes = map[string]float64
	f, g := hyps[0], hyps[1]
	assert.Equal(t, fmt.Sprintf("1 means %s; 2 means %s", f.name(), g.name()), showPrints([]*Candidate{f, g},
		[]outcomes{{"1": 0.7, "3": 0.3}, {"2": 0.6, "3": 0.4}}))
	assert.Equal(t, "1 means "+f.name(), showPrints([]*Candidate{f, g}, []outcomes{{"1": 0.56, "3": 0.44},
		{"3": 0.48, "1": 0.5, "4": 0.02}}))
	assert.Empty(t, showPrints([]*Candidate{f, g}, []outcomes{{"1": 1}, {"1": 1}}))
}

// One more card, of the same order or another, is told by the checks that it keeps.
func TestAnotherCard(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	b, _ := cardOf(t, "34-0-32", 46143)
	f, g := &Candidate{Format: a.Format, Probability: 0.5, Cards: []formats.Card{a}}, &Candidate{Format: b.Format,
		Probability: 0.5, Cards: []formats.Card{b}}
	ranker, err := New(formats.Builtin())
	require.NoError(t, err)
	s := ranker.another([]*Candidate{f, g}, false)
	assert.Equal(t, "present another card of the same order: checks that hold for 26-8-16 alone say it is that",
		s.String())
	assert.InDelta(t, 1, s.Bits, 1e-9, "they have different lengths")
	s = ranker.another([]*Candidate{f, f}, true)
	assert.Equal(t, "present a card from another order", s.String())
	assert.InDelta(t, 0, s.Bits, 1e-9)
}

// All that there is to look at is looked at, the most telling first, and nothing where one candidate is as good as
// sure.
func TestMostTellingFirst(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	cards := parse(t, "26:32D687E=46143")
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	b, _ := cardOf(t, "34-0-32", 46143)
	sound := Candidate{Format: a.Format, Probability: 0.5, Cards: []formats.Card{a}, Repairs: []Repair{{}}}
	bad := Candidate{Format: b.Format, Fault: FlippedBit, Probability: 0.5, Cards: []formats.Card{b},
		Repairs: []Repair{{Fault: FlippedBit, Bit: 3}}}
	all := r.Settle(cards, &Answer{Candidates: []Candidate{sound, bad}})
	var what []string
	for _, s := range all {
		what = append(what, s.What)
	}
	assert.Equal(t, []string{"present another card of the same order", "present a card from another order",
		"present card 1 again"}, what)
	sound.Probability, bad.Probability = 0.996, 0.004
	assert.Empty(t, r.Settle(cards, &Answer{Candidates: []Candidate{sound, bad}}))
	sound.Probability, bad.Probability = 0.99, 0.001
	assert.Empty(t, r.Settle(cards, &Answer{Candidates: []Candidate{sound, bad}}))
	assert.Empty(t, r.Settle(cards, &Answer{Candidates: []Candidate{sound}}))
}
