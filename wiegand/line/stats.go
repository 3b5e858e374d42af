package line

import (
	"math/bits"
	"slices"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// Stats describes a number of times. The zero value is of none.
type Stats struct {
	N        int           // how many
	Min, Max time.Duration // the extremes
	Mean     time.Duration // rounded down to a nanosecond
	Median   time.Duration
	P5, P95  time.Duration // 5th and 95th percentile by nearest rank
}

// Timing describes the pulses of a read.
type Timing struct {
	Width    Stats // of the pulses whose width is known
	Interval Stats // between the starts of neighbouring pulses
}

// TimingOf describes pulses in order of time. It looks at the first 256, the most that a read has, and allocates
// nothing.
func TimingOf(pulses []Pulse) Timing {
	var widths, intervals [wiegand.MaxBits]time.Duration
	w, v := widths[:0], intervals[:0]
	for i, p := range pulses[:min(len(pulses), wiegand.MaxBits)] {
		if p.Width > 0 {
			w = append(w, p.Width)
		}
		if i > 0 {
			v = append(v, p.At-pulses[i-1].At)
		}
	}
	return Timing{statsOf(w), statsOf(v)}
}

// statsOf describes v, which it sorts.
func statsOf(v []time.Duration) Stats {
	if len(v) == 0 {
		return Stats{}
	}
	sortTimes(v)
	var sum time.Duration
	for _, d := range v {
		sum += d
	}
	n := len(v)
	return Stats{
		N: n, Min: v[0], Max: v[n-1], Mean: sum / time.Duration(n),
		Median: v[n/2], P5: v[rank(n, 5)], P95: v[rank(n, 95)],
	}
}

// rank returns the index of the p-th percentile among n sorted values: the smallest that p percent do not exceed.
func rank(n, p int) int { return max(0, (n*p+99)/100-1) }

// sortTimes sorts a read's worth of times. Reads are short and their times nearly equal, where insertion takes two
// thirds of the time of the standard library's sort.
func sortTimes(v []time.Duration) {
	if len(v) > 64 {
		slices.Sort(v)
		return
	}
	for i := 1; i < len(v); i++ {
		x, j := v[i], i
		for ; j > 0 && v[j-1] > x; j-- {
			v[j] = v[j-1]
		}
		v[j] = x
	}
}

// Histogram counts any number of times in fixed memory. Its percentiles are exact to 1 part in 64. The zero value is
// ready to use; negative times count as zero.
type Histogram struct {
	n        uint64
	min, max time.Duration
	sum      float64
	count    [buckets]uint64
}

const (
	subBits = 6                         // 64 buckets to each doubling
	buckets = (64 - subBits) << subBits // from 0 to the longest time.Duration
)

// bucket returns the index of d's bucket: times below 64 ns have one each, and each doubling above has 64.
func bucket(d time.Duration) int {
	v := uint64(d)
	if v < 1<<subBits {
		return int(v)
	}
	e := bits.Len64(v) - subBits - 1
	return e<<subBits + int(v>>e)
}

// bucketStart returns the least time of a bucket.
func bucketStart(i int) time.Duration {
	if i < 1<<subBits {
		return time.Duration(i)
	}
	e := i>>subBits - 1
	return time.Duration(uint64(i-e<<subBits) << e)
}

// Add counts d.
func (h *Histogram) Add(d time.Duration) {
	d = max(0, d)
	if h.n == 0 || d < h.min {
		h.min = d
	}
	h.max = max(h.max, d)
	h.n++
	h.sum += float64(d)
	h.count[bucket(d)]++
}

// Stats describes what was added. Extremes are exact.
func (h *Histogram) Stats() Stats {
	if h.n == 0 {
		return Stats{}
	}
	return Stats{
		N: int(h.n), Min: h.min, Max: h.max, Mean: time.Duration(h.sum / float64(h.n)),
		Median: h.percentile(50), P5: h.percentile(5), P95: h.percentile(95),
	}
}

func (h *Histogram) percentile(p uint64) time.Duration {
	want, seen := max(1, (h.n*p+99)/100), uint64(0)
	for i, c := range h.count {
		if seen += c; seen >= want {
			return min(max(bucketStart(i), h.min), h.max)
		}
	}
	return h.max
}
