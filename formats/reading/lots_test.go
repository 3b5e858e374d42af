package reading

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// kinds are the cards of the tests below, whose numbers are made here by the published rule: a card of 26 or 34 bits is
// facility · 65536 + number as one decimal (SIA AC-01-1996.10; for 34 bits common practice, no source),
// and a serial is any number of 32 bits (ISO/IEC 14443-3).
func kind(format, printed string, facility ...uint64) formats.Population {
	return formats.Population{Format: format, Printed: printed, Facilities: facility}
}

// outcomes reads texts and says what each is: a card, or the kind of what is wrong.
func outcomes(p *Plan, texts ...string) (all []string) {
	for _, text := range texts {
		var s Seen
		if err := p.Read([]byte(text), &s); err != nil {
			all = append(all, string(err.(*Error).Kind))
			continue
		}
		c := s.Card()
		all = append(all, c.Format.ID+" "+Describe(&c))
	}
	return all
}

// Numbers that two kinds of a site can have are of the one whose numbers they go with, all of them together; and in
// doubt where they would go with both.
func TestNumbersOfTwoKindsAreOneQuestion(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	var serials, joined, counted []string
	for i := range 60 {
		serials = append(serials, fmt.Sprintf("%010d", rnd.Uint32()))
		joined = append(joined, fmt.Sprintf("24041%05d", 21_400+3*i))
		counted = append(counted, fmt.Sprintf("%010d", 1_084+7*i))
	}
	two := []formats.Population{kind("34-0-32", "number10"), kind("34-16-16", "joined")}
	p := settledOn(t, two, append(serials, joined...), Options{})
	assert.Equal(t, []string{"34-16-16 24041,21430"}, outcomes(p, "2404121430"))

	two = []formats.Population{kind("37-0-35", "number10"), kind("34-16-16", "number10", 38)}
	p = settledOn(t, two, counted, Options{})
	assert.Equal(t, []string{"ambiguous"}, outcomes(p, counted[7]))

	// every number of a kind that is printed with zeros before it: one habit, and no sixty oddities
	eight := make([]string, 60)
	for i := range eight {
		eight[i] = fmt.Sprintf("%08d", 8_600+i)
	}
	two = []formats.Population{kind("30-8-20", "pair", 0), kind("37-0-35", "number")}
	two[1].Numbers = []formats.Range{{First: 8_600, Last: 8_700}}
	p = settledOn(t, two, eight, Options{Second: []string{"hex"}})
	assert.Equal(t, []string{"37-0-35 8607"}, outcomes(p, "00008607"))
}

// A number that is one slip away from a card of one kind is not read as any card of another kind.
func TestASlipIsNoCardOfAnotherKind(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	var texts []string
	for i := range 60 {
		texts = append(texts, fmt.Sprint(rnd.Uint32()), fmt.Sprint(uint64(57_385)<<16+uint64(400+i)))
	}
	p := settledOn(t, []formats.Population{kind("34-16-16", "decimal", 57_385), kind("34-0-32", "number")}, texts,
		Options{})
	// 57385 · 65536 + 420 is 3760783780
	assert.Equal(t, []string{"34-16-16 57385,00420", "damaged", "damaged", "damaged"},
		outcomes(p, "3760783780", "3760738780", "3769783780", "376078780"))
	assert.Equal(t, []string{"34-0-32 1299709431"}, outcomes(p, "1299709431"))

	// The same where a spreadsheet has taken the zeros before all of them: 0010658269 is 162 · 65536 + 41437.
	texts = nil
	for i := range 60 {
		texts = append(texts, fmt.Sprint(rnd.Uint32()), fmt.Sprint(162<<16+41_400+i))
	}
	p = settledOn(t, []formats.Population{kind("24-8-16", "decimal10", 162), kind("34-0-32", "number10")}, texts,
		Options{})
	assert.Equal(t, []string{"24-8-16 162,41437", "damaged", "34-0-32 299709431"},
		outcomes(p, "10658269", "106558269", "299709431"))
}

