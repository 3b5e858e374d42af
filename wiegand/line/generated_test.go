package line_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

const (
	us = time.Microsecond
	ms = time.Millisecond
)

// seed is of all random tests, so that a failure can be replayed.
const seed = 20261125

// wholeRange is all that SIA AC-01-1996.10 allows, as manuals quote it: 20 to 100 µs wide, 200 µs to 20 ms apart.
func wholeRange() line.Profile {
	return line.Profile{Width: line.Range{Min: 20 * us, Max: 100 * us}, Interval: line.Range{Min: 200 * us, Max: 20 * ms}}
}

// steady is one reader: it has a pace of its own and keeps it within a tenth.
func steady(rng *rand.Rand) line.Profile {
	width := 20*us + time.Duration(rng.Int64N(int64(70*us)))
	interval := 250*us + time.Duration(rng.Int64N(int64(15*ms)))
	return line.Profile{
		Width:    line.Range{Min: width, Max: width + width/10},
		Interval: line.Range{Min: interval, Max: interval + interval/10},
	}
}

func randomBits(rng *rand.Rand, n int) wiegand.Bits {
	return wiegand.BitsFromWords([4]uint64{rng.Uint64(), rng.Uint64(), rng.Uint64(), rng.Uint64()}, n)
}

// decodeOne feeds the edges of a recording with one read in it and returns what comes out.
func decodeOne(d *line.Decoder, edges []line.Edge, end time.Duration) (reads []line.Read, pulses []line.Pulse) {
	for _, e := range edges {
		if d.Feed(e) {
			reads = append(reads, d.Read())
		}
	}
	if d.Feed(line.Edge{At: end + 500*ms, Wire: line.NoWire}) {
		reads = append(reads, d.Read())
	}
	return reads, d.Pulses()
}

// anyBits are the faults of reads of any bits: on clock and data they are no message.
var anyBits = [2]line.Faults{line.ClockAndData: faults(line.NoMessage)}

// generatedReads is how many reads the long tests make: 10,000, or fewer with -short.
func generatedReads() int {
	if testing.Short() {
		return 1000
	}
	return 10000
}

func TestGeneratedReadsAreExact(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		spike int
		code  line.Coding
		inv   bool
	}{
		{"two wires", 0, line.TwoWire, false},
		{"two wires, a spike on every third bit", 3, line.TwoWire, false},
		{"two wires, inverted, a spike on every bit", 1, line.TwoWire, true},
		{"clock and data", 0, line.ClockAndData, false},
		{"clock and data, a spike on every third bit", 3, line.ClockAndData, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			p := wholeRange()
			p.SpikeEvery, p.Coding, p.Inverted = c.spike, c.code, c.inv
			g, rng := line.NewGenerator(p, seed), rand.New(rand.NewPCG(seed, 1))
			d := line.NewDecoder(line.Config{Coding: c.code, Inverted: c.inv})
			var edges []line.Edge
			at := 100 * ms
			for i := range generatedReads() {
				want := randomBits(rng, 26+rng.IntN(175))
				var end time.Duration
				edges, end = g.AppendRead(edges[:0], at, want)
				reads, _ := decodeOne(d, edges, end)
				require.Len(t, reads, 1, "read %d", i)
				require.Equal(t, want, reads[0].Bits, "read %d", i)
				if c.spike == 0 {
					require.Equal(t, anyBits[c.code], reads[0].Faults&^faults(line.Unsteady), "read %d %v", i,
						reads[0].Warnings(d.Pulses()))
				} else {
					require.True(t, reads[0].Faults.Has(line.Spike), "read %d: spikes are told of", i)
				}
				at = end + 600*ms
			}
		})
	}
}

// TestFlawedReadsAreNotHealthy makes reads with one pulse lost or doubled. Where the reader keeps a steady pace the
// flaw must show in the read itself, unless it is the first or last pulse that is lost, which nothing in the read can
// tell. Where the pace varies over the whole permitted range, nothing can tell; then no read is called healthy.
func TestFlawedReadsAreNotHealthy(t *testing.T) {
	t.Parallel()
	for _, kind := range []line.FlawKind{line.Lose, line.Double} {
		for _, whole := range []bool{false, true} {
			t.Run(fmt.Sprintf("kind %d, whole range %v", kind, whole), func(t *testing.T) {
				t.Parallel()
				rng := rand.New(rand.NewPCG(seed, 2))
				warned, inner := 0, 0
				for i := range generatedReads() {
					p := wholeRange()
					if !whole {
						p = steady(rng)
					}
					want := randomBits(rng, 26+rng.IntN(175))
					flaw := line.Flaw{Bit: rng.IntN(want.Len()), Kind: kind}
					edges, end := line.NewGenerator(p, uint64(i)).AppendRead(nil, 100*ms, want, flaw)
					reads, _ := decodeOne(line.NewDecoder(line.Config{}), edges, end)
					require.NotEmpty(t, reads)
					r := reads[0]
					if whole {
						require.NotEqual(t, line.Healthy, r.Verdict(), "read %d, flaw at bit %d", i, flaw.Bit+1)
					}
					if kind == line.Double || flaw.Bit > 0 && flaw.Bit < want.Len()-1 {
						inner++
						if r.Verdict() != line.Healthy {
							warned++
						}
					}
				}
				t.Logf("%d of %d reads carry a warning of their own", warned, inner)
				require.Equal(t, inner, warned)
			})
		}
	}
}

func BenchmarkDecoder(b *testing.B) {
	for _, c := range []struct {
		name string
		p    line.Profile
	}{
		{"steady", line.Profile{}},
		{"whole range", wholeRange()},
	} {
		b.Run(c.name, func(b *testing.B) {
			rng := rand.New(rand.NewPCG(seed, 3))
			g := line.NewGenerator(c.p, seed)
			var edges []line.Edge
			at := time.Duration(0)
			for range 1000 {
				edges, at = g.AppendRead(edges, at+60*ms, randomBits(rng, 26))
			}
			span := at + 60*ms
			d := line.NewDecoder(line.Config{})
			b.ReportAllocs()
			reads, shift := 0, time.Duration(0)
			for n := 0; n < b.N; {
				for _, e := range edges {
					e.At += shift
					if d.Feed(e) {
						reads += d.Read().Bits.Len()
					}
					n++
				}
				shift += span
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N), "ns/edge")
			if reads == 0 && b.N > 100 {
				b.Fatal("no reads")
			}
		})
	}
}
