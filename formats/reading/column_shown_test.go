package reading

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// The form is taken from a list only where its numbers can be cards of the site in one way. 87*65536+2637 = 5704269,
// by hand; 2637 as all 24 bits is number 2637 of facility 0, which is no card where the facility is known.
func TestShownForm(t *testing.T) {
	tests := []struct {
		name       string
		facilities []uint64
		samples    []string
		want       string
	}{
		{"numbers of a known facility", []uint64{87}, []string{"2637", "2638", "x"}, "number"},
		{"numbers of any facility", nil, []string{"2637", "2638"}, ""},
		{"numbers of a facility that may be 0", []uint64{0, 87}, []string{"2637"}, ""},
		{"pairs of any facility", nil, []string{"087,02637", "087,02638"}, "pair"},
		{"ten digits", []uint64{87}, []string{"0005704269", "0005704270"}, "decimal10"},
		{"mostly words", []uint64{87}, []string{"2637", "x", "y"}, ""},
		{"another facility", []uint64{88}, []string{"087,02637"}, ""},
	}
	for _, tt := range tests {
		p := formats.Population{Format: "26-8-16", Facilities: tt.facilities}
		assert.Equal(t, tt.want, ShownForm(formats.Builtin(), &p, tt.samples), tt.name)
	}
}

// What chance lets another form read does not keep the form of a list from being seen: the checks of the frame of 26
// bits are right for one number in four taken for a whole read, and digits without a letter are hex (SIA AC-01-1996.10;
// hex: arithmetic). Of a few numbers it is not known. Of two kinds each is seen among what is left.
func TestShownFormBesideChance(t *testing.T) {
	var padded, six, decimal, pairs []string
	for n := range 60 {
		padded = append(padded, fmt.Sprintf("%010d", 1+7*n))
		six = append(six, padded[n][4:])
		decimal = append(decimal, fmt.Sprint(87<<16|(1+7*n)))
		pairs = append(pairs, fmt.Sprintf("00194,%05d", 1001+5*n))
	}
	wide := formats.Population{Format: "26-0-24", Numbers: []formats.Range{{First: 1, Last: 500}}}
	assert.Equal(t, "number10", ShownForm(formats.Builtin(), &wide, padded))
	assert.Equal(t, "number", ShownForm(formats.Builtin(), &wide, six))
	assert.Empty(t, ShownForm(formats.Builtin(), &wide, six[:20]), "hex as well")
	cards := Shown(formats.Builtin(), []formats.Population{{Format: "26-8-16", Facilities: []uint64{87}},
		{Format: "34-16-16", Facilities: []uint64{194}}}, slices.Concat(pairs, decimal[:50]), Options{})
	assert.Equal(t, "decimal", cards[0].Printed)
	assert.Equal(t, "pair", cards[1].Printed)
}

// 35 bits are 9 digits in hex, and 10 where they are filled up to whole bytes: a column has one or the other. The
// numbers are written by fmt, and read by strconv.
func TestHexOfWholeBytesOrNot(t *testing.T) {
	rnd := rand.New(rand.NewPCG(35, 9))
	for _, width := range []int{9, 10} {
		var texts []string
		for range 60 {
			texts = append(texts, fmt.Sprintf("%0*X", width, rnd.Uint64()>>29))
		}
		c, err := Settle(formats.Builtin(), []formats.Population{kind("37-0-35", "hex")}, slices.Values(texts), Options{})
		require.NoError(t, err)
		for text, cell := range c.All(slices.Values(texts)) {
			require.Equal(t, IsCard, cell.Outcome, "%s %v", text, cell.Err)
			n, ok := cell.Cards[0].Card.Number()
			want, err := strconv.ParseUint(text, 16, 64)
			require.NoError(t, err)
			assert.True(t, ok && n == want, text)
			assert.Empty(t, cell.Repair, text)
			written, err := c.Plan().Readings()[0].Text(&cell.Cards[0].Card)
			assert.NoError(t, err)
			assert.Equal(t, text, written)
		}
		short := "00A1B2C3D4"[:width-1]
		assert.Equal(t, Damaged, c.Read(short).Err.Kind, "a digit of %d may be missing anywhere", width)
	}
}

