package evidence

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// The laws that every answer keeps, whatever the judgements are. Adding up is in sums_test.go; that identify, convert
// and learn agree is tested where they are.

// share is what is said of one format and wiring: its probability.
func shares(t *testing.T, m *Model, cards []formats.Sightings) map[string]float64 {
	t.Helper()
	all := map[string]float64{}
	require.NoError(t, m.Weigh(cards, func(w *Work) {
		total := w.Total()
		all["unknown"] = math.Exp(w.Unknown - total)
		for i := range w.Results {
			r := &w.Results[i]
			all[fmt.Sprint(r.Format.ID, " ", r.Wiring)] += math.Exp(r.Log - total)
		}
		for i := range w.Frames {
			all["like "+w.Frames[i].Frame.Format.ID] += math.Exp(w.Frames[i].Log - total)
		}
	}))
	return all
}

func same(t *testing.T, want, got map[string]float64, what string) {
	t.Helper()
	for id, p := range want {
		assert.InDelta(t, p, got[id], 1e-9, "%s: %s", what, id)
	}
	assert.Len(t, got, len(want), what)
}

// cards26 returns cards of the published 26-bit format (SIA AC-01-1996.10) of one facility, with numbers at random.
func cards26(rng *rand.Rand, n int, facility uint64) []formats.Sightings {
	f := formats.Builtin().Find("26-8-16")[0]
	var all []formats.Sightings
	for range n {
		b, err := f.Layout.Encode(facility, rng.Uint64N(1<<16))
		if err != nil {
			panic(err)
		}
		all = append(all, formats.Sightings{readOf(b)})
	}
	return all
}

func builtin(t *testing.T) *Model {
	t.Helper()
	m, err := New(formats.Builtin(), nil)
	require.NoError(t, err)
	return m
}

const lawSeed = 7

func readOf(b wiegand.Bits) formats.Sighting { return sighting(formats.ReadOf(b)) }

func printedOf(text string) formats.Sighting { return sighting(formats.PrintedOf(text)) }

func sighting(s formats.Sighting, err error) formats.Sighting {
	if err != nil {
		panic(err)
	}
	return s
}

// Exchange: the order of cards never matters, nor that of the catalogue's rows.
func TestExchange(t *testing.T) {
	rng := rand.New(rand.NewPCG(lawSeed, 1))
	m := builtin(t)
	cat := formats.Builtin()
	var rows []formats.Format
	for i := range cat.Len() {
		rows = append(rows, *cat.At(i))
	}
	slices.Reverse(rows)
	turned, err := formats.NewCatalogue(rows)
	require.NoError(t, err)
	other, err := New(turned, nil)
	require.NoError(t, err)
	for n := range 8 {
		cards := cards26(rng, 2+n, 121)
		cards[0] = append(cards[0], printedOf("4711"))
		want := shares(t, m, cards)
		same(t, want, shares(t, other, cards), "rows")
		slices.Reverse(cards)
		same(t, want, shares(t, m, cards), "cards")
	}
}

// Twins: a format that is there twice under two names, at half its weight each, changes nothing else.
func TestTwins(t *testing.T) {
	cat := formats.Builtin()
	var rows []formats.Format
	for i := range cat.Len() {
		f := *cat.At(i)
		if f.ID == "26-0-24" {
			f.Weight /= 2
			twin := f
			twin.ID = "26-0-24-twin"
			rows = append(rows, twin)
		}
		rows = append(rows, f)
	}
	double, err := formats.NewCatalogue(rows)
	require.NoError(t, err)
	m, err := New(double, nil)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(lawSeed, 2))
	for _, n := range []int{1, 3, 6} {
		cards := cards26(rng, n, 121)
		want, got := shares(t, builtin(t), cards), shares(t, m, cards)
		for wiring := range Fault(wirings) {
			id := fmt.Sprint("26-0-24 ", wiring)
			got[id] += got[fmt.Sprint("26-0-24-twin ", wiring)]
			delete(got, fmt.Sprint("26-0-24-twin ", wiring))
		}
		for id, p := range want {
			// The chance that a frame has other parts counts formats by weight, and a row by itself: the twin adds
			// none.
			assert.InDelta(t, p, got[id], 1e-6, "%d cards: %s", n, id)
		}
	}
}

