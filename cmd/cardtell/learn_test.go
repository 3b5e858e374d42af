package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
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

// What can't be learned from: exit 2 for wrong input, 1 where there is nothing to learn, 3 for a file that is not
// there.
func TestLearnBadInput(t *testing.T) {
	for _, test := range []struct {
		line, stdin string
		code        int
		says        string
	}{
		{"learn", "", exitUsage, "no cards; name a file"},
		{"learn -", "", exitUsage, "standard input: no cards in it"},
		{"learn -", "26:32D687E=46A43\n", exitUsage, `line 1: "46A43" is no printed number: digit 3 is 'A'`},
		{"learn -", "26:32D687E\n46143\n", exitUsage, `standard input:2: "46143": is no read`},
		{"learn -", "26:32D687E=1\n26:32D687E=2\n", exitUsage,
			`line 2: "2" is printed on the card of the same read as line 1`},
		{"learn 26:FFFFFFFF", "", exitUsage, "needs more than 26 bits"},
		{"learn no-such-file", "", exitFile, "no such file"},
	} {
		r := do(test.line, test.stdin)
		assert.Equal(t, test.code, r.code, test.line)
		assert.Contains(t, r.err, test.says)
		assert.Empty(t, r.out)
		assert.Equal(t, 1, strings.Count(r.err, "\n"), r.err)
	}
	r := do("learn -", "26:32D687E=46143\n")
	assert.Equal(t, exitNo, r.code)
	assert.Contains(t, r.out, "so few reads say nothing about a layout: present at least 8 cards")
	out := filepath.Join(t.TempDir(), "x.toml")
	// by chance, the first four keep the checks of 37-16-19
	few := strings.Join(strings.SplitAfter(cards37(t, 10, "="), "\n")[6:10], "")
	r = do("learn - -o "+out, few)
	assert.Equal(t, exitNo, r.code)
	assert.Contains(t, r.err, "too unsure to be relied on")
	assert.NoFileExists(t, out)
}

// A rule is found, said in one line, kept in a file, and the file reads back.
func TestRelate(t *testing.T) {
	out := filepath.Join(t.TempDir(), "rule.toml")
	r := do("relate 3974465139=1938220524 70892138=1790589188 -o "+out, "")
	require.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "1. read as decimal; swap the order of 4 bytes; write as decimal")
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(text), "do = 'swap-bytes'\nbytes = 4\n")
	r = do("relate 0007625328=116,23152 0007666343=116,64167 --json", "")
	assert.Contains(t, r.out, `"steps":[],"to":{"form":"pair"`)
	r = do("relate 0007625328=116,23152 0007666343=116,64176 0009876543=150,46143", "")
	assert.Equal(t, exitDone, r.code, "one slip of the pen hides no rule")
	assert.Regexp(t, `pair 2, 0007666343=116,64176: 99\.\d % that it is typed wrong; it should be\s+0007666343=116,64167`,
		r.out)
	r = do("relate 1=1 2=2 3=4 --json", "")
	assert.Regexp(t, `"mistyped":\[\{"pair":3,"probability":0\.9\d*\}\]`, r.out)
	r = do("relate 96B43F=9876543 123456=1193046", "")
	assert.Contains(t, r.out, "1. read as hex; write as decimal")
	r = do("relate 1=2 1=3", "")
	assert.Equal(t, exitNo, r.code, "one of the two is wrong, and either can be")
	for _, test := range []struct{ line, says string }{
		{"relate", "pairs: there are none; write A=B"},
		{"relate 5", `"5": is no pair`},
		{"relate 5=5 --rule 99 -o " + out, "--rule 99: there is no such rule"},
	} {
		r := do(test.line, "")
		assert.Equal(t, exitUsage, r.code, test.line)
		assert.Contains(t, r.err, test.says)
	}
}
