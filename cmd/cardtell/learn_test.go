package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/unicode"

	"github.com/cardtell/cardtell/wiegand"
)

// ours37 is a layout of a site of its own: facility 12345, a number of 19 bits, parities that meet in it.
var ours37 = wiegand.MustCompile(wiegand.Spec{
	Length: 37,
	Fields: []wiegand.Field{
		{Name: "facility", Bits: wiegand.Spans{{From: 2, To: 17}}},
		{Name: "number", Bits: wiegand.Spans{{From: 18, To: 36}}},
	},
	Checks: []wiegand.Check{
		{Kind: wiegand.Even, Bit: 1, Over: wiegand.Spans{{From: 2, To: 19}}},
		{Kind: wiegand.Odd, Bit: 37, Over: wiegand.Spans{{From: 23, To: 36}}},
	},
})

// cards37 returns n cards of that site, one a line, with a separator between the read and what is printed.
func cards37(t *testing.T, n int, sep string) string {
	t.Helper()
	rng := rand.New(rand.NewPCG(37, 19))
	var b strings.Builder
	for range n {
		v := rng.Uint64N(1 << 19)
		read, err := ours37.Encode(12345, v)
		require.NoError(t, err)
		fmt.Fprintf(&b, "%s%s%d\n", read.Hex(), sep, v)
	}
	return b.String()
}

// What is learned is written to a file, and the file makes reads that nobody has shown it.
func TestLearnAndUse(t *testing.T) {
	out := filepath.Join(t.TempDir(), "ours.toml")
	r := do("learn "+write(t, "cards.txt", "# our gate\n\n"+cards37(t, 16, "="))+" -o "+out+" --id ours-37", "")
	require.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "37 bits, from 16 cards with printed numbers")
	assert.Contains(t, r.out, "bits 18-36 hold the number: as printed on 16 cards")
	for line := range strings.Lines(r.out) {
		assert.LessOrEqual(t, len([]rune(strings.TrimSuffix(line, "\n"))), 80, line)
	}
	want, err := ours37.Encode(12345, 46143)
	require.NoError(t, err)
	r = do("convert 46143 --from number --to bits --formats "+out+" --format ours-37", "")
	assert.Equal(t, want.String()+"\n", r.out, r.err)
	r = do("identify "+want.Hex()+"=46143 --json --formats "+out, "")
	assert.Contains(t, r.out, `"format":"ours-37"`)
}

// A list with columns read and printed says the same as lines of READ=PRINTED, and so do the arguments.
func TestLearnInputs(t *testing.T) {
	lines := do("learn --json "+write(t, "cards.txt", cards37(t, 16, "=")), "")
	require.Equal(t, exitDone, lines.code, lines.err)
	list := do("learn --json "+write(t, "cards.csv", "read;printed\n"+cards37(t, 16, ";")), "")
	assert.Equal(t, lines.out, list.out, list.err)
	utf16, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String("read\tprinted\n" +
		cards37(t, 16, "\t")) // as spreadsheets save text
	require.NoError(t, err)
	list = do("learn --json "+write(t, "cards.txt", utf16), "")
	assert.Equal(t, lines.out, list.out, list.err)
	book := excelize.NewFile()
	for i, row := range strings.Split("read,printed\n"+cards37(t, 16, ","), "\n") {
		for k, cell := range strings.Split(row, ",") {
			require.NoError(t, book.SetCellValue("Sheet1", fmt.Sprintf("%c%d", 'A'+k, i+1), cell))
		}
	}
	name := filepath.Join(t.TempDir(), "cards.xlsx")
	require.NoError(t, book.SaveAs(name))
	list = do("learn --json "+name, "")
	assert.Equal(t, lines.out, list.out, list.err)
	assert.Equal(t, 16, strings.Count(do("identify --each --quiet --file "+name, "").out, "\n"))
	stdin := do("learn --json -", cards37(t, 16, "="))
	assert.Equal(t, lines.out, stdin.out, stdin.err)
	args := do("learn --json "+strings.ReplaceAll(strings.TrimSpace(cards37(t, 16, "=")), "\n", " "), "")
	assert.Equal(t, lines.out, args.out, args.err)
	var doc struct {
		Length int
		Fields []struct{ Name, Bits, Coding string }
		Checks []struct {
			Kind, Over string
			Bit        int
		}
		Constant    []struct{ Bits, Value string }
		Probability float64
		Open        []string
		Settle      []string
	}
	require.NoError(t, json.Unmarshal([]byte(lines.out), &doc))
	assert.Equal(t, 37, doc.Length)
	assert.Equal(t, "18-36", doc.Fields[0].Bits)
	assert.Equal(t, "0011000000111001", doc.Constant[0].Value)
	assert.Equal(t, 1, doc.Checks[0].Bit)
	assert.Greater(t, doc.Probability, 0.99)
}

// What is too unsure is not written: by chance, these four keep the checks of 37-16-19.
func TestLearnWritesNothingUnsure(t *testing.T) {
	out := filepath.Join(t.TempDir(), "x.toml")
	r := do("learn - -o "+out, strings.Join(strings.SplitAfter(cards37(t, 10, "="), "\n")[6:10], ""))
	assert.Equal(t, exitNo, r.code)
	assert.Contains(t, r.err, "too unsure to be relied on")
	assert.NoFileExists(t, out)
}
