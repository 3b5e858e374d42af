package independent

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// recording is a question of vcd_reads.py.
type recording struct {
	Path  string `json:"path"`
	Zeros string `json:"zeros,omitempty"`
	Ones  string `json:"ones,omitempty"`
	Clock string `json:"clock,omitempty"`
	Data  string `json:"data,omitempty"`
}

// played is its answer.
type played struct {
	Edges [][3]any `json:"edges"`
	Reads []string `json:"reads"`
}

// Recordings as capture --make writes them, of two wires and of clock and data, give a naive reader in Python the reads
// that were put in, and both readers the same edges.
func TestRecordingsThatAreMade(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 13))
	dir := t.TempDir()
	var questions []recording
	var sent [][]string
	for i := range 20 + perFormat()/30 {
		p := line.Profile{
			Coding:   line.Coding(i % 2),
			Width:    line.Range{Min: 20 * time.Microsecond, Max: 100 * time.Microsecond},
			Interval: line.Range{Min: 250 * time.Microsecond, Max: 15 * time.Millisecond},
		}
		q := recording{Path: filepath.Join(dir, fmt.Sprint(i, ".vcd")), Zeros: "DATA0", Ones: "DATA1"}
		if p.Coding == line.ClockAndData {
			q = recording{Path: q.Path, Clock: "CLOCK", Data: "DATA"}
		}
		text, reads := made(t, rnd, p)
		require.NoError(t, os.WriteFile(q.Path, text, 0o600))
		questions, sent = append(questions, q), append(sent, reads)
	}
	for i, a := range Ask[played](t, "vcd_reads.py", questions) {
		require.Equal(t, sent[i], a.Reads, "seed %d", seed)
		compare(t, questions[i], a)
	}
}

// Recordings in the many ways in which the standard lets them be written are read alike by both.
func TestRecordingsInAnyStyle(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 14))
	dir := t.TempDir()
	var questions []recording
	for i := range 40 + perFormat()/10 {
		q := styled(rnd)
		text := q.Path
		q.Path = filepath.Join(dir, fmt.Sprint(i, ".vcd"))
		require.NoError(t, os.WriteFile(q.Path, []byte(text), 0o600))
		questions = append(questions, q)
	}
	reads := 0
	for i, a := range Ask[played](t, "vcd_reads.py", questions) {
		compare(t, questions[i], a)
		reads += len(a.Reads)
	}
	assert.Greater(t, reads, len(questions))
}

// The recordings that come with the project: one of a hardware simulator, one written by hand, one of the demo.
func TestRecordingsThatAreKept(t *testing.T) {
	const folder = "../../../../testdata/"
	questions := []recording{
		{Path: folder + "line/reader.vcd", Zeros: "reader.data0", Ones: "reader.data1"},
		{Path: folder + "line/reader.vcd", Zeros: "reader.panel.d0", Ones: "reader.panel.d1"},
		{Path: folder + "line/burst.vcd", Zeros: "D0", Ones: "D1"},
		{Path: folder + "demo/back-door.vcd", Zeros: "DATA0", Ones: "DATA1"},
	}
	answers := Ask[played](t, "vcd_reads.py", questions)
	for i, a := range answers {
		require.NotEmpty(t, a.Reads, questions[i].Path)
		compare(t, questions[i], a)
	}
	// Facility 212, number 7041 by SIA AC-01-1996.10, and a key of public drivers.
	assert.Equal(t, []string{"11101010000011011100000010", "11101010000011011100000010"}, answers[0].Reads)
	assert.Equal(t, []string{"0101"}, answers[2].Reads)
}

// compare reads a recording and compares it with what Python read in it.
func compare(t *testing.T, q recording, a played) {
	t.Helper()
	var edges [][3]any
	var levels [2]line.Level
	src := open(t, q)
	for {
		e, err := src.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err, q.Path)
		if e.Wire == line.NoWire || levels[e.Wire] == e.Level {
			continue
		}
		levels[e.Wire] = e.Level
		edges = append(edges, [3]any{float64(e.At), float64(e.Wire), []string{"x", "0", "1"}[e.Level]})
	}
	require.Equal(t, settled(a.Edges), settled(edges), "%s, seed %d", q.Path, seed)
	var reads []string
	for r := line.NewReader(open(t, q), line.Config{Glitch: -1}, line.IdleHigh); ; { // every fall counts, spikes as well
		read, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err, q.Path)
		reads = append(reads, read.Bits.String())
	}
	require.Equal(t, a.Reads, reads, "%s, seed %d", q.Path, seed)
}

// settled returns the edges after the recording's first moment, before which levels come in any order and with no time.
func settled(edges [][3]any) (after [][3]any) {
	for _, e := range edges {
		if at, ok := e[0].(float64); ok && at > 0 {
			after = append(after, e)
		}
	}
	return after
}

