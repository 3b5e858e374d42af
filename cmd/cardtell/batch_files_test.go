package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
)

// batchJSON runs batch and returns its report.
func batchJSON(t *testing.T, code int, args ...string) (r found.Batch) {
	t.Helper()
	got, stdout, stderr := cli(append([]string{"batch", "--json"}, args...)...)
	require.Equal(t, code, got, stdout+stderr)
	require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
	assert.Equal(t, r.Rows, r.Converted+r.Rejected+r.Other, "every row is one of the three")
	return r
}

// staffBook is a workbook of Harbour Row Workshops as an office keeps one: instructions on a first sheet, a title,
// numbers shown by a format, a number that became a date, a total.
func staffBook(t *testing.T) string {
	t.Helper()
	book := excelize.NewFile()
	defer book.Close()
	must := func(err error) { t.Helper(); require.NoError(t, err) }
	must(book.SetSheetName("Sheet1", "Read me"))
	must(book.SetCellValue("Read me", "A1", "Fill in one row for each cardholder."))
	_, err := book.NewSheet("Staff")
	must(err)
	_, err = book.NewSheet("Keys")
	must(err)
	must(book.SetCellValue("Keys", "B2", 12.5))
	shown, dated := `000","00000`, "d-mmm"
	pattern, err := book.NewStyle(&excelize.Style{CustomNumFmt: &shown})
	must(err)
	date, err := book.NewStyle(&excelize.Style{CustomNumFmt: &dated})
	must(err)
	bold, err := book.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	must(err)
	must(book.SetCellValue("Staff", "A1", "Harbour Row Workshops, cards"))
	for i, row := range [][]any{
		{"Name", "Card", "Since", "Active", "Deposit"},
		{"Ann", 5702119, time.Date(2019, 2, 10, 0, 0, 0, 0, time.UTC), true, 12.5},
		{"Bo", time.Date(2026, 12, 19, 0, 0, 0, 0, time.UTC), nil, false, 1},
		{"Cleo", 5700044, time.Date(2020, 2, 29, 0, 0, 0, 0, time.UTC), true, 10},
		{"Total", 3},
	} {
		at, err := excelize.CoordinatesToCellName(1, i+3)
		must(err)
		must(book.SetSheetRow("Staff", at, &row))
	}
	must(book.SetCellStyle("Staff", "A3", "E3", bold))
	must(book.SetCellStyle("Staff", "B4", "B6", pattern))
	must(book.SetCellStyle("Staff", "B5", "B5", date))
	must(book.SetColWidth("Staff", "A", "A", 31))
	name := filepath.Join(t.TempDir(), "staff.xlsx")
	must(book.SaveAs(name))
	return name
}

// What a person sees in a cell is what is read: 5702119 shown as 057,02119 is facility 57, number 2119, which is
// 57*65536+2119 = 3737671. A date is named as one, also where it is shown as 19-Dec.
func TestNumbersShownByAFormat(t *testing.T) {
	in := staffBook(t)
	out := filepath.Join(t.TempDir(), "out.csv")
	r := batchJSON(t, 1, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "decimal", "-o", out)
	assert.Equal(t, "\"Harbour Row Workshops, cards\"\r\n\r\nName,Card,Since,Active,Deposit,decimal\r\n"+
		"Ann,\"057,02119\",2019-02-10,TRUE,12.5,3737671\r\nCleo,\"057,00044\",2020-02-29,TRUE,10,3735596\r\n",
		strings.TrimPrefix(read(t, out), "\ufeff"))
	require.Len(t, r.Problems, 1)
	assert.Equal(t, problem{Line: 5, Kind: "damaged",
		Message: `"2026-12-19": the cell holds a date: a spreadsheet takes 5-12 for one; write the number there again as text`}, r.Problems[0])
	assert.Equal(t, `XLSX, sheet "Staff" of 3 (--sheet NAME for another); sheet "Read me" before it is no list`, r.Input)
	assert.Equal(t, []found.OtherRow{
		{Line: 1, Kind: "title", Text: `"Harbour Row Workshops, cards"`}, {Line: 2, Kind: "blank"},
		{Line: 7, Kind: "total", Text: `"Total 3"`, LeftOut: true},
	}, r.Others)
	assert.Equal(t, 6, r.Rows)
}