// Nothing learned: numbers that have nothing to do with the reads, as far as any hypothesis goes, leave the answer as
// it was.
func TestNothingLearned(t *testing.T) {
	rng := rand.New(rand.NewPCG(lawSeed, 3))
	m := builtin(t)
	for range 5 {
		cards := cards26(rng, 12, 77)
		want := shares(t, m, cards)
		for i := range cards { // asset numbers
			cards[i] = append(cards[i], printedOf(fmt.Sprint(90210000+rng.IntN(9999))))
		}
		got := shares(t, m, cards)
		for id, p := range want {
			assert.InDelta(t, p, got[id], 0.01, id)
		}
	}
}

// Grace: one more wrong print, flipped bit or stranger's card moves the odds between the first two readings by no more
// than that card's own evidence: for a read of 26 bits, 26 ln 2 and what it costs to call it a misread.
func TestGrace(t *testing.T) {
	rng := rand.New(rand.NewPCG(lawSeed, 4))
	m := builtin(t)
	const most = 26*math.Ln2 + 8
	cards := cards26(rng, 12, 121)
	f := formats.Builtin().Find("26-8-16")[0]
	form, _ := formats.FormByName("number")
	for i := range cards {
		c, err := f.Read(cards[i][0].Bits)
		require.NoError(t, err)
		text, err := form.Text(&c)
		require.NoError(t, err)
		cards[i] = append(cards[i], printedOf(text))
	}
	odds := func(cards []formats.Sightings) float64 {
		all := shares(t, m, cards)
		return math.Log(all["26-8-16 none"]) - math.Log(all["unknown"]+all["like 26-8-16"])
	}
	before := odds(cards)
	more := cards26(rng, 1, 121)[0]
	flipped := more[0].Bits.WithBit(5, 1-more[0].Bits.Bit(5))
	stranger := wiegand.MustParseBits("26:1555555")
	for name, card := range map[string]formats.Sightings{
		"a wrong print": {more[0], printedOf("31415")}, "a flipped bit": {readOf(flipped)}, "a stranger": {readOf(stranger)},
	} {
		after := odds(append(slices.Clone(cards), card))
		assert.Less(t, math.Abs(after-before), most, "%s: %v to %v", name, before, after)
		assert.Greater(t, shares(t, m, append(slices.Clone(cards), card))["26-8-16 none"], 0.99, name)
	}
}

// Limits: with more clean cards every true layout that can be told apart tends to 1.
func TestLimits(t *testing.T) {
	rng := rand.New(rand.NewPCG(lawSeed, 5))
	m := builtin(t)
	for _, id := range []string{"26-8-16", "30-8-20", "34-16-16", "35-12-20", "37-16-19"} {
		f := formats.Builtin().Find(id)[0]
		spec := f.Layout.Spec()
		var cards []formats.Sightings
		for range 40 {
			b, err := f.Layout.Encode(200, rng.Uint64N(1<<spec.Fields[f.Number()].Bits.Len()))
			require.NoError(t, err)
			c, err := f.Read(b)
			require.NoError(t, err)
			form, _ := formats.FormByName("pair")
			text, err := form.Text(&c)
			require.NoError(t, err)
			cards = append(cards, formats.Sightings{readOf(b), printedOf(text)})
		}
		assert.Greater(t, shares(t, m, cards)[id+" none"], 0.99, id)
	}
}

