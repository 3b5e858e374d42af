package evidence

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"sort"

	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// Reads of several lengths, of layouts that no table has: they are of several kinds, or one length is right and the
// others are misreads.

// lengths weighs both. rest is the log of what is seen of cards without a read.
func (w *Work) lengths(samples []*undocumented.Sample, rest float64, keep undocumented.Keep) {
	together, several := rest, logp.NewMix()
	left := w.q.reads
	for i, s := range samples {
		known := w.m.frames[s.Length]
		logs := w.layouts(s, keep)
		together += logs.Own
		if i > 0 {
			together += math.Log(judgement.SeveralKinds) - math.Log(float64(left)) - logp.Choose(left, len(s.Reads))
			left -= len(s.Reads)
		}
		good, bad := len(s.Reads), w.q.reads-len(s.Reads)
		if bad > good {
			continue
		}
		several.Add(logs.Own + rest + misread.Log(good, bad) - misread.Log(good, 0) + noise(samples, s))
		inFrame := make([]logp.Mix, len(known))
		for k := range inFrame {
			inFrame[k] = logp.NewMix()
		}
		for _, r := range restorations(s, w.readsOf(s), samples, known, logs.Follows, w.onceMore()) {
			right := undocumented.Weigh(r.sample, w.readsOf, w.m.unknown, known, nil)
			log := r.log + rest + misread.Log(good, bad) - misread.Log(len(r.sample.Reads), 0)
			several.Add(right.Own + log)
			for k := range inFrame {
				inFrame[k].Add(right.Frames[k] + log)
			}
		}
		for k := range inFrame {
			if log := inFrame[k].Log(); !math.IsInf(log, -1) {
				w.Frames = append(w.Frames, FrameResult{&known[k], log})
			}
		}
	}
	several.Add(together)
	w.Unknown = several.Log()
}

// onceMore is how often cards are read once more, as in a log: 0 where none is.
func (w *Work) onceMore() float64 { return 1 - float64(len(w.q.cards))/float64(len(w.q.input)) }

// noise is the log probability of the reads of all samples but one, if they are misreads of which nothing can be told.
func noise(samples []*undocumented.Sample, but *undocumented.Sample) (log float64) {
	var all misread.Line
	for _, s := range samples {
		if s == but {
			continue
		}
		for i := range s.Reads {
			log += noiseOf(s, i) + all.Take(misread.Only(misread.Beyond))
		}
	}
	return log
}

// noiseOf is noise for one read.
func noiseOf(s *undocumented.Sample, i int) float64 {
	log := spoilt(s.Reads[i], -float64(s.Length)*math.Ln2)
	for k := range s.Prints[i] {
		log += math.Log(s.Prints[i][k].Floor)
	}
	return log
}

// restored is a sample with misreads of another length put right, and the log of their probability, given it.
type restored struct {
	sample *undocumented.Sample
	log    float64
}

// mostRestored is in how many ways the first misread is put right, where there are no more than ManyReads; the others
// are in the likeliest alone.
const mostRestored = 4

// restorations puts the reads that have a bit or two less or more than those of a sample right, likeliest first, in
// the ways that keep the checks of the others, and go best with them bit by bit; onceMore is how often cards are read
// once more, and follows what [undocumented.Weighed] has of the sample. There is none where no read can be put right.
func restorations(main *undocumented.Sample, of *undocumented.Reads, samples []*undocumented.Sample,
	known []undocumented.Frame, follows func(wiegand.Bits, []typing.Seen) bool, onceMore float64) (all []restored) {
	r := restorer{onceMore: onceMore, of: of, like: main.Likeness(), follows: follows, there: map[wiegand.Bits]bool{},
		reads: slices.Clone(main.Reads), prints: slices.Clone(main.Prints)}
	for _, b := range main.Reads {
		if r.there[b] = true; main.Length > 2 && main.Length <= 66 {
			r.inner.Sorted = append(r.inner.Sorted, inner(b))
		}
	}
	slices.Sort(r.inner.Sorted)
	r.told = float64(r.of.Told()) * math.Ln2
	for k := range known {
		if !slices.ContainsFunc(main.Reads, func(b wiegand.Bits) bool { return !known[k].Layout.Holds(b) }) {
			r.frames = append(r.frames, &known[k])
		}
	}
	for _, s := range samples {
		for i, b := range s.Reads {
			if s == main {
				break
			}
			if could := r.before(b, main.Length, s.Prints[i]); len(could) > 0 {
				r.put(b, s.Prints[i], could)
			} else {
				r.log += noiseOf(s, i) + r.line.Take(misread.Only(misread.Beyond))
			}
		}
	}
	switch {
	case r.first != nil:
		for _, c := range r.first { // which is right behind the sample's own
			line, reads := r.line, slices.Clone(r.reads)
			reads[len(main.Reads)] = c.read
			log := r.log + c.log + line.Take(misread.Only(misread.Way(c.read, r.spoilt)))
			all = append(all, restored{undocumented.NewSample(reads, r.prints), log})
		}
	case len(r.reads) > len(main.Reads):
		all = []restored{{undocumented.NewSample(r.reads, r.prints), r.log}}
	case r.again > 0:
		all = []restored{{main, r.log}}
	}
	return all
}

// restorer puts misreads right, one after the other.
type restorer struct {
	of     *undocumented.Reads   // of the sample
	frames []*undocumented.Frame // of the catalogue, which all reads of the sample have
	like   func(wiegand.Bits) float64
	inner  density.Others // what is between the ends of the reads
	// whether a print follows from a read, nil where none does
	follows func(wiegand.Bits, []typing.Seen) bool
	there   map[wiegand.Bits]bool // reads that are there already
	reads   []wiegand.Bits
	prints  [][]typing.Seen
	first   []couldBe    // what the first one can have been that was not there, of no more than ManyReads
	spoilt  wiegand.Bits // that one
	again   int          // reads of cards that were there
	log     float64      // of all but the first one
	line    misread.Line

	onceMore float64
	told     float64 // log of how many values the bits have that follow from others
}

