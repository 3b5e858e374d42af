package reads

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// Seen is what came so far. Keys of a keypad are no cards and count nowhere.
type Seen struct {
	Cards []wiegand.Bits          // the bits to go by, in the order in which they came
	Sound map[wiegand.Bits]bool   // those that were read without a doubt at least once
	Open  map[wiegand.Bits]Placed // those with lost pulses whose places are known

	keep   bool
	counts map[wiegand.Bits]int // how often each came, as it came
	more   bool                 // there were more than maxDistinct
}

const (
	maxDistinct = 10000 // that are told apart, so that a long recording needs no more memory
	maxListed   = 5
)

// NewSeen returns an empty one. Only with keep it has the cards, for what is done with all of them together.
func NewSeen(keep bool) *Seen {
	return &Seen{keep: keep, counts: map[wiegand.Bits]int{}, Sound: map[wiegand.Bits]bool{},
		Open: map[wiegand.Bits]Placed{}}
}

// Add takes the next read.
func (s *Seen) Add(e *Entry) {
	if e.Came.Len() == 0 || e.KeyCount > 0 {
		return
	}
	s.count(e.Came)
	if !s.keep {
		return
	}
	best := e.best()
	s.Cards = append(s.Cards, best)
	if e.Placed.Open.OnesCount() > 0 {
		s.Open[best] = e.Placed
	}
	if e.Verdict != line.Suspect.String() {
		s.Sound[best] = true
	}
}

func (s *Seen) count(b wiegand.Bits) {
	if _, ok := s.counts[b]; !ok && len(s.counts) >= maxDistinct {
		s.more = true
		return
	}
	s.counts[b]++
}

// print lists the reads that came most often, where any came more than once.
func (s *Seen) print(w io.Writer) {
	reads := slices.SortedFunc(maps.Keys(s.counts), func(a, b wiegand.Bits) int {
		return cmp.Or(cmp.Compare(s.counts[b], s.counts[a]), a.Compare(b))
	})
	if len(reads) == 0 || s.counts[reads[0]] < 2 || s.more {
		return
	}
	most := make([]string, 0, maxListed)
	for _, b := range reads[:min(len(reads), maxListed)] {
		most = append(most, fmt.Sprintf("%s %d×", b.Hex(), s.counts[b]))
	}
	rest := ""
	if n := len(reads) - maxListed; n > 0 {
		rest = fmt.Sprintf(", and %d more", n)
	}
	say.Print(w, "  ", "by bits: "+strings.Join(most, ", ")+rest)
}
