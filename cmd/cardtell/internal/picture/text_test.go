package picture

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// escapes are terminal colours (ECMA-48, select graphic rendition).
var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

func textOf(c *formats.Card, s Style) string {
	var b bytes.Buffer
	Text(&b, c, s)
	return b.String()
}

// Every example of the catalogue is drawn with each bit once and in order, every field's name or as much of it as there
// is room for, and every value; nothing is wider than the terminal, and colours add nothing.
func TestEveryExampleInText(t *testing.T) {
	t.Parallel()
	onlyBits := regexp.MustCompile(`^ +[01]+( [01]+)*$`)
	cat := formats.Builtin()
	for f := range cat.All() {
		for _, e := range f.Examples {
			card, err := f.Read(e.Read)
			require.NoError(t, err)
			for _, width := range []int{0, 60, 80, 200} {
				text := textOf(&card, Style{Width: width})
				bits, above := "", ""
				for l := range strings.Lines(text) {
					l = strings.TrimRight(l, "\n")
					if onlyBits.MatchString(l) && strings.Trim(above, " 0123456789") == "" && strings.TrimSpace(above) != "" &&
						len(bits) < f.Layout.Len() {
						bits += strings.ReplaceAll(l, " ", "")
					}
					above = l
					assert.LessOrEqual(t, len(l), max(width, 40)+60, "%s at %d columns: %q", f.ID, width, l)
				}
				assert.Equal(t, e.Read.String(), bits, "%s at %d columns\n%s", f.ID, width, text)
				for name, value := range e.Fields {
					assert.Contains(t, text, name[:1], f.ID)
					assert.Contains(t, text, value, "%s at %d columns: %s", f.ID, width, name)
				}
				assert.NotContains(t, text, "FAILS", f.ID)
				painted := textOf(&card, Style{Width: width, Color: true})
				assert.NotEqual(t, text, painted)
				assert.Equal(t, text, escapes.ReplaceAllString(painted, ""), "colours say nothing of their own")
			}
		}
	}
}

// A check that fails is said in words, whether checks are drawn, listed or summed up; colours stand beside the words.
func TestFailingChecksInText(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ id, read, says string }{
		{"26-8-16", "26:32D687F", "odd FAILS"},                                  // SIA AC-01-1996.10: the last bit is wrong
		{"37-16-19", "37:0C1C9E2480", "FAILS"},                                  // the last bit again
		{"64-8-32-rows", "64:FF818000CAA974C9", "fixed 0 of 1"},                 // the stop bit is 0
		{"64-8-32-rows", "64:FF818000CAA974D8", "even 13 of 14"},                // one of the column parities
		{"fascn-56", "56:0032000109244B", "digits 0 to 9 in bits 33-56: FAILS"}, // a digit of 11
		{"pin-26", "26:32D687E", "fixed bits 2-9: FAILS"},                       // a card of facility 150 is no keypad code
		{"fascn-200", "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FD", "lrc 0 of 1"},
	} {
		p := plateOf(t, tt.id, tt.read)
		text := textOf(p.Card, Style{Width: 80})
		assert.Contains(t, text, tt.says, "%s", text)
		assert.Contains(t, text, "FAILS")
		painted := textOf(p.Card, Style{Width: 80, Color: true})
		assert.Contains(t, painted, "\x1b[31m")
		assert.Equal(t, text, escapes.ReplaceAllString(painted, ""))
		sheet, _ := svgOf(t, Sheet{Plates: []Plate{p}})
		assert.Contains(t, sheet, "FAIL", tt.id)
	}
}

// A card of which only a part is known has no read to draw.
func TestPartOfACardInText(t *testing.T) {
	t.Parallel()
	f := formats.Builtin().Find("26-8-16")[0]
	card, err := f.Blank().With(f.Number(), "46143")
	require.NoError(t, err)
	assert.Empty(t, textOf(&card, Style{Width: 80}))
}

// Bits of no known format are drawn in groups of eight, each with the number of its first bit.
func TestBitsInText(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	Bits(&b, wiegand.MustParseBits("bits:"+strings.Repeat("10010", 8)), Style{Width: 40})
	assert.Equal(t, "  1        9        17       25\n  10010100 10100101 00101001 01001010\n\n  33\n  01010010\n\n",
		regexp.MustCompile(` +\n`).ReplaceAllString(b.String(), "\n"))
}

