package line

import (
	"cmp"
	"fmt"
	"math/bits"
	"sort"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// Caution is what to tell a person before they act on a suggestion of [Health.Suggestions].
const Caution = "Suggestions are where to look first, not findings. Keep a door that people use, and any fire exit, working " +
	"and watched while you test; isolate the supply before touching wiring. Local codes come first, and mains, lock and " +
	"fire-alarm wiring is work for licensed people."

// Health is what a recording as a whole says of the line.
type Health struct {
	Coding   Coding
	Inverted bool // the wires idle low

	Reads    int
	Verdicts [3]int         // reads by [Verdict]
	Faults   [numFaults]int // reads by [Fault]
	Width    Stats          // of all pulses of all reads; percentiles exact to 1 part in 64
	Interval Stats
	Spikes   int   // levels too short to count, in and between reads
	Removed  Range // how long the shortest and the longest pulse was that did not count
	// Glitch is the glitch time that joins the pulses of a contact that bounces; 0 where none bounces, or no time would
	// do.
	Glitch  time.Duration
	Pulses  [2]int        // on each wire
	Stuck   [2]bool       // wires that were low for longer than a gap
	Slow    int           // times that one was, and came back
	Lengths []LengthCount // how long the reads were, the most frequent first

	// Swapped counts the 26-bit reads, but for suspect ones, that fail both parity checks of SIA AC-01-1996.10 as they
	// are and pass both with every bit inverted, as DATA0 and DATA1 exchanged make them; Straight those that pass both as
	// they are. One card proves little: a read of another format passes by chance one time in four.
	Swapped, Straight int
}

// LengthCount is how many reads had a length.
type LengthCount struct{ Bits, Reads int }

// Survey gathers the [Health] of a line from its reads, in fixed memory. The zero value is ready to use.
type Survey struct {
	h                Health
	widths, interval Histogram
	lengths          [wiegand.MaxBits + 1]int
	bounce           bounce
}

// Add counts a read and its pulses.
func (s *Survey) Add(r Read, pulses []Pulse) {
	h := &s.h
	h.Coding = r.Coding
	h.Reads++
	h.Verdicts[min(r.Verdict(), Suspect)]++
	for f := range r.Faults.All() {
		h.Faults[f]++
	}
	h.Spikes += r.Spikes
	s.lengths[r.Bits.Len()]++
	for i, p := range pulses {
		if p.Width > 0 {
			s.widths.Add(p.Width)
		}
		if i > 0 {
			s.interval.Add(p.At - pulses[i-1].At)
		}
	}
	if r.Faults.Has(Bounce) {
		s.bounce.add(pulses)
	}
	if r.Coding == TwoWire && r.Bits.Len() == 26 && r.Verdict() != Suspect {
		h.Straight += passes26(r.Bits)
		h.Swapped += passes26(r.Bits.Invert())
	}
}

// passes26 returns 1 where a read has even parity over bits 1 to 13 and odd parity over bits 14 to 26.
func passes26(b wiegand.Bits) int {
	v, _ := b.Uint64()
	even, odd := bits.OnesCount64(v>>13), bits.OnesCount64(v&(1<<13-1))
	return (even + 1) & odd & 1
}

// Health returns what the reads so far say together, with what the decoder saw between them. d may be nil.
func (s *Survey) Health(d *Decoder) Health {
	h := s.h
	h.Width, h.Interval, h.Glitch = s.widths.Stats(), s.interval.Stats(), s.bounce.glitch()
	for n, count := range s.lengths {
		if count > 0 {
			h.Lengths = append(h.Lengths, LengthCount{Bits: n, Reads: count})
		}
	}
	sort.SliceStable(h.Lengths, func(i, j int) bool { return h.Lengths[i].Reads > h.Lengths[j].Reads })
	if d == nil {
		return h
	}
	h.Coding, h.Inverted, h.Pulses, h.Removed, h.Slow = d.cfg.Coding, d.cfg.Inverted, d.onWire, d.removed, d.slow
	h.Spikes += d.between
	if !d.making() {
		h.Spikes += d.spikes
	}
	for i, was := range d.hasStuck {
		h.Stuck[i] = was || d.sticks(Wire(i))
	}
	return h
}

// Verdict returns the worst that can be said of the line: Suspect where it is stuck or any read is suspect.
func (h Health) Verdict() Verdict {
	switch {
	case h.Verdicts[Suspect] > 0 || h.Stuck[0] || h.Stuck[1]:
		return Suspect
	case h.Verdicts[Marginal] > 0 || h.Spikes > 0:
		return Marginal
	}
	return Healthy
}

// WireName returns what a wire is called: DATA0 and DATA1, or CLOCK and DATA.
func (c Coding) WireName(w Wire) string {
	if c == ClockAndData {
		return [...]string{"CLOCK", "DATA"}[w&1]
	}
	return [...]string{"DATA0", "DATA1"}[w&1]
}

// Suggestions returns what an electrician would look at: what puts bits in doubt first, and of that the most frequent.
// Each is one sentence without a full stop: what was seen, and where it often comes from. Show [Caution] with them.
func (h Health) Suggestions() []string {
	count := h.Faults
	if h.Spikes > 0 {
		count[Spike] = max(count[Spike], 1)
	}
	switch {
	case !h.OutOfScale():
	case h.shortPulses() && h.Removed.Max == 0:
		return []string{"pulses begin and end at one and the same time: the times are too coarse, as whole milliseconds are; " +
			"write them in microseconds"}
	default:
		return []string{"the wires change a thousand times slower or faster than those of a reader: the unit of the times may be " +
			"another one than was said, or these are not the reader's wires"}
	}
	var lines []string
	if h.shortPulses() {
		count[Spike] = 0
		lines = append(lines, fmt.Sprintf("every pulse lasts %s, and none counts: a panel may miss them too, since the standard has "+
			"%v or more; look for a setting of the reader's pulse width, and at the recorder's threshold; a glitch time of %v shows "+
			"the reads", span(h.Removed), StandardLimits().WidthMin, Round(h.Removed.Min/2)))
	}
	for i, on := range h.Stuck {
		if on {
			count[Stuck], count[BothLow] = 0, 0 // whatever the other wire does, both are low
			lines = append(lines, fmt.Sprintf("%s stays low: %s", h.Coding.WireName(Wire(i)), Stuck.Cause()))
		}
	}
	lines = append(lines, h.wiring(&count)...)
	order := make([]Fault, 0, numFaults)
	for f := range numFaults {
		if count[f] > 0 {
			order = append(order, f)
		}
	}
	sort.SliceStable(order, func(i, j int) bool {
		a, b := order[i], order[j]
		return cmp.Or(cmp.Compare(boolBit(b >= Missing), boolBit(a >= Missing)), cmp.Compare(count[b], count[a])) < 0
	})
	for _, f := range order {
		text := fmt.Sprintf("%v: %s", f, f.Cause())
		switch {
		case f == Bounce && h.Glitch > 0:
			text += fmt.Sprintf("; %v would do", h.Glitch)
		case f == Bounce:
			text += "; here none would do, since the pulses are open for longer than they are closed"
		}
		lines = append(lines, text)
	}
	return lines
}

// wiring returns what the reads together say of how the wires are connected, and takes from count what that explains.
func (h Health) wiring(count *[numFaults]int) (lines []string) {
	if h.Coding == TwoWire && h.Reads > 0 && (h.Pulses[0] == 0) != (h.Pulses[1] == 0) {
		silent := Data0
		if h.Pulses[1] == 0 {
			silent = Data1
		}
		if h.Stuck[silent] {
			count[OneWire] = 0
		} else if h.Pulses[1-silent] > keyBits {
			count[OneWire] = 0
			lines = append(lines, fmt.Sprintf("no pulse on %s in the whole recording: its wire may be broken, not connected, or recorded "+
				"on another input", TwoWire.WireName(silent)))
		}
	}
	if h.Swapped > 0 && h.Straight == 0 {
		does := [2]string{"fail", "pass"}
		if h.Swapped == 1 {
			does = [2]string{"fails", "passes"}
		}
		lines = append(lines, fmt.Sprintf("%s of 26 bits %s both parity checks of the standard format as received and %s them "+
			"with every bit inverted: DATA0 and DATA1 may be swapped, or this is another format; compare with a number you know",
			plural(h.Swapped, "read"), does[0], does[1]))
	}
	if len(h.Lengths) > 1 {
		all := make([]string, 0, len(h.Lengths))
		for _, l := range h.Lengths {
			all = append(all, fmt.Sprintf("%d bits %d×", l.Bits, l.Reads))
		}
		lines = append(lines, fmt.Sprintf("reads of different lengths (%s): different cards or keys, or bits lost or gained; present "+
			"one card several times to tell", strings.Join(all, ", ")))
	}
	return lines
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// shortPulsesMin is how many pulses it takes to say that short or long ones are the reader's and no interference;
// slowPulse is ten times what the longest pulse of a reader may last.
const shortPulsesMin, slowPulse = 8, time.Millisecond

// shortPulses tells whether there are pulses enough, all about as long as one another, and none of them counted.
func (h Health) shortPulses() bool {
	return h.Reads == 0 && h.Spikes >= shortPulsesMin && h.Removed.Max <= 2*h.Removed.Min
}

// OutOfScale tells whether there is no read because what the wires do is of no reader's time scale: they are low for
// longer than a read lasts, again and again, or for less than a [time.Microsecond], always about as long. Then nothing
// else that is said of the line means anything.
func (h Health) OutOfScale() bool {
	slow := h.Slow >= shortPulsesMin || h.Width.N >= shortPulsesMin && h.Width.Min >= slowPulse
	return h.Faults[TooShort] == h.Reads && slow || h.shortPulses() && h.Removed.Max < shortestBeat
}

// span returns a range as people write it.
func span(r Range) string {
	if lo, hi := Round(r.Min), Round(r.Max); lo != hi {
		return fmt.Sprintf("%v to %v", lo, hi)
	}
	return Round(r.Min).String()
}

// bounce is what the pulses of contacts that bounce have in common.
type bounce struct {
	open time.Duration // the longest time between two pulses of one bit
	low  time.Duration // the shortest time that a bit's pulses last together
	torn bool          // some bit's pulses last for less than half of its time
}

// add takes the pulses of a read with the fault Bounce.
func (b *bounce) add(pulses []Pulse) {
	for i := 0; i < len(pulses); {
		from, low := pulses[i].At, pulses[i].Width
		for i++; i < len(pulses) && pulses[i].Faults.Has(Bounce); i++ {
			b.open = max(b.open, pulses[i].At-pulses[i-1].end())
			low += pulses[i].Width
		}
		if low == 0 { // the recording does not say how long pulses last, and none is removed
			continue
		}
		if b.low == 0 || low < b.low {
			b.low = low
		}
		b.torn = b.torn || 2*low < pulses[i-1].end()-from
	}
}

// glitchStep is what a glitch time is rounded up to.
const glitchStep = 5 * time.Microsecond

// glitch returns a glitch time a quarter longer than any bounce, 0 where it would remove whole bits as well.
func (b bounce) glitch() time.Duration {
	g := (b.open + b.open/4 + glitchStep) / glitchStep * glitchStep
	if b.open == 0 || b.low > 0 && b.low < g || b.torn {
		return 0
	}
	return g
}
