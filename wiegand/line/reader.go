package line

import (
	"errors"
	"io"
	"math"
	"time"
)

// Source gives the edges of the two wires of a recording, in order of time. [VCD] and [CSV] are sources.
type Source interface {
	// Coding says what the two wires carry.
	Coding() Coding
	// Next returns the next edge, or io.EOF. An edge of NoWire says that time has passed; the last one says when the
	// recording ends. After an error whose Timeout method returns true, Next may be called again.
	Next() (Edge, error)
}

// Polarity says at which level the wires idle.
type Polarity uint8

const (
	PolarityAuto Polarity = iota // the level at which the wires are for most of the time, once they have moved
	IdleHigh                     // the usual one
	IdleLow                      // behind an inverting level shifter or isolator
)

// Reader reads a recording from a [Source]. NewReader makes one. It must not be used by several goroutines at once.
type Reader struct {
	src    Source
	dec    *Decoder
	survey Survey
	cfg    Config

	lead    []Edge // edges held back until the polarity is known
	replay  int    // how many of them have been fed
	decided bool
	first   time.Duration // time of the first edge
	last    time.Duration // of the last one
	step    time.Duration // of which every change so far comes a whole number after the first edge
	sampled time.Duration // the step that some read has shown to be a recorder's
	rounded time.Duration // a recorder's step that is no whole number of these, which the read before has shown
	any     bool          // there was one
	quiet   bool          // the source had nothing to give before the first
	stop    error         // why the source stopped, until that is dealt with
}

// leadMax is how many edges are held back to find the polarity, at most: several reads' worth.
const leadMax = 512

// NewReader returns a reader of what src gives. cfg.Coding is taken from the source; cfg.Inverted counts only where the
// polarity is not PolarityAuto, and then says what polarity says. With PolarityAuto the first reads come when it is
// clear or the source pauses, some hundred edges later at most.
func NewReader(src Source, cfg Config, polarity Polarity) *Reader {
	cfg.Coding = src.Coding()
	r := &Reader{src: src, cfg: cfg.resolved(), lead: make([]Edge, 0, leadMax)}
	if polarity != PolarityAuto {
		r.decide(polarity == IdleLow)
	}
	return r
}

// decide makes the decoder.
func (r *Reader) decide(inverted bool) {
	r.cfg.Inverted, r.decided = inverted, true
	r.dec = NewDecoder(r.cfg)
}

// Next returns the next read, or io.EOF after the last one. Where the source fails, the read in the making comes first,
// marked [CutEnd], then the error; both stay as they are from then on. Where the source's error is a timeout, the read
// in the making is closed and returned, or, where there is none, the error; Next may then be called again.
func (r *Reader) Next() (Read, error) {
	for {
		switch {
		case r.decided && r.replay < len(r.lead):
			r.replay++
			if r.feed(r.lead[r.replay-1]) {
				return r.done(), nil
			}
		case r.stop != nil:
			if open, err := r.halt(); !open {
				return Read{}, err
			}
			return r.done(), nil
		default:
			e, err := r.src.Next()
			switch {
			case err != nil:
				r.stop = err
				r.settle(err)
			case !r.decided:
				r.hold(e)
			case r.feed(e):
				return r.done(), nil
			}
		}
	}
}

// settle finds the polarity from what there is when nothing more comes. After a timeout the last levels last, and more
// may come: wires of which none has been at both levels and back tell nothing yet, and have no pulse either.
func (r *Reader) settle(err error) {
	silence := time.Duration(0)
	if isTimeout(err) {
		silence = r.cfg.Gap
		r.quiet = r.quiet || !r.any && len(r.lead) == 0
	}
	if !r.decided {
		if low, known := r.idlesLow(silence); known || silence == 0 {
			r.decide(low)
		}
	}
}

// halt closes the read in the making when the source has stopped, and tells whether there was one, and why it stopped.
// A timeout is then dealt with; any other error is there to stay.
func (r *Reader) halt() (open bool, err error) {
	err = r.stop
	if !isTimeout(err) {
		return r.any && r.dec.end(r.last, !errors.Is(err, io.EOF)), err
	}
	r.stop = nil
	return r.decided && r.dec.Pause(), err
}

// feed hands an edge to the decoder.
func (r *Reader) feed(e Edge) bool {
	if !r.any {
		r.first = e.At
		r.dec.Begin(e.At)
	}
	r.any, r.last = true, e.At
	if e.Wire <= Data1 && r.dec.wires[e.Wire].level != Unknown { // else the level becomes known, and nothing changes
		for rest := e.At - r.first; rest > 0; {
			r.step, rest = rest, r.step%rest
		}
	}
	return r.dec.Feed(e)
}

func (r *Reader) done() Read {
	read := r.dec.Read()
	read.Faults |= r.ofSamples(r.dec.Pulses())
	if r.quiet {
		read.Faults &^= 1 << OpenStart
	}
	r.survey.Add(read, r.dec.Pulses())
	return read
}