// before returns the reads of n bits that a read can have been, the likeliest first; more is what else is seen of the
// card. Without that it can be of a card that was read well besides, as in a log.
func (r *restorer) before(b wiegand.Bits, n int, more []typing.Seen) []couldBe {
	once := len(more) > 0 || r.onceMore == 0
	all := slices.DeleteFunc(before(b, n), func(c couldBe) bool { return once && r.there[c.read] })
	for k := range all {
		c := &all[k]
		if c.fit = c.log + r.like(c.read) + r.told + math.Log1p(-r.onceMore); r.there[c.read] {
			c.fit = c.log + math.Log(r.onceMore/float64(len(r.reads)))
		}
	}
	if len(all) > mostFitting {
		sort.SliceStable(all, func(i, j int) bool { return all[i].fit > all[j].fit })
		all = all[:mostFitting]
	}
	for k := range all {
		all[k].fails = r.of.Fails(all[k].read)
		if r.follows != nil && len(more) > 0 && !r.follows(all[k].read, more) {
			all[k].fails += printFails
		}
		if !r.there[all[k].read] {
			next := all[k].log + r.next(all[k].read) + r.told + math.Log1p(-r.onceMore)
			all[k].fit = logp.Add(all[k].fit, next) - math.Ln2
		}
		for _, f := range r.frames {
			all[k].fails += bit(!f.Layout.Holds(all[k].read))
		}
	}
	sort.SliceStable(all, func(i, j int) bool {
		x, y := &all[i], &all[j]
		return cmp.Or(cmp.Compare(x.fails, y.fails), cmp.Compare(y.fit, x.fit)) < 0
	})
	return all
}

// printFails is how many checks a print counts for that does not follow: more than there are.
const printFails = 100

// next is how well a read goes with the others where all between its ends is one number, which boxes hold: what like
// does not see.
func (r *restorer) next(b wiegand.Bits) float64 {
	if n := b.Len() - 2; n > 0 && n <= 64 {
		return density.PlainNumbers[n].Next(inner(b), &r.inner) - 2*math.Ln2
	}
	return logp.Never
}

// inner returns the bits of a read between its first and its last, of which there are 64 at most.
func inner(b wiegand.Bits) uint64 {
	w := b.Words()
	return undocumented.Value(&w, 1, b.Len()-1)
}

// mostFitting is how many reads that one can have been have their checks looked at.
const mostFitting = 256

// put takes a read for the likeliest of what it can have been, and sums over all that goes with the others as well. Of
// the first one all ways are kept.
func (r *restorer) put(b wiegand.Bits, more []typing.Seen, could []couldBe) {
	best, sum := could[0], logp.NewMix()
	var in misread.Line
	for _, c := range could {
		if c.fails == best.fails {
			sum.Add(c.fit)
			in[misread.Way(c.read, b)] += math.Exp(c.fit - best.fit)
		}
	}
	switch {
	case r.there[best.read]:
		r.log += sum.Log() + r.line.Take(&in)
		r.again++
		return
	case r.first == nil && len(r.reads) <= undocumented.ManyReads:
		could = slices.DeleteFunc(could, func(c couldBe) bool { return r.there[c.read] })
		r.first, r.spoilt = could[:min(mostRestored, len(could))], b
	default:
		r.log += sum.Log() - best.fit + best.log + r.line.Take(&in) // the rest is the sample's
	}
	r.reads, r.prints, r.there[best.read] = append(r.reads, best.read), append(r.prints, more), true
	if n := best.read.Len(); n > 2 && n <= 66 {
		r.inner.Take(inner(best.read))
	}
}

// couldBe is a read that another one can have been, and the log of the probability of that one, given it.
type couldBe struct {
	read  wiegand.Bits
	log   float64
	fails int     // bits that break checks of the others, and prints that do not follow
	fit   float64 // log of how well it goes with the others
}

// before returns the reads of n bits that a read can have been before it lost a bit or two, or got as many too many.
func before(b wiegand.Bits, n int) (all []couldBe) {
	reads := map[wiegand.Bits]float64{b: judgement.MisreadLost}
	d := b.Len() - n
	if d > 0 {
		reads[b] = judgement.MisreadExtra
	}
	if d == 2 || d == -2 {
		reads[b] *= judgement.MisreadTwo
	}
	if d == 0 || d < -2 || d > 2 {
		return nil
	}
	for range max(d, -d) {
		reads = undone(reads, d < 0)
	}
	for read, p := range reads {
		all = append(all, couldBe{read: read, log: math.Log(p)})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].read.Compare(all[j].read) < 0 })
	return all
}

// undone returns what reads can have been before each lost a bit, or else got one too many, and how likely that is.
func undone(reads map[wiegand.Bits]float64, lost bool) map[wiegand.Bits]float64 {
	could := map[wiegand.Bits]float64{}
	for _, b := range slices.SortedFunc(maps.Keys(reads), wiegand.Bits.Compare) { // so that sums come out the same
		n := b.Len() + bit(lost)
		for i := range n {
			p := reads[b] * placed(i, 1, n)
			if !lost {
				whole, _ := b.Delete(i)
				could[whole] += p / 2
				continue
			}
			for v := range uint(2) {
				whole, _ := b.Insert(i, v)
				could[whole] += p
			}
		}
	}
	return could
}
