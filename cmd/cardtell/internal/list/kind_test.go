package list

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// kinds reads a list below its names of columns and returns the line of those and the kinds of all rows.
func kinds(t *testing.T, text string, line int) (head int, all string) {
	t.Helper()
	r := from(t, text, Options{})
	before, row, err := r.Head(line)
	require.NoError(t, err, text)
	for _, b := range before {
		all += string(b.Kind.String()[0])
	}
	head, all = row.Line, all+"H"
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return head, all
		}
		require.NoError(t, err)
		all += string(row.Kind.String()[0])
	}
}

// Where the names of columns are, and what the rows are: d data, b blank, t title or total, h the names once more, f
// footer. What offices and reports write is common practice, no source.
func TestKindsOfRows(t *testing.T) {
	for _, tt := range []struct {
		text string
		head int
		want string
	}{
		{"Name,Card\nAnn,1\n", 1, "Hd"},
		{"\n\nName,Card\nAnn,1\n", 3, "bbHd"},
		{"Cards of the workshops,,\n,,\nName,Card,Hall\nAnn,1,East\nBo,2,West\n", 3, "tbHdd"},
		{"Cards of the workshops\nName,Card,Hall\nAnn,1,East\n", 2, "tHd"},
		{"Site:,Harbour Row,,\nName,Card,Hall,Since\nAnn,1,East,2019\nBo,2,West,2020\n", 2, "tHdd"},
		{"Cards in use,,\nDate:,12.03.2024,\nName,Card,Hall\nAnn,1,East\nBo,2,West\n", 3, "ttHdd"},
		{"Yard North,,\nPrinted by:,Jo Page,\n,,\nName,Card,Hall\nAnn,1,East\nBo,2,West\n", 4, "ttbHdd"},
		{"Name:,Card:,\nAnn,1,East\nBo,2,West\n", 1, "Hdd"},
		{"As of,12.03.2024,\nName,Card,Hall\nAnn,1,East\nBo,2,West\n", 2, "tHdd"},
		{"Cards 2024,,\n#,Name,Card\n1,Ann,1\n2,Bo,2\n", 2, "tHdd"}, // a sign is a name
		{"Name,Card,\nAnn,1,x\nBo,2,\n", 1, "Hdd"},                  // an untitled column
		{",Card\nAnn,1\nBo,2\n", 1, "Hdd"},                          // one of two
		{"Name,\nAnn,1\nBo,2\n", 1, "Hdd"},                          // what follows is no row of words
		{"Ann,1,East\nBo,2,West\n", 1, "Hd"},                        // no names at all: the caller finds a card in them
		{"Card\n1\n2\nTotal: 2\nPage 1\n", 1, "Hddtf"},              // one column
		{"Name,Card\nAnn,1\nTotal,190\n", 1, "Hdt"},                 // a number that could be a card
		{"Name,Card\nAnn,1\nSum,1\nCount,1\n", 1, "Hdtt"},
		{"Name,Card\nAnn,1\nΣ,1\n∑,1\nNombre,1\n", 1, "Hdttt"},
		{"Name,Card\nAnn,17\nBo,18\n,\nCyfanswm,2\n", 1, "Hddbt"}, // a count of the rows above, in any language
		{"Name,Card\nAnn,1\nBo,3\n,\nCy,4\nDi,3\n", 1, "Hddbdd"},
		{"Card,Name\n1,Ann\n190,Total:\n0012,Sum\n", 1, "Hdtd"},                                  // the amount may come first
		{"Name;Card\nAnn;121,00001\nSum;121,00190\nCount;0009876543\nTotal;1,190\n", 1, "Hdddt"}, // people of those names
		{"Name,Card,Hall\nAnn,1,East\n190 cards,,\nSubtotal 3,,\n,Grand total,3\n", 1, "Hdttt"},
		{"Name,Card,Hall\nAnn,1,East\nPrinted on 27.11.2026 by J,,\nPage,1 of 2,\n© 2026 Harbour Row,,\n", 1, "Hdfff"},
		{"Name,Card,Hall\nAnn,1,East\n=====,=====,=====\n---,,\n", 1, "Hdff"},
		{"Name,Card,Hall\nAnn,1,East\nname,Card,Hall\nName,Card,Hall\n", 1, "Hddh"},
		{"Name,Card,Hall\nTotal Ltd,1,East\nCount,2,West\nPage,3,\nTotal,4,East\nSumner,5,\n-,6,\n", 1, "Hdddddd"},
		{"Name,Card,Hall\n , ,\u0020\n\n\"\",,\n", 1, "Hbbb"},
	} {
		head, got := kinds(t, tt.text, 0)
		assert.Equal(t, tt.head, head, tt.text)
		assert.Equal(t, tt.want, got, tt.text)
	}
	head, got := kinds(t, "A,1\nB,2\nName,Card\nAnn,1\n", 3)
	assert.Equal(t, 3, head)
	assert.Equal(t, "ttHd", got)
	_, _, err := from(t, "Name,Card\nAnn,1\n", Options{}).Head(9)
	assert.ErrorContains(t, err, "--header-row: no row with something in it begins there")
	_, _, err = from(t, ",\n\n", Options{}).Head(0)
	assert.ErrorContains(t, err, "there are no rows in it")
}

