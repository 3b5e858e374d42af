package line_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// The read has even parity over its first 13 bits and odd parity over the others, as SIA AC-01-1996.10 has it:
// facility 121, number 1050.
const echoed = "10111100100000100000110101"

// pulsesOf returns the edges of bits, a beat apart, and of an echo behind those of which has tells so. A line that has
// been quiet comes first, and a gap last.
func pulsesOf(bits string, beat, delay time.Duration, crossed int, has func(i int) bool) (edges []line.Edge) {
	pulse := func(at time.Duration, w line.Wire) {
		edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Low},
			line.Edge{At: at + 50*us, Wire: w, Level: line.High})
	}
	for i, bit := range bits {
		at := 100*ms + time.Duration(i)*beat
		pulse(at, line.Wire(bit-'0'))
		if has(i) {
			pulse(at+delay, line.Wire(bit-'0')^line.Wire(crossed))
		}
	}
	return append(edges, line.Edge{At: edges[len(edges)-1].At + 100*ms, Wire: line.NoWire})
}

func readOf(t *testing.T, edges []line.Edge) line.Read {
	t.Helper()
	d := line.NewDecoder(line.Config{})
	for _, e := range edges {
		if d.Feed(e) {
			return d.Read()
		}
	}
	t.Fatal("no read")
	return line.Read{}
}

// Keys whose bits look like each bit and its echo, in a list that does not say how long pulses last: nothing tells that
// one is narrower than another.
func TestKeysOfUnknownWidth(t *testing.T) {
	t.Parallel()
	for _, bits := range []string{"10010110", "101001", "10000111"} {
		edges := []line.Edge{}
		for i, bit := range bits {
			edges = append(edges, line.Edge{At: 100*ms + time.Duration(i)*2*ms, Wire: line.Wire(bit - '0'), Level: line.Pulsed})
		}
		read := readOf(t, append(edges, line.Edge{At: time.Second, Wire: line.NoWire}))
		require.Equal(t, bits, read.Bits.String())
		require.Equal(t, line.Healthy, read.Verdict(), "%v", read.Warnings(nil))
	}
}

// Echoes at any delay from a quarter of a beat to three quarters, behind all pulses, every third one, or those of one
// wire, on their wire or on the other one: the bits as they came are suspect, and those without the echoes the card's.
func TestEchoes(t *testing.T) {
	t.Parallel()
	for name, has := range map[string]func(i int) bool{
		"all":        func(int) bool { return true },
		"third":      func(i int) bool { return i%3 == 1 },
		"those of 1": func(i int) bool { return echoed[i] == '1' },
	} {
		for crossed := range 2 {
			for delay := 500 * us; delay <= 1500*us; delay += 20 * us {
				if crossed == 1 && name == "all" && delay > 880*us && delay < 1120*us {
					continue // a read of twice as many bits may be so
				}
				r := readOf(t, pulsesOf(echoed, 2*ms, delay, crossed, has))
				require.Equal(t, line.Suspect, r.Verdict(), "%s %v", name, delay)
				require.Equal(t, echoed, r.Mended.String(), "%s %v %d", name, delay, crossed)
				require.Zero(t, r.Open.OnesCount())
			}
		}
	}
}

// A steady read is no echo of one half as long because few of its bits change, nor an unsteady one because some of its
// intervals are alike.
func TestNoEchoes(t *testing.T) {
	t.Parallel()
	for _, bits := range []string{strings.Repeat("0", 30) + "11", strings.Repeat("10", 13), "01101001101001010101100101",
		"11001100001100111100110011", "11110000000000000000110011",
		echoed} {
		r := readOf(t, pulsesOf(bits, 2*ms, 0, 0, func(int) bool { return false }))
		require.Equal(t, line.Healthy, r.Verdict(), "%s: %v", bits, r.Warnings(nil))
		require.Equal(t, bits, r.Bits.String())
		require.Zero(t, r.Mended.Len())
	}
}

