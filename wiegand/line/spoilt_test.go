package line_test

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// The recordings of this file come from a simulator of its own, which shares no code with the package: a reader is an
// array of falls, a pace and a jitter, spoilt by what cables and contacts do. What must come out is known from what was
// sent.

// fall is one low pulse of the simulated line, in microseconds.
type fall struct {
	wire     int
	at, wide float64
}

// again returns the same pulse once more, so long after its end.
func (f fall) again(after float64) fall { return fall{f.wire, f.at + f.wide + after, f.wide} }

// sim is a simulated reader.
type sim struct {
	rng    *rand.Rand
	pace   float64 // µs between the starts of pulses
	jitter float64 // by which part each interval may differ, to either side
	wide   float64
	alone  bool // one of its wires is dead
}

func newSim(rng *rand.Rand) sim {
	return sim{
		rng: rng, pace: 600 + 3400*rng.Float64(), jitter: []float64{0, 0.02, 0.1, 0.18, 0.4}[rng.IntN(5)], wide: 20 +
			70*rng.Float64(),
	}
}

// send returns the falls of a frame, and where each of its bits begins.
func (s sim) send(at float64, bits string) (falls []fall) {
	for _, b := range bits {
		falls = append(falls, fall{wire: int(b - '0'), at: at, wide: s.wide})
		at += s.pace * (1 + s.jitter*(2*s.rng.Float64()-1))
	}
	return falls
}

// edges turns falls into edges, in order of time.
func simEdges(falls []fall) []line.Edge {
	type step struct {
		at   float64
		wire int
		pull int // how many more hold the wire low from then on
	}
	var steps []step
	for _, f := range falls {
		steps = append(steps, step{f.at, f.wire, 1}, step{f.at + f.wide, f.wire, -1})
	}
	sort.SliceStable(steps, func(i, k int) bool { return steps[i].at < steps[k].at })
	var edges []line.Edge
	var pulling [2]int
	for _, s := range steps {
		pulling[s.wire] += s.pull
		level := line.High
		if pulling[s.wire] > 0 {
			level = line.Low
		}
		edges = append(edges, line.Edge{At: time.Duration(s.at * 1000), Wire: line.Wire(s.wire), Level: level})
	}
	return edges
}

// record plays falls as a recording that goes on for a while, and returns the reads.
func record(falls []fall, cfg line.Config) ([]line.Read, line.Health) {
	edges := simEdges(falls)
	d, s := line.NewDecoder(cfg), line.Survey{}
	var reads []line.Read
	take := func(done bool) {
		if done {
			reads = append(reads, d.Read())
			s.Add(d.Read(), d.Pulses())
		}
	}
	for _, e := range edges {
		take(d.Feed(e))
	}
	take(d.Feed(line.Edge{At: edges[len(edges)-1].At + 300*ms, Wire: line.NoWire}))
	take(d.Feed(line.Edge{At: edges[len(edges)-1].At + 600*ms, Wire: line.NoWire}))
	return reads, s.Health(d)
}

func simBits(rng *rand.Rand) string {
	b := make([]byte, 26+rng.IntN(40))
	for i := range b {
		b[i] = byte('0' + rng.IntN(2))
	}
	return string(b)
}

// without returns falls but for those at some places.
func without(falls []fall, places map[int]bool) (left []fall) {
	for i, f := range falls {
		if !places[i] {
			left = append(left, f)
		}
	}
	return left
}

// masked writes ? for what nobody can know.
func masked(r line.Read) string {
	b := []byte(r.Mended.String())
	for i := range b {
		if r.Open.Bit(i) == 1 {
			b[i] = '?'
		}
	}
	return string(b)
}

