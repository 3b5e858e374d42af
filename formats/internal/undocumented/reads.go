package undocumented

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Reads is what the reads of a sample come to whatever is printed on the cards. It serves all samples of the same
// reads, one after the other.
type Reads struct {
	finder  *Finder
	layouts []Layout       // that no table has, each without its number; none where that was not asked
	framed  []float64      // by frame of the catalogue: what unread says, 0 where it was not asked
	sums    table[float64] // the same by end and first bit, where that is of use for no other length
	*numbers
}

// numbers is what reads come to whatever zeros are before them.
type numbers struct {
	data *data
	sums table[float64] // by end and first bit: what unread says, 0 where it was not asked
}

// NewReads prepares the reads of a sample.
func NewReads(s *Sample) *Reads {
	return &Reads{finder: NewFinder(s), numbers: &numbers{data: newData(s)}}
}

// Reset prepares other reads in the same memory.
func (r *Reads) Reset(s *Sample) {
	r.finder.reset(s)
	r.layouts, r.framed = r.layouts[:0], nil
	r.sums.forget()
	r.numbers.sums.forget()
	r.data.forget()
	r.data.take(s)
}

// Longer prepares the reads of a sample that have other zeros before them, and do not differ else.
func (r *Reads) Longer(s *Sample) *Reads { return &Reads{finder: NewFinder(s), numbers: r.numbers} }

// Length returns how many bits the reads have.
func (r *Reads) Length() int { return r.finder.s.Length }

// unlisted returns the layouts that no table has whose checks hold.
func (r *Reads) unlisted() []Layout {
	if len(r.layouts) == 0 {
		all := r.finder.frames()
		r.layouts = slices.Grow(r.layouts, len(all))
		for _, fr := range all {
			if p := r.finder.evidence(&fr); p > 0 {
				r.layouts = append(r.layouts, Layout{Start: fr.start, First: fr.first, Last: fr.last, From: fr.from, To: fr.to,
					Known: -1, checks: math.Log(p),
					prior: math.Log(fr.share) + LengthLog(r.finder.s.Length) + math.Log(p)})
			}
		}
	}
	return r.layouts
}

// unread is the log of all that the data can be if no print says where the number is: what unprinted adds up to. It is
// the same for a bit that begins each read as for a check there, and for zeros before all that.
func (u *search) unread(l Layout) float64 {
	n, sums := u.s.Length, &u.numbers.sums
	if len(u.s.Reads) == 1 || u.data.some() != nil { // their length counts, or what was weighed before
		sums = &u.Reads.sums
	}
	log := sums.at(n-l.To, n-l.From, n)
	if l.Known >= 0 {
		if u.framed == nil {
			u.framed = make([]float64, len(u.frames))
		}
		log = &u.framed[l.Known]
	}
	if *log == 0 {
		sum := logp.NewMix()
		u.unprinted(l, 0, func(_ Place, log float64) { sum.Add(log) })
		*log = sum.Log()
	}
	return *log
}
