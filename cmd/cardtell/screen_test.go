package main

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// What is wrong with a question is the first line of its answer, and all of it goes on one screen. Reads are facility
// 121, number 8417 and so on, put together by frame26 from the published frame.
func TestFirstLine(t *testing.T) {
	read := frame26(121, 8417)
	good := fmt.Sprintf("26:%07X", read)
	lastFails := fmt.Sprintf("26:%07X", read^1)    // the last parity alone
	flipped := fmt.Sprintf("26:%07X", read^1<<5)   // a bit of the number
	first := fmt.Sprintf("26:%07X", read^1<<25)    // the first parity, over the facility and four bits of the number
	lost := fmt.Sprintf("25:%07X", read&(1<<25-1)) // the first bit did not come
	for _, test := range []struct{ ask, first, not string }{
		{good, " 8", ""}, {good + "=121,08417", " 99.", ""},
		{good + "=08418", "card 1: its print 08418 contradicts its read, which as 26-8-16 is facility 121,", ""},
		{good + "=08417=9999", "card 1: one read with 2 prints: 08417 follows from the read as 26-8-16, 9999", ""},
		{good + "=08417 " + good + "=8418", "card 1: one read with 2 prints: 08417 follows from the read as 26-8-16, 8418",
			""},
		{"26:0", "card 1: all 26 bits are 0: a line fault before it is a card; check that DATA1 is", "number 0\n"},
		// written as the others are: no pair of 26 and 0
		{"26:0 26:2F20057 26:2F20023", "card 1: all 26 bits are 0: a line fault", ""},
		{"26:3FFFFFF", "card 1: all 26 bits are 1: a line fault before it is a card; check that DATA0 is", "number 65535"},
		{lastFails, "card 1: one check of 26-8-16 fails, so that it can be one of 13 cards", "As numbers"},
		{first, "card 1: one check of 26-8-16 fails, so that it can be one of 13 cards", "As numbers"},
		{good + " " + flipped, "card 2: one check of 26-8-16 fails",
			"card 2   facility 121  number 8"},
		{"121 08417", "121 and 08417 were taken for two cards; are they one? Then write 121,08417", ""},
		{good + " 08418", good + " and 08418 were taken for two cards; are they one? Then write", ""},
		{good + " " + lost, "card 2: its read is a bit less than that of card 1: perhaps it is that card,", ""},
		{"4:1 4:2 4:3 4:4 4:B", " 98.", "number"},
		{"20:1234B", "card 1: its 20 bits are 5 keys of 4 bits, 1 2 3 4 #: a code typed at a keypad,", "learn"},
		{"40:E1D2C3B44B", "card 1: its 40 bits are 5 keys of 8 bits, 1 2 3 4 #: a code typed at a keypad,", "learn"},
	} {
		r := doArgs("identify", strings.Fields(test.ask)...)
		line, _, _ := strings.Cut(r.out, "\n")
		assert.True(t, strings.HasPrefix(line, test.first), "%s: %s", test.ask, line)
		if test.not != "" {
			assert.NotContains(t, r.out, test.not, test.ask)
		}
		assert.Less(t, strings.Count(r.out, "\n"), say.Lines, "%s:\n%s", test.ask, r.out)
	}
	assert.Contains(t, doArgs("identify", good, flipped).out,
		"card 2: its read is one bit from that of card 1: perhaps it is that card,")
	assert.Contains(t, do("identify 4:1 4:2 4:3 4:4 4:B", "").out, "keys 1 2 3 4 #\n")
	assert.Contains(t, do("identify 8:E1 8:D2 8:5A", "").out, "keys 1 2 *\n", "10 is *: common practice, no source")
	assert.Contains(t, do("identify 24:12345B", "").out,
		"  - card 1: can be 6 keys of 4 bits as well, 1 2 3 4 5 #: a code typed at a\n")
	long := doArgs("identify", good, "--verbose").out
	// nothing is lost
	for _, says := range []string{"  joined               12108417\n", "the bits come last first\n", "odd holds\n"} {
		assert.Contains(t, long, says)
	}
}

// A chip's serial is answered by what it is and by what readers send of it, in the forms of the site's doors; its
// maker's byte is never called a facility. The numbers are those of formats.TestSerialReads.
func TestSerialIsACaseOfItsOwn(t *testing.T) {
	for text, says := range map[string][]string{
		"04:A2:3B:5C": {"single size UID",
			"26      first 3 bytes            26:2094477           004,41531 or 303675", "32, 34  all bytes, reversed "},
		"uid:08A23B5C": {"says that it is random"},
		"uid:88A23B5C": {"cascade tag CT"},
		"UID: 04:A9:DB:A2:85:32:80": {"double size UID", "and no facility", "88 and first 3, reversed  32:DBA90488 ",
			"3685287048", "56      all bytes  "},
		"E0-04-01-50-76-D2-81-05":  {"ISO/IEC 15693-3", "64      all bytes "},
		"uid:04A9DBA2853280112233": {"triple size UID"},
	} {
		r := doArgs("identify", text)
		assert.Equal(t, exitDone, r.code, text)
		assert.True(t, strings.HasPrefix(r.out, "A chip's serial number, "), "%s: %s", text, r.out)
		assert.Less(t, strings.Count(r.out, "\n"), say.Lines, text)
		assert.NotContains(t, r.out, "facility 4", text)
		for _, line := range says {
			assert.Contains(t, r.out, line, text)
		}
	}
	r := do("identify 04:A2:3B:5C --site ../../testdata/demo/site.toml", "")
	assert.Contains(t, r.out, "  bits    bytes                    read                 pair       decimal10")
	assert.Contains(t, r.out, "  26      last 3 bytes, reversed   26:0B87745           092,15266  0006044578")
	r = do("identify 04:A2:3B:5C --json", "")
	for _, says := range []string{`"uid":"04:A2:3B:5C"`, `"length":34,"part":"all bytes","read":"34:`,
		`"pair":"004,41531"`} {
		assert.Contains(t, r.out, says)
	}
	served := do("serve --stdio", `{"do":"identify","cards":["04:A2:3B:5C"]}`+"\n")
	assert.Contains(t, served.out, `"part":"first 3 bytes, reversed"`)
	each := do("identify --each 04:A2:3B:5C 26:0", "")
	assert.Contains(t, each.out, "      1           a chip's serial of 4 bytes  (ask about it alone for what readers send)\n")
	assert.Contains(t, each.out, "none of the known formats  (take care: ask about this card alone)\n", "a line at fault")
	assert.Equal(t, exitDone, do("identify --each 04:A2:3B:5C", "").code)
	assert.Contains(t, do("identify --each --json 04:A2:3B:5C", "").out, `"part":"first 3 bytes, reversed"`)
	assert.NotContains(t, do("identify 26:0F241C3=uid:7920E1AA", "").out, "chip's serial number, ", "a read is there too")
}

