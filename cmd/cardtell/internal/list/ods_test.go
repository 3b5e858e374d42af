package list

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ods makes a spreadsheet of the OpenDocument form of what is in its tables, and of other parts.
func ods(t testing.TB, tables string, more map[string]string) string {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	w, err := z.CreateHeader(&zip.FileHeader{Name: "mimetype", Method: zip.Store})
	require.NoError(t, err)
	_, err = w.Write([]byte("application/vnd.oasis.opendocument.spreadsheet"))
	require.NoError(t, err)
	all := map[string]string{odsPart: `<office:document-content><office:automatic-styles><style:style style:name="ta2" style:family="table">` +
		`<style:table-properties table:display="false"/></style:style></office:automatic-styles><office:body><office:spreadsheet>` +
		tables + `</office:spreadsheet></office:body></office:document-content>`}
	for name, text := range more {
		all[name] = text
	}
	return finish(t, z, &buf, all, "list.ods")
}

func odsRow(cells ...string) string {
	s := "<table:table-row>"
	for _, c := range cells {
		s += `<table:table-cell office:value-type="string"><text:p>` + c + "</text:p></table:table-cell>"
	}
	return s + "</table:table-row>"
}

// The first table that is shown and has a list in it is read; one of instructions before it is named, one that is
// hidden is not meant.
func TestTableIsChosen(t *testing.T) {
	name := ods(t, `<table:table table:name="Hidden" table:style-name="ta2">`+odsRow("Name", "Card")+odsRow("Old",
		"1")+`</table:table>`+
		`<table:table table:name="Read me">`+odsRow("Fill in one row for each cardholder.")+
		odsRow("1", "Lock this list away.")+odsRow("2", "Ask the office.")+`</table:table>`+
		`<table:table table:name="Staff"><table:table-header-rows>`+odsRow("Name",
		"Card")+`</table:table-header-rows><table:table-row-group>`+
		odsRow("Ann", "121,43")+`</table:table-row-group><table:table-row><table:covered-table-cell/></table:table-row></table:table>`, nil)
	r, err := Open(name, Options{})
	require.NoError(t, err)
	defer r.Close()
	assert.Equal(t, `ODS, sheet "Staff" of 3 (--sheet NAME for another); sheet "Read me" before it is no list`,
		r.Describe())
	assert.Equal(t, [][]string{{"Name", "Card"}, {"Ann", "121,43"}}, readAll(t, r))
	r, err = Open(name, Options{Sheet: "Hidden"})
	require.NoError(t, err)
	defer r.Close()
	assert.Equal(t, [][]string{{"Name", "Card"}, {"Old", "1"}}, readAll(t, r))
	_, err = Open(name, Options{Sheet: "Stuff"})
	assert.ErrorContains(t, err, `sheet "Stuff": no such sheet; there are "Staff"`)
}

// Files that claim more than a sheet holds, or are damaged, or can't be read, are errors and never shorter lists.
func TestBadODS(t *testing.T) {
	cell := `<table:table-cell office:value-type="string" table:number-columns-repeated="16384"><text:p>x</text:p></table:table-cell>`
	for name, tt := range map[string]struct {
		tables string
		more   map[string]string
		says   string
	}{
		"a cell in every column": {"<table:table><table:table-row>" + cell + "</table:table-row></table:table>", nil,
			"at most 1024 columns"},
		"a cell far to the right": {`<table:table><table:table-row><table:table-cell table:number-columns-repeated="5000"/>` +
			strings.TrimPrefix(odsRow("x"), "<table:table-row>") + "</table:table>", nil, "a cell in column 5001"},
		"two million rows": {`<table:table>` + strings.Replace(odsRow("x"), "row>",
			`row table:number-rows-repeated="2000000">`, 1) + "</table:table>", nil, "more than 1048576 rows"},
		"no number": {`<table:table>` + strings.Replace(odsRow("x"), "row>", `row table:number-rows-repeated="many">`,
			1) + "</table:table>", nil, "repeated"},
		"cut":       {"<table:table>" + odsRow("x") + "</table:tab", map[string]string{}, "damaged"},
		"no tables": {"", nil, "without sheets"},
		"password": {"<table:table/>", map[string]string{"META-INF/manifest.xml": "<manifest:encryption-data/>"},
			"password"},
		"bomb": {"<table:table/>", map[string]string{"zeros": strings.Repeat("\x00", 100<<20)},
			"this is no list"},
	} {
		t.Run(name, func(t *testing.T) {
			if name == "bomb" && testing.Short() {
				t.Skip("takes a second")
			}
			r, err := Open(ods(t, tt.tables, tt.more), Options{})
			if err == nil {
				defer r.Close()
				for err == nil {
					_, err = r.Next()
				}
			}
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Contains(t, e.Reason, tt.says)
		})
	}
}

// Every cut and every changed byte of a file is refused, or read whole: never as fewer rows.
func TestCutODSIsNeverShorter(t *testing.T) {
	rows := ""
	for range 40 {
		rows += odsRow("Name", "121,43")
	}
	whole, err := os.ReadFile(ods(t, "<table:table>"+rows+"</table:table>", nil))
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "cut.ods")
	check := func(text []byte) {
		require.NoError(t, os.WriteFile(name, text, 0o600))
		r, err := Open(name, Options{})
		n := 0
		for ; err == nil; n++ {
			_, err = r.Next()
		}
		if r != nil {
			r.Close()
		}
		if errors.Is(err, io.EOF) {
			assert.Equal(t, 41, n)
		}
	}
	for i := 1; i < len(whole); i += 7 {
		check(whole[:i])
		changed := bytes.Clone(whole)
		changed[i] ^= 0x55
		check(changed)
	}
}
