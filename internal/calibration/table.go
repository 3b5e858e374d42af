package calibration

import (
	"encoding/csv"
	"flag"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// folder is where tables are written, instead of being compared with those that are kept.
var folder = flag.String("calibration", "", "write what is measured as CSV into this `FOLDER`, instead of comparing it with testdata/calibration")

// Series is forecasts with the name that tables and plots give them.
type Series struct {
	Name string
	*Forecasts
}

// Table is rows of cells, the first of them the head.
type Table [][]string

// Reliability is the table of what was stated and how often it came true, by bins; empty bins are left out. low and high are the
// Clopper-Pearson band of the true probability.
func Reliability(all ...Series) Table {
	t := Table{{"series", "from", "to", "n", "stated", "true", "low", "high"}}
	for _, s := range all {
		for i, b := range s.bins {
			if b.N == 0 {
				continue
			}
			n := float64(b.N)
			low, high := Band(b.True, b.N)
			t = append(t, append([]string{s.Name}, Cells(float64(i)/Bins, float64(i+1)/Bins, b.N, b.Stated/n, float64(b.True)/n, low, high)...))
		}
	}
	return t
}

// Scores is the table of the scores of each series.
func Scores(all ...Series) Table {
	t := Table{{"series", "n", "stated", "true", "brier", "reliability", "resolution", "uncertainty", "within", "log_bits"}}
	for _, s := range all {
		p := s.Parts()
		t = append(t, append([]string{s.Name}, Cells(s.N(), s.Stated(), float64(s.True())/float64(s.N()),
			s.Brier(), p.Reliability, p.Resolution, p.Uncertainty, p.Within, s.Log())...))
	}
	return t
}

// Cells writes values: whole numbers as they are, others with five places.
func Cells(values ...any) []string {
	cells := make([]string, len(values))
	for i, v := range values {
		switch v := v.(type) {
		case int:
			cells[i] = strconv.Itoa(v)
		case float64:
			cells[i] = strconv.FormatFloat(v, 'f', 5, 64)
			if strings.Trim(cells[i], "-0.") == "" {
				cells[i] = "0.00000" // never -0
			}
		case string:
			cells[i] = v
		default:
			panic("no cell can hold this")
		}
	}
	return cells
}

// Keep compares a table with the one of this name in testdata/calibration, or writes it where the flag -calibration says to. kept
// is the way from the test's folder to testdata/calibration. Other machines may round a last bit otherwise, so that only amd64
// compares.
func Keep(t *testing.T, kept, name string, table Table) {
	t.Helper()
	var b strings.Builder
	require.NoError(t, csv.NewWriter(&b).WriteAll(table))
	if *folder != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*folder, name), []byte(b.String()), 0o644))
		return
	}
	if runtime.GOARCH != "amd64" {
		return
	}
	old, err := os.ReadFile(filepath.Join(kept, name))
	require.NoError(t, err)
	assert.Equal(t, string(old), b.String(), "%s is stale; .ci/calibrate writes it anew", name)
}
