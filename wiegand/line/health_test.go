package line_test

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

func nilRand() *rand.Rand { return rand.New(rand.NewPCG(seed, 9)) }

// source is a recording held in memory.
type source struct {
	coding line.Coding
	edges  []line.Edge
	err    error // at the end; io.EOF where it is nil
	pauses map[int]bool
	n      int
}

type paused struct{}

func (paused) Error() string { return "nothing came" }
func (paused) Timeout() bool { return true }

func (s *source) Coding() line.Coding { return s.coding }

func (s *source) Next() (line.Edge, error) {
	if s.pauses[s.n] {
		delete(s.pauses, s.n)
		return line.Edge{}, paused{}
	}
	if s.n == len(s.edges) {
		if s.err != nil {
			return line.Edge{}, s.err
		}
		return line.Edge{}, io.EOF
	}
	s.n++
	return s.edges[s.n-1], nil
}

func TestReaderFindsThePolarity(t *testing.T) {
	t.Parallel()
	track2, err := line.Track2Bits(";0123?")
	require.NoError(t, err)
	for coding, want := range []wiegand.Bits{line.TwoWire: wiegand.MustParseBits(card), line.ClockAndData: track2} {
		coding := line.Coding(coding)
		for _, inverted := range []bool{false, true} {
			g := line.NewGenerator(line.Profile{Coding: coding, Inverted: inverted}, seed)
			edges, end := g.AppendRead(g.AppendIdle(nil, 0), 80*ms, want)
			edges = append(edges, line.Edge{At: end + 60*ms, Wire: line.NoWire})
			reads, health, err := readAll(&source{coding: coding, edges: edges})
			require.NoError(t, err)
			require.Equal(t, inverted, health.Inverted)
			require.Equal(t, []string{want.String()}, bitsOf(reads))
			require.Equal(t, line.Healthy, health.Verdict())

			// A recording that begins in the middle of a read still tells, from the time at each level.
			reads, health, err = readAll(&source{coding: coding, edges: edges[10:]})
			require.NoError(t, err)
			require.Equal(t, inverted, health.Inverted)
			require.Equal(t, line.Suspect, reads[0].Verdict())
		}
	}
	// Told the wrong polarity, it must not report a healthy read.
	g := line.NewGenerator(line.Profile{}, seed)
	edges, _ := g.AppendRead(g.AppendIdle(nil, 0), 80*ms, wiegand.MustParseBits(card))
	r := line.NewReader(&source{edges: edges}, line.Config{}, line.IdleLow)
	for {
		read, err := r.Next()
		if err != nil {
			break
		}
		require.NotEqual(t, line.Healthy, read.Verdict())
	}
}

// Only reads whose parities both hold count as straight, whichever bit is wrong; widths that are not known are not
// counted.
func TestSurveyCounts(t *testing.T) {
	t.Parallel()
	b := wiegand.MustParseBits("26:32D687E") // SIA AC-01-1996.10, facility 150, number 46143
	var good line.Survey
	good.Add(line.Read{Bits: b}, []line.Pulse{{At: ms}, {At: 3 * ms, Width: 50 * us}})
	good.Add(line.Read{Bits: b.Invert()}, nil)
	h := good.Health(nil)
	require.Equal(t, []int{1, 1, 2}, []int{h.Straight, h.Swapped, h.Reads})
	require.Equal(t, line.Stats{N: 1, Min: 50 * us, Max: 50 * us, Mean: 50 * us, Median: 50 * us, P5: 50 * us,
		P95: 50 * us}, h.Width)
	require.Equal(t, 2*ms, h.Interval.Mean)
	for i := range 26 {
		var s line.Survey
		s.Add(line.Read{Bits: b.WithBit(i, 1-b.Bit(i))}, nil)
		h := s.Health(nil)
		require.Equal(t, []int{0, 0}, []int{h.Straight, h.Swapped}, "bit %d", i+1)
	}
}

// Percentiles by nearest rank, of times so short that they are counted each for itself (own arithmetic), and of long
// ones to 1 part in 64.
func TestHistogram(t *testing.T) {
	t.Parallel()
	var h line.Histogram
	require.Zero(t, h.Stats())
	for i := range 60 {
		h.Add(time.Duration(60 - i))
	}
	require.Equal(t, line.Stats{N: 60, Min: 1, Max: 60, Mean: 30, Median: 30, P5: 3, P95: 57}, h.Stats())
	h = line.Histogram{}
	for i := range 1000 {
		h.Add(time.Duration(i+1) * ms)
	}
	h.Add(-5)
	s := h.Stats()
	require.Equal(t, []any{1001, time.Duration(0), 1000 * ms}, []any{s.N, s.Min, s.Max})
	for want, got := range map[time.Duration]time.Duration{50 * ms: s.P5, 500 * ms: s.Median, 950 * ms: s.P95, 500*ms +
		1: s.Mean} {
		require.InEpsilon(t, float64(want), float64(got), 1.0/64)
	}
}

