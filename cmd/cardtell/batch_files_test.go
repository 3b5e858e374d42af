package main

import (
	"encoding/json"
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

// The bytes of all outputs are the same on one processor and on several.
func TestOutputsAreTheSameOnAnyMachine(t *testing.T) {
	site := write(t, "site.toml", threeDoors)
	in := write(t, "in.csv", strings.Replace(numberList(8500), ",5", ",x", 99)) // more pieces of 1024 rows than processors
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