// A pair that has lost a zero in the middle is no card of another kind: 13149,000099 without one of its zeros is not
// 13149,00099 in two halves of 16 bits.
func TestAZeroLostInTheMiddle(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 12))
	own := kind("37-16-19", "pair", 13_149)
	own.Numbers = []formats.Range{{First: 1, Last: 100}}
	var sample []string
	for i := range 40 {
		v := rnd.Uint32()
		sample = append(sample, fmt.Sprintf("13149,%06d", 1+2*i), fmt.Sprintf("%05d,%05d", v>>16, v&0xFFFF))
	}
	p := settledOn(t, []formats.Population{kind("32-0-32", "words"), own}, sample, Options{})
	assert.Equal(t, []string{"37-16-19 13149,000099", "damaged", "32-0-32 966171542"},
		outcomes(p, "13149,000099", "13149,00099", "14742,39830"))
}

// A list that fills all its numbers up with zeros has the site's cards all the same.
func TestAllNumbersFilledUp(t *testing.T) {
	var all []string
	for i := range 60 {
		all = append(all, fmt.Sprintf("%010d", 300+7*i))
	}
	p := settledOn(t, []formats.Population{kind("26-8-16", "number", 121)}, all, Options{})
	assert.Equal(t, []string{"26-8-16 121,00307"}, outcomes(p, "0000000307"))
}

// A number in hex that has some zeros before it, and yet not all its digits, is no card of a kind with more digits:
// those of 24 bits have 6, those of 32 have 8.
func TestHexThatKeptItsZeros(t *testing.T) {
	var sample []string
	for i := range 40 {
		if text := fmt.Sprintf("%06X", 20+17*i); digitsOnly(text) {
			sample = append(sample, strings.TrimLeft(text, "0")) // which a spreadsheet took for a number
		} else {
			sample = append(sample, text)
		}
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "hex"), kind("26-0-24", "hex")}, sample, Options{})
	assert.Equal(t, []string{"26-0-24 173"}, outcomes(p, "0000AD")) // 173 = 10 · 16 + 13
}

// Digits without a letter among numbers in hex of a kind that the site file does not have are of that kind: they are no
// numbers of a kind that it has.
func TestDigitsAmongStrangersInHex(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 10))
	own := kind("26-8-16", "number", 154)
	own.Numbers = []formats.Range{{First: 1, Last: 200}, {First: 18_574, Last: 18_673}}
	var sample []string
	for i := range 20 {
		sample = append(sample, fmt.Sprint(18_600+3*i), fmt.Sprint(3+9*i))
	}
	for range 60 {
		sample = append(sample, fmt.Sprintf("%010x", 1+rnd.IntN(900)))
	}
	p := settledOn(t, []formats.Population{own}, sample, Options{})
	assert.Equal(t, []string{"26-8-16 154,00102", "damaged"}, outcomes(p, "102", "0000000102"))
}

// A card of a number that the site does not have is no card of another kind, whatever zeros the column has lost.
func TestACardOfNoBlockIsNoOtherKind(t *testing.T) {
	own := kind("37-16-19", "joined", 5)
	own.Numbers = []formats.Range{{First: 1, Last: 1000}, {First: 15_707, Last: 16_706}}
	var sample []string
	for i := range 40 { // facility 5 in five digits, the number in six
		sample = append(sample, fmt.Sprint(5_000_301+3*i), fmt.Sprint(5_015_759+5*i))
	}
	p := settledOn(t, []formats.Population{kind("37-0-35", "number"), own}, append(sample, "5031992", "7906420175"),
		Options{})
	assert.Equal(t, []string{"37-0-35 7906420175", "ambiguous"}, outcomes(p, "7906420175", "5031992"))
}

