package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/formats"
)

// randomList makes a list of cards of a format in a form, in a dialect: its delimiter, line end and quoting.
func randomList(rnd *rand.Rand, f *formats.Format, fm formats.Form, rows int, dialect string) string {
	delimiter, end := dialect[:1], "\r\n"
	quoteAll := strings.Contains(dialect, "all")
	if strings.Contains(dialect, "lf") {
		end = "\n"
	}
	var b strings.Builder
	line := func(cells ...string) {
		for i, c := range cells {
			if i > 0 {
				b.WriteString(delimiter)
			}
			if quoteAll || strings.ContainsAny(c, delimiter+"\"") {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			b.WriteString(c)
		}
		b.WriteString(end)
	}
	line("Name", "Card", "Workshop")
	for i := range rows {
		c := f.Blank()
		for k, field := range f.Layout.Spec().Fields {
			r, err := c.Record.WithUint64(k, rnd.Uint64()>>(64-uint(field.Bits.Len())))
			if err != nil {
				panic(err)
			}
			c.Record, c.Known = r, c.Known|1<<k
		}
		text, err := fm.Text(&c)
		if err != nil {
			panic(err)
		}
		line(fmt.Sprintf("Zoë \"Z\" %d, of Hall", i), text, []string{"Joinery", "Print", ""}[i%3])
	}
	return b.String()
}

// A list that is converted and converted back is the same bytes, wherever the forms drop nothing: over formats, forms,
// dialects and encodings.
func TestConvertingBackGivesTheSameBytes(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	cat := formats.Builtin()
	dir := t.TempDir()
	in, there, back := filepath.Join(dir, "in.csv"), filepath.Join(dir, "there.csv"), filepath.Join(dir, "back.csv")
	forms := []string{"pair", "joined", "decimal10", "decimal", "hex", "words", "bits", "bits-hex", "fields"}
	encodings := map[string]func(string) string{
		"UTF-8":        func(s string) string { return s },
		"UTF-8 marked": func(s string) string { return "\xef\xbb\xbf" + s },
		"windows-1252": func(s string) string {
			b, err := charmap.Windows1252.NewEncoder().String(s)
			require.NoError(t, err)
			return b
		},
		"UTF-16": func(s string) string {
			b, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(s)
			require.NoError(t, err)
			return b
		},
	}
	for _, id := range []string{"26-8-16", "37-16-19", "34-16-16"} {
		f := cat.Find(id)[0]
		for _, from := range forms {
			for _, to := range forms {
				if testing.Short() && rnd.IntN(8) > 0 {
					continue // each is two programs that wait for the disk
				}
				a, _ := formats.FormByName(from)
				b, _ := formats.FormByName(to)
				okA, _ := a.Fits(f)
				okB, _ := b.Fits(f)
				if !okA || !okB || id == "37-16-19" && (from == "decimal10" || to == "decimal10") {
					continue // 35 bits pass ten digits
				}
				for name, encode := range encodings {
					if name != "UTF-8" && rnd.IntN(4) > 0 {
						continue
					}
					dialect := []string{",", ";", "\t", "|", ", lf", "; all", ", all lf"}[rnd.IntN(7)]
					text := encode(randomList(rnd, f, a, 8, dialect))
					require.NoError(t, os.WriteFile(in, []byte(text), 0o600))
					code, out, errs := cli("batch", in, "-c", "Card", "--format", id, "--from", from, "--to", to, "--replace", "-o",
						there)
					require.Equal(t, 0, code, "%s %s %s %q: %s%s", id, from, to, dialect, out, errs)
					code, out, errs = cli("batch", there, "-c", "Card", "--format", id, "--from", to, "--to", from, "--replace", "-o",
						back)
					require.Equal(t, 0, code, "%s %s %s %q: %s%s", id, from, to, dialect, out, errs)
					require.Equal(t, text, read(t, back), "%s %s %s %q %s", id, from, to, dialect, name)
				}
			}
		}
	}
}

// rows = converted + rejected, and that many rows are in the files.
func TestEveryRowIsConvertedOrRejected(t *testing.T) {
	site := write(t, "site.toml", siteText)
	for name, text := range map[string]string{
		"nothing but a head": "Name,Card\n",
		"all good":           "Name,Card\nA,\"121,1\"\nB,\"122,1\"\n",
		"all bad":            "Name,Card\nA,x\nB,\nC,\"121,70000\"\nD,\"300,1\"\nE,12-May\nF,\"1,2,3\"\nG,\"121,600\"\nH,\"9,1\"\nI,1.2E+10\n",
		"mixed":              "Name;Card\r\nA;121,1\r\n\r\nB;x\r\nC;'121,2\r\n\r\n",
		"no last line end":   "Name;Card\nA;121,1\nB;y",
		"ragged":             "Name;Card\nA;121,1\nB\nC;121,2;z\n",
		"one column":         "Card\n121-1\n\nzzz\n121-2\n",
	} {
		t.Run(name, func(t *testing.T) {
			in := write(t, "in.csv", text)
			out := filepath.Join(t.TempDir(), "out.csv")
			code, stdout, stderr := cli("batch", in, "-c", "card", "--site", site, "--door", "north", "--ragged", "-o", out,
				"--json")
			var r found.Batch
			require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
			assert.Equal(t, r.Rows, r.Converted+r.Rejected+r.Other)
			assert.Len(t, r.Others, r.Other)
			assert.Equal(t, r.Rejected > 0, code == 1)
			assert.Len(t, r.Problems, r.Rejected)
			converted := csvRows(t, read(t, out)) - 1
			assert.Equal(t, r.Converted, converted)
			rejected := 0
			if r.Rejected > 0 {
				rejected = csvRows(t, read(t, out+".rejects.csv")) - 1
			}
			assert.Equal(t, r.Rejected, rejected)
			assert.Equal(t, csvRows(t, text)-1, r.Rows-r.Other, "the standard library leaves blank lines out")
		})
	}
}

// csvRows counts rows as the standard library reads them.
func csvRows(t *testing.T, text string) int {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord, r.LazyQuotes = -1, true
	if strings.Contains(text, ";") {
		r.Comma = ';'
	}
	rows, err := r.ReadAll()
	require.NoError(t, err)
	return len(rows)
}

// A masked number is the same everywhere in a run, in another form too.
func TestMasksAreOfCards(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out.csv")
	code, _, stderr := cli("batch", write(t, "in.csv", "Name;Card\nAnn;121,43\nBo;121,43\n"), "-c", "Card", "--site",
		write(t, "site.toml", siteText), "--door", "North", "-o", out, "--redact")
	require.Equal(t, 0, code, stderr)
	assert.Regexp(t, `^Name;Card;decimal10\nAnn;(masked-\w{12});masked-\w{12}\nBo;`, read(t, out))
	lines := strings.Split(read(t, out), "\n")
	ann, bo := strings.Split(lines[1], ";"), strings.Split(lines[2], ";")
	assert.Equal(t, ann[1:], bo[1:], "the same card")
	assert.Equal(t, ann[1], ann[2], "in another form")
}

// A number that can be two cards, which one door shows alike, is no number for a door that tells them apart.
func TestAlikeAtOneDoorIsNotAtAnother(t *testing.T) {
	site := write(t, "site.toml", `
[[cards]]
format = "34-0-32"
numbers = "1-1200"
printed = "number10"
[[cards]]
format = "37-0-35"
numbers = "1-250"
printed = "number10"
[[doors]]
name = "One"
enter = "decimal10"
[[doors]]
name = "Two"
enter = "bits-hex"
`)
	in := write(t, "in.csv", "Card\n0000000244\n0000000051\n0000000800\n0000001100\n")
	for doors, converted := range map[string]int{"One": 4, "Two": 2, "all": 2} {
		out := filepath.Join(t.TempDir(), "out.csv")
		_, stdout, _ := cli("batch", in, "-c", "Card", "--site", site, "--door", doors, "-o", out, "--json")
		var r found.Batch
		require.NoError(t, json.Unmarshal([]byte(stdout), &r), stdout)
		assert.Equal(t, converted, r.Converted, doors)
	}
}

// No cell of any output is one that a spreadsheet would run (OWASP, "CSV Injection").
func TestNoOutputIsAFormula(t *testing.T) {
	site := write(t, "site.toml", strings.Replace(siteText, "North", "=North", 1))
	in := write(t, "in.csv", "=Name,Card,@x\n=1+1,\"121,43\",+A1\n\"-2+3\",=cmd|x,\"=\"\"a\"\"\"\n@z,\"121,44\",\"\tq\"\n")
	out := filepath.Join(t.TempDir(), "out.csv")
	cli("batch", in, "-c", "Card", "--site", site, "--door", "all", "--name", "=new", "-o", out)
	events := write(t, "events.csv", "Card,T\n0007929899,=1\n0007929900,2\n5,@3\n")
	cli("match", events, "-c", "Card", "--list", in, "--list-column", "Card", "--names", "=name", "--site", site, "--door",
		"=North", "-o", filepath.Join(filepath.Dir(out), "ev.csv"))
	files := names(t, filepath.Dir(out))
	assert.Len(t, files, 4)
	for _, name := range files {
		r := csv.NewReader(strings.NewReader(read(t, filepath.Join(filepath.Dir(out), name))))
		r.FieldsPerRecord = -1
		rows, err := r.ReadAll()
		require.NoError(t, err, name)
		for _, row := range rows {
			for _, v := range row {
				assert.False(t, v != "" && strings.ContainsAny(v[:1], "=+-@\t\r\n"), "%s: %q", name, v)
			}
		}
	}
}

// What a row costs does not grow with rows: nothing is allocated for one.
func TestBatchMemoryDoesNotGrow(t *testing.T) {
	allocs := func(rows int) uint64 {
		in := write(t, "in.csv", numberList(rows))
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		code := run([]string{"batch", in, "-c", "Card", "--format", "26-8-16", "--from", "decimal", "--to", "pair", "-o",
			filepath.Join(filepath.Dir(in), "out.csv")},
			nil, io.Discard, io.Discard)
		runtime.ReadMemStats(&after)
		require.Equal(t, 0, code)
		return after.Mallocs - before.Mallocs
	}
	allocs(1000)
	few, many := allocs(1000), allocs(50_000)
	assert.Less(t, many, few+5000, "allocations for 49,000 more rows")
}

// numberList is a list of rows with a decimal number: any of 24 bits, or of cards of some facilities.
func numberList(rows int, facilities ...int) string {
	rnd := rand.New(rand.NewPCG(1, 1))
	var b bytes.Buffer
	b.WriteString("Name,Card,Dept,Since\r\n")
	for i := range rows {
		number := rnd.IntN(1 << 24)
		if n := len(facilities); n > 0 {
			number = facilities[i%n]<<16 | number&0xFFFF
		}
		fmt.Fprintf(&b, "Name of %d,%d,Dept %d,2024-0%d-1%d\r\n", i, number, i%37, 1+i%9, i%10)
	}
	return b.String()
}

// A list that changes while it is read is neither the old one nor the new: nothing is written, and the exit code says
// so.
func TestListThatChangesWhileItIsRead(t *testing.T) {
	in := write(t, "in.csv", numberList(200_000))
	out := filepath.Join(t.TempDir(), "out.csv")
	require.NoError(t, os.WriteFile(out, []byte("old"), 0o600))
	stop := make(chan bool)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				close(stop)
				return
			default:
				at := time.Unix(1_700_000_000+int64(i), 0)
				os.Chtimes(in, at, at) //nolint:errcheck // seen by the test if it fails
				time.Sleep(100 * time.Microsecond)
			}
		}
	}()
	code, _, stderr := cli("batch", in, "-c", "Card", "--format", "26-8-16", "--from", "decimal", "--to", "pair", "-o",
		out)
	stop <- true
	<-stop
	assert.Equal(t, 3, code)
	assert.Contains(t, stderr, "was changed while it was read")
	assert.Equal(t, "old", read(t, out))
}

