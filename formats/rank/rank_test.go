package rank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// frozen is a small catalogue for tests of behaviour, so that growth of the real one breaks none of them.
const frozen = `
[[format]]
id = "26-8-16"
description = "facility and number"
length = 26
fields = [{ name = "facility", bits = "2-9" }, { name = "number", bits = "10-25" }]
checks = [{ kind = "even", bit = 1, over = "2-13" }, { kind = "odd", bit = 26, over = "14-25" }]
weight = 100
[[format]]
id = "26-0-24"
description = "one number"
length = 26
fields = [{ name = "number", bits = "2-25" }]
checks = [{ kind = "even", bit = 1, over = "2-13" }, { kind = "odd", bit = 26, over = "14-25" }]
weight = 8
[[format]]
id = "34-0-32"
description = "a chip serial"
length = 34
kind = "serial"
fields = [{ name = "number", bits = "2-33" }]
checks = [{ kind = "even", bit = 1, over = "2-17" }, { kind = "odd", bit = 34, over = "18-33" }]
weight = 10
[[format]]
id = "32-0-32"
description = "a raw chip serial"
length = 32
kind = "serial"
fields = [{ name = "number", bits = "1-32" }]
weight = 10
`

func frozenCatalogue(t testing.TB) formats.Catalogue {
	rows, err := formats.ParseDefinitions("frozen", []byte(frozen))
	require.NoError(t, err)
	cat, err := formats.NewCatalogue(rows)
	require.NoError(t, err)
	return cat
}

func ask(t testing.TB, r *Ranker, cards ...string) Answer {
	t.Helper()
	ans, err := r.Rank(parse(t, cards...))
	require.NoError(t, err)
	return ans
}

func parse(t testing.TB, cards ...string) []formats.Sightings {
	t.Helper()
	var all []formats.Sightings
	for _, text := range cards {
		s, err := formats.ParseSightings(text)
		require.NoError(t, err)
		all = append(all, s)
	}
	return all
}

func fields(c *formats.Card) string {
	form, _ := formats.FormByName("fields")
	text, err := form.Text(c)
	if err != nil {
		return err.Error()
	}
	return text
}

// What is read and printed together decides. The numbers are those of published questions and answers about fobs, and
// of the 26-bit frame's arithmetic.
func TestFirstCandidate(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	for _, test := range []struct {
		cards  []string
		format string
		fault  Fault
		first  string
		atMost float64 // probability
	}{
		{[]string{"26:32D687E=46143"}, "26-8-16", None, "facility=150 number=46143", 1},
		{[]string{"26:32D687E=150,46143"}, "26-8-16", None, "facility=150 number=46143", 1},
		{[]string{"26:32D687E"}, "26-8-16", None, "facility=150 number=46143", 0.98},
		{[]string{"26:0D29781=46143"}, "26-8-16", SwappedLines, "facility=150 number=46143", 1},
		{[]string{"116,23152"}, "26-8-16", None, "facility=116 number=23152", 1},
		{[]string{"34:1D9CB0CE7=uid:EC:E5:86:73"}, "34-0-32", None, "number=3974465139", 1},
		{[]string{"32:ECE58673=uid:ECE58673"}, "32-0-32", None, "number=3974465139", 1},
		{[]string{"32:ECE58673=uid:7386E5EC"}, "32-0-32", None, "number=3974465139", 1},
	} {
		ans := ask(t, r, test.cards...)
		require.NotEmpty(t, ans.Candidates, test.cards)
		c := &ans.Candidates[0]
		assert.Equal(t, test.format, c.Format.ID, test.cards)
		assert.Equal(t, test.fault, c.Fault, test.cards)
		assert.Equal(t, test.first, fields(&c.Cards[0]), test.cards)
		assert.LessOrEqual(t, c.Probability, test.atMost, test.cards)
	}
}

// Probabilities are finite, in order, and add up to 1; the order of cards and of the catalogue makes no difference;
// asking again gives the same answer.
func TestAnswerIsAPosterior(t *testing.T) {
	cat := frozenCatalogue(t)
	r, err := New(cat)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(7, 7))
	var turned []formats.Format
	for i := cat.Len() - 1; i >= 0; i-- {
		turned = append(turned, *cat.At(i))
	}
	other, err := formats.NewCatalogue(turned)
	require.NoError(t, err)
	back, err := New(other)
	require.NoError(t, err)
	sites := [][]string{
		{"26:32D687E"}, {"26:32D687E=46143", "26:32D6882", "26:32D6884"}, {"0009876543"}, {"46143", "46145"},
		{"uid:04A23B5C"},
		{"hex:96B43F"}, {"25:1234567", "26:32D687E"}, {"26:0", "26:3FFFFFF"}, {"26:32D687E", "34:1D9CB0CE7"},
		{"33:1D9CB0CE7"},
		{"26:32D687E=46143=uid:0496B43F11", "26:32D6882=uid:0496B44011"}, {"1"}, {"26:32D687F", "26:32D687E", "26:32D6882"},
	}
	for _, site := range sites {
		ans := ask(t, r, site...)
		sum, last := ans.Unknown, math.Inf(1)
		for _, c := range ans.Candidates {
			sum += c.Probability
			assert.LessOrEqual(t, c.Probability, last)
			assert.Len(t, c.Cards, len(site))
			last = c.Probability
		}
		last = math.Inf(1)
		for _, f := range ans.Frames {
			sum += f.Probability
			assert.LessOrEqual(t, f.Probability, last)
			last = f.Probability
		}
		assert.InDelta(t, 1, sum, 1e-9, site)
		assert.Equal(t, ans.Unknown, ask(t, r, site...).Unknown, "asked again")
		assert.Equal(t, ans.Unknown, ask(t, back, site...).Unknown, "catalogue turned round")
		mixed := slices.Clone(site)
		rng.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		shuffled := ask(t, r, mixed...)
		require.Len(t, shuffled.Candidates, len(ans.Candidates))
		for i := range ans.Candidates {
			assert.Equal(t, ans.Candidates[i].Probability, shuffled.Candidates[i].Probability, mixed)
			assert.Equal(t, ans.Candidates[i].Format.ID, shuffled.Candidates[i].Format.ID, mixed)
		}
		assert.Equal(t, ans.Frames, shuffled.Frames, mixed)
	}
}

