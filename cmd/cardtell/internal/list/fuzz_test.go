package list

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// packed makes an archive of parts.
func packed(t testing.TB, all map[string]string) []byte {
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, name := range slices.Sorted(maps.Keys(all)) {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write([]byte(all[name]))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return buf.Bytes()
}

// copyAll reads a list to its end and writes every row, changed. Whatever is wrong with the list is an error and no
// panic.
func copyAll(t *testing.T, name string) {
	r, err := Open(name, Options{})
	if err != nil {
		return
	}
	defer r.Close()
	_, head, err := r.Head(0)
	if err != nil {
		return
	}
	edits := []Edit{{Column: 0, Value: []byte("x")}, {Column: Add, Value: []byte("y")}}
	for _, out := range []string{"out.xlsx", "out.csv"} {
		w, err := Create(filepath.Join(filepath.Dir(name), out), r, OutOptions{})
		if err != nil {
			return
		}
		defer w.Abort() //nolint:errcheck // nothing is kept
		if err := w.Write(head, edits[1:]); err != nil {
			return
		}
		for range 3000 { // a small file may claim a million rows
			row, err := r.Next()
			if err != nil {
				break
			}
			if err := w.Write(row, edits); err != nil {
				break
			}
		}
		if err := w.finish(); err != nil && !errors.Is(err, io.EOF) {
			return
		}
	}
}

// FuzzSheet reads workbooks with any XML as their sheet, texts and styles.
func FuzzSheet(f *testing.F) {
	good := parts(f, workbook(f, [][]any{{"Name", "Card"}, {"Ann", 7}, {"Bo", int32(8)}}))
	f.Add(good["xl/worksheets/sheet1.xml"], good["xl/sharedStrings.xml"], good["xl/styles.xml"])
	f.Add(`<w><sheetData><row r="3"><c r="C3" t="s"><v>0</v></c><c t="inlineStr"><is><t>x</t></is></c></row><row/></sheetData></w>`, `<sst><si><t>a</t></si></sst>`,
		`<s><numFmts><numFmt numFmtId="170" formatCode="000&quot;,&quot;00000"/></numFmts><cellXfs><xf numFmtId="170"/></cellXfs></s>`)
	f.Fuzz(func(t *testing.T, sheet, texts, styles string) {
		all := maps.Clone(good)
		all["xl/worksheets/sheet1.xml"], all["xl/sharedStrings.xml"], all["xl/styles.xml"] = sheet, texts, styles
		name := filepath.Join(t.TempDir(), "list.xlsx")
		require.NoError(t, os.WriteFile(name, packed(t, all), 0o600))
		copyAll(t, name)
	})
}

// FuzzODS reads spreadsheets of the OpenDocument form with anything as their content.
func FuzzODS(f *testing.F) {
	f.Add(`<o><table:table table:name="a"><table:table-row table:number-rows-repeated="3"><table:table-cell office:value-type="float" office:value="7"><text:p>007</text:p></table:table-cell></table:table-row></table:table></o>`)
	f.Add(`<o><table:table>` + odsRow("Name", "Card") + odsRow("Ann", "1") + `</table:table></o>`)
	f.Fuzz(func(t *testing.T, content string) {
		var buf bytes.Buffer
		z := zip.NewWriter(&buf)
		for _, p := range [][2]string{{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, {odsPart, content}} {
			w, err := z.CreateHeader(&zip.FileHeader{Name: p[0], Method: zip.Store})
			require.NoError(t, err)
			_, err = w.Write([]byte(p[1]))
			require.NoError(t, err)
		}
		require.NoError(t, z.Close())
		name := filepath.Join(t.TempDir(), "list.ods")
		require.NoError(t, os.WriteFile(name, buf.Bytes(), 0o600))
		copyAll(t, name)
	})
}

// FuzzFormat reads any format's code, and writes a number by it.
func FuzzFormat(f *testing.F) {
	f.Add(`000","00000;-0;;@`, "5702119")
	f.Add(`[h]:mm:ss`, "1e9")
	f.Fuzz(func(_ *testing.T, code, stored string) {
		format := parseFormat(code)
		format.text(stored, false)
	})
}
