package rank

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// besideTexts are texts of cards of a format and facility, each read with what is printed beside it.
func besideTexts(t *testing.T, id string, facility uint64, numbers []uint64,
	print func(i int, n uint64) string) (texts []string) {
	for i, n := range numbers {
		texts = append(texts, fmt.Sprintf("bits:%s=%s", readAs(t, id, facility, n), print(i, n)))
	}
	return texts
}

// TestUnreadCardsArePrintedAsTheRest: what reads say of prints holds for cards of which only the print is known, too.
// The reads are arithmetic; that offices put a sign between thousands, and some makers the facility last, is common
// practice, no source.
func TestUnreadCardsArePrintedAsTheRest(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for name, test := range map[string]struct {
		numbers []uint64
		print   func(i int, n uint64) string
	}{
		"the facility last": {[]uint64{310, 340, 355}, func(_ int, n uint64) string { return fmt.Sprintf("%d-186", n) }},
		"in thousands": {[]uint64{61056, 36456, 35827, 17810, 21240, 64145}, func(_ int, n uint64) string {
			return fmt.Sprintf("%d,%03d", n/1000, n%1000)
		}},
	} {
		texts := besideTexts(t, "26-8-16", 186, test.numbers, test.print)
		for i := len(texts) / 2; i < len(texts); i++ {
			_, texts[i], _ = strings.Cut(texts[i], "=")
		}
		ans, err := r.RankTexts(texts)
		require.NoError(t, err)
		assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID, name)
		assert.Greater(t, ans.Candidates[0].Probability, 0.9, name)
		for i, n := range test.numbers {
			got, _ := ans.Candidates[0].Cards[i].Number()
			assert.Equal(t, n, got, "%s: %s", name, texts[i])
		}
	}
}

// TestPairsInHexAmongDecimalPairs: of pairs in hex some have no letter, and look like those that have some, however
// other cards show theirs. The reads are arithmetic; such prints are common practice, no source.
func TestPairsInHexAmongDecimalPairs(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	hex, decimal := []uint64{0x6E8A, 0x506E, 0x9949, 0x2164}, []uint64{111, 271, 311}
	texts := slices.Concat(
		besideTexts(t, "26-8-16", 0x58, hex, func(_ int, n uint64) string { return fmt.Sprintf("58-%04X", n) }),
		besideTexts(t, "26-8-16", 165, decimal, func(_ int, n uint64) string { return fmt.Sprintf("165-%d", n) }))
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Contains(t, ans.Taken[0].As[2], "in hex")
	assert.Contains(t, ans.Taken[0].As[3], "in hex")
	assert.Equal(t, texts[4:], []string{textOf(ans, 4), textOf(ans, 5), textOf(ans, 6)})
}

// textOf is a read and what it is taken to have beside it.
func textOf(ans TextAnswer, card int) string {
	c := ans.Taken[0].Cards[card]
	return fmt.Sprintf("bits:%s=%s", c[0].Bits, c[1].Text)
}

// TestPrintsWithMoreOnThem: badges have an order number, a year or a check digit beside the card's number, or facility
// and number the other way round (common practice, no source; the check digit is that of ISO/IEC 7812-1, by which 5489
// has 0, 5502 has 0 and 5977 has 4, worked by hand). The reads are arithmetic.
func TestPrintsWithMoreOnThem(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	numbers := []uint64{5489, 5502, 5977}
	for _, test := range []struct {
		as    string
		least float64 // how sure: what is all data bits in hex can be one number as well
		print func(i int, n uint64) string
	}{
		{"a number with another behind it", 0.95, func(i int, n uint64) string { return fmt.Sprintf("%d-%d", n, 3+i*i) }},
		{"a number with another before it", 0.95, func(i int, n uint64) string { return fmt.Sprintf("%d/%d", 19+i*i, n) }},
		{"a number with more digits before it", 0.95, func(i int, n uint64) string { return fmt.Sprintf("%d%05d", 19+i/2, n) }},
		{"a number, then its facility", 0.95, func(_ int, n uint64) string { return fmt.Sprintf("%d,186", n) }},
		// 186 and 5489 are BA and 1571 in hex, so that all 24 bits are BA1571, and 7115BA with the last byte first
		{"a number with its last byte first", 0.9, func(_ int, n uint64) string {
			return fmt.Sprintf("%02X%02XBA", n&0xFF, n>>8)
		}},
		{"in hex", 0.9, func(_ int, n uint64) string { return fmt.Sprintf("BA-%04X", n) }},
		{"a number and its check digit", 0.95, func(i int, n uint64) string { return fmt.Sprintf("%d%d", n, [...]int{0, 0, 4}[i]) }},
	} {
		ans, err := r.RankTexts(besideTexts(t, "26-8-16", 186, numbers, test.print))
		require.NoError(t, err)
		assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID, test.as)
		assert.Greater(t, ans.Candidates[0].Probability, test.least, test.as)
		assert.Greater(t, ans.Taken[0].Probability, 0.9, test.as)
		for i, n := range numbers {
			assert.Contains(t, ans.Taken[0].As[i], test.as)
			got, _ := ans.Candidates[0].Cards[i].Number()
			assert.Equal(t, n, got)
		}
	}
}

