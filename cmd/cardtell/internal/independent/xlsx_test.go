package independent

import (
	"errors"
	"io"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
)

// workbook is a question of xlsx_cells.py, or its answer.
type workbook struct {
	Path string     `json:"path,omitempty"`
	Rows [][]string `json:"rows,omitempty"`
}

// Workbooks that a few lines of Python write, by ECMA-376 part 1 and with nothing but texts and numbers in them, are
// read with the same cells.
func TestWorkbooksThatPythonWrites(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 11))
	dir := t.TempDir()
	var questions []workbook
	for i := range 20 + perFormat()/30 {
		questions = append(questions, workbook{filepath.Join(dir, strconv.Itoa(i)+".xlsx"), sheet(rnd, true)})
	}
	Ask[workbook](t, "xlsx_cells.py", questions)
	for _, q := range questions {
		r, err := list.Open(q.Path, list.Options{})
		require.NoError(t, err)
		rows := allRows(t, r)
		require.NoError(t, r.Close())
		for i := range q.Rows {
			for k := range q.Rows[i] {
				q.Rows[i][k] = strings.TrimPrefix(q.Rows[i][k], "#")
			}
		}
		require.Equal(t, q.Rows, rows, "seed %d", seed)
	}
}

// Workbooks that this program writes are read by Python's zipfile and xml.etree with the same cells, and every card
// number as a text, so that no spreadsheet rounds it or drops its zeros.
func TestWorkbooksThatPythonReads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 12))
	dir := t.TempDir()
	var questions []workbook
	var want [][][]string
	for i := range 20 + perFormat()/30 {
		path, rows := filepath.Join(dir, strconv.Itoa(i)+".xlsx"), sheet(rnd, false)
		source, err := list.From("list.csv", strings.NewReader("a\n"), list.Options{})
		require.NoError(t, err)
		w, err := list.Create(path, source, list.OutOptions{})
		require.NoError(t, err)
		for _, row := range rows {
			require.NoError(t, w.Write(list.NewRow(row), nil))
		}
		require.NoError(t, w.Commit())
		questions, want = append(questions, workbook{Path: path}), append(want, rows)
	}
	for i, a := range Ask[workbook](t, "xlsx_cells.py", questions) {
		require.Len(t, a.Rows, len(want[i]))
		for k := range a.Rows {
			for len(a.Rows[k]) < len(want[i][k]) {
				a.Rows[k] = append(a.Rows[k], "") // empty cells at the end of a row may be left out
			}
		}
		require.Equal(t, want[i], a.Rows, "seed %d", seed)
	}
}

// allRows returns all cells of a list.
func allRows(t *testing.T, r *list.Reader) (rows [][]string) {
	t.Helper()
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return rows
		}
		require.NoError(t, err)
		rows = append(rows, row.Texts())
	}
}

// sheet returns rows of cells; with numbers, some are numbers of up to 15 digits, which a spreadsheet keeps, with #
// before them. The first row has no empty cell: a workbook does not say how wide a list is.
func sheet(rnd *rand.Rand, numbers bool) (rows [][]string) {
	texts := []string{
		"Ann", "150,46143", "0009876543", "Zoë & <Co>", `a "b"`, " x ", "line\nend", "漢字", "12345678901234567890", "é",
		"TRUE", "1E5", "_x000D_", "a\tb", "",
	}
	width := 1 + rnd.IntN(6)
	for i := range 1 + rnd.IntN(12) {
		row := make([]string, width)
		for k := range row {
			row[k] = texts[rnd.IntN(len(texts)-1)]
			if i > 0 && k > 0 && rnd.IntN(4) == 0 {
				row[k] = ""
			}
			if numbers && rnd.IntN(3) == 0 {
				row[k] = "#" + strconv.FormatInt(rnd.Int64N(1_000_000_000_000_000)>>rnd.IntN(50), 10)
			}
		}
		rows = append(rows, row)
	}
	return rows
}
