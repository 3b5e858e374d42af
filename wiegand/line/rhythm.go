package line

import (
	"math"
	"slices"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// A reader sends at a steady pace, so that time itself says where a pulse is missing or too many. How far a pace may
// vary and still tell is worked out here: where every interval keeps within a fifth of the median, two of them together
// (1.6 and more) are never taken for one (1.2 and less). The limits lie between, and beyond them nothing is said.
const (
	// missFrom and echoTo are the parts of a beat from which an interval is too long, and up to which it is too short.
	missFrom, echoTo = 1.5, 0.6
	// onBeatFrom and onBeatTo are what a beat of an unsteady reader still is.
	onBeatFrom, onBeatTo = 0.7, 1.4
	// keptWithin is how far from a whole number of beats a silence of several may be, as a part of a beat, to say that a
	// reader is steady; offBeat is how far to count its beats once that is known.
	keptWithin, offBeat = 0.2, 0.35
	// sureSpreads is how many standard deviations of a silence must fit into half a beat to count its beats.
	sureSpreads = 3
	// steadyAlone is the standard deviation, as a part of a beat, up to which one wire alone tells its beats: beyond it
	// another beat may fit as well.
	steadyAlone = 0.1
	// widestSpread is what part of the widest of a dozen deviations, all equally likely up to a limit, their standard
	// deviation is.
	widestSpread = 0.62
	// unsteadyFrom is the standard deviation of a beat, as a part of it, from which a lost pulse may not show; some
	// intervals vary by a quarter then. Beyond unsteadyTo what looks like a lost pulse may be none.
	unsteadyFrom, unsteadyTo = 0.15, 0.175
	// mendTo is the standard deviation of a beat, as a part of it, up to which a read is mended: that of intervals which
	// keep within a fifth, and what few of them seem to have. Beyond it, one of 200 good ones may be as long as two.
	mendTo = 0.13
	// shortestBeat is what no reader is faster than: a pulse takes longer.
	shortestBeat = time.Microsecond
	// surelyCounted is how many beats a silence may have to be counted without knowing the beat exactly.
	surelyCounted = 3
	// bounceRatio is how much shorter than any interval between bits those between the bounces of one contact must be.
	bounceRatio = 1.8
	// tooNear is what part of the mean interval two pulses without a pace must be apart to be two bits.
	tooNear = 5
	// noiseRatio is how many times as long as another a pulse lasts that the same reader did not make; narrowRatio where
	// one of the two is narrower than any may be.
	noiseRatio, narrowRatio = 4, 2.5
	// minBounces is how many bits it takes to say that all of them bounce.
	minBounces = 4
)

// part returns a part of a time.
func part(of float64, t time.Duration) time.Duration { return time.Duration(of * float64(t)) }

// rhythm looks for pulses that are missing or too many, and puts the read that their places in time give into d.read.
// The intervals come in order of time and are used up. Where the pace is not steady, that is all there is to tell.
// found is what crosstalk found.
func (d *Decoder) rhythm(pulses []Pulse, intervals []time.Duration, found Faults) Faults {
	if found != 0 {
		intervals = startIntervals(intervals[:0], pulses)
	}
	if len(intervals) < 2 {
		return found
	}
	steady := found == 0 && isSteady(slices.Min(intervals), slices.Max(intervals))
	delays := intervals
	switch {
	case slices.ContainsFunc(pulses, func(p Pulse) bool { return p.Faults.Has(BothLow) }):
		delays = nil // what comes on both wires at once is no echo
	case steady:
		n := len(pulses) // half a beat late, or the bits of a card may be so
		delays = intervals[:boolBit(n < shortestCard || n >= 2*shortestCard)]
	}
	switch {
	case d.echoes(pulses, delays):
		return 1 << Doubled
	case steady:
		return 0
	}
	sortTimes(intervals)
	if longest, f := bouncing(pulses, intervals, d.limits.IntervalMin); longest > 0 {
		found = found.with(f)
		markRepeats(pulses, longest, found)
		intervals = startIntervals(intervals[:0], pulses)
		sortTimes(intervals)
	}
	oneWire := d.cfg.Coding == TwoWire && isOneWire(pulses)
	pace := paceOf(pulses, intervals, oneWire)
	switch {
	case oneWire:
	case pace.beat == 0 || pace.spread > unsteadyTo:
		return found.with(Unsteady) | d.ofUnsteady(pulses, intervals)
	case pace.spread > unsteadyFrom:
		found = found.with(Unsteady)
	}
	if pace.beat == 0 { // no key of one value: those of the other wire are missing
		return found.with(OneWire)
	}
	if oneWire {
		if isNoise(pulses, false) { // those of the other wire may be among them
			return found
		}
		if d.mend(pulses, pace, oneWire); d.read.Mended.Len() > 0 {
			return found // that a wire is dead says it all
		}
	}
	found |= markOffBeat(pulses, pace.beat)
	if found == 1<<Missing && isGrouped(pulses) {
		for i := range pulses {
			pulses[i].Faults &^= 1 << Missing
		}
		return 1 << Grouped
	}
	if found != 0 && pace.spread <= mendTo && d.total == d.n {
		d.mend(pulses, pace, oneWire)
	}
	return found
}

// markOffBeat marks the pulses before which one may be missing, and those that may be too many.
func markOffBeat(pulses []Pulse, beat time.Duration) (found Faults) {
	last := pulses[0].At
	for i := 1; i < len(pulses); i++ {
		p := &pulses[i]
		if p.Faults&repeats != 0 {
			continue
		}
		switch v := p.At - last; {
		case v >= part(missFrom, beat):
			p.Faults, found = p.Faults.with(Missing), found.with(Missing)
		case v <= part(echoTo, beat):
			p.Faults, found = p.Faults.with(Doubled), found.with(Doubled)
		}
		last = p.At
	}
	return found
}

// Of a reader that sends in groups, each has leastGroup bits or a power of two times as many, and the longest of
// leastPauses or more pauses between them is no more than pausesAlike times the shortest. That pulses are lost at just
// these places is one case in thousands.
const leastGroup, leastPauses, pausesAlike = 4, 3, 1.25

// isGrouped tells whether the silences in which a pulse may be missing come after every so many bits, and are alike.
func isGrouped(pulses []Pulse) bool {
	group, pauses := 0, 0
	shortest, longest := time.Duration(math.MaxInt64), time.Duration(0)
	for i, p := range pulses {
		if !p.Faults.Has(Missing) {
			continue
		}
		if pauses++; pauses == 1 {
			group = i
		}
		if i != pauses*group {
			return false
		}
		since := p.At - pulses[i-1].At
		shortest, longest = min(shortest, since), max(longest, since)
	}
	return group >= leastGroup && group&(group-1) == 0 && pauses >= leastPauses && pauses == (len(pulses)-1)/group &&
		longest <= part(pausesAlike, shortest)
}

// paceOf returns the pace of a reader: what the largest group of intervals have in common, if
// the pulses keep to it, or else the next largest. On a line of which one wire is dead, twice the beat may be more
// frequent.
func paceOf(pulses []Pulse, sorted []time.Duration, oneWire bool) pace {
	var tried [4]time.Duration
	tries := 1
	if oneWire {
		tries = len(tried)
	}
	for i := range tries {
		best, at := 0, 0
		for lo, hi := 0, 0; hi < len(sorted); hi++ {
			for sorted[lo] < sorted[hi]/4*3 {
				lo++
			}
			middle := sorted[(lo+hi)/2]
			known := func(t time.Duration) bool { return onBeat(middle, t) }
			if hi-lo+1 > best && !slices.ContainsFunc(tried[:i], known) {
				best, at = hi-lo+1, lo
			}
		}
		if best == 0 {
			return pace{}
		}
		beat := max(1, sorted[at+best/2])
		tried[i] = beat
		from, _ := slices.BinarySearch(sorted, part(echoTo, beat))
		to, _ := slices.BinarySearch(sorted, part(missFrom, beat))
		if from < to {
			beat = max(1, sorted[(from+to)/2])
		}
		if short, _ := slices.BinarySearch(sorted, part(onBeatFrom, beat)); !oneWire && short > 2*(anyOf(len(sorted))+1) {
			break // each is too many, or the one behind it is: no need to look
		}
		if rough := keepsTo(pulses, beat, oneWire); rough.beat > 0 {
			if exact := keepsTo(pulses, rough.beat, oneWire); exact.beat > 0 {
				return exact
			}
			return rough
		}
	}
	return pace{}
}

// onBeat tells whether an interval is one beat of a reader that is not quite steady.
func onBeat(v, beat time.Duration) bool {
	return v >= part(onBeatFrom, beat) && v <= part(onBeatTo, beat)
}

// keepsTo tells whether pulses keep to a beat: all but a few are one beat or a whole number of beats apart, as they are
// where pulses are lost or a wire is cut. The fewer are one beat apart, the better the others must fit. Up to one in
// eight may be anything, and two of eight pulses or more.
func keepsTo(pulses []Pulse, beat time.Duration, oneWire bool) pace {
	g := grid{beat: beat, last: pulses[0].At}
	var n, on, loose, odd, twice, counted int
	var sum, beats, widest time.Duration
	square := 0.0
	for i := 1; i < len(pulses); i++ {
		if pulses[i].Faults&repeats != 0 {
			continue
		}
		n++
		last := g.last
		k, off := g.place(pulses, i)
		v := pulses[i].At - last
		switch {
		case onBeat(v, beat):
			on++
			widest = max(widest, off)
		case k < 2 || off > part(offBeat, beat):
			odd++
			if k == 0 {
				twice++
			}
			continue
		case off > part(keptWithin, beat):
			loose++
		}
		if k <= surelyCounted {
			sum, beats = sum+v, beats+time.Duration(k)
			square += float64(off) * float64(off) / float64(k)
			counted++
		}
	}
	allowed := anyOf(n)
	switch {
	case oneWire: // which is suspect in any case; few pulses and long silences fit many a beat
		allowed = n / 8
		odd += twice * n
	case 2*on < n:
		odd += loose
	}
	if odd > allowed || on == 0 || !oneWire && 3*on < n || beats == 0 || sum/beats < shortestBeat {
		return pace{}
	}
	p := pace{beat: sum / beats, most: 2}
	p.spread = math.Sqrt(square/float64(counted)) / float64(p.beat)
	few := 1 / float64(counted)
	spread := max(p.spread, widestSpread*float64(widest)/float64(p.beat)) * (1 + few)
	if oneWire && p.spread*(1+4*few) > steadyAlone {
		p.most = 1
		return p
	}
	for p.most < wiegand.MaxBits { // the spread of k beats, and of k times a beat that is itself known from so many
		k := float64(p.most + 1)
		if sureSpreads*spread*math.Sqrt(k+k*k/float64(beats)) > 0.5 {
			break
		}
		p.most++
	}
	return p
}

// anyOf returns how many of so many intervals may be anything.
func anyOf(n int) int { return max(n/8, min(2, n/4)) }

// pace is how a reader sends: the usual interval, 0 where it has none, and how many beats of silence can be counted.
// Each beat differs by chance, and those of a silence together by so much more that half a beat either way is soon
// nothing.
type pace struct {
	beat   time.Duration
	spread float64 // standard deviation of a beat, as a part of it
	most   int
}

// isOneWire tells whether all pulses came on the same wire.
func isOneWire(pulses []Pulse) bool {
	return !slices.ContainsFunc(pulses, func(p Pulse) bool { return p.Wire != pulses[0].Wire })
}

// grid follows the beats of a read: the last pulse that was in time, and when it should have come by the one before it.
type grid struct {
	beat, last, due time.Duration
	known           bool // there was one before it
}

// place returns how many beats pulse i comes after the one before it, and how far it is off. It is 0 where one of the
// two is too many; how far off the read then is without the one before is known where that is the one.
func (g *grid) place(pulses []Pulse, i int) (k int, off time.Duration) {
	at := pulses[i].At
	since := at - g.last
	if since <= part(echoTo, g.beat) {
		if i+1 == len(pulses) {
			return 0, 0
		}
		was, is := distance(pulses[i+1].At-g.last, g.beat), distance(pulses[i+1].At-at, g.beat)
		if g.known {
			off = distance(at, g.due)
			was, is = was+distance(g.last, g.due), is+off
		}
		if is >= was {
			return 0, 0
		}
		g.last = at // this one is in time, and the one before was too many
		return 0, off
	}
	n := max(1, (since+g.beat/2)/g.beat)
	g.last, g.due, g.known = at, g.last+n*g.beat, true
	return int(min(n, wiegand.MaxBits)), distance(at, g.due)
}

func distance(a, b time.Duration) time.Duration { return max(a-b, b-a) }

// inBeats returns the whole number of beats that a time is nearest to, and how far it is off.
func inBeats(since, beat time.Duration) (beats, off time.Duration) {
	beats = (since + beat/2) / beat
	return beats, distance(since, beats*beat)
}

// bouncing tells whether bits come as two or more pulses of their wire, close together, as a bad contact makes them:
// the longest interval between two of one bit, or 0, and the fault of those that repeat another. That is Bounce where
// every bit does so, or all repeats are too narrow and too soon for a pulse of a reader, as a slow recorder sees them;
// and Doubled where some do, all too soon. On a line of which only one wire is alive a few short intervals may be the
// beat itself, so there they must be shorter than any that is allowed.
func bouncing(pulses []Pulse, sorted []time.Duration, least time.Duration) (time.Duration, Fault) {
	ratio, longest := float64(bounceRatio), time.Duration(0)
	for i := 1; i < len(sorted); i++ {
		if r := float64(sorted[i]) / float64(max(1, sorted[i-1])); r >= ratio {
			ratio, longest = r, max(1, sorted[i-1])
		}
	}
	if longest == 0 {
		return 0, Bounce
	}
	groups, several, in, wires, narrow := 1, 0, 1, 1<<pulses[0].Wire, longest < least
	for i := 1; i < len(pulses); i++ {
		p := pulses[i]
		wires |= 1 << p.Wire
		switch {
		case p.At-pulses[i-1].At > longest:
			groups++
			in = 1
		case p.Wire != pulses[i-1].Wire:
			return 0, Bounce
		default:
			narrow = narrow && p.Faults.Has(Narrow)
			if in++; in == 2 {
				several++
			}
		}
	}
	switch every := groups >= minBounces && 4*several >= 3*groups; {
	case wires != 3 && longest >= least:
		return 0, Bounce
	case every || narrow:
		return longest, Bounce
	case longest < least && groups >= minBounces:
		return longest, Doubled
	}
	return 0, Bounce
}

// repeats are the faults of a pulse that repeats the one before.
const repeats = Faults(1<<Bounce | 1<<Doubled)

// markRepeats marks the pulses that repeat the one before. That they come too soon is no fault of its own.
func markRepeats(pulses []Pulse, longest time.Duration, mark Faults) {
	for i := 1; i < len(pulses); i++ {
		if pulses[i].At-pulses[i-1].At <= longest {
			pulses[i].Faults = pulses[i].Faults&^Faults(0).with(TooSoon) | mark
		}
	}
}

// ofUnsteady returns what pulses without a pace tell of themselves. An unsteady reader is not five times as fast for
// the time of a bit, and faster than any may be: one of two such pulses is none of its own. Nor are its shortest
// intervals all alike, with none a little longer. A key has too few pulses to tell that its reader is unsteady and not
// that some are lost. The intervals are sorted.
func (d *Decoder) ofUnsteady(pulses []Pulse, sorted []time.Duration) (f Faults) {
	n := len(pulses) - 1
	mean, delay := (pulses[n].At-pulses[0].At)/time.Duration(n), delayIn(sorted)
	for i := 1; i <= n; i++ {
		p := &pulses[i]
		since := p.At - pulses[i-1].At
		if p.Faults.Has(TooSoon) && since < mean/tooNear || since <= delay {
			p.Faults = p.Faults.with(Doubled)
			f = f.with(Doubled)
		}
	}
	if beat := steadyRun(pulses); beat > 0 {
		f |= markOffBeat(pulses, beat)
	} else if len(pulses) < shortestCard {
		f |= markOffBeat(pulses, sorted[0])
	}
	if isNoise(pulses, d.spikes > 0) {
		f = f.with(Noise)
	}
	if inSamples(pulses) {
		f = f.with(OneSample)
	}
	if d.cfg.Coding == TwoWire && ofTwo(pulses, d.intervals[:0]) {
		f = f.with(TwoReaders)
	}
	return f
}

// steadyRun returns the beat of pulses of which trainMin in a row or more are steady, as those of an unsteady reader
// never are; else 0.
func steadyRun(pulses []Pulse) time.Duration {
	for i := trainMin; i < len(pulses); i++ {
		shortest, longest := time.Duration(math.MaxInt64), time.Duration(0)
		for k := i; k > 0 && isSteady(shortest, longest); k-- {
			if i-k == trainMin {
				return (pulses[i].At - pulses[k].At) / trainMin
			}
			since := pulses[k].At - pulses[k-1].At
			shortest, longest = min(shortest, since), max(longest, since)
		}
	}
	return 0
}

// delayIn returns the longest of the shortest intervals where these are alike, as echoes are, and others are longer by
// a third: one behind every second pulse at most. Else it is 0.
func delayIn(sorted []time.Duration) time.Duration {
	n := 1
	for n < len(sorted) && sorted[n]-sorted[0] <= sorted[0]/likeEcho {
		n++
	}
	if n < max(minEchoes, len(sorted)/6) || 2*n > len(sorted)+1 || 3*sorted[n] < 4*sorted[n-1] {
		return 0
	}
	return sorted[n-1]
}

// Two readers at once are told where each has trainMin pulses or more that keep its pace, of which no more than
// trainLost in a row, and one in four in all, are hidden by those of the other. With fewer, chance might do it.
const trainMin, trainLost = 12, 2

// ofTwo tells whether the pulses are those of two readers: those that follow the first one at a steady pace, and all
// others. The second pulse of that reader is one of the first few. The two meet by chance: where most pulses come on
// both wires at once, one wire acts on the other.
func ofTwo(pulses []Pulse, others []time.Duration) bool {
	const few, within = 8, 10
	met := 0
	for _, p := range pulses {
		met += int(boolBit(p.Faults.Has(BothLow)))
	}
	if 2*met > len(pulses) {
		return false
	}
	for i := 1; i < min(few, len(pulses)); i++ {
		beat, last, n := max(1, pulses[i].At-pulses[0].At), pulses[0].At, 1
		others = others[:0]
		for k, p := range pulses[1:] {
			since := p.At - last
			beats, off := inBeats(since, beat)
			switch nearer := k+2 < len(pulses) && distance(pulses[k+2].At-last, beats*beat) < off; {
			case nearer || beats < 1 || beats > 1+trainLost || off > beat/within:
				others = append(others, p.At)
				continue
			case beats == 1:
				beat = max(1, since)
			}
			last = p.At
			n++
		}
		if n >= trainMin && isTrain(others) {
			return true
		}
	}
	return false
}

// isTrain tells whether times are those of one reader's pulses, of which some are hidden.
func isTrain(times []time.Duration) bool {
	if len(times) < trainMin {
		return false
	}
	beat := time.Duration(math.MaxInt64)
	for i := 1; i < len(times); i++ {
		beat = max(1, min(beat, times[i]-times[i-1]))
	}
	whole := 0
	for i := 1; i < len(times); i++ {
		beats, off := inBeats(times[i]-times[i-1], beat)
		if beats > 1+trainLost || off > beat/5 {
			return false
		}
		whole += int(boolBit(beats == 1))
	}
	return 4*whole >= 3*(len(times)-1)
}

// inSamples tells whether pulses all last as long as one another, and lie on a grid of as much: that is the recorder's
// sample, and a pulse between two samples left nothing.
func inSamples(pulses []Pulse) bool {
	const enough = 6
	first := pulses[0]
	return len(pulses) >= enough && first.Width >= shortestBeat && onGrid(pulses, first.Width) &&
		!slices.ContainsFunc(pulses, func(p Pulse) bool { return distance(p.Width, first.Width) > first.Width/50 })
}

// sampleWithin is how far from whole samples a time may be, as a part of one.
const sampleWithin = 0.15

// onGrid tells whether pulses begin whole samples apart, as three in ten would at random. How long a sample is gets
// known the better the more time has passed.
func onGrid(pulses []Pulse, sample time.Duration) bool {
	for _, p := range pulses[1:] {
		since := p.At - pulses[0].At
		n := max(1, (since+sample/2)/sample)
		if distance(since, n*sample) > part(sampleWithin, sample) {
			return false
		}
		sample = since / n
	}
	return true
}

// hasTwoWidths tells whether the pulses of a wire are of two widths, each kept well, that are not what a slow recorder
// makes of one: those are a sample apart.
func (d *Decoder) hasTwoWidths(pulses []Pulse, wire Wire) bool {
	const apart, within, enough = 1.25, 1.1, 4
	v := d.intervals[:0]
	for _, p := range pulses {
		if p.Wire == wire && p.Width > 0 && p.Faults&(1<<Spike|1<<BothLow) == 0 && len(v) < cap(v) {
			v = append(v, p.Width)
		}
	}
	if d.cfg.Coding != TwoWire || len(v) <= enough || slices.Max(v) < part(apart, slices.Min(v)) {
		return false
	}
	sortTimes(v)
	i := 1
	for i < len(v) && v[i] <= part(within, v[0]) {
		i++
	}
	if i == len(v) || v[i] < part(apart, v[i-1]) || v[len(v)-1] > part(within, v[i]) || max(i, len(v)-i) < enough {
		return false
	}
	sample := v[i] - v[i-1]
	samples, off := inBeats(v[0], sample)
	return samples == 0 || off > part(sampleWithin, sample) || !onGrid(pulses, sample)
}

// isNoise tells whether some pulses are no reader's, but others are: one lasts several times as long as another, and
// one of the two is outside of the limits; or some that are narrow count, and others, shorter still, did not.
func isNoise(pulses []Pulse, removed bool) bool {
	least, most, outside := time.Duration(math.MaxInt64), time.Duration(0), Faults(0)
	for _, p := range pulses {
		if p.Width > 0 {
			least, most, outside = min(least, p.Width), max(most, p.Width), outside|p.Faults
		}
	}
	return outside.Has(Wide) && most >= noiseRatio*least ||
		outside.Has(Narrow) && (removed || most >= part(narrowRatio, least))
}

// startIntervals appends the intervals of the pulses that do not repeat another.
func startIntervals(dst []time.Duration, pulses []Pulse) []time.Duration {
	last := 0
	for i := 1; i < len(pulses); i++ {
		if pulses[i].Faults&repeats == 0 {
			dst = append(dst, pulses[i].At-pulses[last].At)
			last = i
		}
	}
	return dst
}

// blank is as many zeros as a read may have bits.
var blank = wiegand.BitsFromWords([4]uint64{}, wiegand.MaxBits)

// mend gives each beat from the first pulse to the last its bit, in d.read. On two wires of which only one has pulsed,
// a beat of silence is a bit of the other one; else nobody can say. Nothing is given back where a silence is no whole
// number of beats, or there are more beats than a read has bits.
func (d *Decoder) mend(pulses []Pulse, pace pace, oneWire bool) {
	bits, known := blank, blank
	first := int(boolBit(isCrosstalk(pulses, 0)))
	g, held, slot := grid{beat: pace.beat, last: pulses[first].At}, pulses[first], 0
	dropped, wide := false, time.Duration(0) // all together
	for _, p := range pulses {
		wide += p.Width
	}
	mean := wide / time.Duration(len(pulses))
	isSpike := func(p Pulse) bool { return p.Faults.Has(Narrow) && 3*p.Width <= 2*mean }
	for i, p := range pulses {
		if isCrosstalk(pulses, i) {
			continue
		}
		if i > first {
			k, off := g.place(pulses, i)
			slot += k
			if slot >= wiegand.MaxBits || k > max(1, pace.most) || (k != 1 || dropped) && off > part(offBeat, pace.beat) ||
				dropped && k > 1 { // too many where one is missing: rather a bit that came too soon
				return
			}
			if dropped = k == 0; dropped {
				switch {
				case isSpike(p) == isSpike(held):
					if p.Bit != held.Bit { // two in one beat that differ
						bits, known = bits.WithBit(slot, 0), known.WithBit(slot, 0)
					}
					continue
				case isSpike(p): // beside a pulse of a reader, one that is too narrow is none
					continue
				}
			}
		}
		bits, known = bits.WithBit(slot, uint(p.Bit)), known.WithBit(slot, 1)
		held = p
	}
	n := slot + 1
	switch bits, known = bits.Slice(0, n), known.Slice(0, n); {
	case !oneWire && 2*len(pulses) < n: // nobody knows most of it
	case !oneWire:
		d.read.Mended, d.read.Open = bits, known.Invert()
	case pulses[0].Bit == 0:
		d.read.Mended, d.read.Open = known.Invert(), blank.Slice(0, n)
	default:
		d.read.Mended, d.read.Open = bits, blank.Slice(0, n)
	}
}

// usual returns the median of the intervals of pulses, which it works out in scratch.
func usual(pulses []Pulse, scratch []time.Duration) time.Duration {
	v := scratch[:0]
	for i := 1; i < len(pulses); i++ {
		v = append(v, pulses[i].At-pulses[i-1].At)
	}
	sortTimes(v)
	return v[len(v)/2]
}
