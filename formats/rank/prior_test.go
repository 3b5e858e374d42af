package rank

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// The parts of the model are distributions: what is possible adds up to 1, or to less where the model gives something away and says
// so. The sums are taken here one possibility after the other.

// tuples calls use with every list of n values below limit, in every order.
func tuples(n, limit int, use func([]uint64)) {
	values := make([]uint64, n)
	for code := range int(math.Pow(float64(limit), float64(n)) + 0.5) {
		for i := range values {
			values[i], code = uint64(code%limit), code/limit
		}
		use(values)
	}
}

// sumOver adds up a probability, given as a log, over all lists of n values below limit. It must not depend on their order.
func sumOver(t *testing.T, n, limit int, log func([]uint64) float64) float64 {
	sum := 0.0
	seen := map[string]float64{}
	tuples(n, limit, func(values []uint64) {
		l := log(slices.Clone(values))
		sorted := slices.Sorted(slices.Values(values))
		key := fmt.Sprint(sorted)
		if first, ok := seen[key]; ok {
			require.InDelta(t, first, l, 1e-9, "%v in another order", values)
		}
		seen[key] = l
		sum += math.Exp(l)
	})
	return sum
}

// fieldOf is the prior of a field of its own, as a catalogue would give it.
func fieldOf(t *testing.T, field string, length int, kind string) *fieldModel {
	t.Helper()
	rows, err := formats.ParseDefinitions("test", fmt.Appendf(nil, `
[[format]]
id = "test"
description = "one field"
length = %d
kind = %q
fields = [%s]
`, length, kind, field))
	require.NoError(t, err)
	return &modelFields(&rows[0])[0]
}

// The prior of a field, facility or number, adds up to 1 over all values that the field can hold.
func TestFieldPriorsAddUpToOne(t *testing.T) {
	for _, name := range []string{"facility", "number", "agency"} {
		for width := 1; width <= 16; width++ {
			for _, kind := range []string{"card", "serial", "keypad"} {
				m := fieldOf(t, fmt.Sprintf(`{ name = %q, bits = "1-%d" }`, name, width), width, kind)
				require.Equal(t, width, m.width)
				sum := 0.0
				for v := range uint64(1) << width {
					sum += math.Exp(m.base(v))
				}
				assert.InDelta(t, 1, sum, 1e-9, "%s of %d bits, %s", name, width, kind)
			}
		}
		for digits := 1; digits <= 4; digits++ {
			for coding, n := range map[string]int{"bcd": 4, "digits5": 5} {
				m := fieldOf(t, fmt.Sprintf(`{ name = %q, bits = "1-%d", coding = %q }`, name, n*digits, coding), n*digits, "card")
				sum := 0.0
				for v := range uint64(math.Pow10(digits)) {
					sum += math.Exp(m.base(v))
				}
				assert.InDelta(t, 1, sum, 1e-9, "%s of %d digits, %s", name, digits, coding)
			}
		}
	}
}

// Values of several cards: what the model gives to all lists of them adds up to 1 for facilities, and to at most 1 for numbers, which
// come in rising order in a batch and may not run over the end of the field.
func TestListsOfValuesAddUp(t *testing.T) {
	for _, c := range []struct{ n, width int }{{1, 4}, {2, 1}, {2, 4}, {3, 1}, {3, 3}, {4, 2}, {5, 2}} {
		name := fmt.Sprintf("%d cards, %d bits", c.n, c.width)
		site := fieldOf(t, fmt.Sprintf(`{ name = "facility", bits = "1-%d" }`, c.width), c.width, "card")
		assert.InDelta(t, 1, sumOver(t, c.n, 1<<c.width, site.site), 1e-9, name)
		number := fieldOf(t, fmt.Sprintf(`{ name = "number", bits = "1-%d" }`, c.width), c.width, "card")
		sum := sumOver(t, c.n, 1<<c.width, number.numbers)
		assert.LessOrEqual(t, sum, 1+1e-9, name)
		assert.GreaterOrEqual(t, sum, 1-batched, name)
		keys := fieldOf(t, fmt.Sprintf(`{ name = "number", bits = "1-%d" }`, c.width), c.width, "keypad")
		assert.InDelta(t, 1, sumOver(t, c.n, 1<<c.width, keys.numbers), 1e-9, name+", no batches")
	}
}

