package line

import (
	"slices"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// A reader sends at a steady pace, so that time itself says where a pulse is missing or too many. How far a pace may vary
// and still tell is worked out here: where every interval keeps within a fifth of the median, two of them together (1.6
// and more) are never taken for one (1.2 and less). The limits lie between, and beyond them nothing is said.
const (
	// missFrom and echoTo are the parts of a beat from which an interval is too long, and up to which it is too short.
	missFrom, echoTo = 1.5, 0.6
	// onBeatFrom and onBeatTo are what a beat of an unsteady reader still is.
	onBeatFrom, onBeatTo = 0.7, 1.4
	// offBeat is how far from a whole number of beats a longer silence may be, as a part of a beat.
	offBeat = 0.35
	// bounceRatio is how much shorter than any interval between bits those between the bounces of one contact must be.
	bounceRatio = 3
	// minBounces is how many bits it takes to say that all of them bounce.
	minBounces = 4
)

// part returns a part of a time.
func part(of float64, t time.Duration) time.Duration { return time.Duration(of * float64(t)) }

// rhythm looks for pulses that are missing or too many, and puts the read that their places in time give into d.read. The
// intervals come in order of time and are used up. A reader without a steady pace tells nothing here.
func (d *Decoder) rhythm(pulses []Pulse, intervals []time.Duration) (found Faults) {
	if len(intervals) < 2 || slices.Max(intervals)/5*4 <= slices.Min(intervals) {
		return 0
	}
	sortTimes(intervals)
	if longest := bouncing(pulses, intervals, d.limits.IntervalMin); longest > 0 {
		found = markBounces(pulses, longest)
		intervals = startIntervals(intervals[:0], pulses)
		sortTimes(intervals)
	}
	beat := beatOf(intervals)
	if beat == 0 {
		return found
	}
	for i := 1; i < len(pulses); i++ {
		p := &pulses[i]
		var f Faults
		switch v := p.At - pulses[i-1].At; {
		case p.Faults.Has(Bounce):
		case v >= part(missFrom, beat):
			f = f.with(Missing)
		case v <= part(echoTo, beat):
			f = f.with(Doubled)
		}
		p.Faults |= f
		found |= f
	}
	if found != 0 {
		d.mend(pulses, beat)
	}
	return found
}

// beatOf returns the usual interval of a reader, 0 where it has none. A beat is what the largest group of intervals have
// in common; all but a few must be a beat or a whole number of beats, as they are where pulses are lost or a wire is cut.
// Up to one in eight may be anything, and two in any case.
func beatOf(sorted []time.Duration) time.Duration {
	best, at := 0, 0
	for lo, hi := 0, 0; hi < len(sorted); hi++ {
		for sorted[lo] < sorted[hi]/4*3 {
			lo++
		}
		if hi-lo+1 > best {
			best, at = hi-lo+1, lo
		}
	}
	if best == 0 {
		return 0
	}
	beat := sorted[at+best/2]
	from, _ := slices.BinarySearch(sorted, part(echoTo, beat))
	to, _ := slices.BinarySearch(sorted, part(missFrom, beat))
	if from < to {
		beat = sorted[(from+to)/2]
	}
	odd, on := 0, 0
	for _, v := range sorted {
		k := (v + beat/2) / beat
		switch {
		case v >= part(onBeatFrom, beat) && v <= part(onBeatTo, beat):
			on++
		case k < 2 || max(v-k*beat, k*beat-v) > part(offBeat, beat):
			odd++
		}
	}
	if odd > max(2, len(sorted)/8) || 4*on < len(sorted) {
		return 0
	}
	return beat
}

// bouncing tells whether every bit comes as two or more pulses of its wire, close together, as a bad contact makes them: the
// longest interval between two of one bit, or 0. On a line of which only one wire is alive a few short intervals may be the
// beat itself, so there they must be shorter than any that is allowed.
func bouncing(pulses []Pulse, sorted []time.Duration, least time.Duration) time.Duration {
	ratio, longest := float64(bounceRatio), time.Duration(0)
	for i := 1; i < len(sorted); i++ {
		if r := float64(sorted[i]) / float64(max(1, sorted[i-1])); r >= ratio {
			ratio, longest = r, max(1, sorted[i-1])
		}
	}
	if longest == 0 {
		return 0
	}
	groups, several, in, wires := 1, 0, 1, 1<<pulses[0].Wire
	for i := 1; i < len(pulses); i++ {
		p := pulses[i]
		wires |= 1 << p.Wire
		switch {
		case p.At-pulses[i-1].At > longest:
			groups++
			in = 1
		case p.Wire != pulses[i-1].Wire:
			return 0
		default:
			if in++; in == 2 {
				several++
			}
		}
	}
	if groups < minBounces || 4*several < 3*groups || wires != 3 && longest >= least {
		return 0
	}
	return longest
}

// markBounces marks the pulses that repeat the one before.
func markBounces(pulses []Pulse, longest time.Duration) Faults {
	mark := Faults(0).with(Bounce)
	for i := 1; i < len(pulses); i++ {
		if pulses[i].At-pulses[i-1].At <= longest {
			pulses[i].Faults |= mark
		}
	}
	return mark
}

// startIntervals appends the intervals of the pulses that do not repeat another.
func startIntervals(dst []time.Duration, pulses []Pulse) []time.Duration {
	last := 0
	for i := 1; i < len(pulses); i++ {
		if !pulses[i].Faults.Has(Bounce) {
			dst = append(dst, pulses[i].At-pulses[last].At)
			last = i
		}
	}
	return dst
}

// mend gives each beat from the first pulse to the last its bit, in d.read. On two wires of which only one has pulsed, a beat
// of silence is a bit of the other one; else nobody can say. Nothing is given back where a silence is no whole number
// of beats, or there are more beats than a read has bits.
func (d *Decoder) mend(pulses []Pulse, beat time.Duration) {
	var bits, known [4]uint64
	oneWire, last, slot := d.cfg.Coding == TwoWire, pulses[0].At, 0
	set := func(p Pulse, sure bool) {
		word, mask := slot>>6&3, uint64(1)<<(63-slot&63)
		bits[word] = bits[word]&^mask | uint64(p.Bit&1)<<(63-slot&63)
		known[word] &^= mask
		if sure {
			known[word] |= mask
		}
	}
	set(pulses[0], true)
	held := pulses[0]
	for i := 1; i < len(pulses); i++ {
		p := pulses[i]
		oneWire = oneWire && p.Wire == held.Wire
		since := p.At - last
		if since <= part(echoTo, beat) {
			if i+1 < len(pulses) && nearer(pulses[i+1].At-p.At, pulses[i+1].At-last, beat) {
				last = p.At // this one is in time, and the one before was too many
			}
			set(p, p.Bit == held.Bit)
			continue
		}
		k := max(1, int((since+beat/2)/beat))
		off := since - time.Duration(k)*beat
		if slot += k; slot >= wiegand.MaxBits || k > 1 && max(off, -off) > part(offBeat, beat) {
			return
		}
		set(p, true)
		held, last = p, p.At
	}
	n := slot + 1
	d.read.Mended = wiegand.BitsFromWords(bits, n)
	d.read.Open = wiegand.BitsFromWords(known, n).Invert()
	if oneWire {
		if pulses[0].Bit == 0 {
			d.read.Mended = d.read.Open
		}
		d.read.Open = wiegand.BitsFromWords([4]uint64{}, n)
	}
}

// nearer tells whether a is nearer to a beat than b.
func nearer(a, b, beat time.Duration) bool { return max(a-beat, beat-a) < max(b-beat, beat-b) }

// usual returns the median of the intervals of pulses, which it works out in scratch.
func usual(pulses []Pulse, scratch []time.Duration) time.Duration {
	v := scratch[:0]
	for i := 1; i < len(pulses); i++ {
		v = append(v, pulses[i].At-pulses[i-1].At)
	}
	sortTimes(v)
	return v[len(v)/2]
}
