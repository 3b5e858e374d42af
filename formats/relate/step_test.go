package relate

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The steps are done here on texts in binary, hex and decimal, as strconv writes them, and on numbers without end
// (math/big).

// backwards turns a text round, in groups of n characters.
func backwards(s string, n int) string {
	var b strings.Builder
	for i := len(s) - n; i >= 0; i -= n {
		b.WriteString(s[i : i+n])
	}
	return b.String()
}

func number2(t *testing.T, s string) uint64 {
	v, err := strconv.ParseUint(s, 2, 64)
	require.NoError(t, err)
	return v
}

// onText does a step on a number; ok is false where it does not fit.
func onText(t *testing.T, s Step, v uint64) (r uint64, ok bool) {
	bits := func(n int) (string, bool) { return fmt.Sprintf("%0*b", n, v), len(fmt.Sprintf("%b", v)) <= n || v == 0 }
	switch s.Op {
	case SwapBytes, ReverseEach, SwapNibbles:
		text, fits := bits(8 * s.A)
		if !fits {
			return 0, false
		}
		out := ""
		for i := 0; i < len(text); i += 8 {
			b := text[i : i+8]
			switch s.Op {
			case SwapBytes:
				out = b + out
			case ReverseEach:
				out += backwards(b, 1)
			default:
				out += b[4:] + b[:4]
			}
		}
		return number2(t, out), true
	case ReverseBits:
		text, fits := bits(s.A)
		if !fits {
			return 0, false
		}
		return number2(t, backwards(text, 1)), true
	case Invert:
		text, fits := bits(s.A)
		if !fits {
			return 0, false
		}
		return number2(t, strings.NewReplacer("0", "1", "1", "0").Replace(text)), true
	case KeepLow:
		text, _ := bits(64)
		return number2(t, text[64-s.A:]), true
	case KeepHigh:
		text, fits := bits(s.B)
		if !fits {
			return 0, false
		}
		return number2(t, text[:s.A]), true
	case KeepDigits:
		text := fmt.Sprintf("%020d", v)
		r, err := strconv.ParseUint(text[20-s.A:], 10, 64)
		require.NoError(t, err)
		return r, true
	case ToBCD:
		r, err := strconv.ParseUint(fmt.Sprint(v), 16, 64)
		return r, err == nil
	case FromBCD:
		r, err := strconv.ParseUint(fmt.Sprintf("%x", v), 10, 64)
		return r, err == nil
	case Add:
		sum := new(big.Int).Add(new(big.Int).SetUint64(v), big.NewInt(s.C))
		return sum.Uint64(), sum.IsUint64()
	case SetFacility:
		text, fits := bits(s.A)
		if !fits {
			return 0, false
		}
		return number2(t, fmt.Sprintf("%b", s.C)+text), true
	case DropFacility:
		text, _ := bits(64)
		return number2(t, text[64-s.A:]), number2(t, "0"+text[:64-s.A]) == uint64(s.C)
	}
	panic(s.Op)
}

// someSteps is steps of every kind but parity, at the ends of their ranges and within.
func someSteps() (all []Step) {
	add := func(op Op, widths ...int) {
		for _, w := range widths {
			all = append(all, Step{Op: op, A: w})
		}
	}
	add(SwapBytes, 2, 3, 4, 7, 8)
	add(ReverseEach, 1, 3, 8)
	add(SwapNibbles, 1, 4, 8)
	add(ReverseBits, 1, 8, 26, 37, 63, 64)
	add(Invert, 1, 8, 26, 63, 64)
	add(KeepLow, 1, 16, 63)
	add(KeepDigits, 1, 5, 18, 19)
	add(ToBCD, 0)
	add(FromBCD, 0)
	all = append(all, Step{Op: KeepHigh, A: 1, B: 2}, Step{Op: KeepHigh, A: 16, B: 24}, Step{Op: KeepHigh, A: 63, B: 64})
	for _, c := range []int64{1, -1, 77, -77, math.MaxInt64, -math.MaxInt64} {
		all = append(all, Step{Op: Add, C: c})
	}
	for _, op := range []Op{SetFacility, DropFacility} {
		all = append(all, Step{Op: op, A: 16, C: 150}, Step{Op: op, A: 1, C: 1}, Step{Op: op, A: 62, C: 1},
			Step{Op: op, A: 24, C: math.MaxInt64 >> 24}, Step{Op: op, A: 8, C: 0})
	}
	return all
}

