package line

import (
	"fmt"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// Read is what came over the line between two gaps. It is a value and comparable. [TimingOf] its pulses describes their
// widths and intervals.
type Read struct {
	At, End time.Duration // start of the first pulse, end of the last
	Coding  Coding
	Bits    wiegand.Bits // in order of their pulses; the first 256 where there are more, see Pulses
	Pulses  int          // pulses counted; more than the bits only where Faults has TooLong
	Spikes  int          // levels too short to count that were removed
	Faults  Faults       // of the read and of all its pulses

	// Mended is what the reader's pace gives back where it is steady and the pulses do not keep to it: one bit for each
	// beat from the first pulse to the last. A beat with two pulses is one bit; one without a pulse has a 1 in Open, which
	// is as long, and nobody can say which bit it was; where only one wire has pulsed, it is a bit of the other one. Both
	// are the zero value where nothing is amiss, or nothing can be given back. Bits that were lost before the first pulse
	// or behind the last are in neither.
	Mended, Open wiegand.Bits
}

// Verdict returns what the read's faults together say of it.
func (r Read) Verdict() Verdict { return r.Faults.Verdict() }

// Read returns the read that [Decoder.Feed], [Decoder.Pause] or [Decoder.End] has just completed; before the first, the
// zero Read.
func (d *Decoder) Read() Read { return d.read }

// Pulses returns the pulses of the read just completed, in order of time. The slice is the decoder's own and good until
// the next Feed.
func (d *Decoder) Pulses() []Pulse {
	if !d.closed {
		return nil
	}
	return d.pulses[:d.n]
}

// close judges the pulses and makes them the finished read.
func (d *Decoder) close(f Faults) {
	pulses := d.pulses[:d.n]
	intervals := d.intervals[:d.n-1]
	var w [4]uint64
	var same uint
	all := ^Faults(0)
	for i := range pulses {
		p := &pulses[i]
		w[i>>6&3] |= uint64(p.Bit&1) << (63 - i&63)
		same |= 1 << (p.Wire & 1)
		p.Faults |= d.limits.ofWidth(p.Width)
		if i > 0 {
			intervals[i-1] = p.At - pulses[i-1].At
			p.Faults |= d.limits.ofInterval(intervals[i-1], pulses[i-1].Width)
		}
		f |= p.Faults
		all &= p.Faults
	}
	d.read = Read{
		At: pulses[0].At, End: d.lastEnd, Coding: d.cfg.Coding, Pulses: d.total,
		Bits: wiegand.BitsFromWords(w, d.n), Spikes: d.spikes,
	}
	found := crosstalk(pulses)
	if all.Has(BothLow) && found == 0 { // the wires touch, so that each bit comes on both
		f &^= 1 << TooSoon
		for i := range pulses {
			pulses[i].Faults &= f
		}
	} else if found = d.rhythm(pulses, intervals, found); found&repeats != 0 {
		for i := range pulses {
			found |= pulses[i].Faults
		}
		f &^= 1 << TooSoon
	}
	f |= found
	d.read.Faults = d.ofParted(f | d.faults | d.ofWhole(same))
	if d.cfg.Coding == ClockAndData && !d.read.Faults.Has(NoMessage) { // its checks say that nothing of it is missing
		d.read.Faults = d.read.Faults.exchange(CutStart, OpenStart).exchange(CutEnd, OpenEnd)
	}
	d.closed, d.faults, d.spikes = true, 0, 0
}

// ofWidth holds the width of a pulse against the limits; 0 is an unknown width.
func (l *Limits) ofWidth(width time.Duration) (f Faults) {
	if width < l.WidthMin && width > 0 {
		f = f.with(Narrow)
	}
	if width > l.WidthMax && l.WidthMax > 0 {
		f = f.with(Wide)
	}
	return f
}

// ofInterval holds the time since the start of the pulse before against the limits. "Interval" is read in two ways,
// start to start and end to start, so one is too short only where the longer way is, and too long only where the
// shorter way is.
func (l *Limits) ofInterval(interval, widthBefore time.Duration) (f Faults) {
	if interval < l.IntervalMin {
		f = f.with(TooSoon)
	}
	if interval-widthBefore > l.IntervalMax && l.IntervalMax > 0 {
		f = f.with(TooLate)
	}
	return f
}

// keyBits is how many bits a read may have that are all equal and still be whole: the key 0 of a keypad that sends
// four.
const keyBits = 4

// framedKey is how many bits a key has that is sent between two parities.
const framedKey = keyBits + 2

// ofWhole returns the faults that are of the read as a whole. same has a bit for each wire that pulsed.
func (d *Decoder) ofWhole(same uint) (f Faults) {
	if d.cfg.Coding == TwoWire && same != 3 &&
		(d.n != keyBits || d.read.Mended.Len() > keyBits || d.onWire[0] == 0 || d.onWire[1] == 0) {
		f = f.with(OneWire)
	}
	switch {
	case d.cfg.Coding == ClockAndData:
		f |= d.ofMessage()
	case d.n < shortestCard && d.n%keyBits != 0 && d.n != framedKey:
		f = f.with(TooShort)
	}
	if d.spikes > 0 {
		f = f.with(Spike)
	}
	if d.sticks(0) || d.sticks(1) || d.hides() {
		f = f.with(Stuck)
	}
	first := &d.pulses[0]
	switch lead := first.At - d.start; {
	case d.begun && lead > 0 && lead < d.doubt(), d.cut && d.cutAt <= first.end() && first.At-d.cutAt < d.doubt():
		f = f.with(CutStart)
	case d.begun && lead == 0: // it was triggered by the first edge, or is a list of edges
		f = f.with(OpenStart)
	}
	if !f.Has(CutStart) && (d.hasTwoWidths(d.pulses[:d.n], Data0) || d.hasTwoWidths(d.pulses[:d.n], Data1)) {
		f = f.with(TwoWidths)
	}
	return f
}

// sticks tells whether a wire is low, and has been for longer than a gap.
func (d *Decoder) sticks(i Wire) bool {
	w := &d.wires[i&1]
	return w.state == stuck && min(d.now, d.nextAt)-w.since >= d.cfg.Gap
}

// hides tells whether the last pulse is so long that bits of its wire behind it would not show. Before that, those that
// another hides leave a silence.
func (d *Decoder) hides() bool {
	last := &d.pulses[d.n-1]
	return d.cfg.Coding == TwoWire && d.n > 2 && last.Faults.Has(Wide) &&
		last.Width >= usual(d.pulses[:d.n-1], d.intervals[:0])
}

// doubt returns how long a silence at either end of the recording must be for the read in the making to be whole: half
// as long again as its longest interval, or the longest interval allowed where it has only one pulse; never more than a
// gap.
func (d *Decoder) doubt() time.Duration {
	if d.n == 1 {
		return min(d.limits.IntervalMax, d.cfg.Gap)
	}
	longest := time.Duration(0)
	for i := 1; i < d.n; i++ {
		longest = max(longest, d.pulses[i].At-d.pulses[i-1].At)
	}
	return min(longest+longest/2, d.cfg.Gap)
}

// Warnings returns a line for each fault of the read, with the bits concerned, numbered from 1, and their times. pulses
// are those of the read, from [Decoder.Pulses] or [Reader.Pulses]; without them the bits are not named.
func (r Read) Warnings(pulses []Pulse) []string {
	var lines []string
	for f := range r.Faults.All() {
		text := f.String()
		switch {
		case f == Spike && r.Spikes > 0:
			text += fmt.Sprintf(" %d×", r.Spikes) + places(f, pulses)
		case f == OneWire && r.Mended.Len() > 0:
			text += "; silent beats are taken for bits of the other one, of which those before the first pulse and behind the " +
				"last leave no trace"
		case f == TooLong:
			text += fmt.Sprintf(": %d pulses, of which the first %d are kept", r.Pulses, r.Bits.Len())
		default:
			text += places(f, pulses)
		}
		lines = append(lines, text)
	}
	return lines
}

// places names the pulses that have a fault, the first few of them.
func places(f Fault, pulses []Pulse) string {
	const shown = 4
	var b strings.Builder
	n := 0
	for i, p := range pulses {
		if !p.Faults.Has(f) {
			continue
		}
		if n++; n > shown {
			continue
		}
		fmt.Fprintf(&b, "%s bit %d", [...]string{1: ":", ",", ",", ","}[n], i+1)
		switch f {
		case Narrow, Wide:
			fmt.Fprintf(&b, " (%v)", Round(p.Width))
		case TooSoon, TooLate, Missing, Doubled:
			if i > 0 {
				fmt.Fprintf(&b, " (%v)", Round(p.At-pulses[i-1].At))
			}
		}
	}
	if n > shown {
		fmt.Fprintf(&b, " and %d more", n-shown)
	}
	return b.String()
}

// Round returns d to three significant digits, for people to read.
func Round(d time.Duration) time.Duration {
	unit := time.Duration(1)
	for d/unit >= 1000 || d/unit <= -1000 {
		unit *= 10
	}
	return d.Round(unit)
}