// A bad read's repairs are just the good reads that the fault makes it of: found here by spoiling every good read of a
// small format.
func TestRepairsAreAll(t *testing.T) {
	layout := wiegand.MustCompile(wiegand.Spec{Length: 8,
		Fields: []wiegand.Field{{Name: "number", Bits: wiegand.Spans{{From: 2, To: 7}}}},
		Checks: []wiegand.Check{{Kind: wiegand.Even, Bit: 1, Over: wiegand.Spans{{From: 2, To: 4}}},
			{Kind: wiegand.Odd, Bit: 8, Over: wiegand.Spans{{From: 5, To: 7}}}}})
	m := formatModel{format: &formats.Format{ID: "8", Layout: layout, Weight: 1}, fixed: patternOf(layout)}
	spoilt := map[Fault]map[wiegand.Bits]map[wiegand.Bits]float64{FlippedBit: {}, LostBit: {}, ExtraBit: {}}
	note := func(f Fault, bad, good wiegand.Bits, p float64) {
		if spoilt[f][bad] == nil {
			spoilt[f][bad] = map[wiegand.Bits]float64{}
		}
		spoilt[f][bad][good] += p
	}
	for v := range uint64(64) {
		good, err := layout.Encode(v)
		require.NoError(t, err)
		for i := range 8 {
			note(FlippedBit, good.WithBit(i, 1-good.Bit(i)), good, 1.0/8)
			lost, _ := good.Delete(i)
			note(LostBit, lost, good, atPlace(i, 8))
		}
		for i := range 9 {
			for b := range uint(2) {
				more, _ := good.Insert(i, b)
				note(ExtraBit, more, good, atPlace(i, 9)/2)
			}
		}
	}
	for fault, bads := range spoilt {
		for bad, want := range bads {
			got := map[wiegand.Bits]float64{}
			m.repairs(fault, bad, func(r wiegand.Record, rep Repair, chance float64) { got[r.Encode()] += chance })
			require.Len(t, got, len(want), "%v %v", fault, bad)
			for good, p := range want {
				require.InDelta(t, p, got[good], 1e-9, "%v: %v of %v", fault, bad, good)
			}
		}
	}
}

// atPlace is the chance that of n places it is a certain one: the first or the last with a share of their own.
func atPlace(i, n int) float64 {
	if i == 0 || i == n-1 {
		return (1-2*judgement.MisreadAtEnd)/float64(n) + judgement.MisreadAtEnd
	}
	return (1 - 2*judgement.MisreadAtEnd) / float64(n)
}

// Chance: digits at random are no likelier than chance, however they are written. By Markov's inequality the model,
// whose probabilities add up to 1, gives them e^14 times as much as chance once in a million.
func TestChance(t *testing.T) {
	rng := rand.New(rand.NewPCG(lawSeed, 2))
	m := builtin(t)
	digits := func(base uint64, n int) string {
		text := make([]byte, n)
		for i := range text {
			text[i] = "0123456789ABCDEF"[rng.Uint64N(base)]
		}
		return string(text)
	}
	for _, way := range []struct {
		before   string
		hex, dec int // digits
		pair     int // decimal ones behind a comma
	}{
		{"uid:", 8, 0, 0}, {"uid:", 10, 0, 0}, {"uid:", 14, 0, 0}, {"uid:", 16, 0, 0}, {"uid:", 20, 0, 0},
		{"hex:", 6, 0, 0}, {"hex:", 8, 0, 0}, {"hex:", 10, 0, 0},
		{"printed:", 0, 8, 0}, {"printed:", 0, 10, 0}, {"printed:", 0, 3, 5}, {"printed:", 0, 5, 5},
		{"24:", 6, 0, 0}, {"32:", 8, 0, 0}, {"40:", 10, 0, 0}, {"56:", 14, 0, 0},
	} {
		const cards = 100
		var all []formats.Sightings
		for range cards {
			text := way.before + digits(16, way.hex) + digits(10, way.dec)
			if way.pair > 0 {
				text += "," + digits(10, way.pair)
			}
			s, err := formats.ParseSighting(text)
			require.NoError(t, err)
			all = append(all, formats.Sightings{s})
		}
		got, err := m.Evidence(all, new(Memory))
		require.NoError(t, err)
		chance := -cards * (float64(way.hex)*math.Log(16) + float64(way.dec+way.pair)*math.Log(10))
		assert.Less(t, got-chance, math.Log(1e6), "%+v, seed %d", way, lawSeed)
	}
}