// Reads of a layout that is not in the catalogue are believed to be of none.
func TestUnknownLayouts(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	// 26 bits with the facility behind the number, and no parity.
	three := ask(t, r, "26:1A2B379", "26:1A2F379", "26:1A33379")
	six := ask(t, r, "26:1A2B379", "26:1A2F379", "26:1A33379", "26:1A3B379", "26:0A3F379", "26:1A4F379")
	assert.Greater(t, three.Unknown, 0.999)
	assert.Greater(t, six.Unknown, 0.999)
	assert.Greater(t, ask(t, r, "29:1234567").Unknown, 0.99)
}

// Reads of 25 bits with the number in all of them, whose value is printed; one card is there twice, once with a digit
// wrong. That is no reason to take the first bit of each for one too many before a number of 24 bits.
func TestSecondPrintTypedWrong(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []string
	for _, v := range []int{28334510, 15378884, 25921291, 22249030, 14189882, 25697021, 31022625} {
		cards = append(cards, fmt.Sprintf("25:%07X=%d", v, v))
	}
	cards = append(cards, "25:0D8853A=14189892", "25:01E96B9", "25:151AC2A") // 14189882 is D8853A
	assert.Greater(t, ask(t, r, cards...).Unknown, 0.99)
}

func TestRefuses(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	_, err = r.Rank(nil)
	assert.EqualError(t, err, "no cards; give one or more")
	_, err = r.Rank([]formats.Sightings{nil})
	assert.EqualError(t, err, "card 1: nothing is known of it")
	_, err = r.Rank(parse(t, "26:32D687E=26:32D687F"))
	assert.ErrorContains(t, err, "card 1: two different reads of one card")
	_, err = New(frozenCatalogue(t), formats.Population{Format: "27-0-25"})
	assert.ErrorContains(t, err, `no format "27-0-25"`)
}

// The same card twice is one card, and its sightings come together.
func TestSameCardTwice(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	once, twice := ask(t, r, "26:32D687E=46143"), ask(t, r, "26:32D687E", "26:32D687E=46143")
	assert.Equal(t, once.Unknown, twice.Unknown)
	assert.Equal(t, once.Candidates[0].Probability, twice.Candidates[0].Probability)
	assert.Len(t, twice.Candidates[0].Cards, 2)
}

func TestWarnings(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, test := range []struct{ card, says string }{
		{"uid:08A1B2C3", "begins with 08 is random"},
		{"32:08A1B2C3", "begins with 08, which is random"},
		{"bits:0101", "keys pressed on a keypad"},
		{"00000000000000100110100100", "as pin-26 this is keys pressed on a keypad"},
		{"26:009DAAC=uid:04ED560011", "two cards can look the same at the door"},
		{"000" + "11010 00001 10000 01000 11001 11111 00100" + "00", "taken off as clocking"},
	} {
		ans := ask(t, r, test.card)
		assert.Contains(t, strings.Join(ans.Warnings, "\n"), test.says, test.card)
	}
	ans := ask(t, r, "26:32D687E", "34:1D9CB0CE7")
	assert.Contains(t, strings.Join(ans.Warnings, "\n"), "2 lengths (26, 34 bits)")
	assert.Greater(t, ans.Unknown, 0.99)
}

// What is wrong with the cards as they were given comes before any candidate. The read is facility 150, number 46143 of
// the published 26-bit format: its last parity is over the last 12 of the data bits, so that 13 bits can be wrong where
// it fails, none of them the facility's.
func TestFirst(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, test := range []struct {
		cards string
		says  []string // "": nothing
	}{
		{"26:32D687E", nil},
		{"26:32D687E=46143", nil},
		{"26:32D687E=0009876543=150,46143", nil},
		{"26:0", []string{"card 1: all 26 bits are 0: a line fault before it is a card; check that DATA1 is connected"}},
		{"26:3FFFFFF", []string{"card 1: all 26 bits are 1: a line fault before it is a card; check that DATA0 is connected"}},
		{"26:0 26:32D687E 26:0", []string{"cards 1, 3: all 26 bits are 0"}},
		{"26:32D687F", []string{"card 1: one check of 26-8-16 fails, so that it can be one of 13 cards (facility 150, number unknown); present it again"}},
		{"26:32D687E=46144", []string{"card 1: its print 46144 contradicts its read, which as 26-8-16 is facility 150, number 46143"}},
		{"26:32D687E=46143 26:32D687E=46144", []string{"card 1: one read with 2 prints: 46143 follows from the read as 26-8-16, 46144 does not"}},
		{"26:32D687E 26:32D6882 26:32D687F", []string{"card 3: one check of 26-8-16 fails",
			"card 3: its read is one bit from that of card 1: perhaps it is that card, misread"}},
		{"26:32D687E 25:12D687E", []string{"card 2: its read is a bit less than that of card 1"}},
	} {
		ans := ask(t, r, strings.Fields(test.cards)...)
		require.Len(t, ans.First, len(test.says), "%s: %q", test.cards, ans.First)
		for i, says := range test.says {
			assert.Contains(t, ans.First[i], says, test.cards)
		}
	}
}