// From XLSX to XLSX everything but the numbers stays: sheets and their names, types, formats, widths. It is read back
// by the spreadsheet library, which had no part in writing it.
func TestWorkbookStaysWhatItWas(t *testing.T) {
	in := staffBook(t)
	out := filepath.Join(t.TempDir(), "out.xlsx")
	batchJSON(t, 1, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "decimal10", "-o", out)
	was, err := excelize.OpenFile(in)
	require.NoError(t, err)
	defer was.Close()
	book, err := excelize.OpenFile(out)
	require.NoError(t, err)
	defer book.Close()
	assert.Equal(t, []string{"Read me", "Staff", "Keys"}, book.GetSheetList())
	width, err := book.GetColWidth("Staff", "A")
	require.NoError(t, err)
	assert.Equal(t, 31.0, width)
	same := func(sheet, from, to string) {
		t.Helper()
		for _, get := range []func(*excelize.File, string) (any, error){
			func(b *excelize.File, at string) (any, error) { return b.GetCellValue(sheet, at) },
			func(b *excelize.File, at string) (any, error) { return b.GetCellType(sheet, at) },
			func(b *excelize.File, at string) (any, error) {
				id, err := b.GetCellStyle(sheet, at)
				if err != nil {
					return nil, err
				}
				s, err := b.GetStyle(id)
				return s, err
			},
		} {
			want, err := get(was, from)
			require.NoError(t, err)
			got, err := get(book, to)
			require.NoError(t, err)
			assert.Equal(t, want, got, "%s %s", sheet, from)
		}
	}
	same("Read me", "A1", "A1")
	same("Keys", "B2", "B2")
	for _, column := range []string{"A", "B", "C", "D", "E"} {
		same("Staff", column+"1", column+"1")
		same("Staff", column+"3", column+"3")
		same("Staff", column+"4", column+"4")
		same("Staff", column+"6", column+"5") // the row between is rejected
	}
	for at, want := range map[string]string{"F3": "decimal10", "F4": "0003737671", "F5": "0003735596", "A6": "",
		"F6": ""} {
		v, err := book.GetCellValue("Staff", at)
		require.NoError(t, err)
		assert.Equal(t, want, v, at)
	}
	// the library's dates are days: still numbers, not texts
	raw, err := book.GetCellValue("Staff", "C4", excelize.Options{RawCellValue: true})
	require.NoError(t, err)
	assert.Equal(t, "43506", raw)
}

// Formulas stay, and where something refers to rows by their place, rows keep theirs: that of a reject is left empty,
// which is said. Formulas that share one text are values, which is said too.
func TestWorkbookWithFormulas(t *testing.T) {
	book := excelize.NewFile()
	defer book.Close()
	for i, row := range [][]any{{"Name", "Card", "Twice"}, {"Ann", "121,43"}, {"Bo", "x"}, {"Cleo", "121,44"}} {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		require.NoError(t, err)
		require.NoError(t, book.SetSheetRow("Sheet1", at, &row))
	}
	require.NoError(t, book.SetCellFormula("Sheet1", "C2", `A2&A2`))
	require.NoError(t, book.SetCellFormula("Sheet1", "C4", `A4&A4`))
	in := filepath.Join(t.TempDir(), "in.xlsx")
	require.NoError(t, book.SaveAs(in))
	out := filepath.Join(t.TempDir(), "out.xlsx")
	r := batchJSON(t, 1, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "number", "--replace", "-o",
		out)
	require.Len(t, r.Warnings, 1)
	assert.Contains(t, r.Warnings[0], "1 row of the sheet left empty")
	got, err := excelize.OpenFile(out)
	require.NoError(t, err)
	defer got.Close()
	formula, err := got.GetCellFormula("Sheet1", "C4")
	require.NoError(t, err)
	assert.Equal(t, "A4&A4", formula)
	rows, err := got.GetRows("Sheet1")
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"Name", "Card", "Twice"}, {"Ann", "43", ""}, nil, {"Cleo", "44", ""}}, rows)

	kind, ref := excelize.STCellFormulaTypeShared, "C2:C4"
	require.NoError(t, book.SetCellFormula("Sheet1", "C2", `A2&A2`, excelize.FormulaOpts{Type: &kind, Ref: &ref}))
	require.NoError(t, book.SaveAs(in))
	r = batchJSON(t, 1, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "number", "--replace", "-o",
		out)
	assert.Contains(t, strings.Join(r.Warnings, " "), "with the value in place of a formula that it shared with others")
}

