package relate

import (
	"math"
	"math/bits"
	"slices"
	"strconv"
)

// reversible is the steps without a constant of their own that lose nothing, with what it costs to name each. Whole
// bytes in usual counts are what equipment does; so much is judgement.
var reversible = func() []costed {
	var all []costed
	add := func(op Op, cost float64, widths ...int) {
		for _, w := range widths {
			all = append(all, costed{Step{Op: op, A: w}, cost})
		}
	}
	add(SwapBytes, 4, 4, 3)
	add(SwapBytes, 5, 5, 7, 8)
	add(SwapBytes, 6, 2, 6)
	add(ReverseEach, 5, 8)
	add(SwapNibbles, 5, 8)
	add(ReverseBits, 5, 32, 24)
	add(ReverseBits, 6, 16, 26, 30, 34, 35, 37, 40, 48, 56, 64)
	add(Invert, 5, 32, 24)
	add(Invert, 6, 16, 26, 30, 34, 35, 37, 40, 48, 56, 64)
	add(ToBCD, 5, 0)
	add(FromBCD, 5, 0)
	return all
}()

// usualWidths are the widths in bits that equipment keeps numbers in.
var usualWidths = []int{8, 16, 20, 24, 26, 32, 34, 35, 37, 40, 48, 56, 64}

// keepers appends the steps that drop bits or digits. Unusual counts cost more, and are left out unless they come last.
func keepers(all []costed, vals []uint64, number int, last bool) []costed {
	widest := 1
	for _, v := range vals {
		widest = max(widest, bits.Len64(v))
	}
	keep := func(step Step, usual bool, cheap, dear float64) {
		if usual {
			all = append(all, costed{step, cheap})
		} else if last {
			all = append(all, costed{step, dear})
		}
	}
	for k := 1; k < widest; k++ {
		usual, dear := k == 16 || k == 24 || k == 32 || k == number, 9.0
		if slices.Contains(usualWidths, k) {
			dear = 7
		}
		keep(Step{Op: KeepLow, A: k}, usual, 5, dear)
		if !usual {
			continue
		}
		if c, ok := facilityOf(vals, k); ok {
			all = append(all, costed{Step{Op: DropFacility, A: k, C: c}, 6.5})
		}
	}
	i, _ := slices.BinarySearch(usualWidths, widest)
	for k, w := 1, usualWidths[i]; k < w; k++ {
		keep(Step{Op: KeepHigh, A: k, B: w}, (w-k)%8 == 0, 6.5, 10)
	}
	for d := 1; d < 19 && bits.Len64(pow10[d]) <= widest; d++ {
		keep(Step{Op: KeepDigits, A: d}, d == 4 || d == 5 || d == 8 || d == 10, 6, 8)
	}
	return all
}

// mayKeep reports whether one of the keepers may make y of x, which takes no time to see.
func mayKeep(x, y uint64) bool {
	if y > x {
		return false
	}
	n := bits.Len64(y)
	low, high := x&(1<<n-1) == y, x>>(bits.Len64(x)-n) == y
	return low || high || (x-y)%pow10[min(len(strconv.FormatUint(y, 10)), len(pow10)-1)] == 0
}

// facilityOf returns what stands before the low k bits, if that is the same everywhere and not nothing.
func facilityOf(vals []uint64, k int) (int64, bool) {
	c := vals[0] >> uint(k)
	for _, v := range vals {
		if v>>uint(k) != c {
			return 0, false
		}
	}
	return int64(c), c != 0 && k < 63 && c <= math.MaxInt64>>uint(k)
}
