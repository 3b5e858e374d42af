package evidence

import (
	"cmp"
	"math"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// Reads of several lengths, of layouts that no table has: they are of several kinds, or one length is right and the
// others are misreads.

// lengths weighs both. rest is the log of what is seen of cards without a read.
func (w *Work) lengths(samples []*Sample, rest float64, keep func(*Sample, Layout, []int)) {
	together, several := rest, newMix()
	left := w.q.reads
	for i, s := range samples {
		known := w.m.frames[s.Length]
		own, _ := Undocumented(s, w.m.unknown, known, keep)
		together += own
		if i > 0 {
			together += math.Log(severalKinds) - math.Log(float64(left)) - logChoose(left, len(s.Reads))
			left -= len(s.Reads)
		}
		good, bad := len(s.Reads), w.q.reads-len(s.Reads)
		if bad > good {
			continue
		}
		several.add(own + rest + misreads(good, bad) - misreads(good, 0) + noise(samples, s) +
			(&ways{wayBeyond: bad}).alike())
		inFrame := make([]logMix, len(known))
		for k := range inFrame {
			inFrame[k] = newMix()
		}
		for _, r := range restorations(s, samples) {
			own, frames := Undocumented(r.sample, w.m.unknown, known, nil)
			log := r.log + rest + misreads(good, bad) - misreads(len(r.sample.Reads), 0)
			several.add(own + log)
			for k := range inFrame {
				inFrame[k].add(frames[k] + log)
			}
		}
		for k := range inFrame {
			if log := inFrame[k].log(); !math.IsInf(log, -1) {
				w.Frames = append(w.Frames, FrameResult{&known[k], log})
			}
		}
	}
	several.add(together)
	w.Unknown = several.log()
}

// noise is the log probability of the reads of all samples but one, if they are misreads of which nothing can be told.
func noise(samples []*Sample, but *Sample) (log float64) {
	for _, s := range samples {
		if s == but {
			continue
		}
		for i := range s.Reads {
			log += noiseOf(s, i)
		}
	}
	return log
}

// noiseOf is noise for one read.
func noiseOf(s *Sample, i int) float64 {
	log := math.Log(misreadTwo+misreadMore) - float64(s.Length)*math.Ln2
	for k := range s.Prints[i] {
		log += math.Log(s.Prints[i][k].floor)
	}
	return log
}

// restored is a sample with misreads of another length put right, and the log of their probability, given it.
type restored struct {
	sample *Sample
	log    float64
}

// mostRestored is in how many ways the first misread is put right, where there are no more than manyReads; the others
// are in the likeliest alone.
const mostRestored = 4

// restorations puts the reads that have a bit less or more than those of a sample right, likeliest first, in the ways
// that keep the checks of the others, and go best with them bit by bit. There is none where no read can be put right.
func restorations(main *Sample, samples []*Sample) (all []restored) {
	finder, like, there := newFinder(main), main.likeness(), make(map[wiegand.Bits]bool, len(main.Reads))
	for _, b := range main.Reads {
		there[b] = true
	}
	reads, prints := slices.Clone(main.Reads), slices.Clone(main.Prints)
	log, faults := 0.0, ways{}
	var first []couldBe
	for _, s := range samples {
		for i, b := range s.Reads {
			if s == main {
				break
			}
			could := before(b, main.Length)
			could = slices.DeleteFunc(could, func(c couldBe) bool { return there[c.read] })
			if len(could) == 0 {
				log += noiseOf(s, i)
				faults[wayBeyond]++
				continue
			}
			for k := range could {
				could[k].fails, could[k].fit = finder.fails(could[k].read), could[k].log+like(could[k].read)
			}
			slices.SortStableFunc(could, func(x, y couldBe) int {
				return cmp.Or(cmp.Compare(x.fails, y.fails), cmp.Compare(y.fit, x.fit))
			})
			best := could[0]
			there[best.read] = true
			reads, prints = append(reads, best.read), append(prints, s.Prints[i])
			if first == nil {
				first = could[:min(mostRestored, len(could))]
				continue
			}
			sum := newMix() // of all that it can have been, which go with the others in as many ways
			for _, c := range could {
				if c.fails == best.fails {
					sum.add(c.fit)
				}
			}
			log += sum.log() - best.fit + best.log
			faults[wayOf(best.read, b)]++
		}
	}
	if len(main.Reads) > manyReads {
		first = first[:min(1, len(first))]
	}
	for _, c := range first { // which is right behind the sample's own
		reads = slices.Clone(reads)
		reads[len(main.Reads)] = c.read
		all = append(all, restored{NewSample(reads, prints), log + c.log + faults.alike()})
	}
	return all
}

// couldBe is a read that another one can have been, and the log of the probability of that one, given it.
type couldBe struct {
	read  wiegand.Bits
	log   float64
	fails int     // bits that break checks of the others
	fit   float64 // log of how well it goes with the others
}

// before returns the reads of n bits that a read can have been before it lost a bit, or got one too many.
func before(b wiegand.Bits, n int) (all []couldBe) {
	count := map[wiegand.Bits]float64{}
	switch b.Len() - n {
	case -1:
		for i := range n {
			for v := range uint(2) {
				whole, _ := b.Insert(i, v)
				count[whole] += misreadLost * placed(i, 1, n)
			}
		}
	case 1:
		for i := range b.Len() {
			whole, _ := b.Delete(i)
			count[whole] += misreadExtra * placed(i, 1, n+1) / 2
		}
	}
	for read, p := range count {
		all = append(all, couldBe{read: read, log: math.Log(p)})
	}
	slices.SortFunc(all, func(x, y couldBe) int { return x.read.Compare(y.read) })
	return all
}
