package list

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"github.com/cardtell/cardtell/formats/reading"
)

// workbook makes an XLSX file of cells.
func workbook(t testing.TB, rows [][]any) string {
	t.Helper()
	book := excelize.NewFile()
	date, err := book.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	zeros := "0000000000"
	padded, err := book.NewStyle(&excelize.Style{CustomNumFmt: &zeros})
	require.NoError(t, err)
	for i, row := range rows {
		for k, v := range row {
			at, err := excelize.CoordinatesToCellName(k+1, i+1)
			require.NoError(t, err)
			style := 0
			switch x := v.(type) {
			case time.Time:
				style = date
			case int32: // a number shown with ten digits
				v, style = int(x), padded
			}
			require.NoError(t, book.SetCellValue("Sheet1", at, v))
			if style != 0 {
				require.NoError(t, book.SetCellStyle("Sheet1", at, at, style))
			}
		}
	}
	name := filepath.Join(t.TempDir(), "list.xlsx")
	require.NoError(t, book.SaveAs(name))
	require.NoError(t, book.Close())
	return name
}

// parts unpacks an XLSX file.
func parts(t testing.TB, name string) map[string]string {
	t.Helper()
	z, err := zip.OpenReader(name)
	require.NoError(t, err)
	defer z.Close()
	all := map[string]string{}
	for _, p := range z.File {
		f, err := p.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(f)
		require.NoError(t, err)
		all[p.Name] = string(text)
	}
	return all
}

// pack makes an XLSX file of parts.
func pack(t testing.TB, all map[string]string) string {
	t.Helper()
	var buf bytes.Buffer
	return finish(t, zip.NewWriter(&buf), &buf, all, "packed.xlsx")
}

// finish adds the parts to an archive that is written into buf, and keeps it as a file of its own under this name.
func finish(t testing.TB, z *zip.Writer, buf *bytes.Buffer, parts map[string]string, name string) string {
	t.Helper()
	for part, text := range parts {
		w, err := z.Create(part)
		require.NoError(t, err)
		_, err = w.Write([]byte(text))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, buf.Bytes(), 0o600))
	return path
}

// A sheet is read as what it shows where that says more, and as what it stores where that does.
func TestSheetCells(t *testing.T) {
	name := workbook(t, [][]any{
		{"Name", "Card", "More"},
		{"Ann", "150,46143", 1},
		{"Bo", 9876543, nil},
		{"Cleo", int32(9876543), nil},
		{"Dov", time.Date(2024, 5, 12, 0, 0, 0, 0, time.UTC), nil},
		{nil, nil, nil},
		{"Esi", 12000000000.0, nil},
		{"Finn", 123456789012345678.0, nil},
		{"Gita", "0012", "x"},
		{"Hal", "1.2E+10", nil},
		{"Ivo", 1.5, nil},
		{"Jo", true, false},
	})
	r, err := Open(name, Options{})
	require.NoError(t, err)
	defer r.Close()
	assert.Equal(t, "Sheet1", r.Sheet)
	want := [][]string{
		{"Name", "Card", "More"}, {"Ann", "150,46143", "1"}, {"Bo", "9876543", ""}, {"Cleo", "0009876543", ""},
		{"Dov", "2024-05-12", ""},
		{"Esi", "12000000000", ""}, {"Finn", "123456789012345000", ""}, {"Gita", "0012", "x"}, {"Hal", "1.2E+10", ""},
		{"Ivo", "1.5", ""}, {"Jo", "TRUE", "FALSE"},
	}
	assert.Equal(t, want, readAll(t, r))
	require.NoError(t, r.Unchanged())
	assert.Contains(t, reading.Mend([]byte("123456789012345000"), reading.Shape{Decimal: true}).Doubt, "rounded",
		"what a sheet has left of 123456789012345678")
}