// spoiling is one way to spoil a recording: it returns the falls, and the reads that must come out, with ? for bits
// that nobody can know. A read that is whole as it came is marked by "=" before it.
var spoilings = []struct {
	name string
	do   func(s *sim, bits string) ([]fall, []string)
}{
	{"nothing", func(s *sim, bits string) ([]fall, []string) { return s.send(1e5, bits), []string{"=" + bits} }},
	{"pulses lost", func(s *sim, bits string) ([]fall, []string) {
		lost, want := map[int]bool{}, []byte(bits)
		for range 1 + s.rng.IntN(6) {
			i := 1 + s.rng.IntN(len(bits)-2)
			if lost[i-1] && lost[max(0, i-2)] || lost[i+1] && lost[min(len(bits)-1, i+2)] || lost[i-1] && lost[i+1] {
				continue // no more than two in a row
			}
			lost[i], want[i] = true, '?'
		}
		return without(s.send(1e5, bits), lost), []string{string(want)}
	}},
	{"pulses doubled", func(s *sim, bits string) ([]fall, []string) {
		falls := s.send(1e5, bits)
		for range 1 + s.rng.IntN(2) {
			i := s.rng.IntN(len(bits))
			f := falls[i]
			f.at += f.wide + 15 + (0.5*s.pace-f.wide-15)*s.rng.Float64()
			falls = append(falls, f)
		}
		return falls, []string{bits}
	}},
	{"one lost, one doubled", func(s *sim, bits string) ([]fall, []string) {
		lost := 1 + s.rng.IntN(len(bits)-2)
		falls, want := s.send(1e5, bits), []byte(bits)
		twice := falls[(lost+3+s.rng.IntN(len(bits)-6))%len(bits)]
		want[lost] = '?'
		twice.at += twice.wide + 15 + (0.45*s.pace-twice.wide-15)*s.rng.Float64()
		return append(without(falls, map[int]bool{lost: true}), twice), []string{string(want)}
	}},
	{"every pulse bounces", func(s *sim, bits string) ([]fall, []string) {
		falls := s.send(1e5, bits)
		most := 1 + s.rng.IntN(2)
		for _, f := range falls {
			for range most {
				f.at += f.wide + 11 + 40*s.rng.Float64()
				falls = append(falls, f)
			}
		}
		return falls, []string{bits}
	}},
	{"some pulses bounce", func(s *sim, bits string) ([]fall, []string) {
		s.pace = max(s.pace, 1000) // so that a bounce is no half of a beat
		falls := s.send(1e5, bits)
		for _, f := range falls {
			if s.rng.IntN(3) == 0 {
				f.at += f.wide + 11 + 40*s.rng.Float64()
				falls = append(falls, f)
			}
		}
		return append(falls, falls[0].again(11)), []string{bits}
	}},
	{"DATA1 cut", func(s *sim, bits string) ([]fall, []string) { return cutWire(s, bits, 1) }},
	{"DATA0 cut", func(s *sim, bits string) ([]fall, []string) { return cutWire(s, bits, 0) }},
	{"two frames near", func(s *sim, bits string) ([]fall, []string) {
		first := s.send(1e5, bits)
		second := simBits(s.rng)
		at := first[len(first)-1].at + s.wide + 25000 + 24000*s.rng.Float64()
		return append(first, s.send(at, second)...), []string{"=" + bits, "=" + second}
	}},
	{"spikes", func(s *sim, bits string) ([]fall, []string) {
		falls := s.send(1e5, bits)
		for range 1 + s.rng.IntN(10) {
			falls = append(falls, fall{s.rng.IntN(2), 1e5 + 8 + float64(s.rng.IntN(len(bits)))*s.pace + 0.4*s.pace, 1 +
				8*s.rng.Float64()})
		}
		return falls, []string{"=" + bits}
	}},
	{"both wires at once", func(s *sim, bits string) ([]fall, []string) {
		falls := s.send(1e5, bits)
		f := falls[s.rng.IntN(len(falls))]
		f.wire = 1 - f.wire
		return append(falls, f), nil
	}},
	{"line dead for a while", func(s *sim, bits string) ([]fall, []string) {
		s.pace = min(s.pace, 2500) // so that the silence is no longer than 20 ms, and does not part two reads
		lost, want := map[int]bool{}, []byte(bits)
		from := 2 + s.rng.IntN(len(bits)-10)
		for i := range 3 + s.rng.IntN(4) {
			lost[from+i], want[from+i] = true, '?'
		}
		return without(s.send(1e5, bits), lost), []string{string(want)}
	}},
}