// TestManyPrintsWithMoreOnThem: what is beside the numbers of hundreds of cards is weighed beside all of them.
func TestManyPrintsWithMoreOnThem(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var numbers []uint64
	for i := range uint64(300) {
		numbers = append(numbers, 17+i*i%7919)
	}
	ans, err := r.RankTexts(besideTexts(t, "26-8-16", 77, numbers, func(i int, n uint64) string {
		return fmt.Sprintf("%d-%d", n, 1+i*i*7%8)
	}))
	require.NoError(t, err)
	assert.Contains(t, ans.Taken[0].As[0], "a number with another behind it")
	assert.Greater(t, ans.Taken[0].Probability, 0.99)
	assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.99)
}

// TestPrintsAlone: numbers with an order number behind them are those numbers without a read, too, and not facilities
// that all have the same card.
func TestPrintsAlone(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{"66-41", "189-41", "150-41", "75-41", "12-41", "201-41"})
	require.NoError(t, err)
	assert.Contains(t, ans.Taken[0].As[0], "a number with another behind it")
	assert.Greater(t, ans.Taken[0].Probability, 0.6)
	ans, err = r.RankTexts([]string{"66,41", "66,1189", "66,5150", "66,975"})
	require.NoError(t, err)
	assert.Greater(t, ans.Taken[0].Probability, 0.9)
	facility, _ := ans.Candidates[0].Cards[0].Facility()
	assert.EqualValues(t, 66, facility)
}

// TestTwoStyles: some of the prints are written down as they stand, others without their zeros and with another sign
// between (common practice, no source), and one is typed wrong: the rare format is found all the same.
func TestTwoStyles(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	numbers := []uint64{71, 59, 131, 190, 167, 199, 192, 162, 47, 2}
	texts := besideTexts(t, "37-8-16", 175, numbers, func(i int, n uint64) string {
		switch {
		case i == 5:
			return "175,00899"
		case i%2 == 0:
			return fmt.Sprintf("175-%d", n)
		}
		return fmt.Sprintf("175,%05d", n)
	})
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	require.NotEmpty(t, ans.Candidates)
	assert.Equal(t, "37-8-16", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.9)
}

// TestPrintsTellMisreads: of six reads of a layout in no table, whose two parities are both over all 35 bits between
// them, two have a bit wrong, which their prints tell. The reads are arithmetic.
func TestPrintsTellMisreads(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{
		"37:A0005F701=194944", "37:1A0005F2FC=194942", "37:1A0005F33E=194975", "37:A000C7B79=409020", "37:A0005F349=194980",
		"37:A000C7B47=409011",
	})
	require.NoError(t, err)
	assert.Greater(t, ans.Unknown, 0.9)
}

// TestOrderNumberShowsAnUndocumentedSplit: 16 and 16 bits within 32 without a check are in no table, and a number with
// an order number behind it shows where they part; asset numbers with the same behind them show nothing.
func TestOrderNumberShowsAnUndocumentedSplit(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var bare, order, asset []string
	for i := range 12 {
		n := uint64(20011 + 7*i + i*i)
		bare = append(bare, fmt.Sprintf("bits:%032b", uint64(35013)<<16|n))
		order = append(order, fmt.Sprintf("bits:%032b=%d-%d", uint64(35013)<<16|n, n, 1+i%3))
		asset = append(asset, fmt.Sprintf("bits:%032b=%d-%d", uint64(35013)<<16|n, 7302+5*i*i, 1+i%3))
	}
	ans, err := r.RankTexts(order)
	require.NoError(t, err)
	require.NotEmpty(t, ans.Frames)
	assert.Greater(t, ans.Frames[0].Probability, 0.9)
	ans, err = r.RankTexts(asset)
	require.NoError(t, err)
	without, err := r.RankTexts(bare)
	require.NoError(t, err)
	assert.Equal(t, without.Candidates[0].Format.ID, ans.Candidates[0].Format.ID)
	assert.InDelta(t, without.Candidates[0].Probability, ans.Candidates[0].Probability, 0.03)
}