// A sheet that was cut off, or refers to what is not there, is an error and not a shorter list: the spreadsheet library
// reads such files without complaint.
func TestDamagedSheetsAreErrors(t *testing.T) {
	var rows [][]any
	for i := range 100 {
		rows = append(rows, []any{fmt.Sprint("name", i), i + 1})
	}
	good := parts(t, workbook(t, rows))
	const sheet = "xl/worksheets/sheet1.xml"
	change := func(part, text string) map[string]string {
		all := map[string]string{}
		for k, v := range good {
			all[k] = v
		}
		all[part] = text
		return all
	}
	xml := good[sheet]
	for name, tt := range map[string]struct {
		parts map[string]string
		says  string
	}{
		"cut in half": {change(sheet, xml[:len(xml)/2]), "damaged after row"},
		"a text that is not there": {change(sheet, strings.Replace(xml, `t="s"><v>3</v>`, `t="s"><v>99999</v>`, 1)),
			"which is not there"},
		"no XML": {change(sheet, "no"), "damaged after row 0"},
		"rows out of order": {change(sheet, strings.Replace(xml, `<row r="7"`, `<row r="3"`, 1)),
			"row 3 comes after row 6"},
		"a column far out": {change(sheet, strings.Replace(xml, `r="A9"`, `r="XFD9"`, 1)), "at most 1024 columns"},
		"a row far out": {change(sheet, strings.Replace(xml, `<row r="100"`, `<row r="99999999"`, 1)),
			"rows 1 to 1048576"},
		"no workbook":     {change("xl/workbook.xml", "<workbook/>"), "list"},
		"a bomb of zeros": {change("xl/media/zeros.bin", strings.Repeat("\x00", 100<<20)), "this is no list"},
		"a sheet named and not there": {change("xl/_rels/workbook.xml.rels",
			strings.Replace(good["xl/_rels/workbook.xml.rels"], "sheet1.xml", "sheet9.xml", 1)), "list"},
		"relations cut off": {change("xl/_rels/workbook.xml.rels", good["xl/_rels/workbook.xml.rels"][:100]),
			"list"},
		"texts cut off": {change("xl/sharedStrings.xml", good["xl/sharedStrings.xml"][:200]), "damaged"},
	} {
		t.Run(name, func(t *testing.T) {
			file := pack(t, tt.parts)
			r, err := Open(file, Options{})
			if err == nil {
				defer r.Close()
				for err == nil {
					_, err = r.Next()
				}
			}
			require.False(t, errors.Is(err, io.EOF), "read as if it were whole")
			var e *Error
			require.ErrorAs(t, err, &e)
			if tt.says != "list" {
				assert.Contains(t, e.Reason, tt.says)
			}
		})
	}
}

// Every cut and every changed byte of a file is refused, or read whole: never as fewer rows.
func TestCutSheetsAreNeverShorter(t *testing.T) {
	var rows [][]any
	for i := range 60 {
		rows = append(rows, []any{fmt.Sprint("name", i), i + 1})
	}
	whole, err := os.ReadFile(workbook(t, rows))
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "cut.xlsx")
	step := 97
	if testing.Short() {
		step = 997
	}
	check := func(text []byte) {
		require.NoError(t, os.WriteFile(name, text, 0o600))
		r, err := Open(name, Options{})
		if err != nil {
			return
		}
		defer r.Close()
		n := 0
		for {
			row, err := r.Next()
			if errors.Is(err, io.EOF) {
				assert.Equal(t, 60, n)
				return
			}
			if err != nil {
				return
			}
			if row.Kind == Data {
				n++
			}
		}
	}
	for i := 1; i < len(whole); i += step {
		check(whole[:i])
		changed := bytes.Clone(whole)
		changed[i] ^= 0x55
		check(changed)
	}
}

// No cell of a sheet that is written is a formula, and no number loses its zeros; nothing is left in the folder for
// temporary files.
func TestSheetIsWrittenAsText(t *testing.T) {
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	r := from(t, "Name,Card\n=1+1,0009876543\nAnn,12345678901234567890\n", Options{})
	name := filepath.Join(t.TempDir(), "out.xlsx")
	w, err := Create(name, r, OutOptions{})
	require.NoError(t, err)
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		require.NoError(t, w.Write(row, []Edit{{Column: Add, Value: []byte("@x")}}))
	}
	require.NoError(t, w.Commit())
	require.NoError(t, w.Abort())
	assert.Empty(t, folder(t, temp))
	book, err := excelize.OpenFile(name)
	require.NoError(t, err)
	defer book.Close()
	for _, at := range []string{"A2", "B2", "C2"} {
		formula, err := book.GetCellFormula("Sheet1", at)
		require.NoError(t, err)
		assert.Empty(t, formula)
		kind, err := book.GetCellType("Sheet1", at)
		require.NoError(t, err)
		assert.Contains(t, []excelize.CellType{excelize.CellTypeInlineString, excelize.CellTypeSharedString}, kind)
	}
	back, err := Open(name, Options{})
	require.NoError(t, err)
	defer back.Close()
	assert.Equal(t, [][]string{{"Name", "Card", "@x"}, {"=1+1", "0009876543", "@x"}, {"Ann", "12345678901234567890",
		"@x"}}, readAll(t, back))
}