// cutWire is a line of which one wire never moves. Bits of the dead wire before the first pulse of the other one, and
// behind its last, leave no trace.
func cutWire(s *sim, bits string, dead int) ([]fall, []string) {
	s.alone = true
	lost := map[int]bool{}
	for i, b := range bits {
		lost[i] = int(b-'0') == dead
	}
	seen := strings.Trim(bits, fmt.Sprint(dead))
	falls := without(s.send(1e5, bits), lost)
	for i := 1; i < len(falls); i++ {
		if falls[i].at-falls[i-1].at > 50000 { // the gap: it is two reads
			return falls, nil
		}
	}
	return falls, []string{seen}
}

// clear tells whether the beats in every silence can be counted: it is nearer to a whole number of them than a quarter,
// and nearer still where the pace varies; of a reader whose pace varies by a tenth there are no more than two. One beat
// by itself must be there to know it, and a wire alone tells less.
func (s sim) clear(falls []fall) bool {
	falls = slices.Clone(falls)
	slices.SortFunc(falls, func(a, b fall) int { return cmp.Compare(a.at, b.at) })
	single := false
	for i := 1; i < len(falls); i++ {
		single = single || falls[i].at-falls[i-1].at < 1.5*s.pace
		if beats := (falls[i].at - falls[i-1].at) / s.pace; beats > 1.5 &&
			(math.Abs(beats-math.Round(beats)) > 0.25-s.jitter/2 || beats > 2.5 && s.jitter > 0.05) {
			return false
		}
	}
	return single && !(s.alone && s.jitter > 0.15)
}

// TestSpoiltRecordings spoils 10,000 recordings. No damaged read may be called healthy, and each that the pace can give
// back must be given back.
func TestSpoiltRecordings(t *testing.T) {
	t.Parallel()
	count := map[string][4]int{}
	for i := range generatedReads() {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+1000))
		s, bits, how := newSim(rng), simBits(rng), spoilings[i%len(spoilings)]
		falls, want := how.do(&s, bits)
		reads, _ := record(falls, line.Config{})
		where := fmt.Sprintf("seed %d, recording %d: %s; %d bits %s at %.0f µs ±%.0f %%", seed, i, how.name, len(bits), bits,
			s.pace, 100*s.jitter)
		c := count[how.name]
		c[0]++
		for k, r := range reads {
			whole := k < len(want) && want[k] == "="+r.Bits.String()
			require.False(t, r.Verdict() == line.Healthy && !whole, "healthy: %s\nread %v", where, r.Bits)
			if how.name == "nothing" && s.jitter < 0.2 {
				require.Equal(t, line.Healthy, r.Verdict(), where)
			}
		}
		if want == nil || s.jitter > 0.2 { // nothing can be given back
			count[how.name] = c
			continue
		}
		require.Len(t, reads, len(want), where)
		for k, w := range want {
			c[1]++
			if w[0] == '=' {
				require.Equal(t, w[1:], reads[k].Bits.String(), where)
				require.NotEqual(t, line.Suspect, reads[k].Verdict(), "%s %v", where, reads[k].Warnings(nil))
				continue
			}
			if len(w) > 1 && !strings.ContainsAny(w, "?") && w == reads[k].Bits.String() {
				continue // nothing but the ends was lost
			}
			require.Equal(t, line.Suspect, reads[k].Verdict(), where)
			if masked(reads[k]) == "" && !s.clear(falls) {
				c[3]++
				continue
			}
			require.Equal(t, w, masked(reads[k]), "%s\nas it came %v, %v", where, reads[k].Bits, reads[k].Warnings(nil))
			c[2]++
		}
		count[how.name] = c
	}
	for _, how := range spoilings {
		c := count[how.name]
		t.Logf("%-24s %5d recordings, %5d reads to come out, %5d of them given back by the pace, %3d beyond it", how.name,
			c[0], c[1], c[2], c[3])
	}
}