// Of a read that can be of several cards those fields alone are known that all of them have; a print of its own tells
// which it is.
func TestSure(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for text, want := range map[string]string{
		"26:32D687F": "facility 150, number unknown",
		"26:32D687E": "facility 150, number 46143",
		// the first parity is over the facility and four bits of the number
		"26:12D687E":       "facility unknown, number unknown",
		"26:32D687F=46143": "facility 150, number 46143",
	} {
		cards := parse(t, text)
		ans := ask(t, r, text)
		card := ans.Candidates[0].Sure(cards, 0)
		assert.Equal(t, want, fieldWords(&card), text)
		assert.Zero(t, ans.Candidates[0].Sure(nil, 0))
		assert.Zero(t, ans.Candidates[0].Sure(cards, 1))
	}
}

// A site's own cards come first, and one that is none of them is said to be none.
func TestSitePopulations(t *testing.T) {
	cat := frozenCatalogue(t)
	r, err := New(cat, formats.Population{Format: "26-0-24", Numbers: []formats.Range{{First: 9876000, Last: 9876999}},
		Printed: "number"})
	require.NoError(t, err)
	own := ask(t, r, "26:32D687E")
	assert.Equal(t, "26-0-24", own.Candidates[0].Format.ID)
	assert.Empty(t, own.Warnings)
	stranger := ask(t, r, "26:2F20057")
	assert.Equal(t, "26-8-16", stranger.Candidates[0].Format.ID, "judged as anywhere")
	assert.Contains(t, strings.Join(stranger.Warnings, "\n"), "card 1 is none of the cards that the site file lists")
}

// What would settle a doubt says what each candidate would show, the most telling first.
func TestSettle(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	cards := parse(t, "26:32D687E")
	ans, err := r.Rank(cards)
	require.NoError(t, err)
	settle := r.Settle(cards, &ans)
	require.NotEmpty(t, settle)
	assert.Contains(t, settle[0].String(), "read the number printed on card 1: 46143 means 26-8-16; 9876543 means 26-0-24")
	for i := 1; i < len(settle); i++ {
		assert.GreaterOrEqual(t, settle[i-1].Bits, settle[i].Bits)
	}
	sure := parse(t, "26:32D687E=46143", "26:32D6882=46145", "26:32D6884=46146")
	ans, err = r.Rank(sure)
	require.NoError(t, err)
	assert.Empty(t, r.Settle(sure, &ans))
	misread := parse(t, "26:32D687F", "26:32D6882", "26:32D6884")
	ans, err = r.Rank(misread)
	require.NoError(t, err)
	assert.Equal(t, FlippedBit, ans.Candidates[0].Fault)
	lines := ans.Candidates[0].Evidence(misread)
	assert.Contains(t, lines[len(lines)-1], "was misread")
	for i := range misread { // a read that was made to keep the checks is no evidence for them
		if ans.Candidates[0].Repairs[i].Bit > 0 {
			assert.Contains(t, lines[0], "both checks hold in "+words.Count(len(misread)-1, "read")+" of")
		}
	}
}

// unrelated is prints in which no run of the bits of 26:32D687E is a number: 1234567, say, is its bits 2 to 22.
var unrelated = []string{"99", "hex:99", "7654321", "hex:ABCDEF", "uid:01020304"}

// A print that has nothing to do with the read says little about which format it is, in whatever way it is written.
func TestUnrelatedPrintsBetweenFormats(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	none := ask(t, r, "26:32D687E").Candidates
	for _, print := range unrelated {
		c := ask(t, r, "26:32D687E="+print).Candidates
		require.Len(t, c, len(none), print)
		for i := range c {
			assert.Equal(t, none[i].Format.ID, c[i].Format.ID, print)
			assert.Equal(t, []string{""}, c[i].Printed, print)
			assert.InDelta(t, none[i].Probability/none[0].Probability, c[i].Probability/c[0].Probability, 0.002, print)
		}
	}
}

// A print that has nothing to do with the read says little, in whatever way it is written.
func TestUnrelatedPrints(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	none := ask(t, r, "26:32D687E").Candidates[0].Probability
	for _, print := range unrelated {
		assert.InDelta(t, none, ask(t, r, "26:32D687E="+print).Candidates[0].Probability, 0.03, print)
	}
}

// The same read again proves nothing more, and is not counted as if it did.
func TestEvidenceOfTheSameRead(t *testing.T) {
	for _, c := range []struct{ cards, first string }{
		{"26:32D687E", "both checks hold in 1 read of 26 bits (by chance: once in 4)"},
		{"26:32D687E 26:32D687E", "both checks hold in 1 read of 26 bits, given 2 times (by chance: once in 4)"},
		{"26:32D687E 26:2F20023 26:32D687E", "both checks hold in 2 different reads of 26 bits (by chance: once in 16)"},
	} {
		var cards []formats.Sightings
		for _, text := range strings.Fields(c.cards) {
			s, err := formats.ParseSightings(text)
			require.NoError(t, err)
			cards = append(cards, s)
		}
		ranker, err := New(formats.Builtin())
		require.NoError(t, err)
		ans, err := ranker.Rank(cards)
		require.NoError(t, err)
		lines := ans.Candidates[0].Evidence(cards)
		assert.Equal(t, c.first, lines[0])
		assert.NotContains(t, strings.Join(lines, "\n"), "on both cards")
	}
}