func TestReaderLive(t *testing.T) {
	t.Parallel()
	g := line.NewGenerator(line.Profile{}, seed)
	want := wiegand.MustParseBits(card)
	edges, end := g.AppendRead(g.AppendIdle(nil, 0), 80*ms, want)
	first := len(edges)
	edges, _ = g.AppendRead(edges, end+time.Second, want)

	// A pause behind the first read closes it, though no edge has come; pauses while nothing is open are passed on.
	s := &source{edges: edges, pauses: map[int]bool{2: true, first: true}}
	r := line.NewReader(s, line.Config{}, line.PolarityAuto)
	_, err := r.Next()
	require.ErrorIs(t, err, paused{})
	read, err := r.Next()
	require.NoError(t, err)
	require.Equal(t, want, read.Bits)
	require.Equal(t, first, s.n, "the read came before any edge after it")
	require.Len(t, r.Pulses(), 26)
	read, err = r.Next()
	require.NoError(t, err)
	require.Equal(t, want, read.Bits)
	require.Equal(t, faults(line.OpenEnd), read.Faults)
	_, err = r.Next()
	require.Equal(t, io.EOF, err)

	// A wire that falls and then stays as it is shows up at the pause.
	s = &source{edges: edges[:3], pauses: map[int]bool{3: true}}
	read, err = line.NewReader(s, line.Config{}, line.IdleHigh).Next()
	require.NoError(t, err)
	require.Equal(t, faults(line.NoReturn, line.OneWire, line.TooShort), read.Faults)

	// A pause in the middle of a read splits it: the second half says so.
	s = &source{edges: edges[:first], pauses: map[int]bool{22: true}}
	r = line.NewReader(s, line.Config{}, line.PolarityAuto)
	read, err = r.Next()
	require.NoError(t, err)
	require.Equal(t, 10, read.Bits.Len())
	read, err = r.Next()
	require.NoError(t, err)
	require.Equal(t, 16, read.Bits.Len())
	require.True(t, read.Faults.Has(line.Continued))
	require.Equal(t, line.Suspect, read.Verdict())
}

func TestReaderKeepsWhatCameBeforeAnError(t *testing.T) {
	t.Parallel()
	broken := errors.New("the cable was pulled")
	g := line.NewGenerator(line.Profile{}, seed)
	edges, _ := g.AppendRead(g.AppendIdle(nil, 0), 80*ms, wiegand.MustParseBits(card))
	for _, n := range []int{0, 1, 2, 30, len(edges)} {
		r := line.NewReader(&source{edges: edges[:n], err: broken}, line.Config{}, line.PolarityAuto)
		if n > 2 {
			read, err := r.Next()
			require.NoError(t, err)
			require.Equal(t, (n-2)/2, read.Bits.Len())
			require.True(t, read.Faults.Has(line.CutEnd))
		}
		for range 3 {
			_, err := r.Next()
			require.ErrorIs(t, err, broken)
		}
	}
}

func TestHealthOfWiring(t *testing.T) {
	t.Parallel()
	health := func(cards ...string) line.Health {
		g := line.NewGenerator(line.Profile{}, seed)
		edges, at := g.AppendIdle(nil, 0), 80*ms
		for _, c := range cards {
			edges, at = g.AppendRead(edges, at, wiegand.MustParseBits(c))
			at += 80 * ms
		}
		_, h, err := readAll(&source{edges: append(edges, line.Edge{At: at, Wire: line.NoWire})})
		require.NoError(t, err)
		return h
	}
	h := health(card, card)
	require.Equal(t, line.Healthy, h.Verdict())
	require.Empty(t, h.Suggestions())
	require.Equal(t, 2, h.Straight)
	require.Equal(t, []line.LengthCount{{Bits: 26, Reads: 2}}, h.Lengths)

	swapped := wiegand.MustParseBits(card).Invert().String()
	h = health(swapped, swapped)
	require.Equal(t, 2, h.Swapped)
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "DATA0 and DATA1 may be swapped")

	h = health(strings.Repeat("0", 26))
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "no pulse on DATA1 in the whole recording")

	h = health(card, card, card[:25])
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "different lengths (26 bits 2×, 25 bits 1×)")

	// A wire that is low throughout.
	g := line.NewGenerator(line.Profile{}, seed)
	edges := []line.Edge{{At: 0, Wire: 0, Level: line.High}, {At: 0, Wire: 1, Level: line.Low}}
	edges, end := g.AppendRead(edges, 80*ms, wiegand.MustParseBits(strings.Repeat("0", 26)))
	reads, h, err := readAll(&source{edges: append(edges, line.Edge{At: end + 80*ms, Wire: line.NoWire})})
	require.NoError(t, err)
	require.Equal(t, [2]bool{false, true}, h.Stuck)
	require.True(t, reads[0].Faults.Has(line.Stuck) && reads[0].Faults.Has(line.BothLow))
	require.Contains(t, h.Suggestions()[0], "DATA1 stays low")
	require.NotContains(t, strings.Join(h.Suggestions(), "\n"), "no pulse on DATA1",
		"a wire that is stuck is not cut as well")
	require.NotContains(t, strings.Join(h.Suggestions(), "\n"), "both wires low", "which is the same")

	// Wires that touch: each bit comes on both, and that is the first thing to say.
	var falls []fall
	for _, f := range steadySim().send(1e5, card) {
		falls = append(falls, f, fall{1 - f.wire, f.at, f.wide})
	}
	_, h = record(falls, line.Config{})
	require.Contains(t, h.Suggestions()[0], "the two data wires may touch each other")
	require.Len(t, h.Suggestions(), 1)
}

