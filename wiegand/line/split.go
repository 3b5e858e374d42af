package line

import "time"

// Two reads may follow one another sooner than a gap. A silence parts them where it is longer than the standard lets a
// pulse wait within a read, and many times as long as the pace of the pulses on both sides of it. One longer than a gap
// always does.
const (
	// partMin is how many pulses on a side of a silence it takes to know their pace: a key of a keypad has four. One side
	// must have as many.
	partMin = keyBits
	// partBeats is how many beats the silence must last, less what an unsteady pace takes away. A reader that loses a
	// pulse or three is silent for two to four.
	partBeats = 4.9
)

// parts tells whether a silence behind the first d.pause pulses parts two reads. On one wire alone it may as well be a
// row of bits of the other one, which is dead; that is decided only when both have pulsed.
func (d *Decoder) parts(silence time.Duration) bool {
	if silence >= d.gapOf(d.pulses[:d.pause]) {
		return true
	}
	known := false
	for _, side := range [2][]Pulse{d.pulses[:d.pause], d.pulses[d.pause:d.n]} {
		if len(side) >= partMin {
			known = true
			if silence < part(partBeats, usual(side, d.intervals[:])) {
				return false
			}
		}
	}
	return known && !isOneWire(d.pulses[:d.n])
}

// isNear tells whether the silence behind the first d.pause pulses is less than ends their read, or a whole number of
// their beats, as it is where what comes behind it is the rest of it. How long a beat is gets known the better the more
// there are.
func (d *Decoder) isNear(silence time.Duration) bool {
	p := d.pulses[:d.pause]
	n := time.Duration(len(p) - 1)
	if n < 1 || silence < d.gapOf(p) {
		return true
	}
	beat, since := max(1, (p[n].At-p[0].At)/n), d.pulses[d.pause].At-p[n].At
	shortest, longest := beat, beat
	for i := range n {
		v := p[i+1].At - p[i].At
		shortest, longest = min(shortest, v), max(longest, v)
	}
	beats, off := inBeats(since, beat)
	return off <= (longest-shortest+beat/100)*(n+beats)/n
}

// split closes the read before a silence. The pulses behind it are kept for the next read.
func (d *Decoder) split() {
	rest, faults, near := d.n-d.pause, d.faults, Faults(0)
	if rest == 1 {
		faults = 0 // else they are of the one or the other: nobody knows when they came
	}
	d.total, d.n = d.total-rest, d.pause
	d.lastEnd, d.nextAt = endOf(d.pulses[:d.n]), d.pulses[d.n].At
	silence := d.nextAt - d.pulses[d.n-1].end()
	if d.isNear(silence) {
		near = near.with(NearRead)
	}
	d.close(near)
	d.rest, d.nextAt, d.faults, d.parted = rest, maxTime, faults|near, silence
	d.lastEnd = endOf(d.pulses[:d.n+rest])
	d.limit = d.now // the next edge comes too late for the read that is closed, and the first thing to do is resume
}

// endOf returns when the last of some pulses is over.
func endOf(pulses []Pulse) time.Duration {
	last := pulses[0].end()
	for _, p := range pulses {
		last = max(last, p.end())
	}
	return last
}

// ofParted returns the faults of a read that a silence parts from another one: by its own pace the silence may be
// none, so that the two are one read.
func (d *Decoder) ofParted(f Faults) Faults {
	if d.parted > 0 && d.n >= partMin && d.parted < part(partBeats, usual(d.pulses[:d.n], d.intervals[:])) {
		d.pulses[0].Faults = d.pulses[0].Faults.with(Missing)
		f = f.with(Missing)
	}
	d.parted = 0
	return f
}

// resume begins the read that was kept behind the one that split closed.
func (d *Decoder) resume() {
	copy(d.pulses[:], d.pulses[d.n:d.n+d.rest])
	d.n, d.total, d.rest, d.closed, d.pause = d.rest, d.rest, 0, false, 0
	d.reorder()
}
