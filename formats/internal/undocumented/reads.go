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
	data    *data
	layouts []Layout // that no table has, each without its number; nil where that was not asked
	sums    []unread
}

// unread is the log of all that the data bits from..to-1 can be if no print says where the number is.
type unread struct {
	known, from, to int // the first is the place of the catalogue's frame, as in Layout
	log             float64
}

// NewReads prepares the reads of a sample.
func NewReads(s *Sample) *Reads { return &Reads{finder: NewFinder(s), data: newData(s)} }

// unlisted returns the layouts that no table has whose checks hold.
func (r *Reads) unlisted() []Layout {
	if r.layouts == nil {
		for _, fr := range r.finder.frames() {
			if p := r.finder.evidence(&fr); p > 0 {
				r.layouts = append(r.layouts, Layout{Start: fr.start, First: fr.first, Last: fr.last, From: fr.from, To: fr.to,
					Known: -1, checks: math.Log(p),
					prior: math.Log(fr.share) + LengthLog(r.finder.s.Length) + math.Log(p)})
			}
		}
	}
	return r.layouts
}

// unread is the sum of what unprinted adds. It is the same for a bit that begins each read as for a check there.
func (u *search) unread(l Layout) float64 {
	at := slices.IndexFunc(u.sums, func(s unread) bool { return s.known == l.Known && s.from == l.From && s.to == l.To })
	if at < 0 {
		sum := logp.NewMix()
		u.unprinted(l, 0, func(_ Place, log float64) { sum.Add(log) })
		at, u.sums = len(u.sums), append(u.sums, unread{l.Known, l.From, l.To, sum.Log()})
	}
	return u.sums[at].log
}