// Times of whole milliseconds have no pulse of a reader in them, and no interference either.
func TestTimesTooCoarse(t *testing.T) {
	t.Parallel()
	text := "time_ms,wire,level\n"
	for i, bit := range card {
		text += fmt.Sprintf("%d,D%c,0\n%[1]d,D%[2]c,1\n", 100+2*i, bit)
	}
	reads, h, err := readCSV(strings.NewReader(text+"400,D0,1\n"), line.CSVOptions{}, line.Signals{})
	require.NoError(t, err)
	require.Empty(t, reads)
	require.Len(t, h.Suggestions(), 1)
	require.Contains(t, h.Suggestions()[0], "too coarse")
}

func TestConsensus(t *testing.T) {
	t.Parallel()
	b := wiegand.MustParseBits(card)
	short, _ := b.Delete(3)
	long, _ := b.Insert(9, 1)
	flip := b.WithBit(5, 1-b.Bit(5))
	a := line.Consensus([]wiegand.Bits{short, b, b, flip, long, b, b})
	require.Equal(t, line.Agreement{Bits: b, Total: 7, Same: 4, Short: 1, Long: 1, Flips: 1, Weak: []int{5}, Sure: true},
		a)
	require.Equal(t, 3, a.Bad())

	require.Zero(t, line.Consensus(nil))
	require.False(t, line.Consensus([]wiegand.Bits{b}).Sure, "one read proves nothing")
	require.True(t, line.Consensus([]wiegand.Bits{b, b}).Sure, "two that agree")
	require.False(t, line.Consensus([]wiegand.Bits{b, b, flip, short}).Sure, "half is not more than half")
	tie := line.Consensus([]wiegand.Bits{b, flip})
	require.Equal(t, b, tie.Bits)
	require.False(t, tie.Sure)
	require.Equal(t, b, line.Consensus([]wiegand.Bits{short, b}).Bits, "the longer of two lengths")

	// Majority finds the card though no two reads have the same fault, and no fault is in the majority.
	rng := nilRand()
	for range 200 {
		card := randomBits(rng, 26+rng.IntN(175))
		var reads []wiegand.Bits
		for range 7 {
			i := rng.IntN(card.Len())
			reads = append(reads, card.WithBit(i, 1-card.Bit(i)), card)
		}
		reads = append(reads, card)
		require.Equal(t, card, line.Consensus(reads).Bits)
	}
}

// TestStats compares with sorting, the plain way to find percentiles.
func TestStats(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Int64Range(1, int64(time.Hour)), 1, 200).Draw(t, "times")
		var h line.Histogram
		pulses := []line.Pulse{{}}
		var sum time.Duration
		for _, d := range v {
			h.Add(time.Duration(d))
			sum += time.Duration(d)
			pulses = append(pulses, line.Pulse{At: pulses[len(pulses)-1].At + time.Duration(d), Width: time.Duration(d)})
		}
		slices.Sort(v)
		nearest := func(p int) time.Duration { return time.Duration(v[max(0, (len(v)*p+99)/100-1)]) }
		exact := line.TimingOf(pulses)
		want := line.Stats{N: len(v), Min: time.Duration(v[0]), Max: time.Duration(v[len(v)-1]),
			Mean:   sum / time.Duration(len(v)),
			Median: time.Duration(v[len(v)/2]), P5: nearest(5), P95: nearest(95)}
		if exact.Interval != want || exact.Width != want {
			t.Fatalf("%+v, want %+v", exact.Interval, want)
		}
		got := h.Stats()
		if got.N != want.N || got.Min != want.Min || got.Max != want.Max {
			t.Fatalf("histogram %+v, want %+v", got, want)
		}
		for _, p := range [][2]time.Duration{{got.P5, want.P5}, {got.P95, want.P95}} {
			if p[0] > p[1] || p[1]-p[0] > p[1]/64+1 {
				t.Fatalf("percentile %v, want %v to 1 part in 64", p[0], p[1])
			}
		}
	})
	require.Zero(t, new(line.Histogram).Stats())
}

func TestRound(t *testing.T) {
	t.Parallel()
	for d, want := range map[time.Duration]string{
		0: "0s", 50 * us: "50µs", 51234: "51.2µs", 1999999: "2ms", -1234567: "-1.23ms", 20*ms + 40*us: "20ms",
		time.Hour: "1h0m0s",
	} {
		require.Equal(t, want, line.Round(d).String())
	}
}
