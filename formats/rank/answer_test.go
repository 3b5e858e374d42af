package rank

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// cardOf makes a card of the frozen catalogue from its fields, and its read.
func cardOf(t *testing.T, id string, values ...uint64) (formats.Card, wiegand.Bits) {
	t.Helper()
	c := frozenCatalogue(t).Find(id)[0].Blank()
	for i, v := range values {
		var err error
		c, err = c.With(i, fmt.Sprint(v))
		require.NoError(t, err)
	}
	return c, c.Record.Encode()
}

func TestNamed(t *testing.T) {
	for _, test := range []struct {
		places []int
		want   string
	}{
		{[]int{3}, "card 3"}, {[]int{3, 3}, "card 3"}, {[]int{1, 1, 4}, "cards 1, 4"}, {[]int{1, 2, 3, 4, 5, 6, 7, 8},
			"cards 1, 2, 3, 4, 5, 6, 7, 8"},
		{[]int{1, 2, 3, 4, 5, 6, 7, 8, 9}, "cards 1, 2, 3, 4, 5, 6, 7, 8 and 1 more"},
		{[]int{1, 2, 3, 4, 5, 6, 7, 8, 9, 9, 11}, "cards 1, 2, 3, 4, 5, 6, 7, 8 and 2 more"},
	} {
		assert.Equal(t, test.want, named(test.places))
	}
	assert.Equal(t, "1 read", words.Count(1, "read"))
	assert.Equal(t, "0 reads", words.Count(0, "read"))
	assert.Equal(t, "2 reads", some(2, 2, "read"))
	assert.Equal(t, "1 of 2 reads", some(1, 2, "read"))
	assert.Equal(t, "1 read", some(1, 1, "read"))
	for n, want := range []string{"all 0 checks hold", "the check holds", "both checks hold", "all 3 checks hold"} {
		assert.Equal(t, want, words.ChecksHold(n))
	}
}

// The facility speaks for a candidate where it repeats on different cards; the same card again, or one whose facility
// is not known, says nothing.
func TestFacilityLine(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	b, _ := cardOf(t, "26-8-16", 150, 46144)
	c, _ := cardOf(t, "26-8-16", 12, 46145)
	half := b
	half.Known = 1 << b.Format.Number()
	other, _ := cardOf(t, "26-0-24", 9876543)
	f, g := a.Format, other.Format
	for _, test := range []struct {
		format *formats.Format
		cards  []formats.Card
		want   string
	}{
		{f, []formats.Card{a, b}, "one facility, 150, on both cards"},
		{f, []formats.Card{{}, a, b}, "one facility, 150, on both cards"},
		{f, []formats.Card{half, b, a}, "one facility, 150, on both cards"},
		{f, []formats.Card{a, b, a}, "one facility, 150, on both cards"},
		{f, []formats.Card{a, c}, "2 facilities on 2 cards"},
		{f, []formats.Card{a, b, c}, "2 facilities on 3 cards"},
		{f, []formats.Card{a, a}, ""}, {f, []formats.Card{a, half}, ""}, {f, []formats.Card{a}, ""}, {f, nil, ""},
		{g, []formats.Card{other, other}, ""},
	} {
		cand := Candidate{Format: test.format, Cards: test.cards}
		assert.Equal(t, test.want, cand.facilityLine())
	}
	d, _ := cardOf(t, "26-8-16", 150, 46146)
	all := Candidate{Format: f, Cards: []formats.Card{a, b, d}}
	assert.Equal(t, "one facility, 150, on all 3 cards", all.facilityLine())
	assert.Equal(t, "150", all.firstKnown(f.Facility()))
	none := Candidate{Format: f, Cards: []formats.Card{{}, half}}
	assert.Empty(t, none.firstKnown(f.Facility()))
}

