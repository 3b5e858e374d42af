package line

import (
	"math"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// Pulse is one pulse of a read.
type Pulse struct {
	At     time.Duration // when it began
	Width  time.Duration // how long it lasted; 0 where the recording does not say
	Wire   Wire
	Bit    uint8 // the bit that it stands for, 0 or 1
	Faults Faults
}

// end returns when the pulse was over.
func (p Pulse) end() time.Duration { return p.At + p.Width }

// wire is what a [Decoder] knows of one line.
type wire struct {
	level Level
	lost  bool // the level became unknown between reads
	vague bool // the level is unknown, for less than a glitch so far: it may be on its way
	state wireState
	blind bool          // the pulse in the making has no known end
	early bool          // the recording begins inside of it
	since time.Duration // when the level last changed
	left  time.Duration // when the level became vague
	from  time.Duration // when the pulse in the making began
	low   time.Duration // how long it was really low, without the dips
	both  time.Duration // what Decoder.both was when it began
	dips  int           // highs inside it that were too short to count
}

// begin begins a pulse.
func (w *wire) begin(s wireState, now, both time.Duration) {
	w.state, w.blind, w.early, w.dips = s, false, false, 0
	w.from, w.low, w.both = now, 0, both
}

// isOpen tells whether a pulse has begun and not ended.
func (w *wire) isOpen() bool { return w.state == active && !w.early }

type wireState uint8

const (
	idle     wireState = iota
	active             // in a pulse
	settling           // back from a pulse, for less than a glitch
	stuck              // low for longer than a gap, or since before the recording
)

// maxTime bounds times, so that no sum or difference of two can overflow: 73 years either way.
const maxTime = time.Duration(1) << 61

// Decoder turns edges into reads. It holds one read at a time in fixed memory, allocates nothing after [NewDecoder],
// and must not be used by several goroutines at once.
//
// A pulse is known for good only when its wire has been back for longer than a glitch, and a read only when a gap has
// passed; of a slow reader, when the rest of a read that lost bits would have come: within fifty beats of what may be a
// key or thirty of what may be a card, and eight gaps. So a read comes out with the first edge after that, or with an
// edge of [NoWire] that says how late it is.
type Decoder struct {
	cfg     Config
	limits  Limits
	now     time.Duration
	limit   time.Duration // before this time nothing can settle, stick or close
	silence time.Duration // between pulses, from which on two reads may be parted

	wires [2]wire
	both  time.Duration // how long both wires were low, in all

	pulses [wiegand.MaxBits + 2]Pulse // room for two that end a read and begin the next
	n      int                        // pulses held
	rest   int                        // pulses behind those, of the next read, which has begun; only where closed
	nextAt time.Duration              // when the next read began, while one is parted from it; else maxTime
	// pulses before the last silence that is longer than any within a read; 0 where there is none
	pause   int
	parted  time.Duration // the silence that parted the read in the making from the one before; 0 where none did
	total   int           // pulses counted; more than n only where the read is too long
	lastEnd time.Duration // of the last pulse
	closed  bool          // the pulses are those of a finished read; the next one starts another
	faults  Faults        // of the read in the making, beyond those of its pulses
	spikes  int           // removed from the read in the making
	read    Read          // the finished read
	held    [4]Edge       // that wait for the read behind one that was parted from it
	waiting int           // how many of them

	begun    bool          // the recording's start is known
	start    time.Duration // when it was
	cut      bool          // a wire that was low for no known reason came back
	cutAt    time.Duration // when it did
	early    Pulse         // with which the recording began; see begins
	paused   bool          // Pause closed the last read
	onWire   [2]int        // pulses seen on each wire
	between  int           // spikes removed outside of reads
	removed  Range         // how long the shortest and the longest pulse was that was removed
	hasStuck [2]bool       // wires that were low for longer than a gap
	slow     int           // times that one was, and came back

	intervals [wiegand.MaxBits]time.Duration // room to sort in
}

// NewDecoder returns a decoder of a line on which both wires are idle.
func NewDecoder(cfg Config) *Decoder {
	cfg = cfg.resolved()
	d := &Decoder{cfg: cfg, limits: *cfg.Limits, now: -maxTime, limit: math.MaxInt64, silence: math.MaxInt64,
		nextAt: maxTime}
	if cfg.Coding == TwoWire && cfg.Limits.IntervalMax > 0 {
		d.silence = cfg.Limits.IntervalMax
	}
	d.cfg.Glitch = max(0, cfg.Glitch)
	d.wires[0].level, d.wires[1].level = High, High
	return d
}

// Begin says when a recording began; the levels are unknown until an edge tells them. A wire that is first seen low is
// then not taken for a pulse, and a read too near the start is reported as [CutStart]. Call it before the first
// [Decoder.Feed], or not at all for a line that is known to be idle.
func (d *Decoder) Begin(at time.Duration) {
	d.begun, d.start = true, at
	d.wires[0].level, d.wires[1].level = Unknown, Unknown
}

// Feed takes the next edge and tells whether a read is complete: then call [Decoder.Read] and [Decoder.Pulses] before
// the next Feed. An edge that changes no level does nothing, so samples may be fed as well. A time that runs backwards
// is held to the latest one, and the read is marked [Backwards].
func (d *Decoder) Feed(e Edge) bool {
	if d.waiting > 0 { // never more than two: a read is parted from the next one at most once in several pulses
		d.waiting = min(d.waiting, len(d.held)-1)
		d.held[d.waiting] = e
		d.waiting++
		return d.drain()
	}
	if e.At < d.now {
		d.faults = d.faults.with(Backwards)
		e.At = d.now
	}
	done := d.pass(min(e.At, maxTime))
	if done && d.rest > 0 { // the read behind the one that is complete goes on first
		d.held[0], d.waiting = e, 1
		return true
	}
	if e.Wire > 1 {
		return done
	}
	w, level := &d.wires[e.Wire], e.Level
	if d.cfg.Inverted {
		level = level.invert()
	}
	if level == Unknown && w.level != Unknown {
		d.wait(w)
		return done
	}
	w.vague = false
	if level == w.level {
		return done
	}
	if d.cfg.Coding == ClockAndData && e.Wire == Data {
		w.level, w.since = level, d.now
		return done
	}
	if level == Pulsed {
		d.pulsed(w)
		return done
	}
	d.change(w, level)
	w.level, w.since = level, d.now
	return done
}

// wait waits for the level of a wire that is neither high nor low, as recorders write it between the two.
func (d *Decoder) wait(w *wire) {
	if !w.vague {
		w.vague, w.left = true, d.now
		d.limit = min(d.limit, d.now+d.cfg.Glitch)
	}
}

// drain feeds the edges that wait, until a read is complete.
func (d *Decoder) drain() bool {
	queue, n := d.held, d.waiting
	d.waiting = 0
	for i := range n {
		if d.Feed(queue[i]) {
			d.waiting += copy(d.held[d.waiting:], queue[i+1:n])
			return true
		}
	}
	return false
}

// pass lets the time go on to at.
func (d *Decoder) pass(at time.Duration) bool {
	if a, b := &d.wires[0], &d.wires[1]; a.level == Low && b.level == Low && !a.vague && !b.vague {
		d.both += at - d.now
	}
	d.now = at
	return at >= d.limit && d.settle()
}

// change takes a wire from one level to another, now.
func (d *Decoder) change(w *wire, level Level) {
	switch {
	case w.level == Low && w.state == active:
		w.low += d.now - w.since
		w.state = settling
		d.limit = min(d.limit, d.now+d.cfg.Glitch)
	case w.level == Low && w.state == stuck:
		w.state = idle
		d.cut, d.cutAt = true, d.now
		d.slow++
	case w.level == High && level == Low && w.state == settling:
		w.state = active
		w.dips++
	case level == Low && (w.level == High || d.begun && d.now == d.start):
		w.begin(active, d.now, d.both)
		w.early = w.level != High // perhaps a pulse, of which it is seen how it ends
		d.limit = min(d.limit, d.now+d.cfg.Gap)
	case level == Low: // from an unknown level: nobody saw it fall
		w.state = stuck
	}
	switch {
	case level == Unknown && (w.state != idle || d.making() && d.now-d.lastEnd < d.doubt()):
		d.faults = d.faults.with(UnknownLevel)
	case level == Unknown:
		w.lost = true
	case w.lost: // what came just before was not seen
		w.lost = false
		d.cut, d.cutAt = true, d.now
	}
}

// pulsed takes a pulse of which only the beginning is known. A second one within a glitch is a bounce.
func (d *Decoder) pulsed(w *wire) {
	if w.state == idle {
		w.begin(settling, d.now, d.both)
		w.blind = true
	} else {
		w.dips++
	}
	w.since = d.now
	d.limit = min(d.limit, d.now+d.cfg.Glitch)
}

// open tells whether a read is in the making.
func (d *Decoder) open() bool { return d.n > 0 && !d.closed }

// making tells whether there are pulses of a read that is not finished: it is open, or kept behind one that is closed.
func (d *Decoder) making() bool { return d.open() || d.rest > 0 }

// settle finishes what has waited long enough: pulses first, then wires that stick, then the read.
func (d *Decoder) settle() bool {
	if d.rest > 0 {
		d.resume()
	}
	next, had, busy := d.unknown(), d.closed, false
	for i := range d.wires {
		switch w := &d.wires[i]; {
		case w.state != settling:
		case d.now-w.since >= d.cfg.Glitch:
			d.finish(w, Wire(i))
		default:
			next, busy = min(next, w.since+d.cfg.Glitch), true
		}
	}
	for i := range d.wires {
		switch w := &d.wires[i]; {
		case w.state != active:
		case d.now-w.since >= d.cfg.Gap:
			d.stick(w, Wire(i))
		default:
			next, busy = min(next, w.since+d.cfg.Gap), true
		}
	}
	done := d.closed && !had
	if done {
		next = d.now
	} else if !busy && d.open() {
		if end := d.lastEnd + d.patience(); d.now < end {
			next = min(next, end)
		} else {
			d.close(0)
			done = true
		}
	}
	d.limit = next
	return done
}

// unknown ends the levels that have been vague for a glitch, and returns when it is to be asked again.
func (d *Decoder) unknown() time.Duration {
	next := time.Duration(math.MaxInt64)
	for i := range d.wires {
		switch w := &d.wires[i]; {
		case !w.vague:
		case d.now-w.left >= d.cfg.Glitch:
			now := d.now
			w.vague, d.now = false, w.left // nothing has come since
			d.change(w, Unknown)
			w.level, w.since, d.now = Unknown, w.left, now
		default:
			next = min(next, w.left+d.cfg.Glitch)
		}
	}
	return next
}

// The rest of a read that has lost bits may come within so many beats, and restGaps gaps. A card of 56 bits of which
// four at either end are left is silent for 49 beats, one of 26 bits for 19: behind what may be a card itself, nothing
// is waited for unless slowBeats are more than a gap.
const restOfKey, restOfCard, slowBeats, restGaps = 50, 30, 20, 8

// patience returns how long to wait for the rest of the read in the making: for a slow reader, longer than gapOf says.
func (d *Decoder) patience() time.Duration {
	n, beats, least := time.Duration(d.n-1), time.Duration(restOfCard), time.Duration(slowBeats)
	if d.n < shortestCard {
		beats, least = restOfKey, restOfKey
	}
	if n < 1 || d.silence > d.cfg.Gap || least*(d.pulses[n].At-d.pulses[0].At) <= n*d.cfg.Gap {
		return d.gapOf(d.pulses[:d.n])
	}
	return min(beats*(d.pulses[n].At-d.pulses[0].At)/n, restGaps*d.cfg.Gap)
}

// gapOf returns the silence that ends a read: a gap, or five beats of a reader to which a gap is less. It has no longer
// beats than the limit allows. That the median is at most twice the mean saves sorting.
func (d *Decoder) gapOf(pulses []Pulse) time.Duration {
	const beats = 5
	longest := beats * d.limits.IntervalMax
	n := time.Duration(len(pulses) - 1)
	if d.cfg.Coding != TwoWire || n < 1 || longest <= d.cfg.Gap ||
		2*beats*(pulses[n].At-pulses[0].At) <= n*d.cfg.Gap {
		return d.cfg.Gap
	}
	return max(d.cfg.Gap, min(longest, beats*usual(pulses, d.intervals[:])))
}

// finish turns what a wire has been through since it left idle into a pulse, or into spikes: noise that is low for less
// than a glitch, or for less than half of the time.
func (d *Decoder) finish(w *wire, i Wire) {
	w.state = idle
	p := Pulse{At: w.from, Width: w.since - w.from, Wire: i, Bit: uint8(i)}
	switch {
	case w.early:
		d.begins(p)
		return
	case w.blind:
		p.Width = 0
		if o := &d.wires[1-i&1]; o.blind && distance(o.from, w.from) < d.cfg.Glitch {
			p.Faults = p.Faults.with(BothLow)
		}
	case w.low < d.cfg.Glitch || 2*w.low < p.Width:
		each := w.low / time.Duration(1+w.dips)
		if d.removed.Min == 0 || each < d.removed.Min {
			d.removed.Min = each
		}
		d.removed.Max = max(d.removed.Max, each)
		d.spike(1+w.dips, w.from)
		return
	}
	if both := d.both - w.both; both > 0 || d.cfg.Coding == ClockAndData {
		d.overlap(&p, both)
	}
	if w.dips > 0 {
		p.Faults = p.Faults.with(Spike)
	}
	d.add(&p)
	if w.dips > 0 {
		d.spike(w.dips, w.from)
	}
}

// begins keeps the pulse within which a recording begins, until there is one to compare it with: a wire may have been
// low for another reason. Both wires are low where a reader has no supply yet.
func (d *Decoder) begins(p Pulse) {
	d.cut, d.cutAt = true, p.end()
	if d.early.Width != 0 || p.Width < d.cfg.Glitch {
		p.Width = -1
	}
	d.early = p
}

// addEarly puts the pulse within which the recording began before p, the first one that was seen to begin, where it was
// low for hardly longer.
func (d *Decoder) addEarly(p *Pulse) {
	e := d.early
	d.early = Pulse{}
	if e.Width <= 0 || 2*e.Width > 3*p.Width || p.At-e.end() >= d.cfg.Gap {
		return
	}
	d.onWire[e.Wire&1]++
	d.pulses[0], d.lastEnd = e, e.end()
	d.n, d.total = 1, 1
}

// overlap judges for how long of a pulse the other wire was low as well: on two wires it must not be; with a clock it
// is the bit, 1 where DATA was low for most of the time, so that a spike on it at the clock's edge does no harm.
func (d *Decoder) overlap(p *Pulse, both time.Duration) {
	switch {
	case d.cfg.Coding == ClockAndData:
		p.Bit = 0
		if 2*both > p.Width || p.Width == 0 && d.wires[Data].level == Low {
			p.Bit = 1
		}
		if min(both, p.Width-both) > d.cfg.Glitch {
			p.Faults = p.Faults.with(DataMoved)
		}
	case both >= d.cfg.Glitch:
		p.Faults = p.Faults.with(BothLow)
	}
}

// stick ends a pulse that does not return. Inside a read it was a bit, since panels take the falling edge for one;
// behind a silence in which five bits would have come, it was none.
func (d *Decoder) stick(w *wire, i Wire) {
	p := d.endless(w, i)
	if w.early {
		return
	}
	d.hasStuck[i&1] = true
	silence := w.from - d.lastEnd
	if d.open() && d.n >= partMin && silence >= part(partBeats, usual(d.pulses[:d.n], d.intervals[:])) {
		return
	}
	if d.making() && silence < d.cfg.Gap {
		d.add(&p)
	}
}

// endless returns the pulse of a wire that stays low.
func (d *Decoder) endless(w *wire, i Wire) Pulse {
	w.state = stuck
	p := Pulse{At: w.from, Wire: i, Bit: uint8(i), Faults: Faults(0).with(NoReturn)}
	if d.cfg.Coding == ClockAndData || d.both > w.both {
		d.overlap(&p, d.both-w.both)
	}
	return p
}

// spike counts levels that were removed.
func (d *Decoder) spike(n int, at time.Duration) {
	if d.making() && at-d.lastEnd < d.cfg.Gap {
		d.spikes += n
	} else {
		d.between += n
	}
}

// add puts a pulse into the read, in order of time: where both wires were low at once they may end the other way round.
func (d *Decoder) add(p *Pulse) {
	d.onWire[p.Wire&1]++
	if d.open() && d.cut && d.cutAt > d.lastEnd && p.At-d.lastEnd < d.gapOf(d.pulses[:d.n]) {
		d.faults = d.faults.with(UnknownLevel)
	}
	if d.rest > 0 {
		d.pulses[d.n+d.rest] = *p
		d.lastEnd = max(d.lastEnd, p.end())
		d.rest++
		return
	}
	if d.closed {
		if d.paused && p.At-d.lastEnd < d.cfg.Gap {
			d.faults = d.faults.with(Continued)
		}
		d.n, d.total, d.pause, d.closed, d.paused = 0, 0, 0, false, false
	}
	if d.total == 0 {
		d.addEarly(p)
	}
	if d.n > 0 && p.At-d.lastEnd > d.silence {
		d.pause = d.n
	}
	if d.total++; d.total == 1 {
		d.lastEnd = p.end()
	}
	d.lastEnd = max(d.lastEnd, p.end())
	d.pulses[d.n] = *p
	d.n++
	if d.n > 1 && d.pulses[d.n-2].At > p.At {
		d.reorder()
	}
	switch {
	case d.pause > 0 && d.parts(d.pulses[d.pause].At-d.pulses[d.pause-1].end()):
		d.split()
	case d.n > wiegand.MaxBits:
		d.n, d.pause = wiegand.MaxBits, 0
		d.faults = d.faults.with(TooLong)
	}
}

// reorder moves the last pulse forward to its place in time.
func (d *Decoder) reorder() {
	for i := d.n - 1; i > 0 && d.pulses[i-1].At > d.pulses[i].At; i-- {
		d.pulses[i-1], d.pulses[i] = d.pulses[i], d.pulses[i-1]
	}
}

// Pause says that no more edges come for now, for longer than a gap by some other clock. It ends the read in the making
// and tells whether there was one. Where an edge comes after all that belongs to it, the next read is marked
// [Continued]. Where two reads have come with little silence between them there is one more: call it until it returns
// false.
func (d *Decoder) Pause() bool {
	if d.drain() {
		return true
	}
	if d.rest > 0 {
		d.resume()
	}
	switch had := d.closed; {
	case !d.flush(0):
		return d.closed && !had
	default:
		d.close(0)
		d.paused = true
		return true
	}
}

// End says that the recording ends at the time at. It ends the read in the making and tells whether there was one. A
// read is marked [CutEnd] where a wire is still low or the silence since the last pulse is too short to tell, and
// [OpenEnd] where the recording ends with the pulse itself. Call it until it returns false: two reads with little
// silence between them may end together.
func (d *Decoder) End(at time.Duration) bool { return d.end(at, false) }

func (d *Decoder) end(at time.Duration, damaged bool) bool {
	if d.drain() || d.pass(max(d.now, min(at, maxTime))) {
		return true
	}
	low, had := d.wires[0].isOpen() || d.wires[1].isOpen(), d.closed
	if !d.flush(d.cfg.Glitch) {
		return d.closed && !had
	}
	var f Faults
	switch silent := d.now - d.lastEnd; {
	case damaged || low:
		f = f.with(CutEnd)
	case silent <= d.cfg.Glitch:
		f = f.with(OpenEnd)
	case silent < d.doubt():
		f = f.with(CutEnd)
	}
	d.close(f)
	return true
}

// flush finishes the pulses in the making, whether or not they have settled, but for those that have been low for less
// than a time; it tells whether a read is open.
func (d *Decoder) flush(least time.Duration) bool {
	for i := range d.wires {
		switch w := &d.wires[i]; {
		case w.state == settling:
			d.finish(w, Wire(i))
		case w.state == active && !w.early && d.now-w.since >= least:
			p := d.endless(w, Wire(i))
			d.add(&p)
		}
	}
	return d.open()
}
