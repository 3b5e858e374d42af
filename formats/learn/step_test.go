package learn

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

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

// TestMasks holds sets of bits against maps.
func TestMasks(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for range 200 {
		var a, b mask
		in, other := map[int]bool{}, map[int]bool{}
		for range rng.IntN(40) {
			i, j := rng.IntN(256), rng.IntN(256)
			a.add(i)
			b.add(j)
			in[i], other[j] = true, true
		}
		if gone := rng.IntN(256); true {
			a.drop(gone)
			delete(in, gone)
		}
		want := map[string][]int{}
		for i := range 256 {
			require.Equal(t, in[i], a.has(i))
			for name, yes := range map[string]bool{"a": in[i], "and": in[i] && other[i], "or": in[i] || other[i], "xor": in[i] != other[i], "without": in[i] && !other[i]} {
				if yes {
					want[name] = append(want[name], i)
				}
			}
		}
		for name, m := range map[string]mask{"a": a, "and": a.and(b), "or": a.or(b), "xor": a.xor(b), "without": a.without(b)} {
			require.Equal(t, len(want[name]), m.count(), name)
			require.Equal(t, append([]int{}, want[name]...), m.list(), name)
			require.Equal(t, uint64(len(want[name])%2), m.parity(), name)
			require.Equal(t, len(want[name]) == 0, m.empty(), name)
		}
		s := a.spans()
		require.Equal(t, a, maskOf(s))
		for i := 1; i < len(s); i++ {
			require.Greater(t, s[i].From, s[i-1].To+1, "neighbours are one span")
		}
		if at := a.list(); len(at) > 0 {
			i, best := rng.IntN(256), 256
			for _, j := range at {
				best = min(best, max(i-j, j-i))
			}
			require.Equal(t, best, distance(i, a.list()))
		}
	}
	assert.Equal(t, 256, distance(3, nil))
	assert.Equal(t, []int{3, 4, 5}, span(3, 5).list())
}

// TestConstantSum holds sums of two columns against one read after the other.
func TestConstantSum(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 2000 {
		n := 1 + rng.IntN(140)
		a, b, differs := newVec(n), newVec(n), 0
		same, first := true, false
		odd := rng.IntN(n)
		flip, plain := rng.IntN(2) == 1, rng.IntN(2) == 1
		for r := range n {
			x, y := rng.IntN(2) == 1, false
			if y = x != flip; r == odd && plain {
				y = !y
			}
			if x {
				a.set(r)
			}
			if y {
				b.set(r)
			}
			if x != y {
				differs++
			}
			if r == 0 {
				first = x != y
			}
			same = same && (x != y) == first
		}
		want, ok := constantSum(a, b, n)
		require.Equal(t, same, ok)
		require.Equal(t, ok && first, want == 1)
		require.Equal(t, differs, differ(a, b))
	}
	_, ok := constantSum(nil, nil, 0)
	assert.True(t, ok)
}

// TestNumbersInReads writes numbers into reads in every coding, and holds what stands there against texts; what is put is what is read.
func TestNumbersInReads(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	written := func(h *number, w mask) (s string) {
		for _, i := range h.at {
			s += map[bool]string{true: "1", false: "0"}[w.has(i)]
		}
		return s
	}
	for _, c := range []struct {
		Number
		bits int
		max  uint64
		text func(v uint64) string
	}{
		{Number{}, 16, 65535, bits16of}, {Number{}, 1, 1, func(v uint64) string { return fmt.Sprintf("%01b", v) }},
		{Number{Inverse: true}, 16, 65535, func(v uint64) string { return bits16of(v ^ 65535) }},
		{Number{Coding: wiegand.BCD}, 20, 99999, func(v uint64) string { return charactersOf(v, func(d uint64) string { return fmt.Sprintf("%04b", d) }) }},
		{Number{Coding: wiegand.BCD, Order: wiegand.LSBFirst}, 20, 99999, func(v uint64) string {
			return charactersOf(v, func(d uint64) string { return backwards(fmt.Sprintf("%04b", d), 1) })
		}},
		{Number{Coding: wiegand.Digits5}, 25, 99999, func(v uint64) string {
			return charactersOf(v, func(d uint64) string {
				b := backwards(fmt.Sprintf("%04b", d), 1)
				return b + fmt.Sprint(1-strings.Count(b, "1")%2) // ISO/IEC 7811-2: least significant bit first, odd parity
			})
		}},
	} {
		h := number{Number: c.Number, at: rng.Perm(200)[:c.bits]}
		for _, i := range h.at {
			h.cols.add(i)
		}
		require.Equal(t, c.max, h.max())
		for range 300 {
			v := rng.Uint64N(c.max + 1)
			w := mask{rng.Uint64(), rng.Uint64(), rng.Uint64(), rng.Uint64()}
			before := w
			require.True(t, h.put(&w, v))
			require.Equal(t, c.text(v), written(&h, w))
			require.Equal(t, before.without(h.cols), w.without(h.cols), "the other bits stay")
			got, ok := h.valueOK(w)
			require.True(t, ok)
			require.Equal(t, v, got)
		}
		var w mask
		require.False(t, h.put(&w, c.max+1))
		require.True(t, h.put(&w, c.max))
		if c.Coding == wiegand.Binary {
			continue
		}
		for i := range h.at[:4] { // digits over 9 and characters whose parity fails are no digits
			x := w
			if x.has(h.at[i]) {
				x.drop(h.at[i])
			} else {
				x.add(h.at[i])
			}
			n := 4
			if c.Coding == wiegand.Digits5 {
				n = 5
			}
			text := written(&h, x)[:n]
			digit := text[:4]
			if n == 5 || c.Order == wiegand.LSBFirst {
				digit = backwards(digit, 1)
			}
			_, ok := h.valueOK(x)
			require.Equal(t, number2(t, digit) <= 9 && (n == 4 || strings.Count(text, "1")%2 == 1), ok, text)
		}
	}
	offset := number{Number: Number{Print: PrintOffset, Offset: 1000}}
	assert.EqualValues(t, 1005, offset.shown(5))
	assert.EqualValues(t, 5, offset.stored(1005))
	plain := number{}
	assert.EqualValues(t, 5, plain.shown(plain.stored(5)))
}

