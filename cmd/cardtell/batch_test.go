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

func TestBatchSaysWhyRowsAreRejected(t *testing.T) {
	site := write(t, "site.toml", siteText)
	in := write(t, "in.csv", "Name;Card\nA;x\nB;\nC;121,70000\nD;300,1\nE;12-May\nF;121,600\nG;9,1\nH;1.2E+10\nI;0007929899\n")
	_, stdout, _ := cli("batch", in, "-c", "card", "--site", site, "--door", "all", "--dry-run", "--json")
	var r found.Batch
	require.NoError(t, json.Unmarshal([]byte(stdout), &r))
	var got []string
	for _, p := range r.Problems {
		got = append(got, fmt.Sprint(p.Line, " ", p.Kind))
	}
	assert.Equal(t, []string{
		"2 unreadable", "3 empty", "4 out-of-range", "5 out-of-range", "6 damaged", "7 out-of-block", "8 wrong-facility",
		"9 damaged", "10 unreadable",
	}, got)
	assert.Contains(t, r.Problems[8].Message, "--from pair,decimal10 would convert both")
	assert.Equal(t, []string{"in.csv"}, names(t, filepath.Dir(in)), "a dry run writes nothing")
}

func TestBatchForSeveralDoors(t *testing.T) {
	site := write(t, "site.toml", siteText)
	in := write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\nBo,\"9,9\"\n")
	out := filepath.Join(t.TempDir(), "out.csv")
	code, stdout, _ := cli("batch", in, "-c", "B", "--site", site, "--door", "all", "-o", out)
	assert.Equal(t, 1, code)
	assert.Contains(t, stdout, "2 rows: 1 converted, 1 rejected")
	assert.Equal(t, []string{"out.csv.rejects.csv", "out.north.csv", "out.south.csv"}, names(t, filepath.Dir(out)))
	dir := filepath.Dir(out)
	// 121*65536+43 = 7929899
	assert.Equal(t, "Name,Card,decimal10\nAnn,\"121,43\",0007929899\n", read(t, filepath.Join(dir, "out.north.csv")))
	assert.Equal(t, "Name,Card,number\nAnn,\"121,43\",43\n", read(t, filepath.Join(dir, "out.south.csv")))
	assert.Equal(t, "line,reason,Name,Card\n3,\"facility 9 is not one of this site's cards, which have 121, 122\",Bo,\"9,9\"\n", read(t, out+".rejects.csv"))
	for _, name := range names(t, dir) {
		info, err := os.Stat(filepath.Join(dir, name))
		require.NoError(t, err)
		if runtime.GOOS != "windows" {
			assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), name)
		}
	}
	// the next run has no rejects, and says so where the old ones are
	in = write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\n")
	code, _, _ = cli("batch", in, "-c", "B", "--site", site, "--door", "all", "-o", out)
	assert.Equal(t, 0, code)
	assert.Equal(t, "line,reason,Name,Card\n", read(t, out+".rejects.csv"))
}

// A row that has another facility than that given for all is rejected; check finds it, and proposes cards of the one
// given.
func TestFacilityGivenForAList(t *testing.T) {
	in := write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\nBo,\"5,44\"\n")
	form := []string{"-c", "Card", "--format", "26-8-16", "--from", "pair", "--facility", "5"}
	code, stdout, stderr := cli(append([]string{"batch", in, "--to", "hex", "-o", "-"}, form...)...)
	assert.Equal(t, 1, code)
	assert.Equal(t, "Name,Card,hex\nBo,\"5,44\",05002C\n", stdout, "5·65536+44")
	assert.Contains(t, stderr, `line 2: "121,43": facility 121, not 5 as all cards should have; leave --facility out if the list is right`)
	code, stdout, _ = cli(append([]string{"check", in, "--next", "2"}, form...)...)
	assert.Equal(t, 1, code)
	assert.Contains(t, stdout, "of another facility: 1")
	assert.Contains(t, stdout, "  45 to 46, format 26-8-16, facility 5")
}