// TestSteps holds each step against the same on texts, and each inverse against the step.
func TestSteps(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	values := []uint64{0, 1, 9, 10, 99, 100, 0x1234, 0x9999, 0x999A, 1<<16 - 1, 1 << 16, 9999999999999999,
		10000000000000000, 0x9999999999999999, 0x999999999999999A,
		math.MaxInt64, math.MaxInt64 + 1, math.MaxUint64, math.MaxUint64 - 1, 150<<16 | 46143, 1<<62 | 5,
		(math.MaxInt64>>24)<<24 | 7}
	for n := range 64 {
		values = append(values, rng.Uint64()>>uint(n), 1<<uint(n), 10<<uint(n))
	}
	for _, s := range someSteps() {
		require.NoError(t, s.check(), s)
		inverse, lost := s.inverse()
		took := 0
		for _, v := range values {
			want, fits := onText(t, s, v)
			got, ok := s.apply(v)
			require.Equal(t, fits, ok, "%s: %d", s, v)
			if !ok {
				continue
			}
			took++
			require.Equal(t, want, got, "%s: %d", s, v)
			if lost == "" {
				back, ok := inverse.apply(got)
				require.True(t, ok, "%s: %d", inverse, got)
				require.Equal(t, v, back, "%s: %d", inverse, got)
			}
		}
		assert.Positive(t, took, s)
		assert.Equal(t, slices.Contains([]Op{KeepLow, KeepHigh, KeepDigits}, s.Op), lost != "", s)
	}
}

// TestStepBounds: what a step can't be is refused, and what is just within its range is not.
func TestStepBounds(t *testing.T) {
	for _, c := range []struct {
		op     Op
		lo, hi int
		b      int
	}{
		{SwapBytes, 2, 8, 0}, {ReverseEach, 1, 8, 0}, {SwapNibbles, 1, 8, 0}, {ReverseBits, 1, 64, 0}, {Invert, 1, 64, 0},
		{KeepLow, 1, 63, 0},
		{KeepHigh, 1, 25, 26}, {KeepHigh, 1, 63, 64}, {KeepHigh, 1, 1, 2}, {KeepDigits, 1, 19, 0}, {SetFacility, 1, 62, 0},
		{DropFacility, 1, 62, 0},
	} {
		for a := -1; a < 70; a++ {
			s := Step{Op: c.op, A: a, B: c.b}
			assert.Equal(t, a >= c.lo && a <= c.hi, s.check() == nil, "%s %d of %d", c.op, a, c.b)
		}
	}
	for _, bad := range []Step{
		{Op: KeepHigh, A: 1, B: 1}, {Op: KeepHigh, A: 1, B: 65}, {Op: SetFacility, A: 16, C: -1},
		{Op: DropFacility, A: 62, C: 2}, {Op: SetFacility, A: 16, C: math.MaxInt64>>16 + 1},
		{Op: Add, C: math.MinInt64}, {Op: StripParity, Format: "x"}, {}, {Op: ops}, {Op: 255},
	} {
		assert.Error(t, bad.check(), bad)
	}
	assert.NoError(t, (&Step{Op: Add, C: math.MinInt64 + 1}).check())
	names := map[string]bool{}
	for o := Op(1); o < ops; o++ {
		names[o.String()] = true
	}
	assert.Len(t, names, int(ops)-1)
	assert.Equal(t, "Op(0) and Op(16)", fmt.Sprint(Op(0), " and ", ops))
}
