package list

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readAll returns the cells of all rows that are not blank.
func readAll(t testing.TB, r *Reader) (rows [][]string) {
	t.Helper()
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return rows
		}
		require.NoError(t, err)
		if row.Kind == Data {
			rows = append(rows, row.Texts())
		}
	}
}

func from(t testing.TB, text string, opt Options) *Reader {
	t.Helper()
	r, err := From("list.csv", strings.NewReader(text), opt)
	require.NoError(t, err)
	return r
}

// Dialects are found from the whole sample and not from the first line alone.
func TestDialectsAreFound(t *testing.T) {
	tests := []struct {
		name, text string
		want       Dialect
		cells      [][]string
	}{
		{"comma", "a,b\n1,2\n", Dialect{Delimiter: ',', Quote: '"'}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"semicolon with commas inside", "Name;Card\nLee, Ann;150,46143\nRay, Bo;150,46144\n",
			Dialect{Delimiter: ';', Quote: '"'},
			[][]string{{"Name", "Card"}, {"Lee, Ann", "150,46143"}, {"Ray, Bo", "150,46144"}}},
		{"semicolon, no head, a comma in every row", "Ann;150,46143\nBo;150,46144\n", Dialect{Delimiter: ';', Quote: '"'},
			[][]string{{"Ann", "150,46143"}, {"Bo", "150,46144"}}},
		{"tab", "a\tb\n1\t2,5\n", Dialect{Delimiter: '\t', Quote: '"'}, [][]string{{"a", "b"}, {"1", "2,5"}}},
		{"bar", "a|b\n1|2\n", Dialect{Delimiter: '|', Quote: '"'}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"one column", "Card\n150\n151\n", Dialect{Delimiter: ',', Quote: '"'}, [][]string{{"Card"}, {"150"}, {"151"}}},
		{"single quotes", "a,b\n'x, y','it''s'\n'z','w'\n", Dialect{Delimiter: ',', Quote: '\'', QuoteAll: true},
			[][]string{{"a", "b"}, {"x, y", "it's"}, {"z", "w"}}},
		{"single quotes around first cells alone", "Name,Card\nAnn,1\n'O''Brien, Pat',2\n",
			Dialect{Delimiter: ',', Quote: '\'', QuoteText: false},
			[][]string{{"Name", "Card"}, {"Ann", "1"}, {"O'Brien, Pat", "2"}}},
		{"backslash before a quote in the last row alone", "\"a\",\"b\"\n\"z\",\"2\"\n\"x \\\"y\\\"\",\"1\"",
			Dialect{Delimiter: ',', Quote: '"', Escape: true, QuoteAll: true}, [][]string{{"a", "b"}, {"z", "2"},
				{`x "y"`, "1"}}},
		{"backslash before a quote", "a,b\n\"x \\\"y\\\"\",1\n\"z\",2\n", Dialect{Delimiter: ',', Quote: '"', Escape: true,
			QuoteText: true},
			[][]string{{"a", "b"}, {`x "y"`, "1"}, {"z", "2"}}},
		{"carriage returns alone", "a,b\r1,2\r", Dialect{Delimiter: ',', Quote: '"', OldMac: true},
			[][]string{{"a", "b"}, {"1", "2"}}},
		{"sep= in the first line", "sep=;\r\na;b\r\n1;2,5\r\n", Dialect{Delimiter: ';', Quote: '"'},
			[][]string{{"a", "b"}, {"1", "2,5"}}},
		{"everything in quotes", "\"a\",\"b\"\n\"1\",\"2\"\n", Dialect{Delimiter: ',', Quote: '"', QuoteAll: true},
			[][]string{{"a", "b"}, {"1", "2"}}},
		{"spaces around quotes", "a,b\n \"x, y\" ,2\n", Dialect{Delimiter: ',', Quote: '"', QuoteText: false},
			[][]string{{"a", "b"}, {"x, y", "2"}}},
		{"a title first", "Cardholders of the yard\nName;Card;Dept\nAnn;1;x\nBo;2;y\nCleo;3;z\n",
			Dialect{Delimiter: ';', Quote: '"'},
			[][]string{{"Cardholders of the yard"}, {"Name", "Card", "Dept"}, {"Ann", "1", "x"}, {"Bo", "2", "y"},
				{"Cleo", "3", "z"}}},
		{"line ends inside quotes", "a,b\r\n\"x\r\ny\",2\r\n", Dialect{Delimiter: ',', Quote: '"'},
			[][]string{{"a", "b"}, {"x\r\ny", "2"}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := from(t, tt.text, Options{})
			assert.Equal(t, tt.want, r.Dialect)
			assert.Equal(t, tt.cells, readAll(t, r))
		})
	}
}

