package independent

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
)

// table is a question of csv_rows.py, or its answer.
type table struct {
	Delimiter string     `json:"delimiter,omitempty"`
	Quote     string     `json:"quote,omitempty"`
	Escape    bool       `json:"escape"`
	Quoting   string     `json:"quoting,omitempty"`
	End       string     `json:"end,omitempty"`
	Text      *string    `json:"text,omitempty"`
	Rows      [][]string `json:"rows,omitempty"`
	Wrong     string     `json:"wrong,omitempty"`
}

// dialects are all in which Python's csv module and this program write. With a backslash as escape the module writes a
// quote without quotes around it where it can, \" for a cell of one sign; no other program is known to, and here a
// backslash outside quotes is a sign like any other, so in those dialects texts stand in quotes.
func dialects() (all []table) {
	for _, delimiter := range []string{",", ";", "\t", "|"} {
		for _, quote := range []string{`"`, "'"} {
			for _, escape := range []bool{false, true} {
				for _, quoting := range []string{"minimal", "all", "text"} {
					for _, end := range []string{"\n", "\r\n", "\r"} {
						if !escape || quoting != "minimal" {
							all = append(all, table{Delimiter: delimiter, Quote: quote, Escape: escape, Quoting: quoting, End: end})
						}
					}
				}
			}
		}
	}
	return all
}

// Lists of any cells that Python's csv module writes in any dialect are read with the same cells, where delimiter and
// quote are named.
func TestListsThatPythonWrites(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 4))
	var questions []table
	for _, q := range dialects() {
		for range 2 + perFormat()/100 {
			q.Rows = randomTable(rnd, q)
			questions = append(questions, q)
		}
	}
	for i, a := range Ask[table](t, "csv_rows.py", questions) {
		q := questions[i]
		require.NotNil(t, a.Text)
		rows, err := readCSV(*a.Text, list.Options{Delimiter: q.Delimiter[0], Quote: q.Quote[0]})
		require.NoError(t, err, "%+v\n%s", q, *a.Text)
		require.Equal(t, q.Rows, rows, "%q, seed %d", *a.Text, seed)
	}
}

// Lists of cardholders that Python's csv module writes in any dialect are read with the same cells, and nothing named.
func TestListsWhoseDialectIsFound(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 5))
	var questions []table
	for _, q := range dialects() {
		for range 2 + perFormat()/100 {
			q.Rows = cardholders(rnd)
			questions = append(questions, q)
		}
	}
	for i, a := range Ask[table](t, "csv_rows.py", questions) {
		rows, err := readCSV(*a.Text, list.Options{})
		require.NoError(t, err, *a.Text)
		require.Equal(t, questions[i].Rows, rows, "%q, seed %d", *a.Text, seed)
	}
}

// Lists that this program writes are read by Python's csv module with the same cells: passed on as they came, and
// written anew with another delimiter.
func TestListsThatPythonReads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 6))
	var given []table
	for _, q := range dialects() {
		for range 1 + perFormat()/100 {
			q.Rows = randomTable(rnd, q)
			given = append(given, q)
		}
	}
	var questions, of []table
	for i, a := range Ask[table](t, "csv_rows.py", given) {
		for _, to := range []string{given[i].Delimiter, ";", ","} {
			q := given[i]
			text := rewrite(t, *a.Text, q, to[0])
			q.Delimiter, q.Rows, q.Text = to, nil, &text
			questions, of = append(questions, q), append(of, given[i])
		}
	}
	for i, a := range Ask[table](t, "csv_rows.py", questions) {
		require.Empty(t, a.Wrong, "%q", *questions[i].Text)
		require.Equal(t, of[i].Rows, a.Rows, "%q, seed %d", *questions[i].Text, seed)
	}
}