// What is not written is refused by its name, and nothing is written in its place.
func TestOutputsThatAreNotWritten(t *testing.T) {
	in := write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\n")
	dir := t.TempDir()
	for _, name := range []string{"x.ods", "X.ODS", "x.xls", "x.xlsm"} {
		code, _, stderr := cli("batch", in, "-c", "B", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o",
			filepath.Join(dir, name))
		assert.Equal(t, 2, code)
		assert.Contains(t, stderr, "is not written here; name the file .xlsx or .csv")
		assert.Empty(t, names(t, dir))
	}
}

// A cell with a sign alone is no formula, and stays as it is.
func TestSignsAloneStay(t *testing.T) {
	in := write(t, "in.csv", "Name,Card,Phone\nAnn,\"121,43\",-\nBo,\"121,44\",--\nCleo,\"121,45\",-x\n")
	_, stdout, _ := cli("batch", in, "-c", "B", "--format", "26-8-16", "--from", "pair", "--to", "number", "-o", "-")
	assert.Equal(t, "Name,Card,Phone,number\nAnn,\"121,43\",-,43\nBo,\"121,44\",--,44\nCleo,\"121,45\",'-x,45\n", stdout)
}

// Title rows, blank rows, names of columns once more, totals and footers are nobody's cards. What has a number in it is
// left out of the output, where a door's program would take it for one.
func TestRowsThatAreNoCardholders(t *testing.T) {
	in := write(t, "in.csv", "Harbour Row Workshops,,\nPrinted on 27.11.2026,,\n,,\nName,Card,Hall\nAnn,43,East\n\nBo,44,West\nName,Card,Hall\nCleo,x,West\n"+
		"----,----,----\nTotal,3,\nCount: 3,,\nPage 1 of 2,,\nEnd of list,,\n")
	out := filepath.Join(t.TempDir(), "out.csv")
	args := []string{in, "-c", "Card", "--format", "26-8-16", "--from", "number", "--facility", "121", "--to", "decimal",
		"-o", out}
	r := batchJSON(t, 1, args...)
	assert.Equal(t, "Harbour Row Workshops,,\nPrinted on 27.11.2026,,\n,,\nName,Card,Hall,decimal\nAnn,43,East,7929899\n\nBo,44,West,7929900\n", read(t, out))
	var kinds []string
	for _, o := range r.Others {
		kinds = append(kinds, o.Kind)
	}
	assert.Equal(t, []string{"title", "title", "blank", "blank", "header", "footer", "total", "total", "footer", "footer"},
		kinds)
	assert.Equal(t, 13, r.Rows)
	code, stdout, _ := cli(append([]string{"batch"}, args...)...)
	assert.Equal(t, 1, code)
	assert.Contains(t, stdout, "13 rows: 2 converted, 1 rejected, 10 other\n")
	assert.Contains(t, stdout, "other     2 blank, 2 title, 1 header, 2 total, 3 footer")
	assert.Contains(t, stdout, `line 11    total "Total 3", left out`)

	// the row of names is said; what is above it is a title
	r = batchJSON(t, 1, append(args, "--header-row", "4")...)
	assert.Equal(t, 13, r.Rows)
	code, _, stderr := cli(append(append([]string{"batch"}, args...), "--header-row", "6")...)
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "no row with something in it begins there")
	code, _, stderr = cli(append(append([]string{"batch"}, args...), "--header-row", "4", "--no-header")...)
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "leave one of them out")
}

