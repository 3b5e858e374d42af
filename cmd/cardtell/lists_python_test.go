package main

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Lists of cardholders as small sites have them, one to three kinds of card, damaged cells, titles, totals, facility
// and number in two columns, back-ups of a door: not one wrong number is written, and nearly all good rows are
// converted. Python makes them and judges, by arithmetic of its own (testdata/independent/lists.py).
func TestThousandLists(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil || exec.Command(python, "-I", "-c", `"".removeprefix("")`).Run() != nil {
		t.Skip("no python3, or one that is too old: nothing to compare with")
	}
	const seed = "20261127" // run again while mending, so that its figure is no held-out one
	count := 1000
	if testing.Short() {
		count = 60
	}
	dir := t.TempDir()
	script := func(what string, in []byte) *json.Decoder {
		var out, complaints bytes.Buffer
		cmd := exec.Command(python, "-I", "-B", "-X", "utf8", filepath.Join("..", "..", "testdata", "independent",
			"lists.py"),
			what, dir, seed, strconv.Itoa(count))
		cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(in), &out, &complaints
		require.NoError(t, cmd.Run(), complaints.String())
		return json.NewDecoder(&out)
	}
	questions := script("make", nil)
	var reports bytes.Buffer
	for i := range count {
		var q struct{ Args []string }
		require.NoError(t, questions.Decode(&q))
		code, stdout, stderr := cli(q.Args...)
		require.Less(t, code, 2, "seed %s, list %d: %s", seed, i, stderr)
		require.NoError(t, json.NewEncoder(&reports).Encode(map[string]any{"report": json.RawMessage(stdout)}))
	}
	answers := script("judge", reports.Bytes())
	good, right := 0, 0
	for i := range count {
		var a struct {
			Wrong       string
			Good, Right int
		}
		require.NoError(t, answers.Decode(&a))
		assert.Empty(t, a.Wrong, "seed %s, list %d", seed, i)
		good, right = good+a.Good, right+a.Right
	}
	t.Logf("%d lists: %d of %d good rows converted", count, right, good)
	assert.GreaterOrEqual(t, float64(right), 0.97*float64(good), "good rows converted")
}