// Which prints and serials follow from the cards is said for each kind by itself, with the cards that stray.
func TestPrintLines(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	b, _ := cardOf(t, "26-8-16", 150, 46144)
	for _, test := range []struct {
		sightings []string
		how       []string
		want      []string
	}{
		{[]string{"26:32D687E=46143", "26:32D6881=46144"}, []string{"number"},
			[]string{"2 printed numbers: the card number (number)"}},
		{[]string{"26:32D687E=46143", "26:32D6881=46145"}, []string{"number"}, []string{
			"1 of 2 printed numbers: the card number (number)", "the number printed on card 2 does not follow from the read"}},
		{[]string{"150,46143", "9876544"}, []string{"pair"}, []string{
			"1 of 2 printed numbers: facility and card number (pair)",
			"the number printed on card 2 is written in none of these ways"}},
		{[]string{"26:32D687E=46142", "26:32D6881"}, []string{"number"},
			[]string{"the number printed on card 1 does not follow from the read"}},
		{[]string{"26:32D687E=46143=150,46143", "26:32D6881"}, []string{"number", "pair"},
			[]string{"2 printed numbers: the card number (number); facility and card number (pair)"}},
		{[]string{"26:32D687E=uid:96B43F11", "26:32D6881=uid:96B44011"}, []string{"its first 3 bytes"}, []string{
			"2 chip serials: facility and number together are its first 3 bytes"}},
		{[]string{"26:32D687E=uid:96B43F11=46143", "26:32D6881=uid:01020304"}, []string{"its first 3 bytes", "", "number"},
			[]string{
				"1 printed number: the card number (number)", "1 of 2 chip serials: facility and number together are its first 3 bytes",
				"the chip serial of card 2 does not appear in the read"}},
		{[]string{"26:32D687E", "26:32D6881"}, []string{"number"}, nil},
	} {
		c := Candidate{Format: a.Format, Cards: []formats.Card{a, b}, Printed: test.how}
		assert.Equal(t, test.want, c.printLines(parse(t, test.sightings...)), test.sightings)
	}
	empty := Candidate{Format: a.Format, Cards: []formats.Card{{}}, Printed: []string{"number"}}
	assert.False(t, empty.follows(0, wiegand.Bits{}, parse(t, "46143")[0][0]), "of a card that is not known nothing follows")
}

// What repairs are told of, each with its card and bit.
func TestRepairLines(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	c := Candidate{Format: a.Format, Fault: LostBit, Cards: []formats.Card{a, a, a, a}, Repairs: []Repair{
		{Fault: LostBit, Bit: 3, Ways: 1}, {}, {Fault: ExtraBit, Bit: 26, Ways: 2, Chance: 0.99}, {Fault: FlippedBit, Bit: 1,
			Ways: 13, Chance: 0.2},
	}}
	assert.Equal(t, []string{
		"card 1: bit 3 is missing from the read", "card 3: bit 26 of the read is one too many",
		"card 4: a bit was misread, and nothing tells which",
	}, c.repairLines())
	c = Candidate{Format: a.Format, Cards: []formats.Card{a}, Repairs: []Repair{{}}}
	assert.Empty(t, c.repairLines())
}

// The chance that checks hold anyway is told as a number up to 2^16, and as a power beyond.
func TestChanceOfChecks(t *testing.T) {
	var cards []formats.Sightings
	c := Candidate{Format: frozenCatalogue(t).Find("26-8-16")[0]}
	for n := 1; n <= 9; n++ {
		_, b := cardOf(t, "26-8-16", 1, uint64(n))
		cards, c.Repairs = append(cards, formats.Sightings{{Kind: formats.Read, Bits: b}}), append(c.Repairs, Repair{})
		of, want := words.Count(n, "different read"), fmt.Sprint(math.Exp2(float64(2*n)))
		if n == 1 {
			of = "1 read"
		}
		if n > 8 {
			want = "2^18"
		}
		line := strings.Replace(c.checkLine(cards), "different ", "", 1)
		assert.Equal(t, fmt.Sprintf("both checks hold in %s of 26 bits (by chance: once in %s)",
			strings.Replace(of, "different ", "", 1), want), line)
	}
	none := Candidate{Format: frozenCatalogue(t).Find("32-0-32")[0], Repairs: []Repair{{}}}
	assert.Equal(t, "1 read of 32 bits; the format has no check bits that could prove it",
		none.checkLine(parse(t, "32:ECE58673")))
	assert.Empty(t, none.checkLine(parse(t, "46143")), "no read, no checks")
}

