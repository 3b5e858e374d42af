package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// figures measures everything that the page says about speed, and writes the table anew:
// go test ./cmd/cardtell -run Figures -figures -timeout 30m
var figures = flag.Bool("figures", false, "measure anew what the page says of speed")

// figure is a row of the table: what is measured, by which benchmark, and beside what in the same run.
type figure struct {
	what    string
	pkg     string
	bench   string // as -bench takes it, and what follows; of several counts the table has the median
	line    string // how the benchmark's line begins, without "Benchmark"
	unit    string // of the figure in that line
	against string // another line, or a unit of the same one, for the ratio; "" for none
}

var figureRows = []figure{
	{"a 26-bit read decoded, both fields and both parities; ratio to a decoder written by hand for it", "wiegand",
		"Decode -count 5", "Decode/26_bits_numbers", "ns/op", "Decode/26_bits_by_hand"},
	{"the same; ratio to `strconv.ParseUint` of its hex", "wiegand", "Decode -count 5", "Decode/26_bits_numbers", "ns/op",
		"Decode/26_bits_ParseUint"},
	{"the same by way of a record; ratio to `strconv.ParseUint`", "wiegand", "Decode -count 5", "Decode/26_bits_record",
		"ns/op", "Decode/26_bits_ParseUint"},
	{"a 200-bit FASC-N decoded, 49 checks; ratio to `strconv.ParseUint`", "wiegand", "Decode -count 5",
		"Decode/200_bits_record-", "ns/op", "Decode/26_bits_ParseUint"},
	{"one read ranked over the catalogue", "formats/rank", "Rank", "Rank/one_26-bit_read", "ns/op", ""},
	{"five cards and a print ranked", "formats/rank", "Rank", "Rank/five_cards_and_a_print", "ns/op", ""},
	{"`identify --each`, a log of 500 cards over and over", "cmd/cardtell", "IdentifyEach", "IdentifyEach/log-", "reads/s",
		""},
	{"the same with `--json`, processor time; ratio to text", "cmd/cardtell", "IdentifyEach",
		"IdentifyEach/log_as_JSON-", "cpu-ns/read", "IdentifyEach/log-"},
	{"`identify --each`, cards that are all different", "cmd/cardtell", "IdentifyEach", "IdentifyEach/different-",
		"reads/s", ""},
	{"`batch`, 1,000,000 rows of CSV, a whole process; ratio to a bare copy with `encoding/csv`", "cmd/cardtell",
		"Process", "Process", "one_door-ms", "bare_copy-ms"},
	{"the same for three doors; ratio to one", "cmd/cardtell", "Process", "Process", "three_doors-ms", "one_door-ms"},
	{"`check`, 100,000 rows", "cmd/cardtell", "Check", "Check", "ns/op", ""},
	{"`match`, 300,000 events", "cmd/cardtell", "Match", "Match", "ns/op", ""},
	{"`serve`, requests a second, mixed", "cmd/cardtell", "Serve", "Serve/mixed", "requests/s", ""},
	{"a VCD recording read", "wiegand/line", "VCD", "VCD", "MB/s", ""},
	{"one edge of a steady reader", "wiegand/line", "Decoder", "Decoder/steady", "ns/op", ""},
	{"RS-485 bytes scanned", "wiegand/osdp", "Scanner", "Scanner", "MB/s", ""},
	{"a layout learned from 16 cards with prints", "formats/learn", "Learn", "Learn/16_printed", "ns/op", ""},
	{"the same from 10,000 reads", "formats/learn", "Learn", "Learn/10000_printed", "ns/op", ""},
	{"the rule between two numberings found", "formats/relate", "Find", "Find", "ns/op", ""},
	{"a rule applied", "formats/relate", "Rule", "Rule", "ns/op", ""},
}

func (f *figure) command() string {
	return fmt.Sprintf("go test -run '^$' -bench %s ./%s", f.bench, f.pkg)
}

const figuresBegin, figuresEnd = "<!-- figures -->\n", "<!-- /figures -->"

// trustPage is where the table is.
const trustPage = "cmd/cardtell/doc/trust.md"