// A place in the archive may be given from its root (ECMA-376 part 2, 9.3.2).
func TestSheetFromTheRoot(t *testing.T) {
	all := parts(t, workbook(t, [][]any{{"Name", "Card"}, {"Ann", 7}}))
	const rels = "xl/_rels/workbook.xml.rels"
	all[rels] = strings.Replace(all[rels], `Target="worksheets/`, `Target="/xl/worksheets/`, 1)
	require.Contains(t, all[rels], `"/xl/worksheets/`)
	r, err := Open(pack(t, all), Options{})
	require.NoError(t, err)
	defer r.Close()
	assert.Equal(t, [][]string{{"Name", "Card"}, {"Ann", "7"}}, readAll(t, r))
}

// What a cell says that holds a number, by its format: what a person sees where that is a pattern of digits, all digits
// elsewhere, but never a number that looks as if it had more than the spreadsheet kept. The shown texts are those of
// the spreadsheet library where it has the format, and by ECMA-376 part 1, 18.8.31.
func TestNumbersByTheirFormat(t *testing.T) {
	for _, tt := range []struct {
		stored, code, want string
		holds              Holds
	}{
		{"9876543", "General", "9876543", Number},
		{"9876543", "", "9876543", Number},
		{"9876543", "0000000000", "0009876543", Number},
		{"5702119", `000","00000`, "057,02119", Number},
		{"5702119", `000\-00000`, "057-02119", Number},
		{"5702119", `000" "00000`, "057 02119", Number},
		{"15046143", `000","00000`, "150,46143", Number},
		{"115046143", `000","00000`, "1150,46143", Number},
		{"43", `##0","00000`, "0,00043", Number},
		{"0", "0000", "0000", Number},
		{"0", "#", "0", Number},
		{"43", `"Card "00000`, "00043", Number},
		{"43", `[Red]00000;-00000;"-"`, "00043", Number},
		{"5702119", "#,##0", "5702119", Number},
		{"5702119", "000,00000", "05702119", Number},
		{"5702119", "0,", "5702119", Number},
		{"5702119", "0.00", "5702119", Number},
		{"121.0005", "000.00000", "121.00050", Number},
		{"121.000512", "000.00000", "121.000512", Number},
		{"12000000000", "0.00E+00", "12000000000", Number},
		{"1.2E10", "General", "12000000000", Number},
		{"7930174.0", "General", "7930174", Number},
		{"1234567.5", "#,##0", "1234567.5", Number},
		{"-3", "0000", "-3", Number},
		{"3", "# ?/?", "3", Number},
		{"3", "@", "3", Number},
		{"1.23456789012346E+17", "0", "1.23456789012346E+17", Number},
		{"45424", "mm-dd-yy", "2024-05-12", Date}, // 45424 days after 1899-12-30
		{"45424.5", "d/m/yyyy h:mm", "2024-05-12 12:00:00", Date},
		{"45645", "[$-409]d-mmm;@", "2024-12-19", Date},
		{"45645", "mm", "2024-12-19", Date},
		{"0.4375", "h:mm", "10:30:00", Time},
		{"1.25", "[h]:mm", "30:00:00", Time},
		{"9876543", "yyyy-mm-dd", "########", Date}, // as a spreadsheet shows a day after the year 9999
		{"text", "0000", "text", Text},
	} {
		f := parseFormat(tt.code)
		got, holds := f.text(tt.stored, false)
		assert.Equal(t, tt.want, got, "%s as %s", tt.stored, tt.code)
		assert.Equal(t, tt.holds, holds, "%s as %s", tt.stored, tt.code)
	}
	f := builtinFormat(16)
	got, _ := f.text("44183", true)
	assert.Equal(t, "2024-12-19", got, "days from 1904")
}