// Any text of a few signs that matter is read as Python's csv module reads it when it is strict, or refused by both. No
// spaces and no carriage returns are in it: around quotes this program allows spaces, and one line end is all that a
// list has here.
func TestAnyTextAsCSV(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 7))
	var questions []table
	for range 4 * perFormat() {
		var b strings.Builder
		for range 1 + rnd.IntN(14) {
			b.WriteString([]string{"a", `"`, `"`, ",", ",", "\n", "7"}[rnd.IntN(7)])
		}
		text := b.String()
		questions = append(questions, table{Delimiter: ",", Quote: `"`, Text: &text})
	}
	refused := 0
	for i, a := range Ask[table](t, "csv_rows.py", questions) {
		rows, err := readCSV(*questions[i].Text, list.Options{Delimiter: ',', Quote: '"'})
		if a.Wrong != "" {
			require.Error(t, err, "%q: %s, seed %d", *questions[i].Text, a.Wrong, seed)
			refused++
			continue
		}
		require.NoError(t, err, "%q, seed %d", *questions[i].Text, seed)
		require.Equal(t, a.Rows, rows, "%q, seed %d", *questions[i].Text, seed)
	}
	assert.Positive(t, refused)
	assert.Less(t, refused, len(questions)*3/4)
}

// readCSV returns all cells; a line with nothing on it has none.
func readCSV(text string, opt list.Options) (rows [][]string, err error) {
	r, err := list.From("list.csv", strings.NewReader(text), opt)
	if err != nil {
		return nil, err
	}
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, err
		}
		cells := []string{}
		if row.Kind == list.Data {
			cells = row.Texts()
		}
		rows = append(rows, cells)
	}
}

// rewrite reads a list and writes it with another delimiter, or passes it on where it is the same.
func rewrite(t *testing.T, text string, d table, to byte) string {
	t.Helper()
	r, err := list.From("list.csv", strings.NewReader(text), list.Options{Delimiter: d.Delimiter[0], Quote: d.Quote[0]})
	require.NoError(t, err)
	var out bytes.Buffer
	w, err := list.NewCSVWriter(&out, r, list.OutOptions{Delimiter: to})
	require.NoError(t, err)
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			require.NoError(t, w.Commit())
			return out.String()
		}
		require.NoError(t, err)
		require.NoError(t, w.Write(row, nil))
	}
}

// randomTable returns rows of cells with all signs that matter in them. A line end inside a cell is one that the list
// has, and no cell begins as a formula does.
func randomTable(rnd *rand.Rand, d table) (rows [][]string) {
	signs := []string{"a", "B", "7", "0", " ", "é", "漢", d.Delimiter, d.Quote, ",", ";", `"`, "'", d.End}
	width := 1 + rnd.IntN(5)
	if d.Escape { // which can't be named, so it has to be found in the text
		rows = append(rows, slices.Repeat([]string{"a " + d.Quote + "b" + d.Quote}, width))
	}
	for range 1 + rnd.IntN(6) {
		row := make([]string, width)
		for i := range row {
			for range rnd.IntN(6) {
				row[i] += signs[rnd.IntN(len(signs))]
			}
			row[i] = strings.TrimLeft(row[i], "\t\r\n")
		}
		rows = append(rows, row)
	}
	return rows
}

// cardholders returns a list as people have it.
func cardholders(rnd *rand.Rand) [][]string {
	names := []string{"Amara Okafor", "Zoë Lindqvist", "O'Brien, Pat", `Ana "Nan" Ruiz`, "Jiří Dvořák", "Li Wei",
		"Mara; Tom", "Bo"}
	rows := [][]string{{"Name", "Card", "Department", "Since"}}
	for range 8 + rnd.IntN(20) {
		rows = append(rows, []string{
			names[rnd.IntN(len(names))], strconv.Itoa(rnd.IntN(70_000)), []string{"Workshop", "Office", ""}[rnd.IntN(3)],
			strconv.Itoa(2010 + rnd.IntN(15)),
		})
	}
	return rows
}
