package undocumented

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// Sample is different reads of one length, turned on its side: a column for each bit, which has a bit for each read.
type Sample struct {
	Length int
	Reads  []wiegand.Bits
	Prints [][]typing.Seen // for each read, what else is known of the card
	Origin []int           // its place in the sample that this one was taken of

	left       []wiegand.Bits // reads left out as misreads
	leftPrints [][]typing.Seen
	nothing    float64 // log of all prints if they have to do with nothing; 0 where that was not asked

	words int       // of a column
	last  uint64    // the bits of a column's last word that stand for reads
	vary  [4]uint64 // the bits that are not the same in all reads, at their places
	sums  []uint64  // by bit: the sum over GF(2) of all columns before it, so that the sum of a run is two of them added
}

// NewSample makes a sample of reads, all of one length.
func NewSample(reads []wiegand.Bits, prints [][]typing.Seen) *Sample {
	s := &Sample{Length: reads[0].Len(), Reads: reads, Prints: prints}
	n := len(reads)
	s.words = (n + 63) / 64
	s.last = ^uint64(0) >> uint(64*s.words-n)
	s.sums = make([]uint64, (s.Length+1)*s.words)
	s.Origin = make([]int, n)
	for r := range s.Origin {
		s.Origin[r] = r
	}
	first := reads[0].Words()
	for r, b := range reads {
		at, own := r/64, uint64(1)<<uint(r%64)
		for k, w := range b.Words() {
			s.vary[k] |= w ^ first[k]
			for ; w != 0; w &= w - 1 {
				s.sums[(64*k+bits.LeadingZeros64(w&-w)+1)*s.words+at] |= own
			}
		}
	}
	for i := s.words; i < len(s.sums); i++ {
		s.sums[i] ^= s.sums[i-s.words]
	}
	return s
}

// column returns word w of the column of the bit at an index.
func (s *Sample) column(i, w int) uint64 { return s.sums[(i+1)*s.words+w] ^ s.sums[i*s.words+w] }

// constant reports whether the bit at an index is the same in all reads.
func (s *Sample) constant(i int) bool { return s.vary[i>>6]>>(63-uint(i)&63)&1 == 0 }

// sense returns 0 where the ones among the bits from..to-1 and the bit at own are even in number in every read, 1
// where they are odd in every read, -1 where that changes. own may be -1, for none.
func (s *Sample) sense(from, to, own int) int {
	sense := s.wordSense(s.sum(from, to, own, 0), 0)
	for w := 1; w < s.words && sense >= 0; w++ {
		if s.wordSense(s.sum(from, to, own, w), w) != sense {
			return -1
		}
	}
	return sense
}

// sum returns word w of the sum over GF(2) of the columns from..to-1 and that at own, if it is not -1.
func (s *Sample) sum(from, to, own, w int) uint64 {
	sum := s.sums[to*s.words+w] ^ s.sums[from*s.words+w]
	if own >= 0 {
		sum ^= s.column(own, w)
	}
	return sum
}

// wordSense is sense for one word of a sum.
func (s *Sample) wordSense(sum uint64, w int) int {
	switch all := s.ofWord(w); sum & all {
	case 0:
		return 0
	case all:
		return 1
	}
	return -1
}

// ofWord returns the bits of word w of a column that stand for reads.
func (s *Sample) ofWord(w int) uint64 {
	if w == s.words-1 {
		return s.last
	}
	return ^uint64(0)
}

// Value returns the bits from..to-1 of a read as a number; a run of more than 64 bits has no number, and gives its
// last 64.
func Value(w *[4]uint64, from, to int) uint64 {
	n := to - from
	if n <= 0 {
		return 0
	}
	if n > 64 {
		from, n = to-64, 64
	}
	hi, at := from>>6, from&63
	v := w[hi] << uint(at)
	if at > 0 && hi < 3 {
		v |= w[hi+1] >> uint(64-at)
	}
	return v >> uint(64-n)
}

// Printed reports whether something else is seen of any of the cards.
func (s *Sample) Printed() bool {
	return slices.ContainsFunc(s.Prints, func(more []typing.Seen) bool { return len(more) > 0 })
}

// without returns the sample without some reads, and the log of the probability of those: a misread is mostly like
// the other reads, so that each of its bits is what the others have about as often as they have it; or it is noise.
// What is printed on its card is left to the layouts.
func (s *Sample) without(left []int) (rest *Sample, log float64) {
	rest = s.with(left, make([]wiegand.Bits, len(left)))
	return rest, s.misreadsLog(left, make([]wiegand.Bits, len(left)), rest)
}

// with returns the sample with some reads put right, those left out that are empty then.
func (s *Sample) with(places []int, right []wiegand.Bits) *Sample {
	var reads, left []wiegand.Bits
	var prints, leftPrints [][]typing.Seen
	var origin []int
	for r, b := range s.Reads {
		if k := slices.Index(places, r); k >= 0 {
			if b = right[k]; b.Len() == 0 {
				left, leftPrints = append(left, s.Reads[r]), append(leftPrints, s.Prints[r])
				continue
			}
		}
		reads, prints, origin = append(reads, b), append(prints, s.Prints[r]), append(origin, r)
	}
	with := NewSample(reads, prints)
	with.left, with.leftPrints, with.Origin, with.nothing = left, leftPrints, origin, s.nothing
	return with
}

// Likeness returns a function that gives the log probability of one more read if each bit is by itself, given those of
// the sample, or if it is anything, each as often as the other.
func (s *Sample) Likeness() func(wiegand.Bits) float64 {
	ones := make([]float64, s.Length)
	for i := range ones {
		for w := range s.words {
			ones[i] += float64(bits.OnesCount64(s.column(i, w)))
		}
	}
	n := float64(len(s.Reads))
	anything := -float64(s.Length+1) * math.Ln2
	return func(b wiegand.Bits) float64 {
		log := -math.Ln2
		for i := range ones {
			k := ones[i]
			if b.Bit(i) == 0 {
				k = n - k
			}
			log += math.Log((k + 0.5) / (n + 1))
		}
		return logp.Add(log, anything)
	}
}

// Varying returns the bits that are not the same in all reads.
func (s *Sample) Varying() [4]uint64 { return s.vary }