// One more card, after some that were seen: facilities and dates add up to 1, numbers to at most 1. It is the facility's share of
// the lists with and without it.
func TestNextValueAddsUp(t *testing.T) {
	const width = 6
	site := fieldOf(t, `{ name = "facility", bits = "1-6" }`, width, "card")
	number := fieldOf(t, `{ name = "number", bits = "1-6" }`, width, "card")
	for _, seen := range [][]uint64{nil, {0}, {63}, {5, 5, 5}, {5, 9, 9, 60}} {
		facilities, numbers := 0.0, 0.0
		for v := range uint64(1) << width {
			next := site.next(v, seen)
			facilities += math.Exp(next)
			if len(seen) > 0 {
				more := append(slices.Clone(seen), v)
				assert.InDelta(t, site.site(more)-site.site(slices.Clone(seen)), next, 1e-9, "%v and %d", seen, v)
			}
			log := number.next(v, seen)
			numbers += math.Exp(log)
			near := uint64(math.MaxUint64)
			for _, s := range seen {
				near = min(near, max(s, v)-min(s, v))
			}
			want := math.Exp(number.base(v))
			if len(seen) > 0 {
				want = batched*stepOf(near, width)/float64(2*len(seen)) + (1-batched)*want
			}
			assert.InDelta(t, want, math.Exp(log), 1e-12, "%v and %d", seen, v)
		}
		assert.InDelta(t, 1, facilities, 1e-9, seen)
		assert.LessOrEqual(t, numbers, 1+1e-9, seen)
		assert.GreaterOrEqual(t, numbers, 1-batched, seen)
	}
}

// stepOf is the chance of a step within a batch: as many lengths in bits as the step can have are as likely as one another, and all
// steps of one length too.
func stepOf(d uint64, width int) float64 {
	n, lengths := len(fmt.Sprintf("%b", d)), min(width, batchBits)+1
	if d == 0 {
		n = 0
	}
	if n >= lengths {
		return 0
	}
	return 1 / float64(lengths) / math.Ceil(math.Exp2(float64(n-1)))
}

// Steps within a batch add up to 1, in fields that are narrower than a box of cards and in wider ones.
func TestStepsAddUpToOne(t *testing.T) {
	for _, width := range []int{1, 4, 12, 13, 14, 20} {
		m := fieldOf(t, fmt.Sprintf(`{ name = "number", bits = "1-%d" }`, width), width, "card")
		sum := 0.0
		for d := range uint64(1) << width {
			require.InDelta(t, stepOf(d, width), m.step(d), 1e-15)
			sum += m.step(d)
		}
		assert.InDelta(t, 1, sum, 1e-9, width)
	}
}

// geometricSum is the mixture of geometric distributions in full, a step after the other.
func geometricSum(steps []uint64, width int) float64 {
	sum := 0.0
	for j := 0; j <= width; j++ {
		p, stop := 1.0, math.Exp2(float64(-j))
		for _, d := range steps {
			p *= stop * math.Pow(1-stop, float64(d))
		}
		sum += p / float64(width+1)
	}
	return sum
}

// The distributions of steps in a block are a mixture: never more than all of it, and but for a step or two nearly all.
func TestBlocksAreMixtures(t *testing.T) {
	m := fieldOf(t, `{ name = "number", bits = "1-16" }`, 16, "card")
	for _, steps := range [][]uint64{
		{0}, {1}, {3}, {100}, {65535}, {0, 0}, {0, 1}, {7, 9}, {1, 1, 1}, {0, 0, 5, 1, 0}, {1000, 1, 30, 2000}, {9000, 9000, 9000, 9000}, {1, 2, 3, 4, 5, 6, 7, 8, 9, 10},
		{60000, 0, 0, 0}, {2, 1, 1, 1, 1, 1, 1, 2},
	} {
		all, repeats, less := uint64(0), false, slices.Clone(steps)
		values := []uint64{17}
		for i, d := range steps {
			all, repeats = all+d, repeats || d == 0
			values = append(values, values[i]+d)
			less[i]--
		}
		least := 0.95
		if len(steps) < 3 {
			least = 0.75
		}
		exact := geometricSum(steps, 16)
		got := math.Exp(m.geometric(float64(len(steps)), float64(all)))
		assert.LessOrEqual(t, got, exact*(1+1e-9), steps)
		assert.GreaterOrEqual(t, got, exact*least, steps)
		both := exact / 2
		if !repeats {
			both += geometricSum(less, 16) / 2
		}
		assert.LessOrEqual(t, math.Exp(m.block(values)), both*(1+1e-9), steps)
		assert.GreaterOrEqual(t, math.Exp(m.block(values)), both*least, steps)
	}
}