// The evidence says what follows from the reads, and never that something does which does not.
func TestEvidenceForPrints(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	for _, test := range []struct {
		cards string
		says  []string
	}{
		{"26:32D687E=46143", []string{"1 printed number: the card number (number)"}},
		{"26:32D687E=99999", []string{"the number printed on card 1 does not follow from the read"}},
		{"26:32D687E=46143 26:2F20023=99999 26:2F20057=43", []string{
			"2 of 3 printed numbers: the card number (number)",
			"the number printed on card 2 does not follow from the read",
		}},
		{"26:009DAAC=uid:04ED560011", []string{"1 chip serial: facility and number together are its first 3 bytes"}},
		{"26:32D687E=uid:04A23B5C", []string{"the chip serial of card 1 does not appear in the read"}},
		{"26:32D687E=uid:04A23B5C=46143", []string{
			"1 printed number: the card number (number)", "the chip serial of card 1 does not appear in the read",
		}},
	} {
		cards := parse(t, strings.Fields(test.cards)...)
		ans, err := r.Rank(cards)
		require.NoError(t, err)
		var said []string
		for _, line := range ans.Candidates[0].Evidence(cards) {
			if !strings.Contains(line, "checks hold") && !strings.Contains(line, "facilities on") {
				said = append(said, line)
			}
		}
		assert.Equal(t, test.says, said, test.cards)
	}
}

// The 26-bit frame looks right with the lines swapped and the bits turned round, so that its checks say nothing about
// that; with the lines swapped alone they fail.
func TestEvidenceForWiring(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	for _, test := range []struct {
		card  string
		fault Fault
		says  string
	}{
		{"26:32D687E", SwappedReversed, "no check can tell"},
		{"26:0D29781", SwappedLines, "the checks hold only if the two data lines are swapped"},
		{"32:ECE58673", SwappedLines, "no check can tell"},
	} {
		cards := parse(t, test.card)
		ans, err := r.Rank(cards)
		require.NoError(t, err)
		at := slices.IndexFunc(ans.Candidates, func(c Candidate) bool { return c.Fault == test.fault })
		require.GreaterOrEqual(t, at, 0, test.card)
		assert.Contains(t, strings.Join(ans.Candidates[at].Evidence(cards), "\n"), test.says, test.card)
	}
}

// The chance of a read's checks holding counts what digits leave open: a BCD digit takes 10 of 16 values, so that 32 of
// them hold by chance once in 1.6^32, which is 2^21.7; each of the 40 characters of a FASC-N is one of 32 and 32 of
// them are digits.
func TestCheckBits(t *testing.T) {
	cat := formats.Builtin()
	for id, want := range map[string]float64{
		"26-8-16": 2, "26-0-24": 2, "35-12-20": 3, "64-8-32-rows": 24, "32-0-32": 0, "48-22-23": 0,
		"fascn-128": 32 * math.Log2(1.6), "fascn-200": 200 - 32*math.Log2(10), "keys-26": 2 + 6*math.Log2(1.6), "pin-26": 10,
	} {
		assert.InDelta(t, want, checkBits(cat.Find(id)[0].Layout), 1e-9, id)
	}
}

// A slip of the pen on one card, or on the only one, is no other format: whether zeros were left out, were put before
// the number, or only its last digits are there. The reads are facility 122 with numbers 1865 to 1873 in the frame of
// the published 26-bit standard, worked out by hand.
func TestSlipsInAnySpelling(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	reads := []string{"26:2F40E93", "26:2F40E95", "26:2F40E96", "26:2F40E9A", "26:2F40E9F", "26:2F40EA3"} // 1865, …
	for _, prints := range []string{
		"122-1865 122-1866 122-1867 122-1869 522-1871 122-1873",             // a digit of the facility
		"122/1865 122/1866 122/1867 122/1869 12/1871 122/1873",              // one missing
		"122-1865 122-1866 122-1867 122-1869 122-1817 122-1873",             // two swapped
		"122-1865 122-1866 122-1867 122-1869 121-2871 122-1873",             // across the sign
		"122,001865 122,001866 122,001867 122,001869 122,041871 122,001873", // zeros that no form has
		"00001865 00001866 00001867 00001869 0001871 00001873",              // a zero missing
		"01865 01866 01867 01869 03871 01873",
		"865 866 867 869 371 873",
		"001865 001866 001867 001869 003871 001873", // six digits, as a number of 17 to 19 bits has
	} {
		least := 0.9
		if strings.Contains(prints, "001865") {
			least = 0.8 // the frame may be divided so
		}
		cards := slices.Clone(reads)
		for i, print := range strings.Fields(prints) {
			cards[i] += "=" + print
		}
		c := ask(t, r, cards...).Candidates[0]
		assert.Equal(t, "26-8-16", c.Format.ID, prints)
		assert.Greater(t, c.Probability, least, prints)
	}
	alone := ask(t, r, append(slices.Clone(reads[1:]), reads[0]+"=71865")...).Candidates[0] // 01865
	assert.Equal(t, "26-8-16", alone.Format.ID)
	assert.Greater(t, alone.Probability, 0.9)
}

// A digit that is lost in one pair of many does not turn the zeros of all the others into chance: 16 and 19 bits take
// five and six digits (2^16 = 65536, 2^19 = 524288), as these pairs have, and 12 and 20 bits four and seven.
func TestOneZeroLessAmongPairs(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []string
	for i := range 20 {
		cards = append(cards, fmt.Sprintf("00540,%06d", 190588+37*i))
	}
	require.Equal(t, "37-16-19", ask(t, r, cards...).Candidates[0].Format.ID)
	for _, slip := range []string{"0054,190867", "0540,190867"} {
		c := ask(t, r, append(slices.Clone(cards), slip)...).Candidates[0]
		assert.Equal(t, "37-16-19", c.Format.ID, slip)
		assert.Greater(t, c.Probability, 0.9, slip)
	}
}

// ofFormat returns the probability of a format.
func ofFormat(a Answer, id string) (p float64) {
	for _, c := range a.Candidates {
		if c.Format.ID == id {
			p += c.Probability
		}
	}
	return p
}

