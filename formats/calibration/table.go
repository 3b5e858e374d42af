package calibration

import (
	"encoding/csv"
	"strconv"
	"strings"
)

// Series is forecasts with the name that tables and plots give them.
type Series struct {
	Name string
	*Forecasts
}

// Table is rows of cells, the first of them the head.
type Table [][]string

// Reliability is the table of what was stated and how often it came true, by bins; empty bins are left out. low and
// high are the Clopper-Pearson band of the true probability.
func Reliability(all ...Series) Table {
	t := Table{{"series", "from", "to", "n", "stated", "true", "low", "high"}}
	for _, s := range all {
		for i, b := range s.bins {
			if b.N == 0 {
				continue
			}
			n := float64(b.N)
			low, high := Band(b.True, b.N)
			t = append(t, append([]string{s.Name}, Cells(float64(i)/Bins, float64(i+1)/Bins, b.N, b.Stated/n, float64(b.True)/n,
				low, high)...))
		}
	}
	return t
}

// Scores is the table of the scores of each series.
func Scores(all ...Series) Table {
	t := Table{{"series", "n", "stated", "true", "brier", "reliability", "resolution", "uncertainty", "within",
		"log_bits"}}
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

// CSV returns the table as comma-separated values, a line a row.
func (t Table) CSV() string {
	var b strings.Builder
	csv.NewWriter(&b).WriteAll(t) //nolint:errcheck // into memory: it can't fail
	return b.String()
}