// What no form writes so is not taken for a card, since a sign or a digit of it may be lost.
func TestTextsThatNoFormWrites(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	var words, pairs []string
	for i := range 40 {
		v := rnd.Uint32()
		words = append(words, fmt.Sprintf("%05d,%05d", v>>16, v&0xFFFF))
		pairs = append(pairs, fmt.Sprintf("242,%07d", 1_700+i))
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "words")}, words, Options{})
	assert.Equal(t, []string{"34-0-32 1575572514", "unreadable"}, outcomes(p, "24041,21538", "2404121538"))

	// a whole read has all its digits: 26:0000EA2 is number 1873 between its two parities, and 26:0000EA was left of one
	reads := []string{"26:0000EA2", "26:0000EA8", "26:0000EAB", "26:0000EAE"}
	p = settledOn(t, []formats.Population{kind("26-0-24", "bits-hex")}, reads, Options{})
	assert.Equal(t, []string{"unreadable"}, outcomes(p, "26:0000EA"))
	assert.Equal(t, []string{"26-0-24 117"}, outcomes(p.AsIs(), "26:0000EA"))

	p = settledOn(t, []formats.Population{kind("30-8-20", "pair", 242)}, pairs, Options{})
	assert.Equal(t, []string{"30-8-20 242,0001708", "damaged"}, outcomes(p, "242,0001708", "242,00017008"))

	p = settledOn(t, []formats.Population{kind("26-0-24", "number")}, []string{"377", "378", "412"}, Options{})
	assert.Equal(t, []string{"damaged", "26-0-24 378"}, outcomes(p, "0", "378"))
	assert.Equal(t, []string{"26-0-24 0"}, outcomes(p.AsIs(), "0"))
}

// Where one kind of a site is written with its first digits left out, a number of that form is no card of another kind.
func TestFormsThatDropDigitsOfOneKind(t *testing.T) {
	both := []formats.Population{kind("34-0-32", "pair24"), kind("26-0-24", "pair24")}
	p := settledOn(t, both, []string{"028,40762", "121,00043"}, Options{})
	assert.Equal(t, []string{"ambiguous", "ambiguous"}, outcomes(p, "028,40762", "121,00043"))
	p = settledOn(t, both[1:], []string{"028,40762", "121,00043"}, Options{})
	assert.Equal(t, []string{"26-0-24 7929899"}, outcomes(p, "121,00043")) // 121 · 65536 + 43
}

// A pair can be the low 24 bits of a card of another kind, whose form shows no more: it is not read as one of a kind
// that has it whole.
func TestAPairCanBeAnEnd(t *testing.T) {
	sample := []string{"0,18558", "00000046", "120,14678", "00044151", "00043295", "209,13909", "125,1844", "208,21904",
		"84,01491", "00000009", "00000047", "00000008"}
	p := settledOn(t, []formats.Population{kind("26-8-16", "pair"), kind("34-16-16", "number", 2905),
		kind("32-0-32", "pair24")}, sample, Options{})
	assert.Equal(t, []string{"ambiguous", "ambiguous"}, outcomes(p, "120,14678", "209,13909"))
}

// So can a number by itself be: sixteen of twenty random numbers of 32 bits do not have eight zeros before them, but
// those of 24 bits do. Nor is one that is as printed taken for one in a door's form.
func TestANumberCanBeAnEnd(t *testing.T) {
	rnd := rand.New(rand.NewPCG(33, 34))
	var ends, whole []string
	for range 16 {
		ends, whole = append(ends, fmt.Sprint(rnd.Uint32N(1<<24))), append(whole, fmt.Sprint(1<<31|rnd.Uint32()))
	}
	two := []formats.Population{kind("42-0-40", "number24"), kind("34-0-32", "number")}
	for _, sample := range [][]string{append(whole, ends...), ends[:1]} {
		for _, outcome := range outcomes(settledOn(t, two, sample, Options{}), ends[:1]...) {
			assert.Equal(t, "ambiguous", outcome)
		}
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "number24")}, ends, Options{Second: []string{"number"}})
	var s Seen
	var e *Error
	require.ErrorAs(t, p.Read([]byte(ends[0]), &s), &e)
	assert.True(t, e.LeavesOut(), e.Reason)
}

