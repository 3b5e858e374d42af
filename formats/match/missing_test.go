package match

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// asked weighs the cards of a door beside a list, as match does.
func asked(t *testing.T, cards []formats.Population, list, events []string, shown string) *Matcher {
	t.Helper()
	cat := formats.Builtin()
	cards = reading.Shown(cat, cards, list, reading.Options{})
	opt, err := ForSite(cat, site.Site{Cards: cards}, reading.Options{}, shown)
	require.NoError(t, err)
	m := New(opt)
	m.SettleList(opt.List.Settled(list))
	for i, text := range list {
		_ = m.AddHolder(Row{Line: i + 1, Name: fmt.Sprint(i), Value: []byte(text)})
	}
	for i, text := range events {
		m.AddEvent(Row{Line: i + 1, Value: []byte(text)})
	}
	m.Weigh()
	return m
}

// TestEndsThatTheSiteFileTakesForLongerOnes: the site file has the low 24 bits of serials of 56 bits, and the list
// the low 16 of them: the serials at the door end as rows of the list do. The serials are random, and cut here.
func TestEndsThatTheSiteFileTakesForLongerOnes(t *testing.T) {
	rnd := rand.New(rand.NewPCG(51, 52))
	var list, events []string
	for i := range 40 {
		serial := 4<<48 | rnd.Uint64()>>16
		list = append(list, fmt.Sprint(serial&0xFFFF))
		if i < 4 {
			events = append(events, fmt.Sprint(serial))
		}
	}
	m := asked(t, []formats.Population{{Format: "56-0-56", Printed: "number24"}}, list, events, "decimal10")
	for i, text := range events {
		best := m.Unknown(text).Best
		assert.Equal(t, i, best.Holder, "%s %v", text, best)
	}
}

// TestEndsOfAKindThatNobodyNames: the site file does not have the kind of which the list has the numbers alone, and
// the door shows the facility, too. By itself, too, a card that ends as one of the rows is not surely a stranger's.
// By hand: facility 57303 is DFD7.
func TestEndsOfAKindThatNobodyNames(t *testing.T) {
	rnd := rand.New(rand.NewPCG(53, 54))
	var list, events []string
	for range 200 {
		number := 1000 + rnd.IntN(64000)
		list, events = append(list, fmt.Sprint(number)), append(events, fmt.Sprintf("DFD7%04X", number))
	}
	cards := []formats.Population{{Format: "26-8-16", Printed: "number", Facilities: []uint64{148}}}
	for _, events := range [][]string{events[:1:1], events[:5:5]} {
		m := asked(t, cards, list, append(events, "94F68B"), "hex")
		for i, text := range events {
			best := m.Unknown(text).Best
			assert.Equal(t, list[i], m.Holders()[max(0, best.Holder)].Number, "%s %v", text, best)
		}
	}
}

// TestCardsOfTheSiteBesideAKindThatNobodyPrints: rows of bare numbers may be the low bits of the serials of a kind of
// which the site file does not say how it is printed. At the door are the cards that they are by the site file. By
// hand: facility 21 is 15, and the data bits are facility and number side by side.
func TestCardsOfTheSiteBesideAKindThatNobodyPrints(t *testing.T) {
	rnd := rand.New(rand.NewPCG(55, 56))
	cards := []formats.Population{{Format: "34-0-32"}, {Format: "26-8-16", Printed: "number", Facilities: []uint64{21}}}
	var list, events []string
	for range 35 {
		list = append(list, fmt.Sprintf("%08X", rnd.Uint32()))
	}
	for n := 21815; n < 21899; n++ {
		list = append(list, fmt.Sprint(n))
	}
	for n := 21820; n < 21824; n++ {
		events = append(events, fmt.Sprintf("15%04X", n))
	}
	m := asked(t, cards, list, events, "hex")
	for i, text := range events {
		best := m.Unknown(text).Best
		assert.Equal(t, fmt.Sprint(21820+i), m.Holders()[max(0, best.Holder)].Number, "%s %v", text, best)
	}
}

// TestACardBehindTheBlocks: all numbers of the site's only block are on the list, and a card is shown that lies
// behind them, and a digit beside one: a box that was bought since is as likely as a digit that was copied wrong.
func TestACardBehindTheBlocks(t *testing.T) {
	cards := []formats.Population{{Format: "37-0-35", Printed: "number",
		Numbers: []formats.Range{{First: 569409781, Last: 569409810}}}}
	var list []string
	for n := 569409781; n <= 569409810; n++ {
		list = append(list, fmt.Sprint(n))
	}
	m := asked(t, cards, list, append(list[:5:5], "569409847"), "decimal")
	best := m.Unknown("569409847").Best
	assert.Less(t, best.Probability, 0.9, best)
}