// One pair among many that is more than 8 bits hold (255) or 16 bits (65535) is typed wrong for one of the others'
// numbers, and no reason to take all of them for a format with more room, which would write more zeros.
func TestOnePairTooLarge(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []string
	for i := range 20 {
		cards = append(cards, fmt.Sprintf("164,%05d", 35552+7*i))
	}
	for _, slip := range []string{"264,35604", "164,95604", "614,35604"} {
		answer := ask(t, r, append(slices.Clone(cards), slip)...)
		assert.Equal(t, "26-8-16", answer.Candidates[0].Format.ID, slip)
		assert.Greater(t, answer.Candidates[0].Probability, 0.9, slip)
	}
	answer := ask(t, r, append(slices.Clone(cards), "264,17604", "299,17605", "264,17611")...) // no slips of theirs
	assert.Equal(t, "34-16-16", answer.Candidates[0].Format.ID)
	for i := range cards { // with five digits each, as two fields of 16 bits have, and two words of any format
		cards[i] = fmt.Sprintf("00179,%05d", 7005+13*i)
	}
	before := ask(t, r, cards...)
	for _, slip := range []string{"40179,07105", "00279,07105", "00171,07105"} { // for 15, 8 and no fewer bits too large
		after := ask(t, r, append(slices.Clone(cards), slip)...)
		for _, c := range before.Candidates[:3] {
			assert.InDelta(t, c.Probability, ofFormat(after, c.Format.ID), 0.05, "%s: %s", slip, c.Format.ID)
		}
	}
}

// The first byte of a 7-byte serial says who made the chip (ISO/IEC 14443-3), so that those of one site begin alike;
// of 8 bytes the first is E0 (ISO/IEC 15693-3), which shows their order. The serials are drawn, not anybody's.
func TestSerialsOfOneMaker(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, test := range []struct{ cards, format string }{
		{"56:042CBB1A5CF71D 56:0496A1E004D3B2 56:04F30C7781295E 56:0461D840CC07F9", "56-0-56"},
		{"56:1DF75C1ABB2C04 56:B2D304E0A19604 56:5E2981770CF304 56:F907CC40D86104", "56-0-56-reversed"},
		{"64:E0045C1ABB2C1DF7 64:E004A196B2D304E0", "64-0-64"},
		{"64:F71D2CBB1A5C04E0 64:E004D3B296A104E0", "64-0-64-reversed"},
	} {
		c := ask(t, r, strings.Fields(test.cards)...).Candidates[0]
		assert.Equal(t, test.format, c.Format.ID, test.cards)
		assert.Greater(t, c.Probability, 0.9, test.cards)
	}
}

// Texts that are written alike are meant alike, whether a print stands beside them or not; of two widths each by
// itself. The reads are facility 122 with five numbers in 26 bits, and facility 7 with numbers from 300 on in 34 bits,
// worked out by the arithmetic of the published 26-bit standard.
func TestTextsWrittenAlike(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	short := []string{"hex:2F40E93=01865", "hex:0F42EE1", "hex:0F44652=09001", "hex:0F45DC4", "hex:0F49C47"}
	long := []string{"hex:2000E0259", "hex:2000E025A=00301", "hex:2000E0271", "hex:2000E025C"}
	for _, test := range []struct{ texts, as []string }{
		{short, []string{"26", "26", "26", "26", "26"}},
		{append(slices.Clone(short), long...), []string{"26", "26", "26", "26", "26", "34", "34", "34", "34"}},
	} {
		ans, err := r.RankTexts(test.texts)
		require.NoError(t, err)
		assert.Greater(t, ans.Taken[0].Probability, 0.9, test.texts)
		for i, as := range ans.Taken[0].As {
			assert.Contains(t, as, "a read of "+test.as[i]+" bits", test.texts[i])
		}
	}
}

// Cards printed in hex have some numbers without a letter among them: 121·65536 and 43, 17, 28, 47 in hex.
func TestHexWithoutLetters(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, texts := range [][]string{{"79002B", "790011", "79001C", "79002F"}, {"790011", "79002B", "79001C", "79002F"}} {
		ans, err := r.RankTexts(texts)
		require.NoError(t, err)
		c := &ans.Candidates[0]
		assert.Equal(t, "26-8-16", c.Format.ID)
		assert.Greater(t, c.Probability, 0.9)
		assert.Equal(t, "17", c.Cards[slices.Index(texts, "790011")].Text(c.Format.Number()))
	}
	// The same beside reads: 17, 43, 212 and 402 of facility 121, in hex.
	ans, err := r.RankTexts([]string{"26:2F20023=790011", "26:2F20057=79002B", "26:2F201A9=7900D4", "26:2F20325=790192"})
	require.NoError(t, err)
	assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
	for _, as := range ans.Taken[0].As {
		assert.Equal(t, "a read of 26 bits, and a number in hex", as)
	}
	assert.Greater(t, ans.Taken[0].Probability, 0.99)
}

// A print by itself says little of whether the layout of its card is in a table: what is not is printed like what is,
// and few numbers in two parts have nothing to do with cards. That a site has cards of another facility makes a card of
// none of its kinds no likelier to be of no known format.
func TestPrintAlone(t *testing.T) {
	anywhere, err := New(formats.Builtin())
	require.NoError(t, err)
	site, err := New(formats.Builtin(), Population{Format: "26-8-16", Facilities: []uint64{121}})
	require.NoError(t, err)
	for _, print := range []string{"57,2119", "057,02119", "57,02119", "57-2119", "2119"} {
		for _, r := range []*Ranker{anywhere, site} {
			ans := ask(t, r, print)
			assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID, print)
			assert.Greater(t, ans.Candidates[0].Probability, 0.5, print)
			assert.Less(t, ans.Unknown, 0.3, print)
		}
	}
}