// A recorder may write x for a moment between two levels. That is none of its own; one longer than a glitch is.
func TestLevelsOnTheirWay(t *testing.T) {
	t.Parallel()
	for _, x := range []time.Duration{0, 1, 2 * us, 9 * us, 30 * us} {
		var edges []line.Edge
		for i, e := range pulsesOf(echoed, 2*ms, 0, 0, func(int) bool { return false }) {
			if e.Wire != line.NoWire && (x < line.DefaultGlitch || i == 20) {
				edges = append(edges, line.Edge{At: e.At - x, Wire: e.Wire, Level: line.Unknown})
			}
			edges = append(edges, e)
		}
		r := readOf(t, edges)
		if x < line.DefaultGlitch {
			require.Equal(t, echoed, r.Bits.String())
			require.Equal(t, line.Healthy, r.Verdict(), "%v: %v", x, r.Warnings(nil))
		} else {
			require.Equal(t, line.Suspect, r.Verdict(), "%v", x)
		}
	}
}

// Four bits that are all alike are a key only one right after the other: with beats of silence between them nobody
// knows what the other wire did.
func TestNoKeyOfFourBits(t *testing.T) {
	t.Parallel()
	d := line.NewDecoder(line.Config{})
	read := func(from time.Duration, bits string, beats ...int) line.Read {
		for i, bit := range bits {
			at := from + time.Duration(beats[i])*2*ms
			d.Feed(line.Edge{At: at, Wire: line.Wire(bit - '0'), Level: line.Low})
			d.Feed(line.Edge{At: at + 50*us, Wire: line.Wire(bit - '0'), Level: line.High})
		}
		require.True(t, d.Feed(line.Edge{At: from + 400*ms, Wire: line.NoWire}))
		return d.Read()
	}
	require.Equal(t, line.Healthy, read(ms, "0101", 0, 1, 2, 3).Verdict())
	require.Equal(t, line.Healthy, read(1000*ms, "0000", 0, 1, 2, 3).Verdict())
	require.Equal(t, line.Suspect, read(2000*ms, "0000", 0, 3, 4, 8).Verdict())
}

// sent returns the read of pulses every millisecond, of these widths by turns.
func sent(t *testing.T, bits string, widths ...time.Duration) line.Read {
	d := line.NewDecoder(line.Config{})
	for i, bit := range bits {
		at := time.Duration(100+i) * ms
		d.Feed(line.Edge{At: at, Wire: line.Wire(bit - '0'), Level: line.Low})
		d.Feed(line.Edge{At: at + widths[i%len(widths)], Wire: line.Wire(bit - '0'), Level: line.High})
	}
	require.True(t, d.Feed(line.Edge{At: 500 * ms, Wire: line.NoWire}))
	return d.Read()
}

// A key of four bits whose every pulse has an echo half a beat late looks like one of eight, and one of eight like four
// keys in a frame. Echoes that are narrower tell; where all are alike, the bits do, of which each is there twice, or
// once with each value. Those of a key of eight bits, of which four are the others inverted (public general-purpose
// drivers), may be so as well, and nothing tells.
func TestEchoesOfAKey(t *testing.T) {
	t.Parallel()
	for _, bits := range [][2]string{{"1010", "11001100"}, {"0110", "01101001"}, {"11100001", "1111110000000011"},
		{"11100001", "1010100101010110"}, {"0001", "00000011"},
		{"0011", "00001111"}} {
		r := sent(t, bits[1], 50*us, 40*us)
		require.Equal(t, faults(line.Doubled), r.Faults)
		require.Equal(t, bits[0], r.Mended.String())
		if alike := sent(t, bits[1], 50*us); bits[0] == "0110" {
			require.Equal(t, line.Healthy, alike.Verdict())
		} else {
			require.Equal(t, line.Suspect, alike.Verdict(), bits[1])
			require.Equal(t, bits[0], alike.Mended.String())
		}
	}
}

