package line_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// script makes edges from a drawing of both wires, 10 µs a sign: "-" high, "_" low, "?" unknown. White space is
// ignored.
func script(d0, d1 string) (edges []line.Edge) {
	for w, s := range []string{d0, d1} {
		last := rune('-')
		for i, r := range strings.ReplaceAll(s, " ", "") {
			if r != last {
				level := map[rune]line.Level{'-': line.High, '_': line.Low, '?': line.Unknown}[r]
				edges = append(edges, line.Edge{At: time.Duration(i) * 10 * us, Wire: line.Wire(w), Level: level})
			}
			last = r
		}
	}
	// Two sorted lists: merge by insertion, keeping wire 0 first where times are equal.
	for i := 1; i < len(edges); i++ {
		for j := i; j > 0 && edges[j].At < edges[j-1].At; j-- {
			edges[j], edges[j-1] = edges[j-1], edges[j]
		}
	}
	return edges
}

// play feeds edges and returns the one read that they make, once the line is quiet.
func play(t *testing.T, cfg line.Config, edges []line.Edge) (line.Read, []line.Pulse, line.Health) {
	t.Helper()
	d := line.NewDecoder(cfg)
	for _, e := range edges {
		require.False(t, d.Feed(e))
	}
	require.True(t, d.Feed(line.Edge{At: edges[len(edges)-1].At + 500*ms, Wire: line.NoWire}))
	var s line.Survey
	s.Add(d.Read(), d.Pulses())
	return d.Read(), d.Pulses(), s.Health(d)
}

func faults(f ...line.Fault) (s line.Faults) {
	for _, f := range f {
		s |= 1 << f
	}
	return s
}

// TestFaults draws each fault and says what must be seen beside that two or three bits are too few for a card. 30 signs
// are 300 µs.
func TestFaults(t *testing.T) {
	t.Parallel()
	const quiet = "------------------------------"
	for name, c := range map[string]struct {
		d0, d1 string
		bits   string
		faults line.Faults
	}{
		"healthy":  {"-----_____" + quiet + quiet, quiet + "-----_____" + quiet, "01", 0},
		"narrow":   {"-----_----" + quiet + quiet, quiet + "-----_____" + quiet, "01", faults(line.Narrow)},
		"wide":     {"-----____________---" + quiet + quiet, quiet + "-----_____" + quiet, "01", faults(line.Wide)},
		"too soon": {"-----_____-----_____" + quiet, quiet + "----------", "00", faults(line.TooSoon, line.OneWire)},
		"too late": {"-----_____" + strings.Repeat("-", 2200), strings.Repeat("-", 2105) + "-----_____" + quiet, "01",
			faults(line.TooLate)},
		"as late as may be": {"-----_____" + strings.Repeat("-", 2200), strings.Repeat("-", 2005) + "-----_____" + quiet,
			"01", 0},
		"both low": {"-----_____" + quiet, "--------_____" + quiet, "01", faults(line.BothLow)},
		"one inside another": {"-----__________---" + quiet, "--------____------" + quiet, "01",
			faults(line.BothLow, line.Doubled)},
		"a wire sticks": {"-----_____" + quiet + quiet + "_", quiet + "-----_____" + quiet, "010",
			faults(line.Stuck, line.NoReturn)},
		"unknown level":      {"-----_____" + quiet + "-?-", quiet + "-----_____" + quiet, "01", faults(line.UnknownLevel)},
		"unknown in a pulse": {"-----__???" + quiet + "---", quiet + "-----_____" + quiet, "01", faults(line.UnknownLevel)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, pulses, _ := play(t, line.Config{}, script(c.d0, c.d1))
			require.Equal(t, c.bits, r.Bits.String())
			require.Equal(t, c.faults|faults(line.TooShort), r.Faults, "%v", r.Warnings(pulses))
			require.Len(t, r.Warnings(pulses), strings.Count(strings.Repeat("x", len(r.Warnings(nil))), "x"))
			for i := range pulses {
				require.Equal(t, r.Bits.Bit(i), uint(pulses[i].Bit))
				require.True(t, i == 0 || pulses[i].At >= pulses[i-1].At)
			}
		})
	}
}

