package line_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// sampledVCD is what a recorder of a step in microseconds makes of pulses at times in microseconds, one for each bit,
// in a dump of units a microsecond has. A pulse between two samples is not there.
func sampledVCD(bits string, at []float64, width, step float64, units int) string {
	text := fmt.Sprintf("$timescale %dns $end %s#0 1! 1\" ", 1000/units, vcdHead[len("$timescale 1us $end "):])
	unit := func(samples float64) int { return int(math.Round(samples * step * float64(units))) }
	for i, bit := range bits {
		if from, to := math.Ceil(at[i]/step), math.Ceil((at[i]+width)/step); from < to {
			text += fmt.Sprintf("#%d 0%c #%d 1%[2]c ", unit(from), "!\""[bit-'0'], unit(to))
		}
	}
	return text + fmt.Sprintf("#%d", int(at[len(at)-1]+300_000)*units)
}

// Recorders of 48,000 and 30,000 samples a second write times that are no whole number of their file's unit. Pulses
// shorter than a sample are one long or not there, and what is left must be in doubt: also a later key of four pulses,
// if it is exact to a few nanoseconds (arithmetic).
func TestSamplesOfNoWholeUnits(t *testing.T) {
	t.Parallel()
	for _, rate := range []float64{48e3, 44.1e3, 30e3} {
		for _, units := range []int{1, 10, 100, 1000} {
			for i := range 20 {
				rng := rand.New(rand.NewPCG(seed, uint64(i)))
				step, pace := 1e6/rate, 300+5000*rng.Float64()
				bits, at := simBits(rng)+"000111", []float64(nil)
				for k := range bits {
					at = append(at, 80_000+pace*(float64(k)+0.02*rng.NormFloat64()))
					if k >= len(bits)-6 {
						at[k] += 300_000
					}
				}
				reads, _, err := readVCD(strings.NewReader(sampledVCD(bits, at, 0.9*step, step, units)), line.Signals{})
				require.NoError(t, err)
				require.Greater(t, len(reads), 1)
				for _, r := range reads {
					require.NotEqual(t, line.Healthy, r.Verdict(), "rate %v, %v units, seed %v: %v", rate, units, i, r.Bits)
				}
				require.True(t, reads[0].Faults.Has(line.OneSample), "rate %v, %v units, seed %v", rate, units, i)
			}
		}
	}
}

// A recorder that is fast enough shows all pulses. That they are as long as a sample of a slow one, that the reader
// pauses between bytes and that its pace wavers makes them no samples of one.
func TestWholeUnitsOfAFastRecorder(t *testing.T) {
	t.Parallel()
	for i := range 3000 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		pace, wavers := 300*math.Pow(60, rng.Float64()), []float64{0, 1, 5, 30}[i%4]
		pause := pace * rng.Float64() * float64(i/4%2)
		bits, at := simBits(rng), []float64(nil)
		if i%3 == 0 {
			bits = "01101001"[:4+i/3%2*4]
		}
		for k := range bits {
			at = append(at, 80_000+pace*float64(k)+pause*float64(k/8)+wavers*rng.NormFloat64())
		}
		text := sampledVCD(bits, at, []float64{20, 33, 50, 100}[rng.IntN(4)], 1, 1)
		reads, _, err := readVCD(strings.NewReader(text), line.Signals{})
		require.NoError(t, err)
		for _, r := range reads {
			require.Zero(t, r.Faults&faults(line.OneSample, line.FewSamples), "seed %v: %v", i, r.Bits)
		}
	}
}

// At 50 µs a sample, a first read whose every edge comes a multiple of 200 µs after the first looks like one of a
// slower recorder; the next read shows that it was none, and is not in doubt.
func TestStepThatTheNextReadRefutes(t *testing.T) {
	t.Parallel()
	text := strings.Replace(vcdHead, "1us", "1ns", 1) + "#0 1! 1\" "
	for i, bit := range "01100101" {
		id, at := "!\""[bit-'0'], 100_000+10_600*i+i/4*300_000
		if i > 5 {
			at += 50
		}
		text += fmt.Sprintf("#%d000 0%c #%d000 1%[2]c ", at, id, at+200)
	}
	reads, _, err := readVCD(strings.NewReader(text+"#900000000"), line.Signals{})
	require.NoError(t, err)
	require.Len(t, reads, 2)
	require.True(t, reads[0].Faults.Has(line.OneSample), "or there was nothing to refute")
	require.False(t, reads[1].Faults.Has(line.OneSample))
}
