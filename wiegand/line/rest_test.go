package line_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// A slow reader loses so many bits in a row that those at either end of its card are left, as many as a key has, with
// more than a gap between them: a whole number of its beats says so. Two keys of it whose silence is none are healthy
// (arithmetic; the recordings are those of the simulator in spoilt_test.go).
func TestRestOfAReadBehindASilence(t *testing.T) {
	t.Parallel()
	wrong := 0
	for i := range 300 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+15000))
		bits := "0110" + simBits(rng)[:10+rng.IntN(7)] + []string{"1001", "01101001"}[i%2]
		s := sim{rng: rng, pace: 5000 + 8000*rng.Float64(), jitter: []float64{0, 0.005, 0.02}[i%3], wide: 50}
		lost := map[int]bool{}
		for k := 4; k < len(bits)-4-4*(i%2); k++ {
			lost[k] = true
		}
		reads, _ := record(without(s.send(1e5, bits), lost), line.Config{})
		require.Len(t, reads, 2)
		require.Equal(t, reads[0].Verdict(), reads[1].Verdict(), "what is doubtful is where the one ends and the other begins")
		wrong += int(1 - min(1, reads[0].Verdict()))
		s.jitter = 0
		apart := s.pace * (3 + float64(len(lost)) + 0.3 + 0.4*rng.Float64())
		reads, _ = record(append(s.send(1e5, "0110"), s.send(1e5+apart+s.pace, "1001")...), line.Config{})
		require.Equal(t, []string{"0110", "1001"}, bitsOf(reads))
		require.Equal(t, line.Healthy, reads[0].Verdict(), reads[0].Warnings(nil))
		require.Equal(t, line.Healthy, reads[1].Verdict(), reads[1].Warnings(nil))
	}
	require.LessOrEqual(t, wrong, 300/10, "three intervals tell how long a beat is but roughly")
}

// So it is where a reader that is not slow loses nearly all of a long card, and where what is left of one is as long as
// a card itself.
func TestRestOfALongCard(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		pace            float64
		bits, from, end int // those from one to before another are lost
	}{{2000, 56, 4, 52}, {1500, 56, 4, 48}, {6000, 64, 28, 56}} {
		s := sim{rng: rand.New(rand.NewPCG(seed, 19000)), pace: c.pace, wide: 50}
		bits, lost := strings.Repeat("01101001", 8)[:c.bits], map[int]bool{}
		for k := c.from; k < c.end; k++ {
			lost[k] = true
		}
		reads, _ := record(without(s.send(1e5, bits), lost), line.Config{})
		require.Len(t, reads, 2)
		for _, r := range reads {
			require.Equal(t, line.Marginal, r.Verdict(), "%v of %s", r.Bits, bits)
		}
	}
}

// What comes while the rest of a slow reader's key is waited for is none of the key, unless it is within a gap.
func TestSpikeBehindASlowKey(t *testing.T) {
	t.Parallel()
	for after, want := range map[float64]line.Verdict{20e3: line.Marginal, 90e3: line.Healthy} {
		s := sim{rng: rand.New(rand.NewPCG(seed, 18000)), pace: 8000, wide: 50}
		reads, h := record(append(s.send(1e5, "0110"), fall{0, 1e5 + 3*8000 + after, 5}), line.Config{})
		require.Len(t, reads, 1)
		require.Equal(t, want, reads[0].Verdict())
		require.Equal(t, 1, h.Spikes)
	}
}

// Two readers of the same pace, the second of which begins before the first has ended: the bits are of both, and no
// reader that is only unsteady sends a dozen of them in step. The second one may be slow to begin (common practice, no
// source).
func TestTwoReadersOverlap(t *testing.T) {
	t.Parallel()
	for i := range 300 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+16000))
		s := sim{rng: rng, pace: 500 + 4000*rng.Float64(), jitter: []float64{0, 0.01, 0.03}[i%3], wide: 50}
		falls := s.send(1e5, simBits(rng))
		end := falls[len(falls)-1].at
		s.pace *= []float64{1, 1, 0.9 + 0.2*rng.Float64(), 1.6}[i%4]
		second := s.send(end-s.pace*(0.25+0.5*rng.Float64()+float64(rng.IntN(20))), simBits(rng))
		if i%5 == 0 {
			second[0].at -= 0.3 * s.pace
		}
		reads, _ := record(append(falls, second...), line.Config{})
		require.Equal(t, line.Suspect, reads[0].Verdict(), "recording %d: %v", i, reads[0].Warnings(nil))
	}
}

// A recorder that stops behind a read writes that the wires have no level any more ($dumpoff, IEEE 1364 clause 18.2).
// Where that is a beat and a half later or more the read was over; sooner, or with pulses that follow, it may not be.
func TestRecorderStopsBehindARead(t *testing.T) {
	t.Parallel()
	keyAt := func(at, beat int) string {
		return fmt.Sprintf("#%d 0! #%d 1! #%d 0\" #%d 1\" #%d 0! #%d 1! #%d 0! #%d 1!\n", at, at+50, at+beat+3, at+beat+55,
			at+2*beat+1, at+2*beat+52, at+3*beat+2, at+3*beat+52)
	}
	for _, c := range []struct {
		first   string
		off, on int // microseconds
		more    string
		want    []line.Verdict
	}{
		{keyAt(60000, 2000), 69500, 300000, "", []line.Verdict{line.Healthy}},
		{keyAt(60000, 2000), 69500, 75000, "", []line.Verdict{line.Healthy}},
		{keyAt(60000, 2000), 67500, 300000, "", []line.Verdict{line.Suspect}},
		{keyAt(60000, 2000), 69500, 75000, keyAt(76000, 2000), []line.Verdict{line.Suspect}},
		{keyAt(60000, 2000), 69500, 300000, keyAt(301000, 2000), []line.Verdict{line.Healthy, line.Suspect}},
		{keyAt(60000, 2000), 69500, 300000, keyAt(303500, 2000), []line.Verdict{line.Healthy, line.Healthy}},
		{keyAt(60000, 15000), 150000, 200000, keyAt(263000, 15000), []line.Verdict{line.Healthy, line.Healthy}},
	} {
		text := "$timescale 1 us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end #0 1! 1\"\n" +
			c.first + fmt.Sprintf("#%d $dumpoff x! x\" $end #%d $dumpon 1! 1\" $end\n", c.off, c.on) + c.more + "#900000\n"
		reads, _, err := readVCD(strings.NewReader(text), line.Signals{})
		require.NoError(t, err)
		got := []line.Verdict{}
		for _, r := range reads {
			got = append(got, r.Verdict())
		}
		require.Equal(t, c.want, got, text)
	}
}

// Two strays of 15 and 18 µs, where pulses have 50, among the bits of a reader without a pace are none of its own.
func TestNarrowPulsesWithoutPace(t *testing.T) {
	t.Parallel()
	for i := range 100 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+17000))
		at, falls := 1e5, []fall(nil)
		for k, bit := range simBits(rng) {
			falls = append(falls, fall{int(bit - '0'), at, 50})
			if k == 9 || k == 12 {
				at += 1000
				falls = append(falls, fall{0, at, float64(6 + k)})
			}
			at += 1000 + 2000*rng.Float64()
		}
		reads, _ := record(falls, line.Config{})
		require.Equal(t, line.Suspect, reads[0].Verdict(), reads[0].Warnings(nil))
	}
}