// Rows read ahead are the same as rows read one by one, whatever their length, and so is the error after them.
func TestReadAheadIsTheSame(t *testing.T) {
	var b strings.Builder
	b.WriteString("Name;Card;Remark\n")
	for i := range 5000 {
		b.WriteString([]string{"Ann;121,43;\"a \"\"b\"\"\n c\"\n", "Bo;1;x\r\n", "\n", ";;\n", "=Li;2;" +
			strings.Repeat("y", i%700) + "\n", "Total;3;\n"}[i%6])
	}
	for _, end := range []string{"", "\"open;1\n", "a;b;\"c\"d\n", "\x00"} {
		text := b.String() + end
		one, ahead := from(t, text, Options{}), from(t, text, Options{})
		for _, r := range []*Reader{one, ahead} {
			_, _, err := r.Head(0)
			require.NoError(t, err)
		}
		ahead.Ahead()
		for {
			want, err := one.Next()
			got, gotErr := ahead.Next()
			require.Equal(t, err, gotErr)
			if err != nil {
				_, again := ahead.Next()
				assert.Equal(t, err, again)
				break
			}
			require.Equal(t, want.Line, got.Line)
			require.Equal(t, want.Kind, got.Kind)
			require.Equal(t, want.Texts(), got.Texts())
			require.Equal(t, string(want.end), string(got.end))
		}
		require.NoError(t, ahead.Close())
		require.NoError(t, ahead.Close(), "a second time")
	}
	early := from(t, b.String(), Options{})
	early.Ahead()
	_, err := early.Next()
	require.NoError(t, err)
	require.NoError(t, early.Close(), "before the last row")
}

// Where the second of two files can't be put in its place, the error says that the first is there, and nothing else is
// left.
func TestTogetherSaysWhatIsDone(t *testing.T) {
	dir := t.TempDir()
	r := from(t, "a,b\n", Options{})
	var writers []*Writer
	for _, name := range []string{"one.csv", "two.csv"} {
		w, err := Create(filepath.Join(dir, name), r, OutOptions{})
		require.NoError(t, err)
		require.NoError(t, w.Write(NewRow([]string{"x"}), nil))
		writers = append(writers, w)
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "two.csv"), 0o700)) // which no file can take the place of
	err := Together(filepath.Join(dir, "out.csv"), writers)
	assert.ErrorContains(t, err, "one.csv in place already, and of this run")
	require.NoError(t, writers[1].Abort())
	assert.Equal(t, []string{"one.csv", "two.csv"}, folder(t, dir))
}