// A number alone among facilities and numbers joined is no card of facility 0 that has lost its zeros.
func TestNumberAloneIsNotJoined(t *testing.T) {
	in := write(t, "in.csv", "Name,Card\nAnn,12100043\nBo,900043\nCleo,46143\nDov,43\n")
	code, stdout, stderr := cli("batch", in, "-c", "Card", "--format", "26-8-16", "--from", "joined", "--to", "pair", "-o",
		"-")
	assert.Equal(t, 1, code)
	assert.Equal(t, "Name,Card,pair\nAnn,12100043,\"121,00043\"\nBo,900043,\"009,00043\"\n", stdout)
	assert.Contains(t, stderr, `line 4: form joined "46143": has 5 digits; format 26-8-16 takes 8, or down to 6`)
	assert.Contains(t, stderr, `line 5: form joined "43": has 2 digits`)
}

// 121,00050 and 121,46140 in a spreadsheet whose decimal sign is a comma become 121,0005 and 121,4614. Where zeros
// before the number tell that its end is missing, it is no card; --as-is takes it as it stands.
func TestZerosLostAfterAComma(t *testing.T) {
	in := write(t, "in.csv", "Name;Card\nAnn;121,00043\nBo;121,0005\nCleo;121,5\nDov;121-0005\nEsi;121,0\n")
	form := []string{"-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "number", "-o", "-"}
	code, stdout, stderr := cli(append([]string{"batch", in}, form...)...)
	assert.Equal(t, 1, code)
	assert.Equal(t, "Name;Card;number\nAnn;121,00043;43\nCleo;121,5;5\nDov;121-0005;5\nEsi;121,0;0\n", stdout)
	assert.Contains(t, stderr, `line 3: "121,0005": 4 digits after the comma where there should be 5`)
	code, stdout, _ = cli(append([]string{"batch", in, "--as-is"}, form...)...)
	assert.Equal(t, 0, code)
	assert.Contains(t, stdout, "Bo;121,0005;5\n")
}

// Two names of one file are one file, also by a link and where there is no such file yet.
func TestBatchOutputsAreApart(t *testing.T) {
	in := write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\nBo,x\n")
	dir := t.TempDir()
	link := filepath.Join(t.TempDir(), "folder")
	if err := os.Symlink(dir, link); err != nil {
		t.Skip(err)
	}
	for _, rejects := range []string{filepath.Join(link, "out.csv"), filepath.Join(dir, "OUT.csv")} {
		code, _, stderr := cli("batch", in, "-c", "B", "--format", "26-8-16", "--from", "pair", "--to", "hex",
			"-o", filepath.Join(dir, "out.csv"), "--rejects", rejects)
		assert.Equal(t, 2, code)
		assert.Contains(t, stderr, "would take the place of the output")
		assert.Empty(t, names(t, dir))
	}
}

// A masked number is the same everywhere in a run and another in the next; no number is left anywhere.
func TestRedactLeavesNoNumber(t *testing.T) {
	site := write(t, "site.toml", siteText)
	text := "Name;Card\nAnn;121,43\nBo;121,43\nCleo;121,70123\nDov;9,4711\nEsi;4711x\nFinn;121,601\nGita;0007929899\n;121,45\n"
	in := write(t, "in.csv", text)
	events := write(t, "events.csv", "Card;T\n0007929899;1\n0008654321;2\n777777;3\n1234x;4\n")
	secret := []string{"121,43", "7929899", "70123", "4711", "601", "121,45", "8654321", "777777", "1234", "00043",
		"79002B"}
	dir := t.TempDir()
	out := filepath.Join(dir, "out.csv")
	for _, args := range [][]string{
		{"batch", in, "-c", "Card", "--site", site, "--door", "all", "-o", out, "--redact"},
		{"batch", in, "-c", "Card", "--site", site, "--door", "North", "-o", out, "--redact", "--replace", "--json"},
		{"check", in, "-c", "Card", "--site", site, "--redact", "--next", "3"},
		{"check", in, "-c", "Card", "--site", site, "--redact", "--json", "--all"},
		{"match", events, "-c", "Card", "--list", in, "--list-column", "Card", "--site", site, "--door", "North", "--redact",
			"-o", filepath.Join(dir, "ev.csv")},
		{"match", events, "-c", "Card", "--list", in, "--list-column", "Card", "--site", site, "--door", "North", "--redact",
			"--json"},
	} {
		code, stdout, stderr := cli(args...)
		assert.Equal(t, 1, code, stderr)
		all := stdout + stderr
		for _, name := range names(t, dir) {
			all += read(t, filepath.Join(dir, name))
		}
		for _, s := range secret {
			// a mask is hex: what is compared has no masks in it
			assert.NotContains(t, masksOut(t, all), s, "%v", args)
		}
		assert.Contains(t, all, "masked-")
	}
	lines := strings.Split(read(t, filepath.Join(dir, "out.north.csv")), "\n")
	ann, bo := strings.Split(lines[1], ";"), strings.Split(lines[2], ";")
	assert.Equal(t, ann[1:], bo[1:], "the same card")
	assert.Equal(t, ann[1], ann[2], "in another form")
}

// A row of which the number has come apart, as 121,43 does where commas are between cells, leaves none of its parts.
func TestRedactMasksRowsThatComeApart(t *testing.T) {
	in := write(t, "in.csv", "Name,Card,Hall\nAnn,121,10043,East\nBo,\"121,10044\",West\nCleo,\nDov,,\n")
	events := write(t, "events.csv", "Card,T\n121,10043,1\n\"121,10044\",2\n")
	dir := t.TempDir()
	out := filepath.Join(dir, "out.csv")
	form := []string{"--format", "26-8-16", "--from", "pair", "--ragged", "--redact"}
	code, stdout, stderr := cli(append([]string{"batch", in, "-c", "Card", "--to", "hex", "-o", out}, form...)...)
	assert.Equal(t, 1, code, stderr)
	rejects := read(t, out+".rejects.csv")
	for _, part := range []string{"121", "10043", "10044"} {
		assert.NotContains(t, masksOut(t, stdout+stderr+rejects+read(t, out)), part)
	}
	assert.Contains(t, rejects, "Ann")
	assert.Contains(t, rejects, "East")
	assert.Contains(t, rejects, "\n4,the row has too many or too few cells,Cleo,\n",
		"nothing before the reason where there is no number")
	assert.Contains(t, stdout, " the cell is empty\n")
	assert.NotContains(t, stdout, ": the cell is empty")

	named := filepath.Join(dir, "named.csv")
	code, stdout, stderr = cli(append([]string{"match", events, "-c", "Card", "--list", in, "--list-column", "Card", "-o",
		named}, form...)...)
	assert.Equal(t, 1, code, stderr)
	for _, part := range []string{"121", "10043", "10044"} {
		assert.NotContains(t, masksOut(t, stdout+stderr+read(t, named)), part)
	}
}

// A list without heads has a card in its first row, which no message repeats.
func TestRedactShowsNoHeads(t *testing.T) {
	in := write(t, "in.csv", "Ann,\"121,10043\"\nBo,\"121,10044\"\n")
	for _, args := range [][]string{
		{"batch", in, "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o", "-", "--redact"},
		{"batch", in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o", "-", "--redact"},
		{"check", in, "-c", "2", "--names", "Name", "--format", "26-8-16", "--from", "pair", "--redact"},
		{"match", in, "-c", "Card", "--list", in, "--list-column", "2", "--format", "26-8-16", "--from", "pair", "--redact"},
	} {
		code, stdout, stderr := cli(args...)
		assert.NotZero(t, code)
		assert.NotContains(t, masksOut(t, stdout+stderr), "10043", "%v", args)
	}
}

// Rows that are rejected with the list on standard output are told of, however quiet the rest.
func TestQuietTellsOfRejects(t *testing.T) {
	in := write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\nBo,x\n")
	code, _, stderr := cli("batch", in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o", "-",
		"--quiet")
	assert.Equal(t, 1, code)
	assert.True(t, strings.HasPrefix(stderr, "line 3: "), stderr)
	assert.Equal(t, 1, strings.Count(stderr, "\n"), stderr)
}

// masksOut takes masks away, and the name of the test's folder, which has a random number in it.
func masksOut(t testing.TB, s string) string {
	parts := strings.Split(strings.ReplaceAll(s, filepath.Dir(t.TempDir()), ""), "masked-")
	for i := 1; i < len(parts); i++ {
		parts[i] = parts[i][min(12, len(parts[i])):]
	}
	return strings.Join(parts, "")
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

// Each command line is wrong in one way; the error is one line, says what would do, and nothing is written.
func TestBatchErrors(t *testing.T) {
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	good := file("good.csv", "Name;Card;Dept;dept\nAnn;121,43;x;y\n")
	site := file("site.toml", siteText)
	ragged := file("ragged.csv", "Name;Card\nAnn;121,43\nBo;121,44;zz\n")
	nul := file("nul.csv", "Name;Card\nAnn;121,43\nBo;121\x00,44\n")
	headless := file("headless.csv", "Ann;121,43\nBo;121,44\n")
	old := file("old.xls", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1....")
	empty := file("empty.csv", "")
	fake := file("fake.xlsx", "Name,Card\n")
	badSite := file("bad.toml", "name = \"x\"\n[[cards]]\nformat = \"26-8-61\"\n")
	out := filepath.Join(dir, "out.csv")
	form := []string{"--format", "26-8-16", "--from", "pair", "--to", "hex", "-o", out}
	before := names(t, dir)
	for name, tt := range map[string]struct {
		args []string
		code int
		says string
	}{
		"no such column": {append([]string{good, "-c", "Cards"}, form...), 2,
			`good.csv:1: column "Cards": no such column; there are "Card", "Name"`},
		"two columns of one name": {append([]string{good, "-c", "Dept"}, form...), 2, `two of that name, C and D`},
		"no column": {append([]string{headless}, form...), 2,
			"headless.csv:1: --column: no column that by its head holds card numbers"},
		"ragged row": {append([]string{ragged, "-c", "Card"}, form...), 2,
			"ragged.csv:3: 3 cells where the first row has 2"},
		"NUL byte": {append([]string{nul, "-c", "Card"}, form...), 2, "nul.csv:3: a NUL byte"},
		"no names of columns": {append([]string{headless, "-c", "2"}, form...), 2,
			"headless.csv:1: the first row has a card number"},
		"old spreadsheet": {append([]string{old, "-c", "2"}, form...), 2, "old binary form"},
		"empty file":      {append([]string{empty, "-c", "2"}, form...), 2, "the file is empty"},
		"no spreadsheet":  {append([]string{fake, "-c", "2"}, form...), 2, "does not begin like one"},
		"folder":          {append([]string{dir, "-c", "2"}, form...), 3, "is a folder"},
		"no such file":    {append([]string{filepath.Join(dir, "none"), "-c", "2"}, form...), 3, "no such file"},
		"no such folder for OUT": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o",
			filepath.Join(dir, "no", "out")}, 3, "no such file"},
		"output is the input": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o",
			good}, 2, "a file that is read"},
		"rejects are the output": {append([]string{good, "-c", "Card", "--rejects", filepath.Join(dir, ".", "out.csv")},
			form...), 2, "would take the place of the output"},
		"rejects are a door's": {[]string{good, "-c", "Card", "--site", site, "--door", "all", "-o", out, "--rejects",
			filepath.Join(dir, "out.North.csv")}, 2, "would take the place of the output"},
		"rejects to nowhere": {append([]string{good, "-c", "Card", "--rejects", "-"}, form...), 2,
			"rejects need a file"},
		"no output": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex"}, 2,
			"-o: no output"},
		"no such form": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hexx",
			"-o", out}, 2, `--to "hexx": no such form; nearest: hex`},
		"no such format": {[]string{good, "-c", "Card", "--format", "26-8-61", "--from", "pair", "--to", "hex", "-o",
			out}, 2, `format "26-8-61": no such format; nearest: 26-8-16`},
		"form without a pair": {[]string{good, "-c", "Card", "--format", "26-0-24", "--from", "pair", "--to", "hex", "-o",
			out}, 2, "to pair"},
		"facility of 8 bits": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "number", "--facility",
			"300", "--to", "hex", "-o", out}, 2, "0 to 255"},
		"no such door": {[]string{good, "-c", "Card", "--site", site, "--door", "West", "-o", out}, 2,
			"no such door"},
		"door without a site": {[]string{good, "-c", "Card", "--door", "West", "--format", "26-8-16", "--from", "pair",
			"-o", out}, 2, "give --site"},
		"form and door": {[]string{good, "-c", "Card", "--site", site, "--door", "North", "--to", "hex", "-o", out},
			2, "leave --to or --door out"},
		"mistake in the site": {[]string{good, "-c", "Card", "--site", badSite, "--door", "North", "-o", out}, 2,
			"bad.toml:3: cards.format"},
		"unknown encoding": {append([]string{good, "-c", "Card", "--encoding", "utf-9"}, form...), 2,
			"no such encoding"},
		"delimiter of two signs": {append([]string{good, "-c", "Card", "--delimiter", "||"}, form...), 2,
			"one ASCII character"},
		"column that is there": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex",
			"--name", "Name", "-o", out}, 2, `there is a column "Name" already`},
		"no file": {form, 2, "batch: no list; name one, as in: cardtell batch testdata/demo/staff.csv"},
		"JSON and list on stdout": {[]string{good, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o",
			"-", "--json"}, 2, "standard output"},
	} {
		t.Run(name, func(t *testing.T) {
			code, stdout, stderr := cli(append([]string{"batch"}, tt.args...)...)
			assert.Equal(t, tt.code, code, stderr)
			assert.Empty(t, stdout)
			assert.Contains(t, stderr, tt.says)
			assert.True(t, strings.HasPrefix(stderr, "cardtell: "), stderr)
			assert.Equal(t, 1, strings.Count(stderr, "\n"), stderr)
			assert.Equal(t, before, names(t, dir), "nothing was written")
		})
	}
}

