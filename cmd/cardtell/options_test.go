package main

import (
	"encoding/json"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A list goes to standard output where that is asked for, as CSV with what is asked of it, and its rejects are told one
// by one.
func TestBatchToStandardOutput(t *testing.T) {
	list := write(t, "list.csv", "Name;Card\nZoë;150,46143\nBo;zz\n")
	r := do("batch "+list+" --format 26-8-16 --from pair --to decimal --out-delimiter comma --out-encoding windows-1252 -o -", "")
	assert.Equal(t, exitNo, r.code, r.err)
	// SIA AC-01-1996.10, the example of formats/catalogue.toml; ë is 0xEB in windows-1252.
	assert.Equal(t, "Name,Card,decimal\nZo\xeb,\"150,46143\",9876543\n", r.out)
	assert.Contains(t, r.err, "line 3: ")
}

// Completion offers the columns of the list on the line, TOML files where one belongs, and no files where a card does.
func TestCompletionOfColumns(t *testing.T) {
	list := write(t, "list.csv", "Name;Card no;Room\nA;1;2\n")
	for _, tt := range []struct {
		line []string
		has  string
	}{
		{[]string{"batch", list, "--column", ""}, "Name\nCard no\nRoom\n:4\n"},
		{[]string{"check", list, "--names", "N"}, "Name\n"},
		{[]string{"batch", "--column", ""}, ":4\n"},
		{[]string{"convert", "1", "--site", ""}, "toml\n:8\n"},
		{[]string{"convert", "1", ""}, ":4\n"},
		{[]string{"match", "events.csv", "--list", list, "--list-column", "R"}, "Room\n"},
		{[]string{"match", "events.csv", "--list-column", ""}, ":4\n"},
	} {
		code, out, errs := cli(append([]string{"__complete"}, tt.line...)...)
		require.Equal(t, exitDone, code, errs)
		assert.Contains(t, out, tt.has, "%q", tt.line)
	}
}

// capture --identify ranks each card once, those of one length together. The read is that of testdata/line: facility
// 212, number 7041, by SIA AC-01-1996.10.
func TestCaptureIdentifies(t *testing.T) {
	const recording = "../../testdata/line/reader.vcd"
	code, out, errs := cli("capture", recording, "--identify")
	require.Equal(t, exitDone, code, errs)
	assert.Contains(t, out, "The 1 card of 26 bits can be:", "the same card twice is one")
	assert.Regexp(t, `(?m)^ *pair 212,07041 `, out)

	two := filepath.Join(t.TempDir(), "two.vcd")
	made := []string{"capture", "-o", two, "--make", "26:3A83702", "--make", "37:0303913C81", "--make", "26:32D687E"}
	code, _, errs = cli(made...)
	require.Equal(t, exitDone, code, errs)
	code, out, errs = cli("capture", two, "--identify")
	require.Equal(t, exitDone, code, errs)
	assert.Contains(t, out, "The 2 cards of 26 bits can be:")
	assert.Contains(t, out, "The 1 card of 37 bits can be:")

	code, out, errs = cli("capture", two, "--identify", "--json")
	require.Equal(t, exitDone, code, errs)
	ids := map[string]bool{}
	for line := range strings.Lines(out) {
		var answer struct {
			Candidates []struct {
				Format string `json:"format"`
			} `json:"candidates"`
		}
		require.NoError(t, json.Unmarshal([]byte(line), &answer), line)
		for _, c := range answer.Candidates {
			ids[c.Format] = true
		}
	}
	assert.True(t, ids["26-8-16"] && ids["37-16-19"], "%v", ids)
}

// A catalogue's format that explains the reads is said, with the form of what is printed.
func TestLearnKnownFormat(t *testing.T) {
	var lines []string
	for i := range 20 { // numbers of one facility, by the rule of SIA AC-01-1996.10
		number := strconv.Itoa((i*7919 + 131) % 65536)
		code, read, errs := cli("convert", "--format", "26-8-16", "--from", "pair", "--to", "bits-hex", "121,"+number)
		require.Equal(t, exitDone, code, errs)
		lines = append(lines, strings.TrimSpace(read)+"="+number)
	}
	sample := write(t, "sample.txt", strings.Join(lines, "\n")+"\n")
	code, out, errs := cli("learn", sample)
	require.Equal(t, exitDone, code, errs)
	assert.Contains(t, out, "Known: format 26-8-16 explains every read, and what is printed is its number.")
	code, out, errs = cli("learn", sample, "--json")
	require.Equal(t, exitDone, code, errs)
	assert.Contains(t, out, "\"known\":[{")
	assert.Contains(t, out, `"format":"26-8-16"`)
	definition := filepath.Join(t.TempDir(), "own.toml")
	_, _, errs = cli("learn", sample, "-o", definition)
	assert.Contains(t, errs, "which is known already: not written")
	assert.NoFileExists(t, definition)
}