// Rejected rows have their line and what is wrong before them, in a sheet as well; a cell longer than a sheet can hold
// is an error and not cut.
func TestRejectsInASheet(t *testing.T) {
	r := from(t, "Name,Card\nAnn,x\n"+strings.Repeat("y", 40_000)+",1\n", Options{})
	name := filepath.Join(t.TempDir(), "rejects.xlsx")
	w, err := Create(name, r, OutOptions{})
	require.NoError(t, err)
	for i := range 3 {
		row, err := r.Next()
		require.NoError(t, err)
		err = w.WriteNoted(fmt.Sprint(row.Line), "no number", row, []Edit{{Column: 1, Value: []byte("=z")},
			{Column: Add, Value: []byte("new")}})
		if i < 2 {
			require.NoError(t, err)
			continue
		}
		assert.ErrorContains(t, err, "cell 3 has more than 32767 characters")
	}
	assert.Zero(t, w.Neutralised(), "a text in a sheet is not run")
	require.NoError(t, w.Commit())
	back, err := Open(name, Options{})
	require.NoError(t, err)
	defer back.Close()
	assert.Equal(t, [][]string{{"1", "no number", "Name", "=z", "new"}, {"2", "no number", "Ann", "=z", "new"}},
		readAll(t, back))
}

// The progress of a list comes near its size, and no further.
func TestProgress(t *testing.T) {
	rows := make([][]any, 2100)
	for i := range rows {
		rows[i] = []any{i}
	}
	for _, name := range []string{workbook(t, rows), filepath.Join(t.TempDir(), "list.csv")} {
		if !IsXLSX(name) {
			require.NoError(t, os.WriteFile(name, bytes.Repeat([]byte("1,2,3,4\n"), 300_000), 0o600))
		}
		seen, all := int64(0), int64(0)
		r, err := Open(name, Options{Progress: func(n, size int64) { seen, all = seen+n, size }})
		require.NoError(t, err)
		for err == nil {
			_, err = r.Next()
		}
		require.ErrorIs(t, err, io.EOF)
		require.NoError(t, r.Close())
		assert.LessOrEqual(t, seen, all, name)
		assert.Greater(t, seen, all*9/10, name)
	}
}

func TestSheetByName(t *testing.T) {
	book := excelize.NewFile()
	_, err := book.NewSheet("Staff 2024")
	require.NoError(t, err)
	require.NoError(t, book.SetCellValue("Staff 2024", "A1", "x"))
	require.NoError(t, book.SetCellValue("Sheet1", "A1", "y"))
	name := filepath.Join(t.TempDir(), "two.xlsx")
	require.NoError(t, book.SaveAs(name))
	r, err := Open(name, Options{Sheet: "Staff 2024"})
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"x"}}, readAll(t, r))
	assert.Contains(t, r.Describe(), "of 2")
	require.NoError(t, r.Close())
	_, err = Open(name, Options{Sheet: "Staff"})
	assert.ErrorContains(t, err, `sheet "Staff": no such sheet; there are`)

	// A hidden sheet is not what people mean when they name none.
	book.SetActiveSheet(1)
	require.NoError(t, book.SetSheetVisible("Sheet1", false))
	require.NoError(t, book.SaveAs(name))
	r, err = Open(name, Options{})
	require.NoError(t, err)
	assert.Equal(t, "Staff 2024", r.Sheet)
	require.NoError(t, r.Close())

	// What is for the other kind of file has no effect, and is refused.
	_, err = Open(name, Options{Delimiter: ';'})
	assert.ErrorContains(t, err, "a spreadsheet has no delimiter")
	csv := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(csv, []byte("a,b\n"), 0o600))
	_, err = Open(csv, Options{Sheet: "Staff"})
	assert.ErrorContains(t, err, `is CSV, and has no sheet "Staff"`)
}

// Numbers of any format that is a pattern of digits are read as the spreadsheet library shows them, which had no part
// in it.
func TestPatternsAgainstLibrary(t *testing.T) {
	rnd := rand.New(rand.NewPCG(31, 7))
	for range 300 {
		code := []string{"0000000000", "00000", `000","00000`, `000-00000`, `000\-00000`, `0000" "0000`, `00"/"00000"."0`,
			"0"}[rnd.IntN(8)]
		n := rnd.Int64N(1 << (1 + rnd.IntN(40)))
		book := excelize.NewFile()
		style, err := book.NewStyle(&excelize.Style{CustomNumFmt: &code})
		require.NoError(t, err)
		require.NoError(t, book.SetCellValue("Sheet1", "A1", n))
		require.NoError(t, book.SetCellStyle("Sheet1", "A1", "A1", style))
		want, err := book.GetCellValue("Sheet1", "A1")
		require.NoError(t, err)
		f := parseFormat(code)
		got, _ := f.text(fmt.Sprint(n), false)
		require.Equal(t, want, got, "%d as %s", n, code)
		require.NoError(t, book.Close())
	}
}