func TestSpikesAreRemoved(t *testing.T) {
	t.Parallel()
	at := func(w line.Wire, from, to time.Duration) []line.Edge {
		return []line.Edge{{At: from, Wire: w, Level: line.Low}, {At: to, Wire: w, Level: line.High}}
	}
	// A pulse on wire 0 in three parts, then a spike on wire 1, then noise that is low for less than half of its time.
	edges := at(0, 1000*us, 1015*us)
	edges = append(edges, at(0, 1020*us, 1035*us)...)
	edges = append(edges, at(0, 1036*us, 1050*us)...)
	edges = append(edges, at(1, 2000*us, 2009*us)...)
	for i := range 10 {
		from := 4*ms + time.Duration(i)*11*us
		edges = append(edges, at(1, from, from+4*us)...)
	}
	r, pulses, health := play(t, line.Config{}, edges)
	require.Equal(t, "0", r.Bits.String())
	require.Equal(t, []line.Pulse{{At: 1000 * us, Width: 50 * us, Faults: faults(line.Spike)}}, pulses)
	require.Equal(t, 2+1+10, r.Spikes)
	require.Equal(t, faults(line.Spike, line.OneWire, line.TooShort), r.Faults)
	require.Equal(t, 13, health.Spikes)

	// With the filter off, each is a pulse of its own.
	r, _, _ = play(t, line.Config{Glitch: -1}, edges)
	require.Equal(t, "000"+"1"+"1111111111", r.Bits.String())
}

func TestLongReadsAreNotCutSilently(t *testing.T) {
	t.Parallel()
	var edges []line.Edge
	for i := range 300 {
		from := time.Duration(i) * ms
		edges = append(edges, line.Edge{At: from, Wire: 0, Level: line.Low}, line.Edge{At: from + 50*us, Wire: 0,
			Level: line.High})
	}
	r, pulses, _ := play(t, line.Config{}, edges)
	require.Equal(t, 256, r.Bits.Len())
	require.Equal(t, 300, r.Pulses)
	require.Len(t, pulses, 256)
	require.Equal(t, line.Suspect, r.Verdict())
	require.Contains(t, strings.Join(r.Warnings(pulses), "\n"), "300 pulses, of which the first 256 are kept")
}

func TestWarningsNameTheBits(t *testing.T) {
	t.Parallel()
	g := line.NewGenerator(line.Profile{}, seed)
	edges, _ := g.AppendRead(nil, ms, randomBits(nilRand(), 26), line.Flaw{Bit: 6, Kind: line.Lose},
		line.Flaw{Bit: 20, Kind: line.Double})
	r, pulses, health := play(t, line.Config{}, edges)
	require.Equal(t, 26, r.Bits.Len(), "one lost and one doubled: the right length, and still not healthy")
	require.Equal(t, []string{
		"a pulse may be missing just before this one (one and a half times the usual interval or more): bit 7 (4ms)",
		"this pulse or the one before may be an echo (too soon for the reader's pace): bit 21 (1ms), bit 22 (1ms)",
	}, r.Warnings(pulses))
	require.Equal(t, line.Suspect, health.Verdict())
	require.Len(t, health.Suggestions(), 2)
}

func TestRecordingStartsOrEndsInsideARead(t *testing.T) {
	t.Parallel()
	g := line.NewGenerator(line.Profile{}, seed)
	edges, end := g.AppendRead(nil, 100*ms, randomBits(nilRand(), 26))
	for name, c := range map[string]struct {
		from, to int // edges given
		begin    time.Duration
		end      time.Duration
		faults   line.Faults
	}{
		"whole":                   {0, 52, 0, end + 60*ms, 0},
		"ends a little later":     {0, 52, 0, end + 4*ms, 0},
		"ends with the pulse":     {0, 52, 0, end, faults(line.OpenEnd)},
		"ends too soon to tell":   {0, 50, 0, end - ms, faults(line.CutEnd)},
		"ends inside a pulse":     {0, 51, 0, end - 20*us, faults(line.CutEnd, line.NoReturn)},
		"starts with the pulse":   {0, 52, 100 * ms, end + 60*ms, faults(line.OpenStart)},
		"starts too late to tell": {0, 52, 99 * ms, end + 60*ms, faults(line.CutStart)},
		"starts inside a pulse":   {1, 52, 100*ms + 20*us, end + 60*ms, faults(line.CutStart)},
		"starts a little before":  {0, 52, 96 * ms, end + 60*ms, 0},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := line.NewDecoder(line.Config{})
			d.Begin(c.begin)
			for w := range line.Wire(2) {
				level := line.High
				if c.from == 1 && w == edges[0].Wire {
					level = line.Low
				}
				d.Feed(line.Edge{At: c.begin, Wire: w, Level: level})
			}
			for _, e := range edges[c.from:c.to] {
				require.False(t, d.Feed(e))
			}
			require.True(t, d.End(c.end))
			require.Equal(t, c.faults, d.Read().Faults, "%v", d.Read().Warnings(nil))
			require.False(t, d.End(c.end), "a read ends once")
		})
	}
}

