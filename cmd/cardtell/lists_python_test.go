package main

import (
	"encoding/json"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/independent"
)

// Lists of cardholders as small sites have them, one to three kinds of card, damaged cells, titles, totals, facility
// and number in two columns, back-ups of a door: not one wrong number is written, and nearly all good rows are
// converted. Python makes them and judges, by arithmetic of its own (testdata/independent/lists.py).
func TestThousandLists(t *testing.T) {
	const seed = "20261127" // run again while mending, so that its figure is no held-out one
	count := 1000
	if testing.Short() {
		count = 60
	}
	dir := t.TempDir()
	type report struct {
		Report json.RawMessage `json:"report"`
	}
	var reports []report
	for i, q := range independent.Ask[struct{ Args []string }, any](t, "lists.py", nil, "make", dir, seed, strconv.Itoa(count)) {
		code, stdout, stderr := cli(q.Args...)
		require.Less(t, code, 2, "seed %s, list %d: %s", seed, i, stderr)
		reports = append(reports, report{json.RawMessage(stdout)})
	}
	good, right := 0, 0
	for i, a := range independent.Ask[struct {
		Wrong       string
		Good, Right int
	}](t, "lists.py", reports, "judge", dir, seed, strconv.Itoa(count)) {
		assert.Empty(t, a.Wrong, "seed %s, list %d", seed, i)
		good, right = good+a.Good, right+a.Right
	}
	require.Len(t, reports, count)
	t.Logf("%d lists: %d of %d good rows converted", count, right, good)
	assert.GreaterOrEqual(t, float64(right), 0.97*float64(good), "good rows converted")
}