// Against encoding/csv of the standard library, on tables at random that it writes: the same cells, and the same bytes
// when the rows are written again.
func TestCSVAgainstStandardLibrary(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	pieces := []string{"Ann", "150,46143", "0009876543", "", " ", `"`, "\n", "ü", ";", "x y", "-", "12:30", "'"}
	for range 1000 {
		var buf bytes.Buffer
		w := csv.NewWriter(&buf)
		w.UseCRLF = rnd.IntN(2) == 0
		columns := 2 + rnd.IntN(4)
		var want [][]string
		for range 1 + rnd.IntN(6) {
			row := make([]string, columns)
			for i := range row {
				for range rnd.IntN(3) {
					row[i] += pieces[rnd.IntN(len(pieces))]
				}
			}
			want = append(want, row)
			require.NoError(t, w.Write(row))
		}
		w.Flush()
		std := csv.NewReader(bytes.NewReader(buf.Bytes()))
		rows, err := std.ReadAll()
		require.NoError(t, err)
		got := readAll(t, from(t, buf.String(), Options{Delimiter: ',', Quote: '"'}))
		if w.UseCRLF { // the standard reader makes CR LF inside quotes LF; here it stays
			for i := range got {
				for k := range got[i] {
					got[i][k] = strings.ReplaceAll(got[i][k], "\r\n", "\n")
				}
			}
		}
		require.Equal(t, rows, got, "%q", buf.String())
		require.Len(t, want, len(got))
		if again, risks := copied(t, buf.String(), Options{Delimiter: ',', Quote: '"'}); risks == 0 {
			require.Equal(t, buf.String(), again)
		}
	}
}

// A row of one empty cell stays a row when it is written anew: without quotes it would be a blank line, and none.
func TestOneEmptyCellIsWritten(t *testing.T) {
	r := from(t, "Card\n1\n\"\"\n\n2\n", Options{})
	var out bytes.Buffer
	w, err := NewCSVWriter(&out, r, OutOptions{Encoding: "utf-16le"})
	require.NoError(t, err)
	for range 5 {
		row, err := r.Next()
		require.NoError(t, err)
		require.NoError(t, w.Write(row, nil))
	}
	require.NoError(t, w.Commit())
	again := from(t, out.String(), Options{Encoding: "utf-16le"})
	assert.Equal(t, [][]string{{"Card"}, {"1"}, {""}, {"2"}}, readAll(t, again))
}

// copied reads a list and writes it again, changing nothing but what a spreadsheet would run; risks is how many cells
// those are.
func copied(t testing.TB, text string, opt Options) (out string, risks int) {
	t.Helper()
	r := from(t, text, opt)
	var buf bytes.Buffer
	w, err := NewCSVWriter(&buf, r, OutOptions{})
	require.NoError(t, err)
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		require.NoError(t, w.Write(row, nil))
	}
	require.NoError(t, w.Commit())
	return buf.String(), w.Neutralised()
}

// Whatever is strange about a file is still so in the output.
func TestRowsArePassedOnByteForByte(t *testing.T) {
	utf16 := func(s string, big bool) string {
		e := utf16(big)
		b, err := e.wide.NewEncoder().String(s)
		require.NoError(t, err)
		return b
	}
	for name, text := range map[string]string{
		"no line end at the end":  "a,b\r\n1,2",
		"blank lines":             "a,b\n\n1,2\n\n\n3,4\n",
		"mixed line ends":         "a,b\r\n1,2\n3,4\r\n",
		"byte order mark":         "\xef\xbb\xbfa,b\r\n1,ü\r\n",
		"sep line":                "sep=;\r\na;b\r\n1;2\r\n",
		"quotes without need":     "\"a\",b\n\"1\",2\n3,\"4\"\n",
		"quotes in the middle":    "a,b\n5\" pipe,2\n",
		"spaces everywhere":       "a , b\n 1 , \t2\n \"x\"  ,3\n",
		"windows-1252":            "a,b\nCl\xe9o,1\n",
		"bytes without a meaning": "a,b\nCl\x81o\x8d,1\n",
		"UTF-16":                  utf16("\uFEFFa;b\r\nCléo;1\r\n", false),
		"UTF-16, high byte first": utf16("\uFEFFa;b\r\nCléo😀;1\r\n", true),
		"UTF-16 without a mark":   utf16("Name;Card\r\nAnn;1\r\n", false),
		"old Mac":                 "a,b\r1,2\r",
		"last cell empty":         "a,b,\n1,2,\n",
		"one column, empty cell":  "a\n\"\"\n1\n",
	} {
		t.Run(name, func(t *testing.T) {
			got, _ := copied(t, text, Options{})
			assert.Equal(t, text, got)
		})
	}
}