func bits16of(v uint64) string { return fmt.Sprintf("%016b", v) }

func charactersOf(v uint64, one func(uint64) string) (s string) {
	for _, c := range fmt.Sprintf("%05d", v) {
		s += one(uint64(c - '0'))
	}
	return s
}

// TestPrints: what each form of print says of a number in a read.
func TestPrints(t *testing.T) {
	h := number{at: run(0, 16, wiegand.MSBFirst)}
	var w mask
	require.True(t, h.put(&w, 46143))
	for _, c := range []struct {
		Number
		print string
		want  bool
	}{
		{Number{}, "46143", true}, {Number{}, "46144", false},
		{Number{Print: PrintPair}, "150,46143", true}, {Number{Print: PrintPair}, "46143,150", false},
		{Number{Print: PrintJoined, Digits: 5}, "15046143", true}, {Number{Print: PrintJoined, Digits: 5}, "15046144", false}, {Number{Print: PrintJoined, Digits: 4}, "15046143", false},
		{Number{Print: PrintLast, Digits: 3}, "143", true}, {Number{Print: PrintLast, Digits: 4}, "6143", true}, {Number{Print: PrintLast, Digits: 4}, "143", false},
		{Number{Print: PrintOffset, Offset: 1000}, "47143", true}, {Number{Print: PrintOffset, Offset: -143}, "46000", true}, {Number{Print: PrintOffset, Offset: 1}, "46143", false},
	} {
		h.Number = c.Number
		p, err := parsePrinted("", c.print)
		require.NoError(t, err)
		assert.Equal(t, c.want, h.prints(w, p), "%+v: %s", c.Number, c.print)
	}
}

// TestCosts: what bits cost that follow from nothing is the length of a code, so that the shares of all columns add up to 1.
func TestCosts(t *testing.T) {
	for _, n := range []int{1, 2, 5, 30} {
		sum := 0.0
		for k := range n + 1 {
			ways, _ := new(big.Float).SetInt(new(big.Int).Binomial(int64(n), int64(k))).Float64()
			sum += ways * math.Exp2(-ktBits(k, n))
		}
		assert.InDelta(t, 1, sum, 1e-9, n)
	}
	for n, want := range map[int]float64{1: 1, 2: 3 - math.Log2(3)} { // the first bit is a coin, the second like it 3 times in 4
		assert.InDelta(t, want, ktBits(n, n), 1e-9)
		assert.InDelta(t, want, ktBits(0, n), 1e-9)
	}
}

// TestSpansInOrder: runs that rise are spans, runs that fall are one with its last bit first, and digits keep their order.
func TestSpansInOrder(t *testing.T) {
	for _, c := range []struct {
		at    []int
		spans string
		order wiegand.Order
	}{
		{[]int{4}, "5", wiegand.MSBFirst}, {[]int{4, 5, 6}, "5-7", wiegand.MSBFirst}, {[]int{6, 5, 4}, "5-7", wiegand.LSBFirst}, {[]int{4, 5, 9, 10}, "5-6, 10-11", wiegand.MSBFirst},
		{[]int{9, 10, 4, 5}, "10-11, 5-6", wiegand.MSBFirst}, {[]int{6, 5, 3}, "7, 6, 4", wiegand.MSBFirst}, {[]int{5, 4}, "5-6", wiegand.LSBFirst},
	} {
		s, order := spansInOrder(c.at, wiegand.Binary, wiegand.MSBFirst)
		var text []string
		for _, x := range s {
			text = append(text, strings.TrimSuffix(fmt.Sprintf("%d-%d", x.From, x.To), fmt.Sprintf("-%d", x.From)))
		}
		assert.Equal(t, c.spans, strings.Join(text, ", "), c.at)
		assert.Equal(t, c.order, order, c.at)
	}
	s, order := spansInOrder([]int{3, 4, 5, 6}, wiegand.BCD, wiegand.LSBFirst)
	assert.Equal(t, wiegand.Spans{{From: 4, To: 7}}, s)
	assert.Equal(t, wiegand.LSBFirst, order)
}