// A pair is told part by part: zeros before either number say nothing, and the same digits parted elsewhere are another
// pair. The reads are facility 12 with number 345 in 26 bits, and facility 150 with number 46143 in 30 bits.
func TestPairsPartByPart(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, test := range []struct {
		card, form string // "": it does not follow
	}{
		{"26:01802B2=012,00345", "pair"}, {"26:01802B2=12,345", "pair"}, {"26:01802B2=12-345", "pair"},
		{"26:01802B2=0012/345", "pair"},
		{"26:01802B2=120,0345", ""}, {"26:01802B2=123,45", ""},
		{"30:32C1687E=150,46143", "pair"}, {"30:32C1687E=150,0046143", "pair"}, {"30:32C1687E=1500046143", "joined"},
	} {
		c := ask(t, r, test.card).Candidates[0]
		assert.Equal(t, []string{test.form}, c.Printed, test.card)
		if test.form != "" {
			assert.Greater(t, c.Probability, 0.99, test.card)
		}
	}
	alone := ask(t, r, "12,345").Candidates[0]
	assert.Equal(t, "26-8-16", alone.Format.ID)
	assert.Equal(t, "facility=12 number=345", fields(&alone.Cards[0]))
}

// A bit lost from one read is no evidence for a format: what the good reads leave open stays open. The reads are made
// up: 48 bits of which the first 12 of a facility and the last one, of parity, hold, in a way that no table has.
func TestLostBitSettlesNothing(t *testing.T) {
	t.Parallel()
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	good := []string{"bits:000010100110000000000010111101000000000000000001", "bits:000010100110000000000010111101000010000000000000"}
	short := "bits:00001010011000000000010111100111111000000000000"
	before, with := ask(t, r, good...), ask(t, r, append(good, short)...)
	named := func(a Answer) (p float64) {
		for _, c := range a.Candidates {
			p += c.Probability
		}
		return p
	}
	assert.Less(t, named(before), 0.2)
	assert.Less(t, named(with), 0.5, "a format without checks takes any read with a bit put in")
	assert.InDelta(t, 1, named(with)+with.Unknown+frames(with), 1e-9)
	assert.Contains(t, with.First, "card 3: its read has 47 bits, and those of most others 48: a bit of it was probably "+
		"lost; present it again")
}

func frames(a Answer) (p float64) {
	for _, f := range a.Frames {
		p += f.Probability
	}
	return p
}

// A print can show the low 24 bits of a number that is longer: 0123456789 is 75BCD15 in hex, of which the last bytes
// are 5B (91) and CD15 (52501). By itself such a pair leaves its format in doubt; with the whole number beside it, in
// either order, it is the number that counts.
func TestEndOfANumber(t *testing.T) {
	t.Parallel()
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	alone := ask(t, r, "printed:091,52501")
	assert.Equal(t, "26-8-16", alone.Candidates[0].Format.ID)
	assert.Less(t, alone.Candidates[0].Probability, 0.9)
	at := slices.IndexFunc(alone.Candidates, func(c Candidate) bool { return c.Format.ID == "34-0-32" })
	require.GreaterOrEqual(t, at, 0)
	c := &alone.Candidates[at]
	assert.Equal(t, []string{"pair24"}, c.Printed)
	assert.False(t, c.Cards[0].Known.Has(c.Format.Number()), "the beginning of the number is not shown")
	assert.Contains(t, strings.Join(c.Evidence(parse(t, "printed:091,52501")), "\n"), "1 printed number: the low 24 bits")
	one, two := ask(t, r, "printed:091,52501=printed:0123456789"), ask(t, r, "printed:0123456789=printed:091,52501")
	for i := range one.Candidates[:3] {
		a, b := one.Candidates[i], two.Candidates[i]
		assert.Equal(t, a.Format.ID, b.Format.ID)
		assert.InDelta(t, a.Probability, b.Probability, 1e-7)
		n, ok := a.Cards[0].Number()
		assert.True(t, ok && n == 123456789, a.Format.ID)
	}
	three := ask(t, r, "printed:043,14296", "printed:210,03312", "printed:118,60007")
	assert.Less(t, three.Candidates[0].Probability, 0.9, "three facilities, or serials without their beginning")
}

// One read of a layout that no table has can have a small number in it as well: that its bits are mostly 0 is no
// evidence for a format without checks. The read is made up: 47 bits of an even parity, zeros, and a number of 20.
func TestZerosAreNoFormat(t *testing.T) {
	t.Parallel()
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans := ask(t, r, "bits:00000000000000000000101000000000000000000000000")
	assert.Greater(t, ans.Unknown, 0.75, "of a length that no format has")
	ans = ask(t, r, "32:00000014")
	assert.Less(t, ans.Candidates[0].Probability, 0.98)
}

// A number that is filled with zeros to as many digits as the largest one of its field speaks for that field: of 35
// bits that is 34359738367, 11 digits.
func TestFilledAsItsFieldNeeds(t *testing.T) {
	t.Parallel()
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	of := func(print string) float64 {
		for _, c := range ask(t, r, "printed:"+print).Candidates {
			if c.Format.ID == "37-0-35" {
				return c.Probability
			}
		}
		return 0
	}
	assert.Greater(t, of("00000008154"), 3*of("000000008154"))
	assert.Greater(t, of("00000008154"), 3*of("000008154"))
}