func TestEncodingsAreFound(t *testing.T) {
	late := "Name,Card\n" + strings.Repeat("Ann,1\n", 3000)
	for name, tt := range map[string]struct{ text, encoding, cell string }{
		"ASCII":                {"Name,Card\nAnn,1\n", "UTF-8", "Ann"},
		"UTF-8":                {"Name,Card\nCléo,1\n", "UTF-8", "Cléo"},
		"UTF-8 with a mark":    {"\xef\xbb\xbf\"Name\",Card\nCléo,1\n", "UTF-8", "Cléo"},
		"windows-1252":         {"Name,Card\nCl\xe9o \x80,1\n", "windows-1252", "Cléo €"},
		"UTF-16":               {"\xff\xfeN\x00,\x00C\x00\n\x00\xe9\x00,\x001\x00\n\x00", "UTF-16", "é"},
		"UTF-16 big":           {"\xfe\xff\x00N\x00,\x00C\x00\n\x00\xe9\x00,\x001\x00\n", "UTF-16 (high byte first)", "é"},
		"UTF-16 without mark":  {"N\x00,\x00C\x00\n\x00A\x00,\x001\x00\n\x00", "UTF-16", "A"},
		"a late name in 1252":  {late + "Cl\xe9o,1\n", "windows-1252", "Ann"},
		"a late name in UTF-8": {late + "Cléo,1\n", "UTF-8", "Ann"},
	} {
		t.Run(name, func(t *testing.T) {
			r := from(t, tt.text, Options{})
			assert.Equal(t, tt.encoding, r.Encoding.Name)
			assert.Equal(t, tt.cell, readAll(t, r)[1][0])
		})
	}
	_, err := From("x", strings.NewReader("\xff\xfe\x00\x00N\x00\x00\x00"), Options{})
	assert.ErrorContains(t, err, "UTF-32")
	r := from(t, "N,C\nCl\x82o,1\n", Options{Encoding: "ibm850"}) // code page 850: 82 is é
	assert.Equal(t, "Cléo", readAll(t, r)[1][0])
	_, err = EncodingByName("utf-9")
	assert.ErrorContains(t, err, "no such encoding")
}

// Cells that change are quoted as the file does it; those beside them stay as they are.
func TestCellsAreQuotedAsTheFileDoes(t *testing.T) {
	edit := func(text string, value string) string {
		r := from(t, text, Options{})
		var out bytes.Buffer
		w, err := NewCSVWriter(&out, r, OutOptions{})
		require.NoError(t, err)
		for first := true; ; first = false {
			row, err := r.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
			var edits []Edit
			if !first {
				edits = []Edit{{Column: 1, Value: []byte(value)}}
			}
			require.NoError(t, w.Write(row, edits))
		}
		require.NoError(t, w.Commit())
		return out.String()
	}
	bare := "n,c,d\nAnn,9876543,x\nBo,9876543,y\n"
	pair := "n,c,d\nAnn,\"150,46143\",x\nBo,\"150,46143\",y\n"
	assert.Equal(t, pair, edit(bare, "150,46143"))
	assert.Equal(t, bare, edit(pair, "9876543"))
	all := "\"n\",\"c\",\"d\"\n\"Ann\",\"9876543\",\"x\"\n"
	allPair := "\"n\",\"c\",\"d\"\n\"Ann\",\"150,46143\",\"x\"\n"
	assert.Equal(t, allPair, edit(all, "150,46143"))
	assert.Equal(t, all, edit(allPair, "9876543"))
	text := "\"n\",\"c\",\"d\"\n\"Ann\",9876543,7\n"
	textPair := "\"n\",\"c\",\"d\"\n\"Ann\",\"150,46143\",7\n"
	assert.Equal(t, textPair, edit(text, "150,46143"))
	assert.Equal(t, text, edit(textPair, "9876543"))
	assert.Equal(t, "n;c;d\nAnn;150,46143;x\n", edit("n;c;d\nAnn;9876543;x\n", "150,46143"))
}

