package main

import (
	"encoding/json"
	"encoding/xml"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// draw writes both kinds of file; a new one is for its owner alone, since it holds card numbers.
func TestDrawFiles(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.svg", "a.html", "B.HTM"} {
		path := filepath.Join(dir, name)
		r := do("draw 26:32D687E=46143 26:32D6880 --title Stairs -o "+path, "")
		require.Equal(t, exitDone, r.code, r.err)
		assert.Empty(t, r.out)
		assert.Equal(t, path+": 2 pictures\n", r.err)
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		require.NoError(t, xml.Unmarshal(text, new(struct{})), name)
		for _, part := range []string{"Stairs", "46143", "46144", "150", "both checks hold"} {
			assert.Contains(t, string(text), part, name)
		}
		if info, err := os.Stat(path); assert.NoError(t, err) && runtime.GOOS != "windows" {
			assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
		}
	}
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 3, "a file is left over")
}

// Where drawing fails, the file of that name stays as it was.
func TestDrawKeepsTheOldFile(t *testing.T) {
	old := write(t, "old.svg", "old")
	assert.Equal(t, exitUsage, do("draw rubbish -o "+old, "").code)
	assert.Equal(t, exitUsage, do("draw 25:0 --format 26-8-16 -o "+old, "").code)
	text, err := os.ReadFile(old)
	require.NoError(t, err)
	assert.Equal(t, "old", string(text))
	assert.Equal(t, exitFile, do("draw 26:32D687E -o "+filepath.Join(t.TempDir(), "none", "a.svg"), "").code)
}

// With --format a read is drawn as it is, whether or not its checks hold; the read that it should have been is not put
// in its place.
func TestDrawNamedFormat(t *testing.T) {
	r := do("draw 26:32D687F --format 26-8-16", "")
	require.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "odd FAILS")
	assert.Contains(t, r.out, "even holds")
	assert.Contains(t, r.out, "1 10010110 1011010000111111 1")
	assert.NotContains(t, r.out, "%", "the format was named: there is nothing to be sure about")
	r = do("draw 46143 --format 26-8-16", "")
	require.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "number 46143 (the rest of the read is not known)")
}

// Without it, the likeliest readings are drawn, and where none is likely the bits as they came; the answer is then no.
func TestDrawRanked(t *testing.T) {
	r := do("draw 26:32D687E --top 3", "")
	require.Equal(t, exitDone, r.code, r.err)
	for _, part := range []string{"Card 1 as 26-8-16, ", "Card 1 as 26-0-24, ", "the data lines are swapped"} {
		assert.Contains(t, r.out, part)
	}
	r = do("draw 27:1234567 27:2345671 27:3456712 27:4567123", "")
	assert.Equal(t, exitNo, r.code)
	assert.Contains(t, r.out, "Card 4 as no known format")
	assert.Contains(t, r.out, "00100100 01101000 10101100 111")
	// A misread that can be mended in several ways is drawn as it came, with no numbers; one that its print mends, as it
	// was.
	r = do("draw 26:32D687F", "")
	assert.Contains(t, r.out, "Drawn as it came, with what fails: it can be one of 13 cards, facility 150\n")
	assert.Contains(t, r.out, "odd FAILS")
	assert.NotContains(t, r.out, "As numbers")
	r = do("draw 26:32D687F=150,46143", "")
	assert.Contains(t, r.out, "Drawn as if bit 26 were the one that was misread.")
	assert.Contains(t, r.out, "As numbers, if so:")
}

// draw --json says for each run of bits what it is for.
func TestDrawJSON(t *testing.T) {
	r := do("draw --json 26:32D687E --format 26-8-16", "")
	require.Equal(t, exitDone, r.code, r.err)
	var doc struct {
		Drawn []struct {
			Bits     string
			Segments []struct {
				First, Last  int
				Field, Check string
			}
			Reading struct{ Facility, Number string }
		}
	}
	require.NoError(t, json.Unmarshal([]byte(r.out), &doc))
	require.Len(t, doc.Drawn, 1)
	d := doc.Drawn[0]
	assert.Equal(t, "11001011010110100001111110", d.Bits)
	require.Len(t, d.Segments, 4)
	assert.Equal(t, "even", d.Segments[0].Check)
	assert.Equal(t, "facility", d.Segments[1].Field)
	assert.Equal(t, [2]int{2, 9}, [2]int{d.Segments[1].First, d.Segments[1].Last})
	assert.Equal(t, "46143", d.Reading.Number)
}

