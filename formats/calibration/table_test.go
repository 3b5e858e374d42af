package calibration

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTables(t *testing.T) {
	var f Forecasts
	for i := range 10 {
		f.Add(0.85, i < 9)
		f.Add(0.25, i < 2)
	}
	s := Series{"ten and ten", &f}
	assert.Equal(t, Table{
		{"series", "from", "to", "n", "stated", "true", "low", "high"},
		{"ten and ten", "0.20000", "0.30000", "10", "0.25000", "0.20000", "0.02521", "0.55610"},
		{"ten and ten", "0.80000", "0.90000", "10", "0.85000", "0.90000", "0.55498", "0.99747"},
	}, Reliability(s))
	assert.Equal(t, []string{"ten and ten", "20", "0.55000", "0.55000", "0.12750", "0.00250", "0.12250", "0.24750",
		"0.00000"}, Scores(s)[1][:9])
}

func TestCells(t *testing.T) {
	assert.Equal(t, []string{"7", "0.12346", "x", "0.00000", "+Inf"}, Cells(7, 0.123456, "x", -1e-17, math.Inf(1)))
}
