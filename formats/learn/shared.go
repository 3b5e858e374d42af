package learn

import (
	"fmt"
	"math"
)

func pairOf(n int) string { return fmt.Sprintf("pair %d", n) }

func log2(x float64) float64 { return math.Log2(x) }

func abs(v int64) int64 { return max(v, -v) }

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp2(b-a))/math.Ln2
}