// Rows that can't be taken apart are errors with their line.
func TestBadCSV(t *testing.T) {
	for name, tt := range map[string]struct {
		text string
		line int
		says string
	}{
		"NUL byte":              {"a,b\n1,2\n3,\x004\n", 3, "NUL byte"},
		"quote never closed":    {"a,b\n\"1,2\n3,4\n", 2, "never closed"},
		"text after a quote":    {"a,b\n\"1\"x,2\n", 2, "goes on after its closing quote"},
		"a row of 100 MB":       {"a,b\n" + strings.Repeat("x", 100<<20) + "\n", 2, "more than 1048576 bytes"},
		"100 MB within quotes":  {"a,b\n1,2\n\"" + strings.Repeat("x\n", 50<<20), 3, "more than 1048576 bytes"},
		"UTF-16 cut in half":    {"\xff\xfea\x00,\x00b\x00\n\x001\x00,\x002", 2, "none in this encoding"},
		"a half surrogate pair": {"\xff\xfea\x00,\x00b\x00\n\x00\x00\xd8,\x00\n\x00", 2, "none in this encoding"},
	} {
		if testing.Short() && len(tt.text) > 1<<20 {
			continue
		}
		t.Run(name, func(t *testing.T) {
			r := from(t, tt.text, Options{})
			var err error
			for err == nil {
				_, err = r.Next()
			}
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, tt.line, e.Line)
			assert.Contains(t, e.Reason, tt.says)
		})
	}
	_, err := From("x", strings.NewReader(""), Options{})
	assert.ErrorContains(t, err, "empty")
	for head, says := range map[string]string{
		"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest":                                 "old binary form",
		"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + wideASCII("EncryptedPackage"):     "password",
		"PK\x03\x04xxxxmimetypeapplication/vnd.oasis.opendocument.text":        "OpenDocument file that is no spreadsheet",
		"PK\x03\x04xxxxmimetypeapplication/vnd.oasis.opendocument.spreadsheet": "pipe",
		"%PDF-1.7": "PDF", "\x1f\x8b\x08": "gzip", "PK\x03\x04": "pipe",
	} {
		_, err := From("x", strings.NewReader(head), Options{})
		assert.ErrorContains(t, err, says)
	}
}

func wideASCII(s string) string {
	var b strings.Builder
	for _, c := range s {
		b.WriteRune(c)
		b.WriteByte(0)
	}
	return b.String()
}

func TestFindColumn(t *testing.T) {
	heads := []string{"Name", "Card no", "B", "Dept", "dept", "2"}
	for want, tt := range map[string]struct {
		at   int
		says string
	}{
		"name": {0, ""}, " card NO ": {1, ""}, "A": {0, ""}, "4": {3, ""}, "number:5": {4, ""}, "letter:B": {1, ""},
		"name:B": {2, ""},
		"B":      {2, ""}, "letter:2": {0, "no such column"}, // a name comes first
		"Dept":    {0, "two of that name, D and E; write number:4 or number:5"},
		"Cardno":  {0, `no such column; there are "Card no"`},
		"7":       {0, "the list has 6 columns"},
		"0":       {0, "no such column"},
		"name:zz": {0, "no such column"},
		"":        {0, "no such column"},
		"ZZ":      {0, "the list has 6 columns"},
	} {
		at, err := FindColumn(heads, want)
		if tt.says == "" {
			assert.NoError(t, err, want)
			assert.Equal(t, tt.at, at, want)
			continue
		}
		assert.ErrorContains(t, err, tt.says, want)
	}
	assert.Equal(t, []string{"A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"},
		[]string{Letters(0), Letters(25), Letters(26), Letters(51), Letters(52), Letters(701), Letters(702)})
}