// The fault that is shown is one that the checks need, unless they hold without it as well.
func TestHoldsAnyway(t *testing.T) {
	a, b := cardOf(t, "26-8-16", 150, 46143)
	for fault := SwappedLines; fault <= SwappedReversed; fault++ {
		c := Candidate{Format: a.Format, Fault: fault, Cards: []formats.Card{a}, Repairs: []Repair{{Fault: fault}}}
		assert.Equal(t, a.Format.Layout.Holds(fault.Undo(b)), c.holdsAnyway(), fault)
	}
	half := a
	half.Known = 1
	c := Candidate{Format: a.Format, Fault: SwappedLines, Cards: []formats.Card{{}, half},
		Repairs: []Repair{{}, {Fault: SwappedLines}}}
	assert.True(t, c.holdsAnyway(), "of what was not read no check is known")
}

// Two cards are the same where the format, what is known and the bits are.
func TestSameCard(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	b, _ := cardOf(t, "26-8-16", 150, 46144)
	other, half := a, a
	other.Format = b.Format
	half.Known = 1
	assert.True(t, sameCard(a, a))
	assert.True(t, sameCard(formats.Card{}, formats.Card{}))
	for _, c := range []formats.Card{b, other, half, {}} {
		assert.False(t, sameCard(a, c))
		assert.False(t, sameCard(c, a))
	}
}

// What a card and a population have to agree in.
func TestBelongs(t *testing.T) {
	a, _ := cardOf(t, "26-8-16", 150, 46143)
	number := a
	number.Known = 1 << a.Format.Number()
	facility := a
	facility.Known = 1 << a.Format.Facility()
	for _, test := range []struct {
		p    formats.Population
		c    formats.Card
		want bool
	}{
		{formats.Population{Format: "26-8-16"}, a, true},
		{formats.Population{Format: "26-0-24"}, a, false},
		{formats.Population{Format: "26-8-16"}, formats.Card{}, false},
		{formats.Population{Format: "26-8-16", Facilities: []uint64{1, 150}}, a, true},
		{formats.Population{Format: "26-8-16", Facilities: []uint64{1}}, a, false},
		{formats.Population{Format: "26-8-16", Facilities: []uint64{1}}, number, true},
		{formats.Population{Format: "26-8-16", Numbers: []formats.Range{{First: 1, Last: 5}, {First: 46143, Last: 46143}}}, a,
			true},
		{formats.Population{Format: "26-8-16", Numbers: []formats.Range{{First: 46144, Last: 46150}}}, a, false},
		{formats.Population{Format: "26-8-16", Numbers: []formats.Range{{First: 46100, Last: 46142}}}, a, false},
		{formats.Population{Format: "26-8-16", Numbers: []formats.Range{{First: 46144, Last: 46150}}}, facility, true},
		{formats.Population{Format: "26-8-16", Facilities: []uint64{150}, Numbers: []formats.Range{{First: 1, Last: 5}}}, a,
			false},
	} {
		assert.Equal(t, test.want, test.p.Belongs(&test.c), test.p)
	}
}

// A read that is all zeros or ones is told; a serial that is random only where it is of four bytes and begins with 08.
func TestRandomSerials(t *testing.T) {
	for text, want := range map[string]bool{"uid:08A1B2C3": true, "uid:09A1B2C3": false, "uid:80A1B2C3": false,
		"uid:08A1B2C3D4E5F6": false} {
		assert.Equal(t, want, randomSerial(parse(t, text)[0][0].Bits), text)
	}
	assert.Equal(t, "24, 26", lengthList([]int{24, 26}))
}

// A card in a keypad code's place has facility 0 on every card.
func TestPinLike(t *testing.T) {
	zero, _ := cardOf(t, "26-8-16", 0, 1234)
	one, _ := cardOf(t, "26-8-16", 1, 1234)
	half := zero
	half.Known = 1 << zero.Format.Number()
	for _, test := range []struct {
		cards []formats.Card
		want  bool
	}{{[]formats.Card{zero}, true}, {[]formats.Card{zero, zero}, true}, {[]formats.Card{zero, one}, false},
		{[]formats.Card{half}, false}, {nil, false}} {
		c := Candidate{Format: zero.Format, Cards: test.cards}
		assert.Equal(t, test.want, c.pinLike())
	}
}