// What a fixed part of a card says is known, even where its fields are not; its checks are open.
func TestPartOfALongCard(t *testing.T) {
	t.Parallel()
	f := formats.Builtin().Find("fascn-200")[0]
	card, err := f.Blank().With(f.FieldByName("series"), "1")
	require.NoError(t, err)
	p := Plate{Number: 1, Seen: "series 1", Card: &card}
	read := p.Read()
	assert.Equal(t, "11010????????????????????10110", read[:30],
		"start sentinel, agency, separator: TIG SCEPACS v2.2, figure 6")
	assert.Equal(t, "10110"+"10000"+"10110", read[85:100], "the series between its separators")
	words, state := p.verdict()
	assert.Equal(t, "checks open", words)
	assert.Equal(t, Open, state)
	text, _ := svgOf(t, Sheet{Plates: []Plate{p}})
	assert.NotContains(t, text, "FAIL")
}

// The verdict counts checks in words.
func TestVerdicts(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ id, read, want string }{
		{"32-0-32", "32:ECE58673", "no checks"},
		{"26-8-16", "26:32D687E", "both checks hold"},
		{"35-12-20", "01010011010010000011011101110101010", "all 3 checks hold"},
		{"26-8-16", "26:12D687F", "2 of 2 checks FAIL"},
	} {
		p := plateOf(t, tt.id, tt.read)
		words, _ := p.verdict()
		assert.Equal(t, tt.want, words, tt.id)
	}
	p := Plate{}
	words, _ := p.verdict()
	assert.Empty(t, words, "a read of no known format has none")
}

// Texts from outside become one line that shows what it says.
func TestClean(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "a b c d é漢", Clean("a\tb\nc\rd é漢"))
	assert.Equal(t, "\ufffd[31m\ufffd12\ufffd\ufffd\ufffd", Clean("\x1b[31m\u202e12\u2069\ufffe\x00"))
}

// A read of clock and data is drawn with both its lines, by the names of its recording.
func TestClockAndDataIsDrawn(t *testing.T) {
	t.Parallel()
	bits, err := line.Track2Bits(";0123?") // a published example of ISO/IEC 7811-2
	require.NoError(t, err)
	d := line.NewDecoder(line.Config{Coding: line.ClockAndData})
	edges, end := line.NewGenerator(line.Profile{Coding: line.ClockAndData}, 1).AppendRead(nil, 0, bits)
	for _, e := range edges {
		require.False(t, d.Feed(e))
	}
	require.True(t, d.Feed(line.Edge{At: end + time.Second, Wire: line.NoWire}))
	p := Pulses{Read: d.Read(), Pulses: d.Pulses(), Number: 1, Names: [2]string{"top.strobe",
		"top.a name of its own that is far too long"}}
	require.Equal(t, bits, p.Read.Bits)
	var b bytes.Buffer
	require.NoError(t, p.WriteSVG(&b))
	text, elements := parsed(t, bytes.NewReader(b.Bytes()))
	assert.Contains(t, text, "clock-and-data")
	assert.Contains(t, text, "CLOCK (strobe)")
	assert.Contains(t, text, "DATA (a name of its own that …)")
	assert.Contains(t, text, "DATA is drawn while CLOCK is low")
	assert.Contains(t, text, bits.String())
	assert.Positive(t, elements["path"])
	// CLOCK falls once a bit, DATA once a 1.
	falls := 0
	for _, m := range regexp.MustCompile(`d="(M[^"]*H[^"]*)"`).FindAllStringSubmatch(b.String(), -1) {
		falls += strings.Count(m[1], "V") / 2
	}
	assert.Equal(t, bits.Len()+bits.OnesCount(), falls)
}

// What is out of limits has a mark and a line that says so.
func TestFaultsAreMarked(t *testing.T) {
	t.Parallel()
	d := line.NewDecoder(line.Config{})
	// over 100 µs: SIA AC-01-1996.10
	profile := line.Profile{Width: line.Range{Min: 300 * time.Microsecond, Max: 300 * time.Microsecond}}
	edges, end := line.NewGenerator(profile, 1).AppendRead(nil, 0, wiegand.MustParseBits("26:32D687E"))
	for _, e := range edges {
		require.False(t, d.Feed(e))
	}
	require.True(t, d.Feed(line.Edge{At: end + time.Second, Wire: line.NoWire}))
	var b bytes.Buffer
	require.NoError(t, Pulses{Read: d.Read(), Pulses: d.Pulses(), Number: 1}.WriteSVG(&b))
	text, elements := parsed(t, bytes.NewReader(b.Bytes()))
	assert.Contains(t, text, "▲ ")
	assert.Equal(t, 26, elements["rect"]-1, "a box around each bit, and the paper")
}