// What a spreadsheet would run begins so (OWASP, "CSV Injection"): all of it comes out as text, wherever it stands.
func TestFormulasAreDefused(t *testing.T) {
	dangers := []string{"=1+1", "+1+1", "-1+1", "@SUM(A1)", "\tx", "\rx", "\nx", "=cmd|' /C calc'!A0", "＝1+1", "＋1", "－x",
		"＠x", "+44 20 7946", "-x", "=\"x\"\"y\""}
	for _, d := range dangers {
		var buf bytes.Buffer
		w := csv.NewWriter(&buf)
		require.NoError(t, w.WriteAll([][]string{{"h", "=h"}, {d, "1"}, {"x", d}}))
		r := from(t, buf.String(), Options{Delimiter: ','})
		var out bytes.Buffer
		cw, err := NewCSVWriter(&out, r, OutOptions{})
		require.NoError(t, err)
		for {
			row, err := r.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
			require.NoError(t, cw.Write(row, []Edit{{Column: Add, Value: []byte(d)}}))
			require.NoError(t, cw.WriteNoted("1", d, row, nil))
		}
		require.NoError(t, cw.Commit())
		rows, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
		if err != nil { // rows and noted rows differ in width
			cr := csv.NewReader(bytes.NewReader(out.Bytes()))
			cr.FieldsPerRecord = -1
			rows, err = cr.ReadAll()
			require.NoError(t, err, "%q", out.String())
		}
		for _, row := range rows {
			for _, v := range row {
				if v != "" && strings.ContainsAny(v[:1], "=@\t\r\n+-") {
					t.Errorf("%q comes out as %q", d, v)
				}
			}
		}
		assert.Positive(t, cw.Neutralised())
	}
	for _, safe := range []string{"-5", "+5", "-1.5", "1-5", "a=b", "", "0", "-1,5"} {
		assert.False(t, risky([]byte(safe)), safe)
	}
}

// Whatever bytes come in: no panic, cells within their row, and what is copied reads the same again.
func FuzzDialect(f *testing.F) {
	f.Add([]byte("Name;Card\nLee, Ann;150,46143\n")) // commas inside, semicolons between
	f.Add([]byte("sep=;\r\na;b\r\n1;2\r\n"))         // a first line that names the delimiter
	f.Add([]byte("a,b\n\"x \\\"y\\\"\",1\n"))        // backslash before quotes
	f.Add([]byte("'a','b'\n'it''s','x'\n"))          // single quotes
	f.Add([]byte("a,b\r\"x\ry\",2\r"))               // carriage returns alone
	f.Add([]byte("\xff\xfea\x00;\x00b\x00\n\x00"))   // UTF-16
	f.Add([]byte("a,b\n\"never closed\n"))           // a quote that stays open
	f.Add([]byte("a,\"b\" \n \"c\"x,d\n"))           // signs after a closing quote
	f.Add([]byte("=1+1,\"=2\"\n@x,\"\ty\"\n"))       // formulas
	f.Add([]byte("\xef\xbb\xbf\"a\"\x00,b\n"))       // a NUL byte
	f.Add([]byte("Cl\xe9o,1\n\x81\x8d,2\n"))         // bytes of windows-1252, two of them with no meaning
	f.Add([]byte("a,b\n\n\n1,2\n\n"))                // blank lines
	f.Fuzz(func(t *testing.T, text []byte) {
		rows, out, err := fuzzCopy(text)
		if err != nil {
			var e *Error
			require.ErrorAs(t, err, &e)
			return
		}
		again, out2, err := fuzzCopy(out)
		if err != nil {
			return // a ' before a formula can make another dialect likelier; what was written is compared below
		}
		if bytes.Equal(out, text) {
			require.Equal(t, rows, again)
			require.Equal(t, out, out2)
		}
	})
}

func fuzzCopy(text []byte) (rows []string, out []byte, err error) {
	r, err := From("f", bytes.NewReader(text), Options{})
	if err != nil {
		return nil, nil, err
	}
	var buf bytes.Buffer
	w, err := NewCSVWriter(&buf, r, OutOptions{})
	if err != nil {
		return nil, nil, err
	}
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return rows, buf.Bytes(), w.Commit()
		}
		if err != nil {
			return nil, nil, err
		}
		rows = append(rows, fmt.Sprint(row.Line, row.Kind != Data, row.Texts()))
		if err := w.Write(row, nil); err != nil {
			return nil, nil, err
		}
	}
}