// What the numbers of a site are worth is the mixture that the model speaks of: spread, in batches, out of a block.
func TestNumbersAreAMixture(t *testing.T) {
	const width = 10
	m := fieldOf(t, `{ name = "number", bits = "1-10" }`, width, "card")
	p := func(v uint64) float64 { return math.Exp(m.base(v)) }
	for _, values := range [][]uint64{{5, 5}, {1, 1000}, {7, 8, 9}, {3, 900, 901, 901}, {0, 0, 0}} {
		spread, chain, orders := 1.0, p(values[0]), 1.0
		for i, v := range values {
			spread *= p(v)
			orders *= float64(i + 1)
			if i > 0 {
				chain *= nextNear*stepOf(v-values[i-1], width) + (1-nextNear)*p(v)
			}
		}
		block := p(values[0]) * math.Exp(m.block(values))
		want := (1-batched)*spread + batched*((1-oneBlock)*chain+oneBlock*block)/orders
		assert.InEpsilon(t, want, math.Exp(m.numbers(slices.Clone(values))), 1e-9, values)
	}
	m.wide = true
	assert.InDelta(t, 3*m.even, m.numbers([]uint64{1, 2, 3}), 1e-9, "numbers too wide for batches")
	assert.Zero(t, m.numbers(nil))
}

