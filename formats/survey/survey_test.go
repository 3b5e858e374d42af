package survey_test

import (
	"fmt"
	"iter"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/formats/survey"
)

func column(numbers []string) iter.Seq2[int, string] {
	return func(yield func(int, string) bool) {
		for i, n := range numbers {
			if !yield(i+2, n) {
				return
			}
		}
	}
}

// Which format the numbers of a column have, where their form is known.
func ExampleColumn() {
	likely, err := survey.Column(formats.Builtin(), []string{"121,00043", "121,00044", "see Ann", "121,00051", "121,00060"},
		[]string{"pair"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(likely[0].Format, likely[0].Form, likely[0].Probability > 0.9)
	// Output: 26-8-16 pair true
}

// What a list of two kinds shows, as a site file.
func ExampleNew() {
	var numbers []string
	for i := range 40 {
		numbers = append(numbers, fmt.Sprintf("057,%05d", 2100+2*i))
	}
	numbers = append(numbers, "3405643012", "0719264380", "2675342405", "3185950873", "1151686260", "no card")
	found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(found.Read, "of", found.Rows)
	fmt.Printf("%s", site.Site{Cards: found.Cards()[:1]}.Append(nil))
	// Output:
	// 45 of 46
	//
	// [[cards]]
	// format   = "26-8-16"
	// facility = 57
	// numbers  = "2100-2178"
	// printed  = "pair"
}

// Which formats numbers of one kind can have.
func ExampleFormats() {
	cat := formats.Builtin()
	ranker, err := rank.New(cat)
	if err != nil {
		fmt.Println(err)
		return
	}
	likely, err := survey.Formats(cat, ranker, []string{"057,02119", "057,02120", "057,02123"}, []string{"pair", "words"})
	fmt.Println(likely[0].Format, likely[0].Form, likely[0].Probability > 0.9, err)
	// Output: 26-8-16 pair true <nil>
}

// Whole reads of serials do not say in which order their bytes come, and make other numbers of each: neither order is
// stated. Random bits between two parities, worked out here: even over the first half, odd over the second (34 bits:
// public drivers).
func TestReadsOfSerialsInEitherOrder(t *testing.T) {
	rnd := rand.New(rand.NewPCG(53, 54))
	var reads []string
	for range 30 {
		v := uint64(rnd.Uint32())
		even, odd := uint64(bits.OnesCount64(v>>16)&1), uint64(1-bits.OnesCount64(v&0xFFFF)&1)
		reads = append(reads, fmt.Sprintf("34:%09X", even<<33|v<<1|odd))
	}
	likely, err := survey.Column(formats.Builtin(), reads, []string{"bits-hex", "number"})
	require.NoError(t, err)
	require.NotEmpty(t, likely)
	assert.Less(t, likely[0].Probability, 0.9, likely[0].Format)
	assert.Equal(t, "34-0-32-reversed", likely[1].Format)
}

// Lists of two kinds, in any order: each kind is proposed with its own numbers, and what is proposed is a sound site
// file. The lists are made here by arithmetic alone.
func TestEveryKindIsProposed(t *testing.T) {
	rnd := rand.New(rand.NewPCG(51, 52))
	for round := range 12 {
		facility, first := 1+rnd.IntN(255), 1+rnd.IntN(60_000)
		var numbers []string
		for range 30 + rnd.IntN(60) {
			numbers = append(numbers, fmt.Sprintf("%03d,%05d", facility, first+rnd.IntN(400)))
		}
		pairs := len(numbers)
		for range 20 + rnd.IntN(60) {
			numbers = append(numbers, fmt.Sprintf("%010d", rnd.Uint32()))
		}
		serials := len(numbers) - pairs
		numbers = append(numbers, "12.05.2024", "", "x")
		rnd.Shuffle(len(numbers), func(i, j int) { numbers[i], numbers[j] = numbers[j], numbers[i] })
		found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
		require.NoError(t, err)
		assert.Equal(t, len(numbers)-1, found.Rows)
		assert.Equal(t, pairs+serials, found.Read)
		rows := map[string]int{}
		for _, k := range found.Kinds {
			rows[k.Form] += k.Rows
			assert.Greater(t, k.Probability, 0.75)
		}
		assert.Equal(t, map[string]int{"pair": pairs, "number10": serials}, rows, "round %d", round)
		text := site.Site{Cards: found.Cards()}.Append(nil)
		_, err = site.Parse("site.toml", text, formats.Builtin())
		assert.NoError(t, err, "%s", text)
	}
}

// Cards of one lot written in two ways are one lot, however the second way would be read by itself.
func TestTwoWaysOfWriting(t *testing.T) {
	var numbers []string
	for i := range 40 {
		numbers = append(numbers, fmt.Sprintf("057,%05d", 2100+i), fmt.Sprintf("%010d", 57<<16|(2200+i)))
	}
	found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
	require.NoError(t, err)
	assert.Equal(t, []formats.Population{{Format: "26-8-16", Facilities: []uint64{57},
		Numbers: []formats.Range{{First: 2100, Last: 2239}}, Printed: "pair"}}, found.Cards())
}

// What can't be told is a doubt with what it can be, and no proposal; what is given is not asked.
func TestDoubts(t *testing.T) {
	numbers := []string{"43", "44", "45", "46"}
	found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
	require.NoError(t, err)
	assert.Empty(t, found.Kinds)
	require.Len(t, found.Doubts, 1)
	assert.Less(t, found.Doubts[0].Likely[0].Probability, 0.75)
	found, err = survey.New(formats.Builtin(), column(numbers), survey.Options{Format: "34-16-16", Form: "number"})
	require.NoError(t, err)
	assert.Equal(t, []formats.Population{{Format: "34-16-16", Numbers: []formats.Range{{First: 43, Last: 46}},
		Printed: "number"}}, found.Cards())
	_, err = survey.New(formats.Builtin(), column(numbers), survey.Options{Format: "34-16-61", Form: "number"})
	assert.ErrorContains(t, err, "no such format")
	_, err = survey.New(formats.Builtin(), column(numbers), survey.Options{Format: "34-0-32", Form: "pair"})
	assert.Error(t, err)
}

// Reads in hex with their length before them are no hex numbers, and neither are chip serials, of which a list does not
// show what readers send. The read of facility 121, number 17 is that of the demo.
func TestReadsAndSerialsAreNoHexNumbers(t *testing.T) {
	reads := []string{"26:2F20023", "26:2F20057", "26:2F201A9", "26:2F2027D"}
	found, err := survey.New(formats.Builtin(), column(reads), survey.Options{})
	require.NoError(t, err)
	require.Len(t, found.Kinds, 1)
	assert.Equal(t, "26-8-16", found.Kinds[0].Format.ID)
	assert.Equal(t, "bits-hex", found.Kinds[0].Form)
	assert.Equal(t, []uint64{121}, found.Kinds[0].Cards[0].Facilities)
	serials := []string{"28:8C:57:7D", "28:8C:57:7E", "3B:DD:9C:EB"}
	found, err = survey.New(formats.Builtin(), column(serials), survey.Options{})
	require.NoError(t, err)
	assert.Empty(t, found.Kinds)
	assert.Len(t, found.Doubts, 1)
}

// One number with a digit typed twice is no reason to take all of them for a wider format.
func TestOneDigitTooMany(t *testing.T) {
	var numbers []string
	for i := range 60 {
		numbers = append(numbers, fmt.Sprintf("00180,%05d", 14200+3*i))
	}
	format := func(numbers []string) string {
		found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
		require.NoError(t, err)
		if len(found.Kinds) == 0 {
			return found.Doubts[0].Likely[0].Format
		}
		return found.Kinds[0].Format.ID
	}
	assert.Equal(t, format(numbers), format(append(numbers, "00180,142599")))
}

// One number with a digit too few is no reason to take all of them for whole reads.
func TestOneDigitTooFew(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	var numbers []string
	for range 150 {
		numbers = append(numbers, fmt.Sprintf("%010d", 1<<28+rnd.Uint32N(3<<30)))
	}
	for range 2 {
		found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
		require.NoError(t, err)
		require.Len(t, found.Kinds, 1)
		assert.Equal(t, "number10", found.Kinds[0].Form)
		numbers[1] = numbers[1][:9]
	}
}

// One number of a short list that has digits too many, or is no good read, makes no sure answer that is wrong. The
// reads of 26 bits are worked out here: even parity over the first 12 data bits, odd over the last 12 (SIA
// AC-01-1996.10).
func TestOneNumberOfAnotherLength(t *testing.T) {
	var tens, reads []string
	for i := range 30 {
		data := uint32(38<<16 | (16_000 + 17*i))
		tens = append(tens, fmt.Sprintf("%010d", data))
		read := uint32(bits.OnesCount32(data>>12)&1)<<25 | data<<1 | uint32(1-bits.OnesCount32(data&0xFFF)&1)
		reads = append(reads, fmt.Sprint(read))
	}
	for _, numbers := range [][]string{append(tens[:11], "002642357"), append(reads[:5], "519293911"), append(reads, "25514314")} {
		found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
		require.NoError(t, err)
		for _, k := range found.Kinds {
			right := k.Format.ID == "26-8-16" && k.Form == map[bool]string{true: "decimal10", false: "read-decimal"}[numbers[0][0] == '0']
			assert.True(t, right || k.Probability < 0.99, "%s as %s, %f", k.Format.ID, k.Form, k.Probability)
		}
	}
}

// A list whose form was given can have numbers in another one: 121·65536+17 = 7929873, and 12100400 is facility 121
// and number 400 with nothing between, or facility 184 and number 41776 as a decimal.
func TestOtherwise(t *testing.T) {
	rows := func(yield func(int, string) bool) {
		for i := range 20 {
			if !yield(i+2, fmt.Sprintf("%010d", 7929873+i)) {
				return
			}
		}
		for i := range 4 {
			if !yield(i+22, fmt.Sprintf("121%05d", 400+i)) {
				return
			}
		}
	}
	s, err := survey.New(formats.Builtin(), rows, survey.Options{Format: "26-8-16", Form: "decimal10"})
	require.NoError(t, err)
	require.Len(t, s.Kinds, 1)
	assert.Equal(t, []survey.Otherwise{{Facility: 184, Main: 121, Form: "joined", Example: "12100400", Cards: 4, Line: 22}},
		s.Kinds[0].Otherwise)
}

// Two kinds of ten digits each in one column: those of one facility, and serials, which lie anywhere. Cards of 35 bits
// could be both, with a facility of its own for each of the serials. The numbers are facility * 65536 + number.
func TestScatteredFacilitiesAreAnotherKind(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 243))
	var numbers []string
	for i := range 46 {
		numbers = append(numbers, fmt.Sprintf("%010d", (636+2*rnd.IntN(2))<<16|(600+rnd.IntN(450))))
		if i > 0 {
			numbers = append(numbers, fmt.Sprintf("%010d", 1<<20+rnd.Int64N(1<<32-1<<20)))
		}
	}
	rnd.Shuffle(len(numbers), func(i, j int) { numbers[i], numbers[j] = numbers[j], numbers[i] })
	s, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
	require.NoError(t, err)
	require.Len(t, s.Kinds, 2)
	assert.Equal(t, "34-16-16 decimal10", s.Kinds[0].Format.ID+" "+s.Kinds[0].Form)
	assert.Equal(t, []uint64{636}, s.Kinds[0].Cards[0].Facilities)
	assert.Equal(t, []uint64{638}, s.Kinds[0].Cards[1].Facilities)
	assert.True(t, s.Kinds[1].Serials)
}