// TestRowsThatWereNotReadAndHaveTheSameValue: the list has numbers in hex of a kind that the site file does not have,
// and the door shows them in decimal. By hand: 480ADE60 is 1208671840.
func TestRowsThatWereNotReadAndHaveTheSameValue(t *testing.T) {
	list := []string{"480ADE60"}
	for n := range 40 {
		list = append(list, fmt.Sprintf("121,%05d", 2000+n))
	}
	cards := []formats.Population{{Format: "26-8-16", Printed: "pair", Facilities: []uint64{121}}}
	m := asked(t, cards, list, []string{"1208671840"}, "decimal10")
	best := m.Unknown("1208671840").Best
	require.GreaterOrEqual(t, best.Holder, 0, best)
	assert.Equal(t, "480ADE60", m.Holders()[best.Holder].Number, best)
	assert.Greater(t, best.Probability, 0.99)
}

// TestABytewiseSerialThatLostADigit: a row of bytes with a sign between lacks a digit, and the door shows the serial
// in decimal. By hand: C6C7726C is 3334959724.
func TestABytewiseSerialThatLostADigit(t *testing.T) {
	rnd := rand.New(rand.NewPCG(57, 58))
	list := []string{"C6:C7:72:C"}
	for range 30 {
		list = append(list, fmt.Sprintf("%02X:%02X:%02X:%02X", rnd.IntN(256), rnd.IntN(256), rnd.IntN(256), rnd.IntN(256)))
	}
	m := asked(t, []formats.Population{{Format: "34-0-32", Printed: "uid"}}, list, []string{"3334959724"}, "decimal10")
	best := m.Unknown("3334959724").Best
	require.GreaterOrEqual(t, best.Holder, 0, best)
	assert.Equal(t, "C6:C7:72:C", m.Holders()[best.Holder].Number, best)
}

// TestEndsThatShareAFacility: six cards at the door end as rows of a list of a kind that the site file does not name,
// and lie beside one another as those rows do. Each can be a serial as well, and one of a box of strangers'. By hand:
// facility 90 of 26-8-16 is 90 · 65536 = 5898240.
func TestEndsThatShareAFacility(t *testing.T) {
	rnd := rand.New(rand.NewPCG(59, 60))
	var list, events []string
	for range 7 {
		list = append(list, fmt.Sprintf("%02X:%02X:%02X:%02X", rnd.IntN(256), rnd.IntN(256), rnd.IntN(256), rnd.IntN(256)))
	}
	for i := range 30 {
		number := 44400 + i
		list = append(list, fmt.Sprint(number))
		if i%5 == 3 || i == 4 {
			events = append(events, fmt.Sprint(90<<16+number))
		}
	}
	m := asked(t, []formats.Population{{Format: "34-0-32", Printed: "uid-reversed"}}, list, events, "decimal")
	for _, text := range events {
		best := m.Unknown(text).Best
		assert.False(t, best.Rule == Stranger && best.Probability > 0.5, "%s %v", text, best)
	}
}

// TestSumOfABox holds the sum to the same over all subsets of strangers, one by one (arithmetic of the test's own).
func TestSumOfABox(t *testing.T) {
	box := []inBox{{number: 5, of: &Unknown{}}, {number: 6, of: &Unknown{}}, {number: 9, of: &Unknown{}},
		{number: 40, of: &Unknown{}}}
	odds := []struct{ anywhere, beside float64 }{{0.01, 2}, {0.002, 3}, {0.3, 0.5}, {0.05, 8}}
	var each []chances
	for _, o := range odds {
		each = append(each, chances{o.anywhere, o.beside})
	}
	all, with := 0.0, make([]float64, len(box))
	for set := range 1 << len(box) {
		p, last := 1.0, -1
		for i := range box {
			if set>>i&1 == 0 {
				continue
			}
			one := odds[i].anywhere
			if last >= 0 {
				d := float64(box[i].number - box[last].number)
				one += odds[i].beside / (2 * d * (d + 1))
			}
			p, last = p*one, i
		}
		all += p
		for i := range box {
			if set>>i&1 == 1 {
				with[i] += p
			}
		}
	}
	for i, more := range sumBox(box, each) {
		assert.InDelta(t, with[i]/(all-with[i]), more+odds[i].anywhere, 1e-9, "place %d", i)
	}
}

// TestRowsOfASecondList: below a list of bare numbers a few rows stand as facility and number in one, which no form of
// the list reads; a door that shows such a card shows that row's. By hand: the pair 073,58143 in one is 07358143.
func TestRowsOfASecondList(t *testing.T) {
	var list []string
	for n := range 40 {
		list = append(list, fmt.Sprint(58000+n))
	}
	list = append(list, "07358143", "07358144", "07358149")
	cards := []formats.Population{{Format: "26-8-16", Printed: "number", Facilities: []uint64{73}}}
	m := asked(t, cards, list, []string{"073,58143"}, "pair")
	best := m.Unknown("073,58143").Best
	require.GreaterOrEqual(t, best.Holder, 0, best)
	assert.Equal(t, "07358143", m.Holders()[best.Holder].Number, best)
	assert.Greater(t, best.Probability, 0.9)
}