// The form of a list is the one by which its numbers lie together: serials that count up, in either order of bytes. Of
// serials that lie anyhow, or have one byte alike, it is not known.
func TestShownFormByWhereNumbersLie(t *testing.T) {
	rnd := rand.New(rand.NewPCG(21, 22))
	turn := func(n uint32) uint32 { return bits.ReverseBytes32(n) }
	lists := map[string]func(n int) string{
		"uid-reversed": func(n int) string { return fmt.Sprintf("%08X", turn(0x5B949D10+uint32(3*n))) },
		"hex":          func(n int) string { return fmt.Sprintf("%08X", 0x5B949D10+uint32(3*n)) },
		"number10":     func(n int) string { return fmt.Sprintf("%010d", 18_265+3*n) },
		"spread":       func(int) string { return fmt.Sprintf("%08X", rnd.Uint32()) },
		"one byte":     func(int) string { return fmt.Sprintf("%08X", rnd.Uint32()>>8|0x04<<24) },
	}
	for form, text := range lists {
		var samples []string
		for n := range 24 {
			samples = append(samples, text(n))
		}
		want := form
		if form == "spread" || form == "one byte" {
			want = ""
		}
		assert.Equal(t, want, ShownForm(formats.Builtin(), &formats.Population{Format: "34-0-32"}, samples), form)
	}
}

// Digits may be hex beside texts that can't be read, however near one another they lie as decimal numbers.
func TestShownFormOfDigitsThatMayBeHex(t *testing.T) {
	var texts []string
	for n := range 50 {
		if text := fmt.Sprintf("%08X", n+1); digitsOnly(text) {
			texts = append(texts, text)
		} else {
			texts = append(texts, "?"+text)
		}
	}
	fobs := formats.Population{Format: "34-0-32", Numbers: []formats.Range{{First: 1, Last: 300}}}
	assert.Empty(t, ShownForm(formats.Builtin(), &fobs, texts))
}

// What two kinds can have as a card is of the one whose numbers it goes with: 225,34296 as joined digits, and the
// numbers of fobs beside them, which have as many digits.
func TestShownFormOfTwoKindsAlike(t *testing.T) {
	var texts []string
	for n := range 40 {
		texts = append(texts, fmt.Sprintf("225%05d", 34_296+7*n), fmt.Sprint(48_224_318+5*n))
	}
	cards := Shown(formats.Builtin(), []formats.Population{{Format: "34-0-32"},
		{Format: "26-8-16", Facilities: []uint64{225}}}, texts, Options{})
	assert.Equal(t, "number", cards[0].Printed)
	assert.Equal(t, "joined", cards[1].Printed)
}

// Numbers in which a digit was typed twice are more of one form's cards than of another's, and say nothing: facility
// 4378 and number 8541 side by side, 04378 and 08541, are 6680 and 28061 of all bits as one number.
func TestShownFormBesideSlips(t *testing.T) {
	texts := []string{"1152", "1153", "1184", "2238", "2246", "3313"} // 152, 153, 184, 238, 246, 313
	for n := range 28 {
		texts = append(texts, fmt.Sprintf("04378%05d", 8_541+2*n))
		if n%7 == 0 {
			texts = append(texts, fmt.Sprintf("00437%06d", 808_542+2*n)) // a zero too many
		}
	}
	for n := range 20 {
		texts = append(texts, fmt.Sprint(152+7*n))
	}
	doors := kind("36-0-34", "number")
	doors.Numbers = []formats.Range{{First: 142, Last: 342}}
	cards := Shown(formats.Builtin(), []formats.Population{kind("34-16-16", ""), doors}, texts, Options{})
	assert.Empty(t, cards[0].Printed)
}

// Pairs of the low 24 bits of serials can be words as well, whose first half has too few digits: a form is not settled
// that makes whole cards of them. Words of whole serials are.
func TestShownFormsThatLeaveBitsOut(t *testing.T) {
	rnd := rand.New(rand.NewPCG(41, 42))
	tags := kind("34-0-32", "")
	var pairs, bare, words []string
	for range 30 {
		v := rnd.Uint32()
		pairs = append(pairs, fmt.Sprintf("%03d,%05d", v>>16&0xFF, v&0xFFFF))
		bare = append(bare, fmt.Sprintf("%d,%d", v>>16&0xFF, v&0xFFFF))
		words = append(words, fmt.Sprintf("%05d,%05d", v>>16, v&0xFFFF))
	}
	for _, texts := range [][]string{pairs, bare, pairs[:1]} {
		assert.NotEqual(t, "words", ShownForm(formats.Builtin(), &tags, texts), texts)
	}
	assert.Equal(t, "words", ShownForm(formats.Builtin(), &tags, words))
}