// A form that shows the end of a number alone is read where the site has one number that ends so, among those of its
// blocks. By hand: 123456789 is 75BCD15 in hex, whose last three bytes are 5B (91) and CD15 (52501).
func TestEndsAreCompletedFromBlocks(t *testing.T) {
	tags := kind("34-0-32", "pair24")
	tags.Numbers = []formats.Range{{First: 123_456_000, Last: 123_459_000}}
	cards := kind("26-8-16", "pair", 91)
	cards.Numbers = []formats.Range{{First: 100, Last: 400}}
	p := settledOn(t, []formats.Population{tags, cards}, []string{"091,52501", "091,52777", "091,00200"}, Options{})
	got := outcomes(p, "091,52501", "091,52777", "091,00200", "091,20300", "092,00300")
	assert.Equal(t, []string{"34-0-32 123456789", "34-0-32 123457065", "26-8-16 091,00200"},
		got[:3])
	for _, outcome := range got[3:] {
		assert.NotContains(t, outcome, "34-0-32")
	}
	two := tags // blocks that have two such numbers tell nothing
	two.Numbers = append([]formats.Range{{First: 123_456_000 + 1<<24, Last: 123_459_000 + 1<<24}}, tags.Numbers...)
	p = settledOn(t, []formats.Population{two}, []string{"091,52501", "091,52777"}, Options{})
	assert.NotContains(t, outcomes(p, "091,52501")[0], "34-0-32")
}

// A few numbers of one kind, filled up with zeros by a spreadsheet as those of another kind are, can be converted as no
// third kind: what few rows have is still what a row can be. 26-8-16 without its facility has no decimal (SIA
// AC-01-1996.10: it is facility · 65536 + number).
func TestFewAmongManyPaddedAreInDoubt(t *testing.T) {
	rnd := rand.New(rand.NewPCG(31, 32))
	var sample, few []string
	for range 34 {
		sample = append(sample, fmt.Sprintf("%010d", 50_562+rnd.IntN(500)))
	}
	for range 11 {
		sample = append(sample, fmt.Sprint(2_000_000_000+rnd.Int64N(2_000_000_000)))
	}
	for range 5 {
		few = append(few, fmt.Sprintf("%010d", 1_600+rnd.IntN(200)))
	}
	p := settledOn(t, []formats.Population{
		{Format: "34-0-32", Printed: "number10"},
		{Format: "24-0-24", Printed: "number", Numbers: []formats.Range{{First: 50_562, Last: 51_061}}},
		{Format: "26-8-16", Printed: "number"},
	}, append(sample, few...), Options{Second: []string{"decimal10"}})
	form, _ := formats.FormByName("decimal10")
	c, err := NewConverter(p, form)
	require.NoError(t, err)
	for _, text := range few {
		_, err := c.Convert(nil, []byte(text))
		assert.Error(t, err, text)
	}
	for _, text := range sample[34:] {
		got, err := c.Convert(nil, []byte(text))
		assert.NoError(t, err, text)
		assert.Equal(t, text, string(got))
	}
}

// What every row of a column has, such as white space after the comma, is the column's habit, and says nothing of
// cards that the site does not have; nor does a facility that was typed wrong here and there.
func TestHabitsAreNoStrangers(t *testing.T) {
	own := kind("26-8-16", "hex", 198)
	for _, sign := range []string{", ", "  "} {
		sample := []string{"1998" + sign + "07102", "918" + sign + "06590", "298" + sign + "07137"}
		for i := range 120 {
			sample = append(sample, fmt.Sprintf("198%s%05d", sign, 5720+13*i))
		}
		p := settledOn(t, []formats.Population{own}, sample, Options{Forms: []string{"pair"}})
		assert.Equal(t, []string{"26-8-16 198,05733"}, outcomes(p, "198"+sign+"05733"), sign)
	}
}

// The same card in the form that is printed and in that of a door is one, and as printed: zeros that were lost raise no
// doubt of it.
func TestZerosLostOfACardThatADoorWritesWithout(t *testing.T) {
	var sample []string
	for i := range 60 {
		sample = append(sample, fmt.Sprint(9_828_000+7*i))
	}
	p := settledOn(t, []formats.Population{kind("26-0-24", "number10")}, sample, Options{Second: []string{"decimal"}})
	var seen Seen
	require.NoError(t, p.Read([]byte("9828007"), &seen))
	assert.Equal(t, "number10", seen.Reading.Form.Name)
	assert.False(t, seen.Reading.Second())
}