// Numbers out of a small block, of which a print could be one with a digit behind it: no number has two such digits.
// And a form that writes a read is the one that it is in, in whatever case.
func TestPlainNumbersAndReads(t *testing.T) {
	var numbers, reads []string
	for i := range 40 {
		numbers = append(numbers, fmt.Sprint(25000+i*7%60))
		reads = append(reads, fmt.Sprintf("32:%08x", 0x5A000000+i*77))
	}
	s, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
	require.NoError(t, err)
	require.NotEmpty(t, s.Kinds)
	assert.Equal(t, "number", s.Kinds[0].Form)
	s, err = survey.New(formats.Builtin(), column(reads), survey.Options{})
	require.NoError(t, err)
	require.NotEmpty(t, s.Kinds)
	assert.Equal(t, "bits-hex", s.Kinds[0].Form)
}

// Numbers of two kinds that are written in two ways are of two, however well the whole numbers of one kind explain the
// numbers alone of the other. The decimals are facility · 2^19 + number (common practice, no source).
func TestTwoWaysOfWritingTwoKinds(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 5))
	var all []string
	for range 45 {
		all = append(all, fmt.Sprint(29_607+rnd.IntN(235)),
			fmt.Sprint([]uint64{14_465, 48_504}[rnd.IntN(2)]<<19+213_400+rnd.Uint64N(250)))
	}
	s, err := survey.New(formats.Builtin(), column(all), survey.Options{})
	require.NoError(t, err)
	assert.Equal(t, s.Rows, s.Read)
	for _, k := range s.Kinds {
		whole := k.Format.ID == "37-16-19" && (k.Form == "decimal" || k.Form == "decimal10")
		assert.True(t, whole || k.Form == "number" && k.Probability < 0.99, "%s %s", k.Format.ID, k.Form)
		assert.Equal(t, 45, k.Rows)
	}
	assert.Len(t, s.Kinds, 2)
}

// Numbers of two kinds in one form are not stated to be of one: cards of 15 bits of facility
// and 15 of number, and chip serials, all in ten digits of decimal, as one door shows them. The two are drawn here.
func TestTwoKindsInOneForm(t *testing.T) {
	for seed := range uint64(8) {
		rnd := rand.New(rand.NewPCG(seed, 55))
		facility, first := 8000+rnd.IntN(16_000), rnd.IntN(32_000)
		var numbers []string
		for i := range 30 {
			if i%3 == 0 {
				numbers = append(numbers, fmt.Sprintf("%010d", facility<<15|(first+rnd.IntN(700))))
			} else {
				numbers = append(numbers, fmt.Sprintf("%010d", 1<<20+rnd.Uint32N(1<<32-1<<20)))
			}
		}
		found, err := survey.New(formats.Builtin(), column(numbers), survey.Options{})
		require.NoError(t, err)
		for _, k := range found.Kinds {
			if k.Format.Facility() >= 0 && k.Format.ID != "32-15-15" {
				assert.LessOrEqual(t, k.Probability, 0.9, "seed %d: %s as %s", seed, k.Format.ID, k.Form)
			}
		}
	}
}