// TestFigures holds the table to the rows above: what is claimed, and the command that measures it. With -figures it
// measures, and writes the table.
func TestFigures(t *testing.T) {
	t.Chdir("../..")
	old, err := os.ReadFile(trustPage)
	require.NoError(t, err)
	head, rest, ok := strings.Cut(string(old), figuresBegin)
	shown, tail, ok2 := strings.Cut(rest, figuresEnd)
	require.True(t, ok && ok2, trustPage+" has no place for the table")
	if *figures {
		require.NoError(t, os.WriteFile(trustPage, []byte(head+figuresBegin+measure(t)+figuresEnd+tail), 0o644))
		return
	}
	for i := range figureRows {
		f := &figureRows[i]
		assert.Regexp(t, regexp.QuoteMeta("| "+f.what+" | ")+`[^|]*\d[^|]*`+regexp.QuoteMeta("| `"+f.command()+"` |"), shown)
	}
	assert.Equal(t, len(figureRows)+2, strings.Count(shown, "\n| "), "a row that is not measured")
}

// measure runs the benchmarks, each command once.
func measure(t *testing.T) string {
	outputs := map[string]string{}
	var b strings.Builder
	for i := range figureRows {
		f := &figureRows[i]
		out, ok := outputs[f.command()]
		if !ok {
			cmd := exec.Command("go", slices.Concat([]string{"test", "-run", "^$", "-bench"}, strings.Fields(f.bench),
				[]string{"./" + f.pkg})...)
			text, err := cmd.CombinedOutput()
			require.NoError(t, err, string(text))
			out = string(text)
			outputs[f.command()] = out
		}
		value := find(t, out, f.line, f.unit)
		cell := value.String()
		if f.against != "" {
			line, unit := f.against, f.unit
			if strings.HasSuffix(f.against, "-ms") {
				line, unit = f.line, f.against
			}
			cell += fmt.Sprintf("; %.2f", value.v/find(t, out, line, unit).v)
		}
		fmt.Fprintf(&b, "| %s | %s | `%s` |\n", f.what, cell, f.command())
	}
	return fmt.Sprintf("Measured on %s, %d processors, %s.\n\n| what | measured | command |\n| --- | --- | --- |\n%s",
		runtime.GOARCH, runtime.NumCPU(), runtime.Version(), b.String())
}

// quantity is a figure with its unit.
type quantity struct {
	v    float64
	unit string
}

// String writes it with as many digits as it is worth.
func (q quantity) String() string {
	switch {
	case strings.HasSuffix(q.unit, "-ms"):
		return fmt.Sprintf("%.0f ms", q.v)
	case q.unit != "ns/op" && q.v >= 1000:
		if q.v >= 1e6 {
			return fmt.Sprintf("%.1f million %s", q.v/1e6, q.unit)
		}
		return fmt.Sprintf("%.0f,000 %s", q.v/1000, q.unit)
	case q.unit != "ns/op":
		return fmt.Sprintf("%.0f %s", q.v, q.unit)
	case q.v >= 1e9:
		return fmt.Sprintf("%.1f s", q.v/1e9)
	case q.v >= 1e6:
		return fmt.Sprintf("%.0f ms", q.v/1e6)
	case q.v >= 1e4:
		return fmt.Sprintf("%.0f µs", q.v/1e3)
	case q.v >= 1e3:
		return fmt.Sprintf("%.1f µs", q.v/1e3)
	}
	if q.v < 10 {
		return fmt.Sprintf("%.1f ns", q.v)
	}
	return fmt.Sprintf("%.0f ns", q.v)
}

// find returns the figure with a unit from the lines of that benchmark, the median of several.
func find(t *testing.T, out, line, unit string) quantity {
	t.Helper()
	var all []float64
	for text := range strings.Lines(out) {
		if !strings.HasPrefix(text, "Benchmark"+line) {
			continue
		}
		words := strings.Fields(text)
		for i := 2; i+1 < len(words); i += 2 {
			if words[i+1] == unit {
				var v float64
				_, err := fmt.Sscan(words[i], &v)
				require.NoError(t, err, text)
				all = append(all, v)
			}
		}
	}
	require.NotEmpty(t, all, "no %s in %s of:\n%s", unit, line, out)
	slices.Sort(all)
	return quantity{all[len(all)/2], unit}
}