// A cardholder whose name begins as a total does is one.
func TestCardholdersNamedLikeTotals(t *testing.T) {
	in := write(t, "in.csv", "Name,Card,Hall\nTotal Fitness Ltd,43,East\nCount Otto,44,West\nPage,45,East\nSum Li,46,\nPrinting room 3,47,\nNumber 7,48,\n")
	r := batchJSON(t, 0, in, "-c", "Card", "--format", "26-8-16", "--from", "number", "--facility", "121", "--to",
		"decimal", "--dry-run")
	assert.Equal(t, 6, r.Converted)
}

// Facility and number in two columns are one card; anything but one number in each is none.
func TestFacilityAndNumberInTwoColumns(t *testing.T) {
	in := write(t, "in.csv", "Name;Site code;Card;Hall\nAnn;121;43;East\nBo;;44;West\nCleo;121;;West\nDov;121;121,45;West\nEsi;300;46;West\nFinn; 121 ;00047;East\n")
	out := filepath.Join(t.TempDir(), "out.csv")
	args := []string{in, "-c", "Site code", "-c", "Card", "--format", "26-8-16", "--to", "decimal", "-o", out}
	r := batchJSON(t, 1, args...)
	assert.Equal(t, "Name;Site code;Card;Hall;decimal\nAnn;121;43;East;7929899\nFinn; 121 ;00047;East;7929903\n",
		read(t, out))
	var got []string
	for _, p := range r.Problems {
		got = append(got, p.Kind+" "+p.Message)
	}
	assert.Equal(t, []string{
		"empty the cell of the facility is empty", "empty the cell of the number is empty",
		`unreadable "121,45": one number is wanted as number, the other has a column of its own; --split where each column has cards of its own`,
	}, got[:3])
	assert.Equal(t, "out-of-range", r.Problems[3].Kind)

	batchJSON(t, 1, append(args, "--redact")...)
	assert.NotRegexp(t, `121|00043|;43|00047|7929`, masksOut(t, read(t, out)))

	for says, more := range map[string][]string{
		"two columns can't be replaced by one": {"--replace"},
		"are the form pair":                    {"--from", "number"},
		"the facility is in a column":          {"--facility", "5"},
		"given too often":                      {"-c", "Hall"},
	} {
		code, _, stderr := cli(append(append([]string{"batch"}, args...), more...)...)
		assert.Equal(t, 2, code)
		assert.Contains(t, stderr, says)
	}
}

// Two cards in a row are never silently the first: a second column of cards is named, two numbers in a cell are
// rejected.
func TestTwoCardsInARow(t *testing.T) {
	in := write(t, "in.csv", "Name;Card;Second card\nAnn;121,43;121,50\nBo;121,44 and 121,45;\nCleo;\"121,46\n121,47\";\n")
	form := []string{"--format", "26-8-16", "--from", "pair", "--to", "number", "--dry-run"}
	r := batchJSON(t, 1, append([]string{in, "-c", "Card"}, form...)...)
	assert.Equal(t, []string{`column "Second card" has card numbers too by its name; they are passed on as they are, and --column "Second card" converts those; --split --column "Card" --column "Second card" makes a row for each`}, r.Warnings)
	require.Len(t, r.Problems, 2)
	for _, p := range r.Problems {
		assert.Contains(t, p.Message, "2 numbers in one cell; give each card a row of its own")
	}
	code, _, stderr := cli(append([]string{"batch", in}, form...)...)
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "2 columns that can hold the card numbers")
}

// A column called C, AC or FC is meant by that, and that it is not the third one is said.
func TestColumnsCalledLikeLetters(t *testing.T) {
	in := write(t, "in.csv", "C;FC;x\n43;121;7\n")
	code, stdout, stderr := cli("batch", in, "-c", "FC", "-c", "C", "--format", "26-8-16", "--to", "decimal", "-o", "-")
	assert.Equal(t, 0, code, stderr)
	assert.Equal(t, "C;FC;x;decimal\n43;121;7;7929899\n", stdout)
	assert.Contains(t, stderr, `column "C" is the one of that name, the 1st column; letter:C is the 3rd column`)
	code, stdout, _ = cli("batch", in, "-c", "letter:C", "--format", "26-8-16", "--facility", "121", "--from", "number",
		"--to", "decimal", "-o", "-")
	assert.Equal(t, 0, code)
	assert.Contains(t, stdout, "7929863", "121*65536+7")
}