func TestTimesMayBeAnything(t *testing.T) {
	t.Parallel()
	d := line.NewDecoder(line.Config{})
	for _, at := range []time.Duration{math.MinInt64, 0, -5, math.MaxInt64, 7, math.MaxInt64, math.MinInt64} {
		for w := range line.Wire(4) {
			for _, l := range []line.Level{line.Low, line.High, line.Pulsed, line.Unknown, line.High, 77} {
				if d.Feed(line.Edge{At: at, Wire: w, Level: l}) {
					d.Read().Warnings(d.Pulses())
				}
			}
		}
	}
	if d.End(math.MinInt64) {
		require.True(t, d.Read().Faults.Has(line.Backwards))
	}
}

func TestDecoderAllocatesNothing(t *testing.T) {
	edges, end := line.NewGenerator(line.Profile{}, seed).AppendRead(nil, 0, randomBits(nilRand(), 200))
	d := line.NewDecoder(line.Config{})
	shift := time.Duration(0)
	require.Zero(t, testing.AllocsPerRun(100, func() {
		for _, e := range edges {
			e.At += shift
			d.Feed(e)
		}
		shift += end + 60*ms
		if !d.Feed(line.Edge{At: shift, Wire: line.NoWire}) || d.Read().Bits.Len() != 200 ||
			line.TimingOf(d.Pulses()).Width.N != 200 {
			t.Fatal("no read")
		}
	}))
}

func TestFaultTexts(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for f := range line.Faults(math.MaxUint32).All() {
		require.NotEmpty(t, f.String())
		require.NotEmpty(t, f.Cause())
		require.False(t, seen[f.String()], "%v is there twice", f)
		seen[f.String()] = true
	}
	require.Len(t, seen, 32)
}

// Without a glitch limit a pulse that is cut at the end is not on both wires.
func TestCutPulseWithoutGlitch(t *testing.T) {
	d := line.NewDecoder(line.Config{Glitch: -1})
	for i := range 8 {
		at := time.Duration(i) * 2 * time.Millisecond
		d.Feed(line.Edge{At: at, Wire: line.Wire(i % 3 % 2), Level: line.Low})
		if i < 7 {
			d.Feed(line.Edge{At: at + 50*time.Microsecond, Wire: line.Wire(i % 3 % 2), Level: line.High})
		}
	}
	require.True(t, d.End(14*time.Millisecond+20*time.Microsecond))
	require.Equal(t, faults(line.CutEnd, line.NoReturn), d.Read().Faults)
}

// TestGapBehindAWireFoundLow: a wire on which a pulse began, and that is then found low, is in no pulse any more; so a
// silence of ten gaps parts the pulses of the other wire (arithmetic: 500 ms are ten times 50 ms).
func TestGapBehindAWireFoundLow(t *testing.T) {
	t.Parallel()
	d := line.NewDecoder(line.Config{})
	d.Begin(0)
	reads := 0
	for _, e := range []line.Edge{
		{At: ms, Wire: 0, Level: line.Pulsed}, {At: ms + 5*us, Wire: 0, Level: line.Low},
		{At: 20 * ms, Wire: 1, Level: line.Pulsed}, {At: 520 * ms, Wire: 1, Level: line.Pulsed},
		{At: 720 * ms, Wire: line.NoWire},
	} {
		if d.Feed(e) {
			require.Equal(t, 1, d.Read().Bits.Len())
			reads++
		}
	}
	require.Equal(t, 2, reads)
}