// ofSamples tells whether pulses last for no more than one sample of the recorder. Where none lasts longer, it and the
// reader may keep step: every second pulse has then come between two samples, and those that are left look as steady.
// Where the source knows of no samples, a step that all changes keep to is one if pulses last one or two, and differ by
// it or come too early or too late by it; or if it is longer than any pulse of a reader, so that they were shorter. If
// it is as long as the longest, it may be that pulse where there are as many as a card has, an even number of steps
// apart: every second one can come between two only where that is odd, and of every third one there are fewer.
func (r *Reader) ofSamples(pulses []Pulse) (f Faults) {
	step, known := r.step, r.step > 0 && r.step == r.sampled
	if s, ok := r.src.(interface{ SampleTime() time.Duration }); ok && s.SampleTime() > 0 {
		step, known = s.SampleTime(), true
	}
	shortest := time.Duration(math.MaxInt64)
	for i, p := range pulses[1:] {
		shortest = max(1, min(shortest, p.At-pulses[i].At))
	}
	few, steady := lasting(pulses, 5*step/2), true
	for i, p := range pulses {
		steady = steady && p.Width == pulses[0].Width && (i == 0 || (p.At-pulses[i-1].At)%shortest == 0)
	}
	longest := StandardLimits().WidthMax
	between := shortest/max(1, step)%2 > 0 || len(pulses) < shortestCard
	if !known && (step > longest || step == longest && between || few == len(pulses) && !steady) {
		r.sampled, known = step, true
	}
	if !known {
		if r.rounded = roundedStep(pulses, r.step, r.rounded); r.rounded > 0 {
			step, known = r.rounded, true
		}
	}
	one := lasting(pulses, 3*step/2)
	switch {
	case one == 0 || !known:
		return 0
	case one < len(pulses):
		return f.with(FewSamples)
	}
	return f.with(OneSample)
}

// lasting returns how many pulses last for no more than longest, as far as their widths are known.
func lasting(pulses []Pulse, longest time.Duration) (n int) {
	for _, p := range pulses {
		n += int(boolBit(p.Width > 0 && p.Width <= longest))
	}
	return n
}

// Pulses returns the pulses of the read that Next has just returned, good until Next is called again.
func (r *Reader) Pulses() []Pulse {
	if r.dec == nil {
		return nil
	}
	return r.dec.Pulses()
}

// Health returns what the recording so far says of the line.
func (r *Reader) Health() Health {
	h := r.survey.Health(r.dec)
	h.Coding, h.Inverted = r.cfg.Coding, r.cfg.Inverted
	return h
}

// hold keeps an edge back and finds the polarity once that is known, or the room is full. Of times alone, the first and
// the last are enough.
func (r *Reader) hold(e Edge) {
	if n := len(r.lead); n > 1 && e.Wire > 1 && r.lead[n-1].Wire > 1 {
		r.lead[n-1] = e
	} else {
		r.lead = append(r.lead, e)
	}
	if low, known := r.idlesLow(0); known || len(r.lead) == leadMax {
		r.decide(low)
	}
}

// idlesLow tells whether the wires that change are low for most of the time. That is known once a wire has been at
// both levels and back, a gap has passed since its first change, and the wires stand still, or have changed as often
// as in a read and the answer is clear. What was before the first change counts only where the rest does not tell,
// since a reader may have had no supply; and a level that lasts counts as a few gaps at most, since the supply may
// have gone for a second before a read of a tenth. Only the clock tells anything in clock and data, since DATA may
// stay low throughout; a wire that never changes tells something only where the other does not change and back. The
// last levels are held for another silence.
func (r *Reader) idlesLow(silence time.Duration) (isLow, known bool) {
	const longest, enough, clearly = 4, 48, 4
	var times [2]struct {
		at            time.Duration
		level         Level
		before, since [4]time.Duration // the first change, by level
		changes       int
	}
	end := silence
	for _, e := range r.lead {
		end = silence + e.At
		if e.Wire > 1 || e.Level == times[e.Wire].level {
			continue
		}
		t := &times[e.Wire]
		t.since[t.level&3] += min(e.At-t.at, longest*r.cfg.Gap)
		t.at = e.At
		if t.level == Low && e.Level == High || t.level == High && e.Level == Low {
			if t.changes++; t.changes == 1 {
				t.before, t.since = t.since, t.before
			}
		}
		t.level = e.Level
	}
	// By level: of wires that changed and back, since the first change and in all; of wires that never changed. One that
	// changed for good got stuck, or its supply.
	var sums [3][4]time.Duration
	for i, t := range times {
		t.since[t.level&3] += min(end-t.at, longest*r.cfg.Gap)
		if r.cfg.Coding == ClockAndData && Wire(i) == Data || t.changes == 1 {
			continue
		}
		settled := t.since[Low]+t.since[High] >= r.cfg.Gap
		known = known || settled && t.changes > 1
		for level, since := range t.since {
			switch all := since + t.before[level]; {
			case t.changes == 0:
				sums[2][level] += all
			case settled:
				sums[0][level] += since
				fallthrough
			default:
				sums[1][level] += all
			}
		}
	}
	known = known && (silence > 0 || times[0].changes+times[1].changes >= enough)
	for _, s := range sums {
		more, less := max(s[Low], s[High]), min(s[Low], s[High])
		if more != less {
			isLow = s[Low] > s[High]
		}
		known = known && (silence > 0 || more > clearly*less)
		if more > 2*less { // a clock may be low for half of the time while it runs
			break
		}
	}
	return isLow, known
}

// isTimeout tells whether a reader only had nothing to give in time, as os.ErrDeadlineExceeded and net.Error say it.
func isTimeout(err error) bool {
	var t interface{ Timeout() bool }
	return errors.As(err, &t) && t.Timeout()
}
