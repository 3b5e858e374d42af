package list

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// written writes a list anew, with the edits in each row after the first.
func written(t testing.TB, r *Reader, opt OutOptions, edits ...Edit) (string, error) {
	t.Helper()
	row, err := r.Next()
	require.NoError(t, err)
	var out bytes.Buffer
	w, err := NewCSVWriter(&out, r, opt)
	require.NoError(t, err)
	for err = w.Write(row, nil); err == nil; err = w.Write(row, edits) {
		if row, err = r.Next(); errors.Is(err, io.EOF) {
			require.NoError(t, w.Commit())
			require.NoError(t, w.Abort())
			return out.String(), nil
		}
		require.NoError(t, err)
	}
	return "", err
}

// A list in an encoding of single bytes stays in it, edits included; what the encoding lacks can only be in names and
// notes of our own, and becomes a question mark. Bytes of windows-1252 as x/text has them.
func TestEditsInTheListsEncoding(t *testing.T) {
	text, err := charmap.Windows1252.NewEncoder().String("Name;Karte\nJürgen;1\nZoë;2\n")
	require.NoError(t, err)
	out, err := written(t, from(t, text, Options{}), OutOptions{}, Edit{Column: 1, Value: []byte("geändert")},
		Edit{Column: Add, Value: []byte("→ neu")})
	require.NoError(t, err)
	back, err := charmap.Windows1252.NewDecoder().String(out)
	require.NoError(t, err)
	assert.Equal(t, "Name;Karte\nJürgen;geändert;? neu\nZoë;geändert;? neu\n", back)
}

// A list is written in another encoding and with another delimiter, cell by cell; a letter that the encoding lacks is
// an error with its line, since a question mark would be another name.
func TestWriteInAnotherEncoding(t *testing.T) {
	const text = "Name,Card\r\n\"Dvořák; Jiří\",150\r\n\r\nLi,7\r\n"
	out, err := written(t, from(t, text, Options{}), OutOptions{Encoding: "utf-16le", Delimiter: ';'},
		Edit{Column: 1, Value: []byte("8;9")}, Edit{Column: Add, Value: []byte("x")})
	require.NoError(t, err)
	back, err := unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder().String(out)
	require.NoError(t, err)
	assert.Equal(t, "Name;Card\r\n\"Dvořák; Jiří\";\"8;9\";\"x\"\r\n\r\nLi;\"8;9\";\"x\"\r\n", back,
		"texts stand in quotes, as they did")

	_, err = written(t, from(t, text, Options{}), OutOptions{Encoding: "windows-1252"})
	assert.EqualError(t, err, "output:2: 'ř' can't be written in this encoding; --out-encoding utf-8 would do")
	name := filepath.Join(t.TempDir(), "out.csv")
	r := from(t, text, Options{})
	w, err := Create(name, r, OutOptions{Encoding: "ansi"})
	require.NoError(t, err)
	_, err = r.Next()
	require.NoError(t, err)
	row, err := r.Next()
	require.NoError(t, err)
	assert.ErrorContains(t, w.Write(row, nil), "out.csv:2: 'ř' can't be written")
	require.NoError(t, w.Abort())
	assert.NoFileExists(t, name)
	_, err = Create(name, r, OutOptions{Encoding: "klingon"})
	assert.ErrorContains(t, err, `encoding "klingon": no such encoding`)
}

// A sheet becomes a CSV file that spreadsheets take for UTF-8, with the line ends of RFC 4180.
func TestSheetBecomesCSV(t *testing.T) {
	r, err := Open(workbook(t, [][]any{{"Name", "Card"}, {"Zoë, Ann", "0012"}, {"Bo"}}), Options{})
	require.NoError(t, err)
	defer r.Close()
	out, err := written(t, r, OutOptions{})
	require.NoError(t, err)
	assert.Equal(t, "\ufeffName,Card\r\n\"Zoë, Ann\",0012\r\nBo,\r\n", out)
}

// Encodings by the names that the web, IANA and spreadsheets have for them. The bytes are those of Python's codecs.
func TestEncodingNames(t *testing.T) {
	for name, tt := range map[string]struct{ bytes, text, called string }{
		"UTF8":         {"é", "é", "UTF-8"},
		"utf-8-sig":    {"é", "é", "UTF-8"},
		" Ansi ":       {"\xe9\x80", "é€", "Windows 1252"},
		"latin1":       {"\xe9\x80", "é€", "Windows 1252"},
		"iso-8859-2":   {"\xf8", "ř", "ISO 8859-2"},
		"IBM850":       {"\x82", "é", "IBM Code Page 850"},
		"mac":          {"\x8e", "é", "Macintosh"},
		"koi8-r":       {"\xd1", "я", "KOI8-R"},
		"cp932":        {"\x8a\xbf", "漢", "shift_jis"},
		"utf-16":       {"\x22\x6f", "漢", "UTF-16"},
		"utf-16be":     {"\x6f\x22", "漢", "UTF-16 (high byte first)"},
		"windows-1251": {"\xff", "я", "Windows 1251"},
	} {
		e, err := EncodingByName(name)
		require.NoError(t, err, name)
		assert.Equal(t, tt.called, e.Name, name)
		text, err := io.ReadAll(e.reader(strings.NewReader(tt.bytes)))
		require.NoError(t, err)
		if e.single != nil {
			text = []byte(e.text()(text))
		}
		assert.Equal(t, tt.text, string(text), name)
		if enc := e.encoder(); enc != nil {
			back, err := enc.String(tt.text)
			require.NoError(t, err)
			assert.Equal(t, tt.bytes, back, name)
		}
	}
	for _, name := range []string{"", "klingon", "utf-7", "replacement", "iso-2022-kr"} {
		_, err := EncodingByName(name)
		assert.ErrorContains(t, err, "no such encoding", name)
	}
}

