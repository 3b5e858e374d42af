package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"weak"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// result is what a command line did.
type result struct {
	code     int
	out, err string
}

// do runs a command line in this process, with a text as standard input.
func do(line, stdin string) result {
	var out, errw bytes.Buffer
	code := run(split(line), strings.NewReader(stdin), &out, &errw)
	return result{code, out.String(), errw.String()}
}

// What one run held is gone when it has ended: a page asks thousands of times in one process.
func TestNothingIsKeptOfARun(t *testing.T) {
	a := &app{tables: newTables()}
	require.Equal(t, exitDone, a.run([]string{"identify", "26:32D687E=46143"}, strings.NewReader(""), io.Discard, io.Discard))
	kept := weak.Make(a)
	a = nil
	runtime.GC()
	assert.Nil(t, kept.Value())
}

// A line of a file that is too long is named, and not read.
func TestLineTooLong(t *testing.T) {
	r := do("identify --file "+write(t, "long.txt", "26:32D687E\n"+strings.Repeat("1", 70000)+"\n"), "")
	assert.Equal(t, exitUsage, r.code)
	assert.Regexp(t, `^cardtell: \S+:2: a line of more than 4096 bytes.*\n$`, r.err)
	assert.Empty(t, r.out)
}

// Two orders of the published 26-bit format (SIA AC-01-1996.10), each of one facility with a box of its own numbers, in
// no equal steps, and no print: that is as good a reading as one long number without a facility, in two boxes, or as
// two kinds of card of which one has such a number. So what is stated is somewhat less than the weights of the two
// formats in the catalogue say, 100 to 8, and never a certainty; two prints settle it.
func TestTwoFacilitiesWithoutPrints(t *testing.T) {
	t.Parallel()
	args := []string{"--json"}
	for i := range 10 {
		for _, card := range []string{fmt.Sprintf("58,%d", 20411+37*i+i*i*7%31), fmt.Sprintf("143,%d", 3702+29*i+i*i*5%23)} {
			bits := do("convert "+card+" --from pair --to bits-hex --format 26-8-16", "")
			require.Equal(t, exitDone, bits.code, bits.err)
			args = append(args, strings.TrimSpace(bits.out))
		}
	}
	var doc identifyJSON
	require.NoError(t, json.Unmarshal([]byte(do("identify "+strings.Join(args, " "), "").out), &doc))
	require.Empty(t, doc.Populations)
	require.GreaterOrEqual(t, len(doc.Candidates), 2)
	assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
	assert.InDelta(t, 100.0/108-0.15, doc.Candidates[0].Probability, 0.15)
	assert.Contains(t, strings.Join(doc.Warnings, "\n"), "may be of another kind than the rest")
	assert.Equal(t, "26-0-24", doc.Candidates[1].Format)

	args[1], args[2] = args[1]+"=20411", args[2]+"=3702"
	require.NoError(t, json.Unmarshal([]byte(do("identify "+strings.Join(args, " "), "").out), &doc))
	assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
	assert.Greater(t, doc.Candidates[0].Probability, 0.99)
}

// Where many cards are in doubt they are counted, and it is said why and what to do: their prints may be known already.
func TestManyDoubtful(t *testing.T) {
	t.Parallel()
	args := "identify"
	for i := range 101 {
		args += fmt.Sprintf(" %s=%d", strings.TrimSpace(do(fmt.Sprintf("convert 58,%d --from pair --to bits-hex --format 26-8-16", 20411+i), "").out), 20411+i)
		args += fmt.Sprintf(" %s=%d", strings.TrimSpace(do(fmt.Sprintf("convert %d --from number --to bits-hex --format 26-0-24", 9120411+i), "").out), 9120411+i)
	}
	r := do(args, "")
	assert.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "These are cards of 2 kinds (>99.9 %)")
	assert.Contains(t, r.out, "26 bits: 101 cards (as given: 1 3 5")
	assert.Contains(t, r.out, "Take care: 202 cards were not tried in the other kind one by one")
}

// The probabilities of identify --json add up to 1, with those that are cut off and that of several kinds: and those of
// each of several kinds to that, at least. What identify says of a format learn says too.
func TestIdentifyAddsUp(t *testing.T) {
	type kind struct {
		Candidates      []candidateJSON
		Unknown, Others float64
	}
	sum := func(k kind) float64 {
		require.Len(t, k.Candidates, 1)
		return k.Candidates[0].Probability + k.Unknown + k.Others
	}
	ask := func(cards string) (doc struct {
		kind
		Several     float64
		Populations []kind
	}) {
		require.NoError(t, json.Unmarshal([]byte(do("identify --json --top 1 "+cards, "").out), &doc))
		return doc
	}
	two := ask("26:32D687E 26:32D6882=46145")
	assert.InDelta(t, 1, sum(two.kind), 1e-9)
	assert.Zero(t, two.Several)

	// Two facilities, three cards each: of two lots, and perhaps of two formats.
	const cards = "26:168DE9E 26:1694AD9 26:169E5A4 26:14258E0 26:3432E50 26:143CB7B"
	six := ask(cards)
	assert.InDelta(t, 1, sum(six.kind)+six.Several, 1e-9)
	assert.Greater(t, six.Several, 0.001)
	var learned struct{ Probability float64 }
	require.NoError(t, json.Unmarshal([]byte(do("learn --json "+cards, "").out), &learned))
	assert.InDelta(t, learned.Probability, six.Candidates[0].Probability, 1e-3)

	kinds := ask("26:2F20023 26:2F20056 26:2F20057 26:2F20058 37:00FAC09C57 37:00FAC09C58")
	require.Len(t, kinds.Populations, 2)
	for _, k := range kinds.Populations {
		assert.InDelta(t, kinds.Several, sum(k), 1e-9)
	}
}

// identify --each answers every line in order, whatever the number of workers, and accounts for the bad ones.
func TestIdentifyEach(t *testing.T) {
	var in strings.Builder
	const n = 3000
	for i := range n {
		switch {
		case i%1000 == 500:
			in.WriteString("rubbish\n")
		case i%7 == 0:
			in.WriteString("# a remark\n")
		default:
			in.WriteString("26:32D687E\n")
		}
	}
	text := do("identify --each --file -", in.String())
	assert.Equal(t, exitUsage, text.code)
	assert.Equal(t, 3, strings.Count(text.err, "rubbish"), text.err)
	docs := do("identify --each --json --file -", in.String())
	last, good, bad := 0, 0, 0
	for line := range strings.Lines(docs.out) {
		var doc struct {
			Line       int
			Error      string
			Candidates []struct{ Format string }
		}
		require.NoError(t, json.Unmarshal([]byte(line), &doc))
		assert.Greater(t, doc.Line, last)
		last = doc.Line
		if doc.Error != "" {
			bad++
		} else {
			good++
			assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
		}
	}
	remarks := 0
	for i := range n {
		if i%7 == 0 && i%1000 != 500 {
			remarks++
		}
	}
	assert.Equal(t, n, good+bad+remarks)
	assert.Equal(t, good, strings.Count(text.out, "\n"))
}
