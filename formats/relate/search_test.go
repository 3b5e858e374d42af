package relate

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// TestConstantAcrossTheEnds: a constant that does not fit 63 bits and a sign is none, however the difference wraps.
func TestConstantAcrossTheEnds(t *testing.T) {
	for _, c := range []struct{ x, y uint64 }{
		{5, 12}, {12, 5}, {0, math.MaxInt64}, {math.MaxInt64, 0}, {0, math.MaxUint64}, {math.MaxUint64, 0}, {0, 1 << 63},
		{1 << 63, 0}, {1, 1 << 63}, {1 << 63, 1}, {7, 7},
	} {
		pairs := []Pair{{A: fmt.Sprint(c.x), B: fmt.Sprint(c.y)}}
		q := question{pairs: pairs, places: []int{0}, a: side{kind: formats.Printed}, b: side{kind: formats.Printed},
			seen: map[ruleKey]bool{}, frames: frames(formats.Builtin())}
		s, err := newSearch(&q, pairs)
		require.NoError(t, err)
		at := slices.IndexFunc(s.in, func(p priced) bool {
			v, ok := p.parse(pairs[0].A)
			return p.Kind == Decimal && ok &&
				v == c.x
		})
		to := slices.IndexFunc(s.out, func(p writing) bool {
			v, ok := p.parse(pairs[0].B)
			return p.Kind == Decimal && ok &&
				v == c.y
		})
		require.True(t, at >= 0 && to >= 0)
		s.limit = 1000
		s.fit(&s.in[at], &s.out[to], &state{vals: []uint64{c.x}, ok: 1}, &state{vals: []uint64{c.y}, ok: 1})
		far := max(c.x, c.y) - min(c.x, c.y)
		adds := 0
		for _, f := range s.found {
			if f.rule.steps[0].Op == Add {
				adds++
				style := slices.IndexFunc(s.out[to].styles, func(p priced) bool { return p.Text == f.rule.to })
				require.GreaterOrEqual(t, style, 0)
				length := math.Log2(float64(far) + 1)
				cost := s.in[at].cost + s.out[to].styles[style].cost + 6 + stepBits + length + 2*math.Log2(length+1)
				assert.InDelta(t, cost, f.cost, 1e-6)
			}
			got, err := f.rule.Apply(pairs[0].A)
			assert.NoError(t, err)
			assert.Equal(t, pairs[0].B, got)
		}
		assert.Equal(t, far > 0 && far <= math.MaxInt64, adds > 0, "%d to %d", c.x, c.y)
	}
}