func open(t *testing.T, q recording) *line.VCD {
	t.Helper()
	text, err := os.ReadFile(q.Path)
	require.NoError(t, err)
	v, err := line.NewVCD(bytes.NewReader(text))
	require.NoError(t, err, q.Path)
	_, err = v.Choose(line.Signals{Data0: q.Zeros, Data1: q.Ones, Clock: q.Clock, Data: q.Data})
	require.NoError(t, err, q.Path)
	return v
}

// made returns a recording of a few reads, and the reads.
func made(t *testing.T, rnd *rand.Rand, p line.Profile) (text []byte, reads []string) {
	t.Helper()
	g := line.NewGenerator(p, rnd.Uint64())
	edges, at := g.AppendIdle(nil, 0), 100*time.Millisecond
	for range 1 + rnd.IntN(4) {
		b := wiegand.BitsFromWords([4]uint64{rnd.Uint64(), rnd.Uint64(), rnd.Uint64(), rnd.Uint64()}, 4+rnd.IntN(197))
		edges, at = g.AppendRead(edges, at, b)
		at += 500 * time.Millisecond
		reads = append(reads, b.String())
	}
	edges = append(edges, line.Edge{At: at, Wire: line.NoWire})
	var out bytes.Buffer
	require.NoError(t, line.WriteVCD(&out, [2]string{p.Coding.WireName(0), p.Coding.WireName(1)}, slices.Values(edges)))
	return out.Bytes(), reads
}

// styled returns a question whose path is the text of a recording: a read or two of two wires, as nets of one bit or
// bits of a vector, among other nets, in any time scale and with white space, comments and repeated values as it comes.
func styled(rnd *rand.Rand) recording {
	space := func() string { return []string{" ", "\n", "\t", "\r\n", "  "}[rnd.IntN(5)] }
	one := func(all ...string) string { return all[rnd.IntN(len(all))] }
	scale := rnd.IntN(4)
	perMicrosecond := []int{1, 10, 1000, 1_000_000}[scale]
	var b strings.Builder
	fmt.Fprintf(&b, "$date%stoday $end\n$timescale%s%s%s$end\n", space(), space(), []string{"1us", "100 ns", "1ns", "1" +
		space() + "ps"}[scale], space())
	fmt.Fprintf(&b, "$scope module top $end $scope module rd $end\n$var real 64 r# volts $end $var integer 32 ' count $end\n")
	q := recording{Zeros: "top.rd.d0", Ones: "top.rd.d1"}
	set := func(zeros, ones int) string { return fmt.Sprintf("%d!%s%d$%s", zeros, space(), ones, space()) }
	switch rnd.IntN(3) {
	case 0:
		b.WriteString("$var wire 1 ! d0 $end $var wire 1 $ d1 $end\n")
	case 1:
		q = recording{Zeros: "top.rd.bus[2]", Ones: "top.rd.bus[0]"}
		b.WriteString("$var reg 3 0! bus [2:0] $end\n")
		set = func(zeros, ones int) string {
			// shorter where it can be
			return fmt.Sprintf("b%s 0!%s", strings.TrimLeft(fmt.Sprintf("%d1%d", zeros, ones), "0"), space())
		}
	case 2:
		q = recording{Zeros: "top.rd.bus[2]", Ones: "top.rd.bus[0]"}
		fmt.Fprintf(&b, "$var reg 3 xyz bus%s[0:2] $end\n", space())
		set = func(zeros, ones int) string { return fmt.Sprintf("B%d0%d%sxyz%s", ones, zeros, space(), space()) }
	}
	b.WriteString("$upscope $end $upscope $end\n$enddefinitions $end\n")
	at0 := rnd.IntN(2) // whether the first values come behind the first time, or before it
	fmt.Fprintf(&b, "%s$dumpvars%s%s r0.5%sr#%s bx ' $end\n%s", []string{"", "#0\n"}[at0], space(), set(1, 1), space(),
		space(), []string{"#0\n", ""}[at0])
	now := 1000
	for range 1 + rnd.IntN(3) {
		for range 4 + rnd.IntN(40) {
			bit := rnd.IntN(2)
			fmt.Fprintf(&b, "#%d%s%s%s", now*perMicrosecond, space(), set(bit, 1-bit), one("", "r1.25 r#\n", "b1010 '\n",
				"$comment #7 0! $end\n"))
			now += 50 + rnd.IntN(50)
			fmt.Fprintf(&b, "#%d%s%s%s", now*perMicrosecond, space(), set(1, 1), one("", set(1, 1)))
			now += 300 + rnd.IntN(3000)
		}
		now += 200_000
	}
	fmt.Fprintf(&b, "#%d\n", now*perMicrosecond)
	q.Path = b.String()
	return q
}