// A workbook whose elements have a prefix, with texts in runs, cells without their place and parts that few have is
// copied with all of it.
func TestCopyOfAnUnusualWorkbook(t *testing.T) {
	all := parts(t, workbook(t, [][]any{{"Name", "Card"}, {"Ann", 7}, {"Bo", 8}}))
	const sheet = "xl/worksheets/sheet1.xml"
	all[sheet] = `<?xml version="1.0"?><x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:dimension ref="A1:B3"/>` +
		`<x:cols><x:col min="1" max="1" width="33" customWidth="1"/></x:cols><x:sheetData>` +
		`<x:row r="2" spans="1:2" ht="30" customHeight="1"><x:c t="inlineStr"><x:is><x:t>Name</x:t></x:is></x:c><x:c t="str"><x:v>Card</x:v></x:c></x:row>` +
		`<x:row><x:c t="inlineStr"><x:is><x:r><x:t>An</x:t></x:r><x:r><x:t>n &amp; Co</x:t></x:r><x:rPh sb="0" eb="1"><x:t>no</x:t></x:rPh></x:is></x:c><x:c><x:f>3+4</x:f><x:v>7</x:v></x:c></x:row>` +
		`<x:row r="9"><x:c r="A9" t="b"><x:v>1</x:v></x:c><x:c r="C9" s="1"/><x:c r="D9"><x:v>8</x:v></x:c></x:row></x:sheetData>` +
		`<x:pageMargins left="1" right="1" top="1" bottom="1" header="0" footer="0"/></x:worksheet>`
	all["xl/media/logo.png"] = "not a list"
	r, err := Open(pack(t, all), Options{})
	require.NoError(t, err)
	defer r.Close()
	_, head, err := r.Head(0)
	require.NoError(t, err)
	assert.Equal(t, []string{"Name", "Card", "", ""}, head.Texts(), "a note stands in D, beside the list")
	name := filepath.Join(t.TempDir(), "copy.xlsx")
	w, err := Create(name, r, OutOptions{})
	require.NoError(t, err)
	edits := []Edit{{Column: 0, Value: []byte("a<b>_x0041_")}, {Column: Add, Value: []byte("new")}}
	require.NoError(t, w.Write(head, edits[1:]))
	var seen [][]string
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		seen = append(seen, row.Texts())
		if row.Kind != Data {
			require.NoError(t, w.Write(row, nil))
		} else {
			require.NoError(t, w.Write(row, edits))
		}
	}
	assert.Equal(t, [][]string{{"Ann & Co", "7", "", ""}, {}, {}, {}, {}, {}, {"TRUE", "", "", "8"}}, seen)
	require.NoError(t, w.Commit())
	got := parts(t, name)
	assert.Equal(t, "not a list", got["xl/media/logo.png"])
	for _, part := range []string{"xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml"} {
		assert.Equal(t, all[part], got[part], part)
	}
	assert.Contains(t, got[sheet], `<x:col min="1" max="1" width="33" customWidth="1"/>`)
	assert.Contains(t, got[sheet], `<x:row r="2" ht="30" customHeight="1">`)
	assert.Contains(t, got[sheet], `<x:c r="B3"><x:f>3+4</x:f><x:v>7</x:v></x:c><x:c r="E3" t="inlineStr">`)
	assert.Contains(t, got[sheet], `<x:row r="9">`, "formulas refer to rows by their place")
	assert.Contains(t, got[sheet], `<x:c r="C9" s="1"/><x:c r="D9"><x:v>8</x:v></x:c><x:c r="E9" t="inlineStr">`)
	assert.Contains(t, got[sheet], `<x:pageMargins left="1"`)
	back, err := Open(name, Options{})
	require.NoError(t, err)
	defer back.Close()
	assert.Equal(t, [][]string{{"Name", "Card", "", "", "new"}, {"a<b>_x0041_", "7", "", "", "new"},
		{"a<b>_x0041_", "", "", "8", "new"}}, readAll(t, back))

	all["xl/vbaProject.bin"] = "x"
	r, err = Open(pack(t, all), Options{})
	require.NoError(t, err)
	defer r.Close()
	_, err = Create(name, r, OutOptions{})
	assert.ErrorContains(t, err, "has macros")
}