// Of a card with hardly a 1 in it, all bits of which come again half a beat late on the other wire, each is there once
// with each value: that is no card of 52 bits (arithmetic: one in 2^26 is so by chance).
func TestEchoesOfZeros(t *testing.T) {
	t.Parallel()
	zeros := strings.Repeat("0", 19) + "1000000"
	r := readOf(t, pulsesOf(zeros, 2*ms, ms, 1, func(int) bool { return true }))
	require.Equal(t, line.Suspect, r.Verdict())
	require.Equal(t, zeros, r.Mended.String())
}

// Keys have 4 or 8 bits, or 6 with parities, several in a row 4 times as many, and cards 24 or more (common practice,
// no source): a read of another length is a part of one.
func TestNoCardOfSoFewBits(t *testing.T) {
	t.Parallel()
	whole := []int{4, 6, 8, 12, 16, 20, 24, 25, 26, 27, 28, 29, 30}
	for n := 2; n <= 30; n++ {
		r := sent(t, strings.Repeat("0110", 8)[:n], 50*us)
		require.Equal(t, !slices.Contains(whole, n), r.Faults.Has(line.TooShort), "%d bits", n)
	}
}

// A key of which every bit is on one wire, and a card sooner than a gap: they are parted when the other wire has moved.
func TestKeyOfOneWireBeforeACard(t *testing.T) {
	t.Parallel()
	d := line.NewDecoder(line.Config{})
	var reads []string
	feed := func(e line.Edge) {
		if d.Feed(e) {
			reads = append(reads, d.Read().Bits.String())
		}
	}
	at := 100 * ms
	for i, bit := range "0000" + "0000" + card[:20] {
		if at += ms; i == 4 {
			at += 40 * ms
		}
		feed(line.Edge{At: at, Wire: line.Wire(bit - '0'), Level: line.Low})
		feed(line.Edge{At: at + 50*us, Wire: line.Wire(bit - '0'), Level: line.High})
	}
	feed(line.Edge{At: at + 200*ms, Wire: line.NoWire})
	feed(line.Edge{At: at + 201*ms, Wire: line.NoWire})
	require.Equal(t, []string{"0000", "0000" + card[:20]}, reads)
}

// The same recording with its times written in groups of three digits, and with lines that end in carriage returns
// alone, has the same read.
func TestTimesInGroups(t *testing.T) {
	t.Parallel()
	rows := []string{"time_us;D0;D1"}
	add := func(at int, d0, d1 string) {
		whole := time.Duration(at).String() // of less than a microsecond: digits and "ns"
		rows = append(rows, strings.TrimSuffix(whole, "ns")+"'000.00;"+d0+";"+d1)
	}
	add(100, "1", "1")
	for i, bit := range echoed {
		levels := [2]string{"1", "1"}
		levels[bit-'0'] = "0"
		add(200+2*i, levels[0], levels[1])
		rows = append(rows, strings.Replace(rows[len(rows)-1], "'000.00;"+levels[0]+";"+levels[1], "'050.00;1;1", 1))
	}
	add(500, "1", "1")
	text := strings.Join(rows, "\n") + "\n"
	for _, c := range [][2]string{{"'", "'"}, {"'", ","}, {"'", " "}, {"'", "\u00a0"}, {"'", "\u202f"}, {"\n", "\r"}, {"\n", "\r\n"}} {
		csv, err := line.NewCSV(strings.NewReader(strings.ReplaceAll(text, c[0], c[1])), line.CSVOptions{})
		require.NoError(t, err)
		_, err = csv.Choose(line.Signals{})
		require.NoError(t, err)
		r := line.NewReader(csv, line.Config{}, line.PolarityAuto)
		read, err := r.Next()
		require.NoError(t, err)
		require.Equal(t, echoed, read.Bits.String(), "%q", c)
		require.Equal(t, 200*ms, read.At)
		require.Equal(t, line.Healthy, read.Verdict(), "%q", c)
	}
}