// A chip serial that is all data bits of a card speaks for one number, not for a facility of its first bytes: common
// practice, no source. 009E2A95 is 158 and 10901 by halves.
func TestSerialIsOneNumber(t *testing.T) {
	t.Parallel()
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	with, without := ask(t, r, "34:2013C552A=uid:009E2A95"), ask(t, r, "34:2013C552A")
	assert.Equal(t, "34-16-16", without.Candidates[0].Format.ID)
	assert.Greater(t, without.Candidates[0].Probability, 0.9)
	assert.Less(t, with.Candidates[0].Probability, 0.9)
	assert.Equal(t, "34-0-32", with.Candidates[1].Format.ID)
}

// A read without checks has one bit wrong, which the low 24 bits printed on the card show: 5E65DBE1 with its bytes
// turned is E1DB655E, and 219,25946 is DB655A in hex; 2C93A58D, of which 9667981 is 93858D.
func TestLowBitsInPrintPutAReadRight(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, c := range []struct {
		cards []string
		want  uint64
	}{
		{[]string{"32:5E65DBE1=219,25946", "32:329C3BC3=059,39986"}, 0xE1DB655A},
		{[]string{"32:8DA5932C=9667981", "32:19C05F96=6275097", "32:7BF08A90=9105531"}, 0x2C93858D},
	} {
		top := ask(t, r, c.cards...).Candidates[0]
		require.Equal(t, "32-0-32-reversed", top.Format.ID)
		number, _ := top.Cards[0].Number()
		assert.Equal(t, c.want, number)
		assert.Greater(t, top.Probability*top.Repairs[0].Chance, 0.99)
	}
}

// Of a number of 80 bits, too, the low 24 bits in print put a read right: 5F0F98 is 6229912, DA3A2C 14301740, and
// 5CE210 6087184, of which one bit is read as another in 5CC210.
func TestLowBitsOfALongNumberPutAReadRight(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	cards := []string{"80:BB9EC757A08DE95F0F98=6229912", "80:540115AE48B00DDA3A2C=14301740", "80:64C02B1EF655E55CC210=6087184"}
	top := ask(t, r, cards...).Candidates[0]
	require.Equal(t, "80-0-80", top.Format.ID)
	assert.Equal(t, "80:64C02B1EF655E55CE210", top.Cards[2].Record.Value(top.Format.Number()).Hex())
	assert.Greater(t, top.Repairs[2].Chance, 0.9)
}

// Two reads of three have a bit wrong, so that their checks fail. The three prints are of one facility and numbers that
// lie together, and say what the reads were: 152 is 10011000, 730 is 1011011010, 904 is 1110001000, 600 is 1001011000
// (the checks are those of SIA AC-01-1996.10).
func TestPrintsOfMisreads(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans := ask(t, r, "bits:11001100000000011110110101=15200730", "bits:11001100000000011100010001=15200904",
		"bits:11001100000000011010110001=15200600")
	top := ans.Candidates[0]
	require.Equal(t, "26-8-16", top.Format.ID)
	assert.Greater(t, top.Probability, 0.99)
	for i, want := range []uint64{730, 904, 600} {
		number, _ := top.Cards[i].Number()
		assert.Equal(t, want, number)
	}
}

// Cards of which the last five digits of a 28-bit number are printed, in a frame whose formats have other parts. Two
// reads have a bit too many, and their prints say which: they do not make a format of the catalogue out of the others.
// The cards are written here.
func TestPrintsOfReadsTooLong(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(20261129, 1))
	var cards []string
	for i := range 11 {
		number := rng.Uint64N(1 << 28)
		body := fmt.Sprintf("%028b", number)
		read := fmt.Sprintf("%d%s%d", strings.Count(body[:14], "1")%2, body, 1-strings.Count(body[14:], "1")%2)
		if i == 4 || i == 9 {
			read = read[:12+i] + "1" + read[12+i:]
		}
		cards = append(cards, fmt.Sprintf("bits:%s=%05d", read, number%100000))
	}
	ans := ask(t, r, cards...)
	require.NotEmpty(t, ans.Frames)
	assert.Equal(t, "30-8-20", ans.Frames[0].Format.ID)
	assert.Greater(t, ans.Frames[0].Probability, 0.9)
}

// A card has two prints that are of two cards, each a digit away from the other's: 121·65536+17 = 7929873, and 17 is
// not 18. Nothing says which one is right, whichever comes first.
func TestTwoPrintsOfTwoCards(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, text := range []string{"0007929873=121,00018", "121,00018=0007929873"} {
		ans := ask(t, r, text)
		numbers := map[uint64]float64{}
		for _, c := range ans.Candidates {
			n, _ := c.Cards[0].Number()
			numbers[n] += c.Probability
		}
		assert.InDelta(t, 0.53, numbers[17], 0.05, text) // ten digits can have one wrong in more ways than eight
		assert.InDelta(t, 0.45, numbers[18], 0.05, text)
		assert.Equal(t, []string{"card 1: its prints 0007929873 and 121,00018" +
			" are of two cards of 26-8-16, facility 121, number 17 or facility 121, number 18: look at them again"}, ans.First)
	}
	several := []string{"0007929873=121,00017", "0007929899=121,00043", "0007930080=121,00225", "0007930090=121,00234"}
	ans := ask(t, r, several...)
	assert.Less(t, ans.Candidates[0].Probability, 0.7)
	assert.Contains(t, ans.First[0], "card 3: its prints 0007930080 and 121,00225 are of two cards")
	ans = ask(t, r, "0007929873=121,00018", "0007930080=121,00225")
	assert.Equal(t, []string{"the prints of cards 1, 2 are of two cards each: look at them again"}, ans.First)
}