// Zeros at the beginning, and hex that looks like a power of ten, die where a spreadsheet opens CSV: that is said once,
// and not of XLSX.
func TestAdviceOnSpreadsheets(t *testing.T) {
	in := write(t, "in.csv", "Name;Card\nAnn;121,43\nBo;57,2119\n")
	dir := t.TempDir()
	for to, out := range map[string]string{"decimal10": "a.csv", "number": "b.csv"} {
		r := batchJSON(t, 0, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", to, "-o",
			filepath.Join(dir, out))
		assert.Len(t, r.Warnings, map[string]int{"decimal10": 1, "number": 0}[to], to)
	}
	r := batchJSON(t, 0, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "decimal10", "-o",
		filepath.Join(dir, "a.xlsx"))
	assert.Empty(t, r.Warnings)
	in = write(t, "in.csv", "Card\n\"57,2023\"\n") // 57*65536+2023 = 3737575, 3907E7 in hex
	r = batchJSON(t, 0, in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o",
		filepath.Join(dir, "c.csv"))
	require.Len(t, r.Warnings, 1)
	assert.Contains(t, r.Warnings[0], "such as 3907E7; for people to open, name the output .xlsx")
}

// A run that was ended between two of its files leaves a mark. The next one says which file was of which run, and
// writes all anew.
func TestRunEndedBetweenTwoFiles(t *testing.T) {
	site := write(t, "site.toml", siteText)
	in := write(t, "in.csv", "Name,Card\nAnn,\"121,43\"\n")
	dir := t.TempDir()
	out := filepath.Join(dir, "out.csv")
	args := []string{in, "-c", "Card", "--site", site, "--door", "all", "-o", out}
	batchJSON(t, 0, args...)
	want := read(t, filepath.Join(dir, "out.south.csv"))
	north, south := filepath.Join(dir, "out.north.csv"), filepath.Join(dir, "out.south.csv")
	// what a kill leaves after the first of two renames
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".out.csv.cardtell-run"), []byte(north+"\n"+south+"\n"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".out.south.csv.cardtell-ready"), []byte("of the ended run"),
		0o600))
	require.NoError(t, os.WriteFile(south, []byte("older"), 0o600))

	r := batchJSON(t, 0, append(args, "--dry-run")...)
	assert.Equal(t, []string{"an earlier run was ended while it put its files in place; of that run: out.north.csv; still older: out.south.csv; run it again without --dry-run"}, r.Warnings[:1])
	r = batchJSON(t, 0, args[0], "-c", "Card", "--site", site, "--door", "North", "-o", out)
	assert.Contains(t, r.Warnings[0], "not of this run: out.south.csv")
	r = batchJSON(t, 0, args...)
	assert.Contains(t, r.Warnings[0], "this run writes all of them anew")
	assert.Equal(t, want, read(t, south))
	assert.Equal(t, []string{"out.csv", "out.north.csv", "out.south.csv"}, names(t, dir), "nothing is left")
	assert.NotContains(t, strings.Join(batchJSON(t, 0, args...).Warnings, ""), "earlier run")
}

// The bytes of all outputs are the same on one processor and on several.
func TestOutputsAreTheSameOnAnyMachine(t *testing.T) {
	site := write(t, "site.toml", threeDoors)
	in := write(t, "in.csv", strings.Replace(numberList(20_000), ",5", ",x", 99))
	var want map[string]string
	for _, n := range []int{1, 2, 7} {
		old := runtime.GOMAXPROCS(n)
		dir := t.TempDir()
		code, _, stderr := cli("batch", in, "-c", "Card", "--site", site, "--door", "all", "-o",
			filepath.Join(dir, "out.csv"))
		runtime.GOMAXPROCS(old)
		require.Equal(t, 1, code, stderr)
		got := map[string]string{}
		for _, name := range names(t, dir) {
			got[name] = read(t, filepath.Join(dir, name))
		}
		require.Len(t, got, 4)
		if want == nil {
			want = got
		}
		assert.Equal(t, want, got, "%d processors", n)
	}
}