func BenchmarkBatch(b *testing.B) {
	text := numberList(100_000)
	in := write(b, "in.csv", text)
	args := []string{"batch", in, "-c", "Card", "--format", "26-8-16", "--from", "decimal", "--to", "pair", "-o",
		filepath.Join(b.TempDir(), "out.csv")}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if code := run(args, nil, io.Discard, io.Discard); code != 0 {
			b.Fatal(code)
		}
	}
}

// BenchmarkProcess is 1,000,000 rows from the start of a process to its end: a bare copy by encoding/csv, and batch for
// one door and for three. They take turns, so that all have the same machine.
func BenchmarkProcess(b *testing.B) {
	in, site := write(b, "in.csv", numberList(1_000_000, 77, 84, 121, 150)), write(b, "site.toml", threeDoors)
	dir := b.TempDir()
	batch := []string{"batch", in, "-c", "Card", "--site", site, "-o", filepath.Join(dir, "out.csv"), "--door"}
	runs := []struct {
		name, program string
		args          []string
	}{
		{"bare_copy", "barecopy", []string{in, filepath.Join(dir, "copy.csv")}},
		{"one_door", "cardtell", append(slices.Clone(batch), "North")},
		{"three_doors", "cardtell", append(slices.Clone(batch), "all")},
	}
	// The fastest of each, taken in turns: a machine is at times busy with other things.
	took := make([]time.Duration, len(runs))
	for range max(b.N, 5) {
		for i, r := range runs {
			c := exec.Command(r.program, r.args...)
			start := time.Now()
			if out, err := c.CombinedOutput(); err != nil {
				b.Fatalf("%v: %s", err, out)
			}
			if once := time.Since(start); took[i] == 0 || once < took[i] {
				took[i] = once
			}
		}
	}
	for i, r := range runs {
		b.ReportMetric(float64(took[i].Milliseconds()), r.name+"-ms")
	}
	b.ReportMetric(float64(took[1])/float64(took[0]), "one-to-copy")
	b.ReportMetric(float64(took[2])/float64(took[1]), "three-to-one")
}

// threeDoors is a site of any decimal number as a card of 26 bits.
const threeDoors = `[[cards]]
format = "26-8-16"
printed = "decimal"
numbers = "0-65535"
[[doors]]
name = "North"
enter = "pair"
[[doors]]
name = "Yard"
enter = "decimal10"
[[doors]]
name = "Room"
enter = "hex"
`

// copyBare copies a list by encoding/csv, and nothing else.
func copyBare(in, out string) error {
	src, err := os.Open(in)
	if err != nil {
		return err
	}
	defer src.Close()
	dst, err := os.Create(out)
	if err != nil {
		return err
	}
	defer dst.Close()
	r, w := csv.NewReader(src), csv.NewWriter(dst)
	r.ReuseRecord = true
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	return dst.Sync() // as batch does
}