func TestDrawBadInput(t *testing.T) {
	for line, says := range map[string]string{
		"draw":                                                   "no cards; write one",
		"draw 26:32D687E -o x.png":                               "neither in .svg nor in .html",
		"draw 26:32D687E --top 0":                                "--top 0",
		"draw 1 --top 2 --format 26-8-16":                        "leave one of them out",
		"draw 25:0000000 --format 26-8-16":                       "25:0000000: has 25 bits; format 26-8-16 has 26",
		"draw 26:32D687E --format 26-8-17":                       "nearest: 26-8-16",
		"draw 99999999999999999999999999999999 --format 26-8-16": "nothing that format 26-8-16 can have",
		"draw --top 9 " + strings.Repeat("26:32D687E ", 200):     "a drawing takes 400",
	} {
		r := do(line, "")
		assert.Equal(t, exitUsage, r.code, line)
		assert.Empty(t, r.out, line)
		assert.Contains(t, r.err, says, line)
		assert.Equal(t, 1, strings.Count(r.err, "\n"), r.err)
	}
}

// Cards of two kinds are drawn as the answer of their own kind has them, under the numbers that they were given with.
func TestDrawSeveralKinds(t *testing.T) {
	t.Parallel()
	r := do("draw 26:2F20023=121,00017 26:2B13883=5807169 26:2F20057=121,00043 26:2B13885=5807170 26:2F201A9=121,00212 26:2B1388F=5807175", "")
	assert.Equal(t, exitDone, r.code)
	for _, says := range []string{"Card 1 as 26-8-16", "Card 5 as 26-8-16", "Card 2 as 26-0-24", "Card 6 as 26-0-24"} {
		assert.Contains(t, r.out, says)
	}
	r = do("draw 26:2F20023 37:00FAC09C57=20011 26:2F20057 37:00FAC09C58", "")
	assert.Contains(t, r.out, "Card 3 as 26-8-16")
	assert.Contains(t, r.out, "Card 2 as 37-16-19")
	// the two of 37 bits keep the checks of no format
	r = do("draw 26:2F20023=121,00017 37:0303913C81 26:2F20057 37:0303913C83", "")
	assert.NotContains(t, r.out[strings.Index(r.out, "To be surer:"):], "card 1", "it is of the other kind")
}

// Bits that are computed from a number are not called a read, in text, drawing, sheet and JSON; those of a read are.
func TestComputedBitsAreNoRead(t *testing.T) {
	t.Parallel()
	const words = "No read was seen"
	dir := t.TempDir()
	for text, computed := range map[string]bool{"121,08417": true, "26:0F241C3": false, "26:0F241C3=08417": false,
		"8417": true} {
		assert.Equal(t, computed, strings.Contains(do("draw "+text, "").out, words), text)
		assert.Equal(t, computed, strings.Contains(do("draw "+text+" --json", "").out, `"computed":true`), text)
		for _, kind := range []string{".svg", ".html"} {
			out := filepath.Join(dir, "x"+kind)
			require.Equal(t, exitDone, do("draw "+text+" -o "+out, "").code)
			drawn := read(t, out)
			assert.Equal(t, computed, strings.Contains(drawn, words) && strings.Contains(drawn, "computed, not read"), text+kind)
			assert.NotEqual(t, computed, strings.Contains(drawn, ">read<"), text+kind)
		}
	}
	assert.Contains(t, do("draw 121,08417 --format 26-8-16", "").out, words)
}

// A chip's serial alone is no read: draw makes up no bits, as identify tells no facility, unless a format is named.
func TestDrawSerial(t *testing.T) {
	r := do("draw 04:A2:3B:5C", "")
	assert.Equal(t, exitUsage, r.code)
	assert.Contains(t, r.err, "of a chip's serial no reader has sent a bit yet; identify says what readers send of it")
	r = do("draw 04:A2:3B:5C 26:32D687E", "")
	assert.Contains(t, r.out, "Card 2 as 26-8-16")
	assert.NotContains(t, r.out, "Card 1")
	assert.Contains(t, r.out, "card 1: of a chip's serial")
	assert.Contains(t, do("draw 04:A2:3B:5C --format 34-0-32", "").out, "number               77740892\n", "0x04A23B5C")
}