// TestFacilityAndNumberWithoutZeros: put together with nothing between and no zeros, 58 and 2737 are 582737.
func TestFacilityAndNumberWithoutZeros(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, facility := range []uint64{7, 58, 121} {
		ans, err := r.RankTexts(besideTexts(t, "26-8-16", facility, []uint64{43, 2737, 12771},
			func(_ int, n uint64) string { return fmt.Sprintf("%d%d", facility, n) }))
		require.NoError(t, err)
		assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
		assert.Greater(t, ans.Candidates[0].Probability, 0.97)
		assert.Equal(t, []string{"joined"}, ans.Candidates[0].Printed)
	}
}

// TestWholeReadOfAnotherReader: a desk reader shows the whole read, while the two wires at the door are swapped, so
// that each bit is the other one there.
func TestWholeReadOfAnotherReader(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for _, n := range []uint64{5489, 5502, 5977} {
		read := readAs(t, "37-16-19", 1186, n)
		whole, _ := read.Uint64()
		texts = append(texts, fmt.Sprintf("bits:%s=%d", read.Invert(), whole))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	best := ans.Candidates[0]
	assert.Equal(t, "37-16-19", best.Format.ID)
	assert.Equal(t, SwappedLines, best.Fault)
	assert.Less(t, ans.Unknown, 0.01, "the rest is 37-0-35, which has the same checks")
	assert.Contains(t, fmt.Sprint(best.Evidence(ans.Taken[0].Cards)), "the whole read, checks and all")
}

// TestDigitsInHex: prints of digits alone beside reads can be hex that happens to have no letter, or decimal digits;
// the reads say which (arithmetic: facility 0x45 and number 0x2017 in 8 and 16 bits are 0x452017).
func TestDigitsInHex(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for _, n := range []uint64{0x2017, 0x2093, 0x2116} {
		texts = append(texts, fmt.Sprintf("bits:%s=%06X", readAs(t, "26-8-16", 0x45, n), 0x45<<16|n))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.6) // decimal digits of 4 bits each are another
	assert.Contains(t, ans.Taken[0].As[0], "a number in hex")
	// Some have letters, and some too few digits for hex by themselves.
	ans, err = r.RankTexts([]string{fmt.Sprintf("bits:%s=%X", readAs(t, "34-16-16", 4321, 0x255D), 0x255D),
		fmt.Sprintf("bits:%s=%X", readAs(t, "34-16-16", 4321, 0x36), 0x36),
		fmt.Sprintf("bits:%s=%X", readAs(t, "34-16-16", 4321, 0x6360), 0x6360),
		fmt.Sprintf("bits:%s=%X", readAs(t, "34-16-16", 4321, 0xBDDD), 0xBDDD)})
	require.NoError(t, err)
	assert.Equal(t, "34-16-16", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.9)
}

// TestWholeReadsBesideMisreads: what a desk reader shows of each card is its whole read as it should be, so that it
// says what a read with a bit lost or misread should have been (arithmetic).
func TestWholeReadsBesideMisreads(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for i := range 12 {
		read := readAs(t, "26-8-16", 133, uint64(25239+i*i*211))
		v, _ := read.Uint64()
		switch i {
		case 3:
			read = read.WithBit(14, 1-read.Bit(14))
		case 7:
			read, _ = read.Delete(11)
		}
		texts = append(texts, fmt.Sprintf("bits:%s=%07X", read, v))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.9)
	for i, c := range ans.Candidates[0].Cards {
		n, ok := c.Number()
		assert.True(t, ok && n == uint64(25239+i*i*211), "card %d: %d", i+1, n)
	}
}

// TestDigitsThatFitTwice: what is printed follows from six keys of a keypad, and in hex from a facility and a number,
// which are sixty times likelier by the read alone. 0x11 is 17 and 0x3238 is 12856, says bc.
func TestDigitsThatFitTwice(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	read := readAs(t, "26-8-16", 17, 12856).String()
	number := func(c Candidate) uint64 { n, _ := c.Cards[0].Number(); return n }
	for print, least := range map[string]float64{"113238": 0.3, "11-3238": 0.05} {
		ans, err := r.RankTexts([]string{"bits:" + read + "=" + print})
		require.NoError(t, err)
		sum := 0.0
		for _, c := range ans.Candidates {
			if c.Format.ID == "26-8-16" && number(c) == 12856 {
				sum += c.Probability
			}
		}
		assert.Greater(t, sum, least, print)
	}
}

// TestOnePrintInHexAmongDecimals: of prints that follow from both the facility and number of a format and other parts
// of its frame, one that follows from neither leaves that open.
func TestOnePrintInHexAmongDecimals(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, print := range []string{"9999", "hex:A7B9", "hex:A7B9C1"} {
		var texts []string
		for i, number := range []uint64{113, 147, 198, 7} {
			text := "bits:" + readAs(t, "32-15-15", 21176, number).String() + "=" + fmt.Sprint(number)
			if i == 3 {
				text = text[:strings.Index(text, "=")+1] + print
			}
			texts = append(texts, text)
		}
		ans, err := r.RankTexts(texts)
		require.NoError(t, err)
		at := slices.IndexFunc(ans.Frames, func(f Frame) bool { return f.Format.ID == "32-15-15" })
		require.GreaterOrEqual(t, at, 0, print)
		assert.InDelta(t, 0.35, ans.Frames[at].Probability, 0.35, print) // 0.35 without that card
		assert.Greater(t, ans.Frames[at].Probability, 0.02, print)
	}
}

// TestTwoPrintsOfAnUndocumentedLayout: cards show their number, and all of their data as one decimal of ten digits
// (common practice, no source). A layout that no table has, a facility of 8 bits and a number of 26 between two
// parities, says both: 3 << 26 is 201326592, says bc. A format that needs a lost bit in every read for that does not
// come before it because it says both as well.
func TestTwoPrintsOfAnUndocumentedLayout(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for _, n := range []uint64{62, 18, 83, 72, 124} {
		data := fmt.Sprintf("%08b%026b", 3, n)
		first, last := strings.Count(data[:17], "1")%2, 1-strings.Count(data[17:], "1")%2
		texts = append(texts, fmt.Sprintf("bits:%d%s%d=%d=%010d", first, data, last, n, 201326592+n))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	for _, c := range ans.Candidates {
		assert.True(t, c.Format.ID == "36-0-34" || c.Probability < 0.5, "%s: %f", c.Format.ID, c.Probability)
	}
	assert.Empty(t, ans.First, "both are one card's")
}

// TestPairInHexWithLettersFirst: facility 12 is C in hex, and 22409, 22334 and 22370 are 5789, 573E and 5762, says bc.
// The number has a digit less than its field. Letters before digits alone are no label where other cards' digits have
// letters, too.
func TestPairInHexWithLettersFirst(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	texts := besideTexts(t, "30-8-20", 12, []uint64{22409, 22334, 22370, 22321}, func(_ int, n uint64) string {
		return fmt.Sprintf("C-%04X", n)
	})
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	require.NotEmpty(t, ans.Candidates)
	assert.Equal(t, "30-8-20", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.9)
	for _, as := range ans.Taken[0].As {
		assert.Equal(t, "a read of 30 bits, and a pair in hex", as)
	}
}

// TestTwoNumbersInHex: facility 21 is 15 in hex, and the numbers are written in four digits or, where they need them,
// in five. The sign stands before the number, wherever that is, and a number without a letter is in hex as the others
// are.
func TestTwoNumbersInHex(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	numbers := []uint64{0xE78, 0xECCB2, 0x187, 0xECC90, 0x165, 0x173, 0xE95, 0xECCA0, 0x16C, 0x1A5}
	for _, n := range numbers {
		texts = append(texts, fmt.Sprintf("15-%04X", n))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	best := ans.Candidates[0]
	assert.Equal(t, "35-12-20", best.Format.ID) // 30-8-20 and others have the same fields
	for i, n := range numbers {
		facility, _ := best.Cards[i].Facility()
		number, _ := best.Cards[i].Number()
		assert.Equal(t, [2]uint64{21, n}, [2]uint64{facility, number}, texts[i])
	}
}

// TestPrintsThatDifferAreNotOneNumber: cards of one facility of which some numbers have more than 16 bits are not one
// number with another behind it, since then all would have the same number.
func TestPrintsThatDifferAreNotOneNumber(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{"21-3704", "21-969906", "21-391", "21-70000", "21-81234"})
	require.NoError(t, err)
	for _, c := range ans.Candidates {
		if number, some := c.Cards[0].Number(); some && number == 21 {
			assert.Less(t, c.Probability, 0.05, c.Format.ID)
		}
	}
}

// TestTypedWrongBeyondTheOthers: of 50 cards in a row the last one is typed wrong, so that its number lies right behind
// the others, and the text is no card of the format at all. In a format with more room it is one, if one far off
// (arithmetic: 31·65536 + 20 is 2031636, in which others see facility 20 and number 31636).
func TestTypedWrongBeyondTheOthers(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for n := 20; n < 70; n++ {
		texts = append(texts, fmt.Sprintf("%010d", 31<<16|n))
	}
	texts[49] = "09" + texts[49][2:]
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	best := ans.Candidates[0]
	assert.Equal(t, "26-8-16", best.Format.ID)
	assert.Greater(t, best.Probability, 0.7)
}

// TestNumbersInHexOfDigitsAlone: numbers in hex are written without zeros before them, and some have no letter. Read in
// decimal, those would be of other cards.
func TestNumbersInHexOfDigitsAlone(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for n := uint64(0x197); n < 0x1F7; n += 4 {
		texts = append(texts, fmt.Sprintf("%X", n))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	for i, as := range ans.Taken[0].As {
		assert.Equal(t, "a number in hex", as, texts[i])
	}
}

// TestLotsPrintedOtherwise: two lots of one format, one printed in decimal and the other in hex, each with a facility
// of its own, are not reads of 32 bits beside prints of the low 24 (arithmetic: 92 and 86 are 5C and 56 in hex).
func TestLotsPrintedOtherwise(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for i := range uint64(24) {
		texts = append(texts, fmt.Sprintf("092,%05d", 1+37*i%200), fmt.Sprintf("56%04X", 0x2A1+23*i%97))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	best := ans.Candidates[0]
	assert.Equal(t, "26-8-16", best.Format.ID)
	assert.Greater(t, best.Probability, 0.9)
}

// TestManyTypedWrong: three of eight ten-digit decimals of one box are typed wrong, two of them a digit too long. Read
// in hex all would be cards, of two facilities (arithmetic: 29·65536 + 32077 is 1932621).
func TestManyTypedWrong(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{"0001932621", "00019332622", "0001932623", "0003932624", "00019332625", "0001932626",
		"0001932627", "0001932628"})
	require.NoError(t, err)
	for _, way := range ans.Taken {
		if way.As[0] == "a number in hex" {
			assert.Less(t, way.Probability, 0.1)
		}
	}
}

// TestOneMistakeTwice: in two of nine prints of a box of facility 421 the first digit is missing, and in a third it is
// there twice. That is no second facility of two cards, which 16 bits for each would hold, nor 32 bits in two halves,
// and each of the three is named for the card that it is (common practice, no source; the numbers are drawn by hand).
func TestOneMistakeTwice(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{"421,3107", "421,3130", "21,3112", "21,3119", "4421,3115", "421,3111", "421,3104",
		"421,3122", "421,3126"})
	require.NoError(t, err)
	first := &ans.Candidates[0]
	assert.Equal(t, "34-16-16", first.Format.ID)
	for i, want := range []uint64{3107, 3130, 3112, 3119, 3115, 3111, 3104, 3122, 3126} {
		facility, _ := first.Cards[i].Facility()
		number, _ := first.Cards[i].Number()
		assert.Equal(t, [2]uint64{421, want}, [2]uint64{facility, number}, "card %d", i+1)
	}
}

// TestOneDigitWrongAmongSteps: 44 numbers of 13 digits, of a stretch of which every tenth was given out, and one with a
// wrong digit that lies no further away than four times the stretch. It is typed wrong, rather than that all are reads
// in hex of which no table has the layout (common practice, no source). The numbers are drawn.
func TestOneDigitWrongAmongSteps(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for _, k := range rand.New(rand.NewPCG(simSeed, 8)).Perm(147)[:43] {
		texts = append(texts, fmt.Sprintf("%013d", 75830+10*k))
	}
	ans, err := r.RankTexts(append(texts, "0000000070180")) // perhaps of 76180
	require.NoError(t, err)
	assert.NotContains(t, ans.Taken[0].As[0], "hex", "seed %d", simSeed)
	assert.Less(t, ans.Unknown, 0.1, "seed %d", simSeed)
}

// TestConstantOfCardsThatWereNotRead: of some cards the badge is known alone. What is added to the numbers of those
// that were read is added to theirs, up or down (arithmetic).
func TestConstantOfCardsThatWereNotRead(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, added := range []int{10000, -30000} {
		badge := func(_ int, n uint64) string { return fmt.Sprint(int(n) + added) }
		texts := besideTexts(t, "26-8-16", 12, []uint64{31029, 31049, 31015, 31041}, badge)
		alone := []uint64{31003, 31052}
		for _, n := range alone {
			texts = append(texts, badge(0, n))
		}
		ans, err := r.RankTexts(texts)
		require.NoError(t, err)
		c := &ans.Candidates[0]
		assert.Equal(t, "26-8-16", c.Format.ID)
		assert.Greater(t, c.Probability, 0.99)
		for k, n := range alone {
			got, _ := c.Cards[len(texts)-len(alone)+k].Number()
			assert.Equal(t, n, got, "%+d", added)
		}
	}
}

// TestLongerNumbersOnFobs: a fob shows the four bytes of its chip's serial in ten digits or in hex, and its reader
// sends three of them, at either end and in either order, as facility and number (common practice, no source; which
// bytes they are tells encoding/binary of the standard library). So is the fob that was not read.
func TestLongerNumbersOnFobs(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	numbers := []uint16{10413, 48204, 7, 61250, 30021}
	big, little := binary.BigEndian.AppendUint16, binary.LittleEndian.AppendUint16
	for how, serial := range map[string]func(other, facility byte, n uint16) []byte{
		evidence.LongerNumber:        func(o, f byte, n uint16) []byte { return big([]byte{o, f}, n) },
		"longer-number-turned":       func(o, f byte, n uint16) []byte { return append(little([]byte{o}, n), f) },
		"longer-number-start":        func(o, f byte, n uint16) []byte { return append(big([]byte{f}, n), o) },
		"longer-number-start-turned": func(o, f byte, n uint16) []byte { return append(little(nil, n), f, o) },
	} {
		for _, form := range []string{"%010d", "%08X"} {
			var texts []string
			for i, n := range numbers {
				badge := fmt.Sprintf(form, binary.BigEndian.Uint32(serial(byte(50*i+33), 186, n)))
				if i < len(numbers)-1 {
					badge = fmt.Sprintf("bits:%s=%s", readAs(t, "26-8-16", 186, uint64(n)), badge)
				}
				texts = append(texts, badge)
			}
			ans, err := r.RankTexts(texts)
			require.NoError(t, err, texts)
			c := &ans.Candidates[0]
			assert.Equal(t, "26-8-16", c.Format.ID, texts)
			assert.Greater(t, c.Probability, 0.9, texts)
			if form == "%010d" { // eight digits in hex are taken for the serial itself
				assert.Contains(t, c.Printed, how, texts)
			}
			last := c.Cards[len(texts)-1]
			facility, _ := last.Facility()
			number, _ := last.Number()
			assert.Equal(t, [...]uint64{186, 30021}, [...]uint64{facility, number}, texts)
		}
	}
}

// TestLongerNumberAtASite: at a site that has facility 186 alone, a fob that ends in it is one of its cards, and one
// that ends in another is not (arithmetic).
func TestLongerNumberAtASite(t *testing.T) {
	r, err := New(formats.Builtin(), Population{Format: "26-8-16", Facilities: []uint64{186}})
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{fmt.Sprintf("%010d", uint64(195<<24|186<<16|10413))})
	require.NoError(t, err)
	c := &ans.Candidates[0]
	assert.Equal(t, "26-8-16", c.Format.ID)
	assert.Greater(t, c.Probability, 0.95)
	number, _ := c.Cards[0].Number()
	assert.Equal(t, uint64(10413), number)

	ans, err = r.RankTexts([]string{fmt.Sprintf("%010d", uint64(195<<24|187<<16|10413))})
	require.NoError(t, err)
	assert.NotEqual(t, "26-8-16", ans.Candidates[0].Format.ID)
}

// TestTwoKindsPrintedAlike: serials of seven bytes of which one lot is sent last byte first, and numbers that are
// counted up: that each lot shows its decimal is far likelier than that the numbers of one are turned (arithmetic).
func TestTwoKindsPrintedAlike(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(6, 1))
	var texts []string
	for i := range 11 {
		serial, turned := rng.Uint64()>>8, [8]byte{}
		binary.LittleEndian.PutUint64(turned[:], serial)
		texts = append(texts, fmt.Sprintf("56:%X=%d", turned[:7], serial), fmt.Sprintf("56:%014X=%017d", 12+i, 12+i))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Equal(t, "a read of 56 bits, and a printed number", ans.Taken[0].As[1])
	k, answers, err := r.Divide(ans.Taken[0].Cards, &ans.Answer)
	require.NoError(t, err)
	require.Len(t, k.Groups, 2)
	require.Len(t, answers, 2)
	assert.Equal(t, "56-0-56-reversed", answers[0].Candidates[0].Format.ID)
	assert.Equal(t, "56-0-56", answers[1].Candidates[0].Format.ID)
	assert.Greater(t, answers[1].Candidates[0].Probability, 0.9)
}

// TestOneKindOfTwoHasMoreOnIt: the prints of one kind have their last byte first, those of the other are in hex as they
// stand: what one kind's prints are says nothing of the other's (three bytes turned by encoding/binary).
func TestOneKindOfTwoHasMoreOnIt(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for i, n := range []uint16{991, 1849, 2034, 254, 1030, 1052, 1076, 327} {
		turned := binary.LittleEndian.Uint32(append(binary.BigEndian.AppendUint16([]byte{178}, n), 0))
		texts = append(texts, fmt.Sprintf("bits:%s=%d", readAs(t, "26-8-16", 178, uint64(n)), turned))
		if i < 3 {
			texts = append(texts, fmt.Sprintf("bits:%s=%06X", readAs(t, "26-8-16", 99, uint64(4*n)), 99<<16|4*int(n)))
		}
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Equal(t, "a read of 26 bits, and a number with its last byte first", ans.Taken[0].As[0])
	assert.Equal(t, "a read of 26 bits, and a number in hex", ans.Taken[0].As[1])
	_, answers, err := r.Divide(ans.Taken[0].Cards, &ans.Answer)
	require.NoError(t, err)
	require.Len(t, answers, 2)
	assert.Equal(t, "26-8-16", answers[1].Candidates[0].Format.ID)
	assert.Greater(t, answers[1].Candidates[0].Probability, 0.9)
}

// TestUnreadCardsHideNoMeaning: cards of which only the print is known take nothing away from what the reads of others
// are: 32 bits of 10-bit facility and number, with an order number behind what is printed (arithmetic).
func TestUnreadCardsHideNoMeaning(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans, err := r.RankTexts([]string{"53 00 00 D0=104-32", "70-32", "94-32", "186-32", "110-32", "53 00 00 80=64-32",
		"53 00 01 14=138-32", "58-32", "53 00 01 28=148-32"})
	require.NoError(t, err)
	assert.Equal(t, "a read of 32 bits in hex, and a number with another behind it", ans.Taken[0].As[0])
	c := &ans.Candidates[0]
	assert.Equal(t, "32-10-20", c.Format.ID)
	number, _ := c.Cards[1].Number()
	assert.Equal(t, uint64(70), number)
}

// TestDigitsLikeThoseInHex: among numbers in hex of six digits, one of digits alone is as they are, though others are
// numbers in decimal, of five (arithmetic). By itself it would be keys on a keypad.
func TestDigitsLikeThoseInHex(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for _, n := range []uint64{0xCA45, 0x027C, 0x029D, 0x02AF, 0xCA40, 0x785E, 0x7864} {
		texts = append(texts, fmt.Sprintf("bits:%s=%06X", readAs(t, "26-8-16", 48, n), 48<<16|n))
	}
	for _, n := range []uint64{55243, 1330, 1335} {
		texts = append(texts, fmt.Sprintf("bits:%s=%05d", readAs(t, "26-8-16", 105, n), n))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Equal(t, "a read of 26 bits, and a number in hex", ans.Taken[0].As[6])
	assert.Equal(t, "a read of 26 bits, and a printed number", ans.Taken[0].As[7])
	assert.Greater(t, ans.Taken[0].Probability, 0.99)
}