// A format that is not given is taken from the numbers only where that leaves hardly a doubt, and is said.
func TestBatchTakesTheFormatFromTheNumbers(t *testing.T) {
	var b strings.Builder
	b.WriteString("Card;n\n")
	for i := range 20 {
		fmt.Fprintf(&b, "121,%05d;x\n", 40+i)
	}
	in := write(t, "in.csv", b.String())
	code, _, stderr := cli("batch", in, "-c", "Card", "--from", "pair", "--to", "hex", "--dry-run")
	assert.Equal(t, 0, code)
	assert.Contains(t, stderr, "format 26-8-16 taken from the numbers")
	in = write(t, "in.csv", "Card\n121-40\nzz\n")
	code, _, stderr = cli("batch", in, "-c", "Card", "--from", "pair", "--to", "hex", "--dry-run")
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "give --format ID")
	code, _, stderr = cli("batch", in, "-c", "Card", "--to", "hex", "--dry-run")
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "give --from FORM")
}

// A rule file that relate writes converts a list, and its reverse gives the list back.
func TestBatchByRule(t *testing.T) {
	dir := t.TempDir()
	rule := filepath.Join(dir, "rule.toml")
	// 121,43 is 7929899 as one number, 121*65536+43; its three bytes the other way round are 2818169
	code, stdout, stderr := cli("relate", "7929899=2818169", "7929900=2883705", "7930174=4063609", "-o", rule)
	require.Equal(t, 0, code, stdout+stderr)
	in := write(t, "in.csv", "Name,Card\nAnn,7929899\nBo,zz\nCleo,7929901\nDov,1.2E+10\n")
	out := filepath.Join(dir, "out.csv")
	code, stdout, stderr = cli("batch", in, "-c", "Card", "--rule", rule, "-o", out)
	assert.Equal(t, 1, code, stderr)
	assert.Contains(t, stdout, "4 rows: 2 converted, 2 rejected")
	assert.Equal(t, "Name,Card,converted\nAnn,7929899,2818169\nCleo,7929901,2949241\n", read(t, out))
	code, _, stderr = cli("batch", in, "-c", "Card", "--rule", rule, "--to", "hex", "-o", out)
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "a rule says all of it")
	code, _, stderr = cli("batch", in, "-c", "Card", "--rule", in, "-o", out)
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "in.csv")
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