// Delimiters as people name them, and how a dialect is told.
func TestDelimiterNames(t *testing.T) {
	for name, want := range map[string]byte{"comma": ',', "Semicolon": ';', "TAB": '\t', `\t`: '\t', "bar": '|',
		"space": ' ', "^": '^', "\t": '\t'} {
		got, err := DelimiterByName(name)
		assert.NoError(t, err, name)
		assert.Equal(t, want, got, name)
	}
	for _, name := range []string{"", "commas", "\"", "\\", "\n", "\x00", "é", ",,"} {
		_, err := DelimiterByName(name)
		assert.ErrorContains(t, err, "write one ASCII character", "%q", name)
	}
	for want, text := range map[string]string{
		"comma between cells":                               "a,b\n1,2\n",
		"tab between cells":                                 "a\tb\n1\t2\n",
		"'^' between cells":                                 "a^b\n1^2\n",
		"bar between cells, ' as quote":                     "'a'|'b'\n'1|2'|'2'\n",
		"semicolon between cells, backslash before a quote": "\"a \\\"b\\\"\";1\n\"c\";2\n",
	} {
		r := from(t, text, Options{})
		assert.Equal(t, "CSV, "+want+", UTF-8", r.Describe())
	}
}

// A file that can't be read on, and one without line ends, are errors and no end of the list.
func TestRowsThatNeverEnd(t *testing.T) {
	broken := errors.New("unplugged")
	r, err := From("list.csv", io.MultiReader(strings.NewReader("a,b\n"+strings.Repeat("1,2\n", sampleSize/4)),
		iotest.ErrReader(broken)), Options{})
	require.NoError(t, err)
	for err == nil {
		_, err = r.Next()
	}
	assert.ErrorIs(t, err, broken)
	_, err = From("list.csv", iotest.ErrReader(broken), Options{})
	assert.ErrorIs(t, err, broken)

	r = from(t, "a,b\n"+strings.Repeat("1,", maxLine), Options{Delimiter: ','})
	_, err = r.Next()
	require.NoError(t, err)
	_, err = r.Next()
	assert.ErrorContains(t, err, "list.csv:2: a row of more than 1048576 bytes")
}

// The one column that holds card numbers is found by its head; where there is one column it is that.
func TestCardColumn(t *testing.T) {
	for _, tt := range []struct {
		heads []string
		at    int
		says  string
	}{
		{[]string{"anything"}, 0, ""},
		{[]string{"Name", "Card no.", "Card type"}, 1, ""},
		{[]string{"Cardholder", "Badge"}, 1, ""},
		{[]string{"Karteninhaber", "Kartennummer", "Kartentyp"}, 1, ""},
		{[]string{"Titulaire de la carte", "Numéro de carte"}, 1, ""},
		{[]string{"Nombre", "Número de tarjeta", "Tipo de tarjeta"}, 1, ""},
		{[]string{"Jméno", "Číslo karty"}, 1, ""},
		{[]string{"Card", "Badge"}, 0, "2 columns can have the card numbers"},
		{[]string{"Name", "Since"}, 0, "no heading says which column has the card numbers"},
	} {
		at, err := CardColumn(tt.heads)
		if tt.says != "" {
			assert.ErrorContains(t, err, tt.says)
			continue
		}
		assert.NoError(t, err)
		assert.Equal(t, tt.at, at, "%q", tt.heads)
	}
	for _, head := range []string{"Name", " FULL NAME", "Cardholder", "card holder", "Last name, first name", "Vorname",
		"Name, Vorname", "Prénom", "Apellidos", "Příjmení"} {
		assert.True(t, IsName(head), head)
	}
	for _, head := range []string{"", "Card", "Name of the door", "Kartenname", "12", "Holder's card"} {
		assert.False(t, IsName(head), head)
	}
	heads := []string{"11", "22", "x", "y", "z", "", "", "", "", "", "1"}
	at, err := FindColumn(heads, "11")
	assert.NoError(t, err)
	assert.Equal(t, 0, at)
	assert.Equal(t, `column "11" is the one of that name, the 1st column; number:11 is the 11th column`,
		Shadowed(heads, "11"))
	_, err = FindColumn([]string{"x"}, "3")
	assert.ErrorContains(t, err, "the list has 1 column:")
}

// What is written to a device goes straight to it.
func TestDeviceIsWrittenDirectly(t *testing.T) {
	if _, err := os.Stat(os.DevNull); err != nil {
		t.Skip("no null device")
	}
	f, err := NewFile(os.DevNull)
	require.NoError(t, err)
	_, err = f.Write([]byte("x"))
	require.NoError(t, err)
	require.NoError(t, f.Commit())
	require.NoError(t, f.Commit(), "a second time it does nothing")
	require.NoError(t, f.Abort())
}

// A note quotes what a cell has, and is in the encoding of the list as the cell is: ë is EB in windows-1252 and in no
// other way there; what it lacks is a question mark.
func TestNotesAreInTheEncodingOfTheList(t *testing.T) {
	r := from(t, "Name;Card\nZo\xeb;x\n", Options{Encoding: "windows-1252"})
	_, err := r.Next()
	require.NoError(t, err)
	row, err := r.Next()
	require.NoError(t, err)
	var out bytes.Buffer
	w, err := NewCSVWriter(&out, r, OutOptions{})
	require.NoError(t, err)
	require.NoError(t, w.WriteNoted("2", "Zoë 合", row, nil))
	require.NoError(t, w.Commit())
	assert.Equal(t, "2;Zo\xeb ?;Zo\xeb;x\n", out.String())
}