// A site's own values have all but a hundredth of the prior, evenly; what is not listed keeps its shape.
func TestListedValuesAddUpToOne(t *testing.T) {
	m := *fieldOf(t, `{ name = "number", bits = "1-8" }`, 8, "card")
	before := m
	m.usual = []formats.Range{{First: 10, Last: 19}, {First: 200, Last: 200}}
	sum, own := 0.0, 0.0
	for v := range uint64(256) {
		p := math.Exp(m.base(v))
		sum += p
		if v >= 10 && v <= 19 || v == 200 {
			own += p
			assert.InDelta(t, 0.99/11+0.01*math.Exp(before.base(v)), p, 1e-12, v)
		} else {
			assert.InDelta(t, 0.01*math.Exp(before.base(v)), p, 1e-12, v)
		}
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.Greater(t, own, 0.99)
}

// Days of this century against the standard library's calendar: every one is a date; what else passes is the end of a short month,
// which the prior gives 31 days like any.
func TestDates(t *testing.T) {
	accepted, days := 0, 0
	for v := uint64(19_900_000); v < 21_110_000; v++ {
		day, err := time.Parse("20060102", fmt.Sprint(v))
		switch real := err == nil && day.Year()/100 == 20; {
		case real:
			require.True(t, isDate(v), v)
			days++
			accepted++
		case isDate(v):
			accepted++
			d := v % 100
			require.True(t, d >= 29 && d <= 31, v)
			_, err := time.Parse("200601", fmt.Sprint(v/100))
			require.NoError(t, err, v)
		}
	}
	assert.Equal(t, 36525, days, "100 years, 25 of them leap years")
	assert.Equal(t, 100*12*31, accepted, "as many as the prior counts on")
	assert.False(t, isDate(20300101+1e10))
}

// The prior of a date adds up to 1; dates of several cards within ten years are likelier than those further apart.
func TestDatePriors(t *testing.T) {
	m := fieldOf(t, `{ name = "expiry", bits = "1-32", coding = "bcd" }`, 32, "card")
	require.Equal(t, dateRole, m.role)
	other := notDate / 1e8
	day := other + (1-notDate)/(100*12*31)
	assert.InDelta(t, math.Log(day), m.dates([]uint64{20310228}), 1e-9)
	assert.InDelta(t, math.Log(other), m.dates([]uint64{20311328}), 1e-9)
	assert.InDelta(t, 1, 100*12*31*day+(1e8-100*12*31)*other, 1e-9)
	near := other + (1-notDate)/(10*12*31)
	for _, test := range []struct {
		dates []uint64
		want  float64
	}{
		{[]uint64{20310101, 20401231}, (day*day + near*near/100) / 2},
		{[]uint64{20401231, 20310101}, (day*day + near*near/100) / 2},
		{[]uint64{20310101, 20410101}, (day*day + near*other/100) / 2},
		{[]uint64{20310101, 99999999}, (day*other + near*other/100) / 2},
		{[]uint64{1, 99999999}, (other*other + other*other/100) / 2},
	} {
		assert.InEpsilon(t, test.want, math.Exp(m.dates(test.dates)), 1e-9, test.dates)
	}
	assert.InDelta(t, m.dates([]uint64{20310101}), m.next(20310101, []uint64{20310102}), 1e-12)
}

// Given that one read at least is bad, the chances of which are add up to 1.
func TestMisreadsAddUpToOne(t *testing.T) {
	for _, n := range []int{1, 2, 3, 10, 40} {
		sum := 0.0
		for bad := 1; bad <= n; bad++ {
			ways, _ := new(big.Float).SetInt(new(big.Int).Binomial(int64(n), int64(bad))).Float64()
			sum += ways * math.Exp(misreads(n-bad, bad))
		}
		assert.InDelta(t, 1, sum, 1e-9, n)
	}
}

// Lengths of unknown layouts, and their reads, add up to 1: those of a few bits exactly, and longer ones, which may have a number in
// them, to no more.
func TestUnknownAddsUp(t *testing.T) {
	sum := 0.0
	for n := 1; n <= wiegand.MaxBits; n++ {
		sum += math.Exp(unknownLength(n))
	}
	assert.InDelta(t, 1, sum, 1e-9)
	for _, c := range []struct{ n, width int }{{1, 8}, {2, 4}, {3, 3}, {4, 2}} {
		got := sumOver(t, c.n, 1<<c.width, func(values []uint64) float64 {
			reads := make([]wiegand.Bits, len(values))
			for i, v := range values {
				reads[i], _ = wiegand.BitsFromUint(v, c.width)
			}
			return unknownReads(reads)
		})
		assert.InDelta(t, 1, got, 1e-9, "%d reads of %d bits", c.n, c.width)
	}
}

// A number inside unknown reads: each place and width is as likely as another, and each bit around it stays the same or is a coin.
func TestNumberInUnknownReads(t *testing.T) {
	for _, texts := range [][]string{
		{"0110000010111", "0110000011001"}, {"0110000010111", "0110000011001", "1110000010001"}, {"1111111111", "0000000000"},
		{"11010011001111000000101", "11010011001111000001111", "11010011001111000010010"},
	} {
		var reads []wiegand.Bits
		for _, text := range texts {
			reads = append(reads, bitsOf(t, text))
		}
		L, n := len(texts[0]), float64(len(texts))
		sum, ways := 0.0, 0.0
		for from := range L {
			for to := max(from+10, L-2); to <= L; to++ {
				p, values := 1.0, make([]uint64, len(texts))
				for i := range L {
					if i >= from && i < to {
						for k := range texts {
							values[k] = 2*values[k] + uint64(texts[k][i]-'0')
						}
						continue
					}
					same := slices.IndexFunc(texts, func(s string) bool { return s[i] != texts[0][i] }) < 0
					bit := (1 - stays) * math.Exp2(-n)
					if same {
						bit += stays / 2
					}
					p *= bit
				}
				m := fieldOf(t, fmt.Sprintf(`{ name = "number", bits = "1-%d" }`, to-from), to-from, "card")
				sum, ways = sum+p*math.Exp(m.numbers(values)), ways+1
			}
		}
		assert.InEpsilon(t, sum/ways, math.Exp(windowed(reads, countOnes(reads))), 1e-9, texts)
	}
	short := []wiegand.Bits{bitsOf(t, "110100101"), bitsOf(t, "110100111")}
	ones := countOnes(short)
	assert.Equal(t, []int{2, 2, 0, 2, 0, 0, 2, 1, 2}, ones)
	assert.InDelta(t, bitwise(ones, 2), windowed(short, ones), 1e-12, "no room for a number")
}

// Sums in logs, against the same without; numbers of ways against exact arithmetic.
func TestLogs(t *testing.T) {
	for _, p := range [][]float64{{0.5, 0.25}, {0.25, 0.5}, {1e-300, 1e-10}, {0, 0.5}, {0.5, 0}, {0, 0}, {1, 1}} {
		assert.InDelta(t, p[0]+p[1], math.Exp(logAdd(math.Log(p[0]), math.Log(p[1]))), 1e-12, p)
		assert.InDelta(t, p[0]+p[1]+0.125, math.Exp(logSum([]float64{math.Log(p[0]), math.Log(0.125), math.Log(p[1])})), 1e-12, p)
	}
	assert.Equal(t, never, logSum(nil))
	assert.Equal(t, never, logSum([]float64{never, never}))
	assert.InDelta(t, -2000+math.Log(2), logSum([]float64{-2000, -2000}), 1e-9)
	for n := range 12 {
		for k := range n + 1 {
			ways := new(big.Int).Binomial(int64(n), int64(k))
			assert.InDelta(t, float64(ways.Int64()), math.Exp(logChoose(n, k)), 1e-6)
		}
	}
}

// The ways of printing that a format has add up to 1, and no weight is lost to one that does not fit.
func TestFormsAddUpToOne(t *testing.T) {
	cat := formats.Builtin()
	for i := range cat.Len() {
		prints := 0.0
		for _, o := range options(cat.At(i)) {
			if o.part == nil {
				prints += math.Exp(o.log)
				fits, _ := o.form.Fits(cat.At(i))
				assert.True(t, fits, o.name())
			}
		}
		assert.InDelta(t, 1, prints, 1e-9, cat.At(i).ID)
	}
}

// The shares of a facility's prior, against one another: 0 is rare, one byte is usual, and the rest goes by length.
func TestFacilityShares(t *testing.T) {
	for _, width := range []int{2, 3, 8, 9, 16} {
		m := fieldOf(t, fmt.Sprintf(`{ name = "facility", bits = "1-%d" }`, width), width, "card")
		zero := math.Exp(m.base(0))
		for v := uint64(1); v < 1<<width; v++ {
			want := 0.30/math.Exp2(float64(width)) + 0.25*lengthShare(v, width)
			if v < 256 {
				want += 0.45 / min(255, math.Exp2(float64(width))-1)
			}
			require.InEpsilon(t, want/0.002, math.Exp(m.base(v))/zero, 1e-9, "%d of %d bits", v, width)
		}
	}
	for width, wide := range map[int]bool{64: false, 65: true} {
		assert.Equal(t, wide, fieldOf(t, fmt.Sprintf(`{ name = "number", bits = "1-%d" }`, width), width, "card").wide)
	}
}

// lengthShare gives each length, from 0 bits to width, the same weight, and each number of that length.
func lengthShare(v uint64, width int) float64 {
	return 1 / float64(width+1) / math.Exp2(float64(len(fmt.Sprintf("%b", v))-1))
}

// Forms of a population whose print is known: they add up to 1 still, and that print has all but a tenth.
func TestFormsOfASite(t *testing.T) {
	r, err := New(frozenCatalogue(t), formats.Population{Format: "26-8-16", Printed: "pair", Facilities: []uint64{150, 151}}, formats.Population{Format: "26-0-24"})
	require.NoError(t, err)
	usual := map[string]float64{}
	weights := 0.0
	for i := range r.models {
		m := &r.models[i]
		weights += math.Exp(m.log)
		sum := 0.0
		for _, o := range m.forms {
			if o.part != nil {
				continue
			}
			p := math.Exp(o.log)
			sum += p
			switch {
			case m.format.ID != "26-8-16":
			case i < 4:
				usual[o.name()] = p
			case o.name() == "pair":
				assert.InDelta(t, sitePrior+(1-sitePrior)*usual["pair"], p, 1e-9)
			default:
				assert.InDelta(t, (1-sitePrior)*usual[o.name()], p, 1e-9)
			}
		}
		assert.InDelta(t, 1, sum, 1e-9, "%s, %d", m.format.ID, i)
	}
	assert.InDelta(t, 1, weights+unknownPrior, 1e-9, "formats, site and none")
	assert.Equal(t, []formats.Range{{First: 150, Last: 150}, {First: 151, Last: 151}}, r.models[4].fields[r.models[4].format.Facility()].usual)
}

// A number in one form: what each format makes of it, in proportion to its weight, the form's and the number's.
func TestRankFormIsBayes(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	form, _ := formats.FormByName("number")
	out := r.RankForm(form, "46143", "", nil)
	require.NoError(t, out.Err)
	weight := map[string]float64{"26-8-16": 100 * 0.45, "26-0-24": 8 * 0.64, "34-0-32": 10 * 0.17, "32-0-32": 10 * 0.17}
	require.Len(t, out.Cards, len(weight))
	want, total := make([]float64, len(out.Cards)), 0.0
	for i, c := range out.Cards {
		at := slices.IndexFunc(r.models, func(m formatModel) bool { return m.format.ID == c.Format.ID })
		want[i] = weight[c.Format.ID] * math.Exp(r.models[at].fields[c.Format.Number()].base(46143))
		total += want[i]
	}
	for i := range want {
		assert.InDelta(t, want[i]/total, out.Probability[i], 1e-9, out.Cards[i].Format.ID)
	}
	assert.Len(t, r.RankForm(form, "9876543", "", nil).Cards, 3, "16 bits are too few")
	pair, _ := formats.FormByName("pair")
	assert.ErrorContains(t, r.RankForm(pair, "999,1", "", nil).Err, "does not fit 8 bits", "the one format with two fields says why not")
	assert.Len(t, r.RankForm(form, "46143", "150", nil).Cards, 1)
}