// Crosstalk of two pulses in three, on the other wire and just before or behind, is no second reader.
func TestCrosstalkIsNoReader(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(seed, 22))
	for range 200 {
		var edges []line.Edge
		for i, bit := range echoed {
			at, w := 100*ms+time.Duration(i)*2*ms+time.Duration(rng.IntN(10))*us, line.Wire(bit-'0')
			edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Pulsed})
			if rng.IntN(3) > 0 {
				edges = append(edges, line.Edge{At: at + time.Duration(rng.IntN(5)-2)*us, Wire: 1 - w, Level: line.Pulsed})
			}
		}
		slices.SortStableFunc(edges, func(a, b line.Edge) int { return cmp.Compare(a.At, b.At) })
		read := readOf(t, append(edges, line.Edge{At: time.Second, Wire: line.NoWire}))
		require.Equal(t, line.Suspect, read.Verdict())
		require.False(t, read.Faults.Has(line.TwoReaders), read.Warnings(nil))
	}
}

// Two readers at once, out of step, keep no pace together: that the bits are of both is then said of the read, which is
// none of either, whether their pulses are alike or not. One reader whose pace varies as much is not taken for two.
func TestTwoReadersAtOnce(t *testing.T) {
	t.Parallel()
	for _, width := range []time.Duration{45 * us, 80 * us} {
		var edges []line.Edge
		for i, bit := range echoed {
			for _, r := range [][3]time.Duration{{100 * ms, 2 * ms, 45 * us}, {100900 * us, 2030 * us, width}} {
				at, w := r[0]+time.Duration(i)*r[1], line.Wire(bit-'0')
				edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Low},
					line.Edge{At: at + r[2], Wire: w, Level: line.High})
			}
		}
		slices.SortStableFunc(edges, func(a, b line.Edge) int { return cmp.Compare(a.At, b.At) })
		read := readOf(t, append(edges, line.Edge{At: 400 * ms, Wire: line.NoWire}))
		require.True(t, read.Faults.Has(line.TwoReaders), read.Warnings(nil))
		require.Equal(t, width != 45*us, read.Faults.Has(line.TwoWidths))
		require.Equal(t, line.Suspect, read.Verdict())
	}
	rng := rand.New(rand.NewPCG(seed, 21))
	for range 500 {
		edges, at := []line.Edge{}, 100*ms
		for _, bit := range echoed + echoed {
			w := line.Wire(bit - '0')
			edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Low},
				line.Edge{At: at + 50*us, Wire: w, Level: line.High})
			at += 2*ms + time.Duration(rng.NormFloat64()*float64(400*us))/1000*1000
			at = max(at, edges[len(edges)-1].At+100*us)
		}
		read := readOf(t, append(edges, line.Edge{At: at + 100*ms, Wire: line.NoWire}))
		require.False(t, read.Faults.Has(line.TwoReaders), read.Warnings(nil))
	}
}

// Two readers on the same wires, whose pulses are of different widths and whose reads follow one another in step, make
// one read that keeps its pace: that is said of it, and not of a recorder that samples pulses of 50 µs every 20 µs.
func TestTwoWidths(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		width func(i int) time.Duration
		want  line.Faults
	}{
		{func(i int) time.Duration { return []time.Duration{45 * us, 80 * us}[i/len(echoed)] }, faults(line.TwoWidths)},
		{func(i int) time.Duration { return []time.Duration{40 * us, 60 * us}[i%5%2] }, 0},
		{func(i int) time.Duration { return time.Duration(40+i) * us }, 0},
	} {
		edges := []line.Edge{}
		for i, bit := range echoed + echoed {
			at, w := 100*ms+time.Duration(i)*2*ms, line.Wire(bit-'0')
			edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Low},
				line.Edge{At: at + c.width(i), Wire: w, Level: line.High})
		}
		require.Equal(t, c.want, readOf(t, append(edges, line.Edge{At: 400 * ms, Wire: line.NoWire})).Faults)
	}
}