// Of cards that were not read, one is typed wrong: a facility that no other card has, or one of two prints. 161 is
// 00161 in five digits, 34:2014387DD facility 161 and number 50158.
func TestTypedWrong(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, c := range []struct {
		cards            []string
		at               int
		facility, number uint64
		least, most      float64
		first            string
	}{
		{[]string{"34:2014387DD", "00161,50234", "00161,50099", "07161,50231=50231"}, 3, 161, 50231, 0.99, 1,
			"card 4: 07161,50231 is probably facility 161, number 50231, typed wrong: look at its print again"},
		{[]string{"26:2669CB1=051,20056", "26:2669DA2", "057,20101"}, 2, 57, 20101, 0.3, 0.9,
			"card 3: facility 57, number 20101 lies apart from the others, and may be typed wrong: look at its print again"},
		{[]string{"014,20147", "014,20149", "014,20160", "014,20433", "041,20101"}, 4, 14, 20101, 0.6, 0.95,
			"card 5: 041,20101 is probably facility 14, number 20101, typed wrong: look at its print again"},
		{[]string{"014,20147", "014,20149", "014,20160", "014,20433", "014,20101"}, 4, 14, 20101, 1, 1, ""},
	} {
		ans := ask(t, r, c.cards...)
		top := ans.Candidates[0]
		facility, _ := top.Cards[c.at].Facility()
		number, _ := top.Cards[c.at].Number()
		assert.Equal(t, c.facility, facility, c.cards)
		assert.Equal(t, c.number, number, c.cards)
		assert.GreaterOrEqual(t, top.Repairs[c.at].Chance, c.least, c.cards)
		assert.LessOrEqual(t, top.Repairs[c.at].Chance, c.most, c.cards)
		if c.first == "" {
			assert.Empty(t, ans.First)
		} else {
			assert.Equal(t, c.first, ans.First[0])
		}
	}
}

// One read of all zeros, or ones, among good ones is of a line at fault (common practice, no source), of which nothing
// is known, and no reason to doubt the others.
func TestOneReadOfALineAtFault(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, fault := range []string{"26:0000000", "26:3FFFFFF"} {
		ans := ask(t, r, fault, "26:0F30B44", "26:0F3A7BD")
		require.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
		assert.Greater(t, ans.Candidates[0].Probability, 0.9)
		assert.Nil(t, ans.Candidates[0].Cards[0].Format)
		assert.Contains(t, ans.First[0], "a line fault before it is a card")
	}
}

// Of a facility that the site file has, one card is enough.
func TestFacilityOfTheSiteIsNotTypedWrong(t *testing.T) {
	r, err := New(formats.Builtin(), formats.Population{Format: "26-8-16", Facilities: []uint64{121, 122},
		Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair"})
	require.NoError(t, err)
	ans := ask(t, r, "121,00017", "121,00043", "121,00101", "121,00300", "122,00020")
	assert.Greater(t, ans.Candidates[0].Repairs[4].Chance, 0.999)
	assert.Empty(t, ans.First)
	ans = ask(t, r, "121,00017", "121,00043", "121,00101", "121,00300", "112,00020")
	assert.Equal(t, []string{"card 5: 112,00020 is probably facility 121, number 20, typed wrong: look at its print again"},
		ans.First)
}

// Cards carry numbers of another list (common practice, no source), and one was not read: nothing is known of that one,
// and its number is no reason to give the format of the others up.
func TestOtherNumbersOnCardsThatWereNotRead(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	ans := ask(t, r, "26:11A0136", "26:11A012E=45341", "26:11A0111", "26:11A0105", "44178", "26:11A00FB=46478")
	top := ans.Candidates[0]
	require.Equal(t, "26-8-16", top.Format.ID)
	assert.Greater(t, top.Probability, 0.95)
	assert.Nil(t, top.Cards[4].Format)
	// 12845066 is C4000A; the first digit of the print of a card that was not read is wrong
	ans = ask(t, r, "62845068", "26:3880016=12845067", "26:3880015=12845066", "26:388001C=12845070", "26:388000B")
	assert.Contains(t, []string{"26-8-16", "26-0-24"}, ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability+ans.Candidates[1].Probability, 0.99)
	near := ask(t, r, "26:11A0136", "26:11A010C", "00140") // one that goes with those that were read is the card's own
	number, _ := near.Candidates[0].Cards[2].Number()
	assert.Equal(t, uint64(140), number)
	assert.Greater(t, near.Candidates[0].Probability, 0.95)
}

// Cards of one kind of which some are read and others are not, with prints of several looks: 78·65536+134 = 5111942.
// In whatever order cards, and what is known of each, are given, the answer is the same, and they are of one kind.
func TestReadAndPrintedTogether(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	cards := [][]string{{"26:09C0196", "hex:4E00CB", "00203"}, {"00114"}, {"26:09C006E"}, {"0005111942"},
		{"26:09C017E", "191", "0005111999", "078,00191"}}
	const seed = 20261128
	rng := rand.New(rand.NewPCG(seed, 0))
	var want float64
	for try := range 8 {
		var texts []string
		for _, c := range cards {
			texts = append(texts, strings.Join(c, "="))
		}
		var given []formats.Sightings
		for _, text := range texts {
			s, err := formats.ParseSightings(text)
			require.NoError(t, err)
			given = append(given, s)
		}
		k, err := r.Kinds(given)
		require.NoError(t, err)
		assert.Len(t, k.Groups, 1, texts)
		ans := ask(t, r, texts...)
		require.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
		if try == 0 {
			want = ans.Candidates[0].Probability
			assert.Greater(t, want, 0.99)
		}
		assert.InDelta(t, want, ans.Candidates[0].Probability, 1e-9, "%v (seed %d)", texts, seed)
		rng.Shuffle(len(cards), func(i, j int) { cards[i], cards[j] = cards[j], cards[i] })
		for _, c := range cards {
			rng.Shuffle(len(c), func(i, j int) { c[i], c[j] = c[j], c[i] })
		}
	}
}