// numberList is a list of rows with a decimal number.
func numberList(rows int) string {
	rnd := rand.New(rand.NewPCG(1, 1))
	var b bytes.Buffer
	b.WriteString("Name,Card,Dept,Since\r\n")
	for i := range rows {
		fmt.Fprintf(&b, "Name of %d,%d,Dept %d,2024-0%d-1%d\r\n", i, rnd.IntN(1<<24), i%37, 1+i%9, i%10)
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
	in, site := write(b, "in.csv", numberList(1_000_000)), write(b, "site.toml", threeDoors)
	dir := b.TempDir()
	batch := []string{"batch", in, "-c", "Card", "--site", site, "-o", filepath.Join(dir, "out.csv"), "--door"}
	runs := []struct {
		name, env string
		args      []string
	}{
		{"bare_copy", asBareCopy, []string{in, filepath.Join(dir, "copy.csv")}},
		{"one_door", asProgram, append(slices.Clone(batch), "North")},
		{"three_doors", asProgram, append(slices.Clone(batch), "all")},
	}
	// The fastest of each, taken in turns: a machine is at times busy with other things.
	took := make([]time.Duration, len(runs))
	for range max(b.N, 5) {
		for i, r := range runs {
			c := exec.Command(os.Args[0], r.args...)
			c.Env = append(os.Environ(), r.env+"=1")
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

// A trial without -o names no files, and what people are shown fits 80 columns.
func TestBatchTrialNamesNoFile(t *testing.T) {
	site := write(t, "site.toml", siteText)
	in := write(t, "in.csv", "Name;Card\n=1+1;121,1\nBo;121,2\n")
	code, stdout, stderr := cli("batch", in, "-c", "Card", "--site", site, "--door", "all", "--dry-run", "--json")
	require.Equal(t, 0, code, stderr)
	assert.NotContains(t, stdout, `"file"`)
	code, stdout, stderr = cli("batch", in, "-c", "Card", "--site", site, "--door", "all", "--redact", "-o",
		filepath.Join(t.TempDir(), "o.csv"))
	require.Equal(t, 0, code, stderr)
	assert.Contains(t, stdout, "defused")
	assert.Contains(t, stdout, "masked")
	for line := range strings.Lines(stdout) {
		if !strings.Contains(line, "written") { // a path is not broken
			assert.LessOrEqual(t, len([]rune(strings.TrimSuffix(line, "\n"))), 80, line)
		}
	}
}

// A number that a spreadsheet has changed is quoted when a rule converts the list, as it is without one.
func TestBatchByRuleQuotesDamage(t *testing.T) {
	rule := write(t, "rule.toml", "version = 1\nfrom = { form = \"decimal\" }\nto = { form = \"hex\", digits = 6 }\n")
	in := write(t, "in.csv", "Card\n12.05.2024\n7929899\n\"\"\n")
	code, stdout, stderr := cli("batch", in, "-c", "Card", "--rule", rule, "--dry-run")
	assert.Equal(t, 1, code, stderr)
	assert.Contains(t, stdout, `"12.05.2024": looks like a date`)
	assert.Contains(t, stdout, "1 converted, 2 rejected")
}
