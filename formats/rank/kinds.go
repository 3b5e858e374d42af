package rank

import (
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/wiegand"
)

// Kinds tells cards of several formats, or with several ways of printing, from one another. An answer of [Ranker.Rank]
// has one format for all cards; where a site has cards of several makers, each kind is to be ranked by itself.
type Kinds struct {
	Groups      [][]int // places of the cards, from 0, in rising order; the group of the first card comes first
	Probability float64 // that they are of more than one kind; 0 where they can be of one only

	// Doubtful has the cards that may well be of another of the kinds than the one they are put with, in rising order: all
	// those of a length of which there are more than 100.
	Doubtful []int

	// Otherwise has for each group how else its cards may be dealt out.
	Otherwise [][]Otherwise
}

// Otherwise is another way to deal out the cards of a group: they are of the kinds of which the parts are, which have
// all of them between them, or are of one kind with others, and then there is one part, which has the others too.
type Otherwise = evidence.Otherwise

// Kinds looks for cards of several kinds among those asked about. Those of different lengths are of different kinds,
// unless a bit lost or added makes them alike; those of one length are split in two where the two halves are together
// likelier than all in one, and each half again. All in one group is the answer where they are of one kind, or where it
// can't be told. The error is that of Rank. [Ranker.Divide] answers for each of them.
func (r *Ranker) Kinds(cards []formats.Sightings) (Kinds, error) {
	k, err := r.model.Kinds(cards)
	return Kinds(k), err
}

// ByLength returns the places of cards, from 0, sorted by the length of their reads, in the order in which the lengths
// come. Cards without a read are a group of their own.
func ByLength(cards []formats.Sightings) (groups [][]int) { return evidence.ByLength(cards) }

// readOf returns the read of a card, empty where there is none.
func readOf(s formats.Sightings) wiegand.Bits { return evidence.ReadOf(s) }