// doArgs runs a command whose arguments have blanks.
func doArgs(command string, args ...string) result {
	code, out, errs := cli(append([]string{command}, args...)...)
	return result{code, out, errs}
}

// Whatever is asked, the answer goes on a screen of 80 columns.
func TestAnyAnswerFitsTheScreen(t *testing.T) {
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, seed))
	t.Logf("seed %d", seed)
	for round := range 200 {
		cards, ways := make([]string, 1+rng.IntN(5)), 8
		if round >= 150 { // of many kinds
			cards, ways = make([]string, 3+rng.IntN(12)), 14
		}
		for i := range cards {
			facility, number := 121+rng.Uint64N(2), 1+rng.Uint64N(60000)
			read := frame26(facility, number)
			cards[i] = []string{
				fmt.Sprintf("26:%07X", read), fmt.Sprintf("26:%07X=%05d", read, number), fmt.Sprintf("26:%07X=%05d", read,
					number+1), fmt.Sprintf("26:%07X", read^1<<rng.IntN(26)),
				fmt.Sprintf("%07X", read), fmt.Sprintf("26:%07X=%03d,%05d", read, facility, number), "26:0",
				fmt.Sprintf("25:%07X", read>>1), fmt.Sprintf("34:%09X", read<<3), fmt.Sprintf("37:%010X", read<<7|number),
				fmt.Sprintf("04:A2:3B:5C:11:%02X:80", number&255), fmt.Sprint(number), fmt.Sprintf("4:%X", number&15),
				fmt.Sprintf("56:%014X", read<<20),
			}[rng.IntN(ways)]
		}
		args := []string{}
		if rng.IntN(3) == 0 {
			args = []string{"--site", "../../testdata/demo/site.toml"}
		}
		r := doArgs("identify", append(args, cards...)...)
		assert.Contains(t, []int{exitDone, exitNo}, r.code, "%q: %s", cards, r.err)
		assert.Less(t, strings.Count(r.out, "\n"), say.Lines, "%q:\n%s", cards, r.out)
		for line := range strings.SplitSeq(r.out, "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), say.Width, "%q: %s", cards, line)
		}
	}
	assert.Contains(t, do("identify 26:0 26:0F30B44 26:0F3A7BD=54239", "").out, "card 1 ",
		"a card of which nothing is likely")
}

// The sections of the highest turn are cut first and from their end, down to what has to stay; what is cut is said.
func TestFit(t *testing.T) {
	lines := func(n int) (all []string) {
		for i := range n {
			all = append(all, fmt.Sprint(i))
		}
		return all
	}
	sections := func() []say.Section {
		return []say.Section{
			say.Listed("A:", lines(3), picture.Style{Width: 80}, 2, 1), say.Listed("B:", lines(4), picture.Style{Width: 80}, 1, 3),
			say.Listed("C:", nil, picture.Style{Width: 80}, 0, 2),
		}
	}
	out, cut := say.Fitted(sections(), 10)
	assert.False(t, cut)
	assert.Equal(t, "A:\n  - 0\n  - 1\n  - 2\n\nB:\n  - 0\n  - 1\n  - 2\n  - 3\n", out)
	whole, cut := say.Fitted(sections(), 0)
	assert.False(t, cut)
	assert.Equal(t, out, whole)
	out, cut = say.Fitted(sections(), 9) // two lines are for saying so
	assert.True(t, cut)
	assert.Equal(t, "A:\n  - 0\n  - 1\n  - 2\n\nB:\n  - 0\n", out)
	out, cut = say.Fitted(sections(), 1)
	assert.True(t, cut)
	assert.Equal(t, "A:\n  - 0\n  - 1\n\nB:\n  - 0\n", out)
}

// Of several serials and nothing else no facility is told either, in text as in JSON.
func TestSerialsAlone(t *testing.T) {
	r := do("identify 0D:3A:11:22 0D:3A:44:22", "")
	assert.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "  card 2   0D:3A:44:22  4 bytes: a single size UID")
	assert.NotContains(t, r.out, "facility")
	assert.NotContains(t, do("identify --json 0D:3A:11:22 0D:3A:44:22", "").out, `"facility":`)
}
