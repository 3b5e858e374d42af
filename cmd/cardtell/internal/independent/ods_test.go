package independent

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
)

// odsCells are cells as ods_cells.py writes them, and as they are read: what a person sees of a number that is shown by
// a pattern of digits, the number where signs between thousands are shown, a date by its value.
var odsCells = [][2]string{
	{"Ann", "Ann"}, {"150,46143", "150,46143"}, {"0009876543", "0009876543"}, {"Zoë & <Co>", "Zoë & <Co>"},
	{"  x  y", "  x  y"},
	{"line\nend", "line\nend"}, {"a\tb", "a\tb"}, {"漢字", "漢字"},
	{"#5702119|057,02119", "057,02119"}, {"#9876543|0009876543", "0009876543"}, {"#9876543|9876543", "9876543"},
	{"#9876543|9,876,543", "9876543"}, {"#12100043|121-00043", "121-00043"}, {"#12000000000|1.2E+10", "12000000000"},
	{"#1.5|1,50", "1.5"},
	{"@2026-12-19|12-19", "2026-12-19"}, {"@2019-02-10T07:15:00|10.02.19", "2019-02-10 07:15:00"}, {"?true", "TRUE"},
}

// Spreadsheets of the OpenDocument form that a few lines of Python write, by ISO/IEC 26300, are read with the same
// cells and lines.
func TestSpreadsheetsThatPythonWrites(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 13))
	dir := t.TempDir()
	var questions []workbook
	var want [][][]string
	for i := range 20 + perFormat()/30 {
		q := workbook{Path: filepath.Join(dir, strconv.Itoa(i)+".ods")}
		var cells [][]string
		width := 1 + rnd.IntN(5)
		for k := range 1 + rnd.IntN(12) {
			given, read := make([]string, width), make([]string, width)
			for c := range given {
				if k == 0 || rnd.IntN(4) > 0 {
					cell := odsCells[rnd.IntN(len(odsCells))]
					given[c], read[c] = cell[0], cell[1]
				}
			}
			if !slices.ContainsFunc(read, func(s string) bool { return s != "" }) {
				read = []string{}
			}
			for range 1 + rnd.IntN(5)/4*3 {
				q.Rows, cells = append(q.Rows, given), append(cells, read)
			}
		}
		for len(cells[len(cells)-1]) == 0 { // blank rows at the end are none
			cells = cells[:len(cells)-1]
		}
		questions, want = append(questions, q), append(want, cells)
	}
	Ask[workbook](t, "ods_cells.py", questions)
	for i, q := range questions {
		r, err := list.Open(q.Path, list.Options{})
		require.NoError(t, err)
		require.Equal(t, want[i], allRows(t, r), "seed %d", seed)
		require.Equal(t, `ODS, sheet "Staff"`, r.Describe())
		require.NoError(t, r.Close())
	}
}