// TestEnding: a number of low 24 bits is the same with and without zeros in either half (arithmetic: 69·65536 + 7618
// is 4529602).
func TestEnding(t *testing.T) {
	for form, texts := range map[string][]string{
		"pair24": {"069,07618", "69,07618", "69,7618"}, "joined24": {"06907618", "6907618"}, "number24": {"4529602"},
	} {
		cards := []formats.Population{{Format: "42-0-40", Printed: form}}
		p, err := New(formats.Builtin(), site.Site{Cards: cards}, Options{})
		require.NoError(t, err)
		for _, text := range texts {
			low, ok := p.Readings()[0].Ending(text)
			assert.True(t, ok, text)
			assert.Equal(t, uint64(4529602), low, text)
		}
	}
}

// TestKindsThatNoOtherReads: rows with the facility that the site file says are no slips of rows that lie elsewhere,
// but cards of its kind, in the only form in which they can be.
func TestKindsThatNoOtherReads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(61, 62))
	var texts []string
	for i := range 18 {
		texts = append(texts, fmt.Sprintf("00099,%05d", 11601+i), fmt.Sprintf("37328,%06d", rnd.IntN(1<<19)))
	}
	texts = append(texts, "04801EE7D68E45", "04C74AE7AA4260", "04CF025F9ACA18")
	cards := Shown(formats.Builtin(), []formats.Population{{Format: "37-16-19", Facilities: []uint64{37328}},
		{Format: "58-0-56"}, {Format: "34-16-16", Printed: "pair", Numbers: []formats.Range{{First: 11601, Last: 11621}}},
	}, texts, Options{})
	assert.Equal(t, "pair", cards[0].Printed)
}

// TestFormBesideNumbersOfAnyLength: a kind in bare numbers of 56 bits can have any digits, and a box of another kind,
// whose form is not said, is no box of those with serials far from it as slips; also where a few more of that kind are
// written otherwise below. By hand: the data of 31 and 345950 are 31 · 524288 + 345950.
func TestFormBesideNumbersOfAnyLength(t *testing.T) {
	rnd := rand.New(rand.NewPCG(63, 64))
	var texts []string
	for i := range 84 {
		texts = append(texts, fmt.Sprintf("00031%06d", 345950+4*i))
	}
	for range 18 {
		texts = append(texts, fmt.Sprint(4<<48|rnd.Uint64()>>16))
	}
	for i := range 10 {
		texts = append(texts, fmt.Sprintf("%010d", 31*524288+346300+i))
	}
	cards := Shown(formats.Builtin(), []formats.Population{{Format: "37-16-19", Facilities: []uint64{31}},
		kind("56-0-56", "number")}, texts, Options{})
	assert.Equal(t, "joined", cards[0].Printed)
}

// TestFormsThatTheListChoseAreNotTold: the site file says no form of two kinds. What most rows show of each is no word
// that others are not written otherwise: bare numbers that lie by themselves can be either kind's, and are in doubt.
func TestFormsThatTheListChoseAreNotTold(t *testing.T) {
	var texts []string
	for i := range 40 {
		texts = append(texts, fmt.Sprint(295216+2*i), fmt.Sprintf("%010d", 116<<16+40300+2*i))
		if i < 25 {
			texts = append(texts, fmt.Sprint(40220+i))
		}
	}
	cards := Shown(formats.Builtin(), []formats.Population{{Format: "26-8-16", Facilities: []uint64{116}},
		{Format: "37-16-19", Facilities: []uint64{14824}}}, texts, Options{})
	p := settledOn(t, cards, texts, Options{})
	assert.Equal(t, []string{"37-16-19 14824,295216", "26-8-16 116,40300", "ambiguous"},
		outcomes(p, "295216", "0007642476", "40230"))
}
