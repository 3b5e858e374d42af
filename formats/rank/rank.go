package rank

import (
	"math"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// Range is a block of card numbers, both ends included.
type Range = formats.Range

// Population is a set of cards that a site is known to use.
type Population = formats.Population

// Fault is what went wrong between card and read.
type Fault = evidence.Fault

// Repair says what has to be done to one read to make it good: nothing for None.
type Repair = evidence.Repair

// The faults. The first four are of the wiring and hold for every read of a site; the last three happen to single
// reads.
const (
	None            = evidence.None
	SwappedLines    = evidence.SwappedLines    // the two data lines are swapped: every bit is inverted
	Reversed        = evidence.Reversed        // the last bit comes first
	SwappedReversed = evidence.SwappedReversed // both
	LostBit         = evidence.LostBit         // a bit is missing
	ExtraBit        = evidence.ExtraBit        // there is a bit too many
	FlippedBit      = evidence.FlippedBit      // a bit is wrong
)

// CardError says which of the cards asked about is at fault.
type CardError = evidence.CardError

// Ranker ranks readings of cards over a catalogue. It is immutable; share it freely. Make one with New: the zero Ranker
// is of no use.
type Ranker struct {
	model *evidence.Model
}

// New makes a Ranker of a catalogue and of what a site is known to use, if anything. The error says which population
// names a format that the catalogue does not have, or which format has no weight above 0.
func New(cat formats.Catalogue, site ...Population) (*Ranker, error) {
	m, err := evidence.New(cat, site)
	if err != nil {
		return nil, err
	}
	return &Ranker{m}, nil
}

// Answer is the posterior over every reading of the cards.
type Answer struct {
	Candidates []Candidate // most probable first
	Frames     []Frame     // frames of the catalogue with other parts than any table has, most probable first
	// probability of all layouts whose frame no table has; with the candidates' and frames' it adds up to 1
	Unknown  float64
	Several  float64  // what [Ranker.Divide] takes from all of these: that no one of them is right of all cards
	First    []string // what is wrong with the cards as they were given, to be told before any candidate
	Warnings []string // what to be careful about, whatever the format

	// log of the probability of the cards, as they were taken first, as those of one kind; 0 where it is not known
	joint float64
	// how probable it is that texts are meant as the cards are, beside other ways; 0 where nothing else is possible
	meant float64
}

// Candidate is one reading: a format, a fault, and what the cards are then.
type Candidate struct {
	Format      *formats.Format
	Fault       Fault
	Probability float64
	Cards       []formats.Card // one for each card asked about; without a format where the card tells nothing
	Repairs     []Repair       // one for each card: what is wrong with its read
	// for each kind of sighting beside the reads, how it follows from the cards; "" where it does not
	Printed []string

	way int // of a TextAnswer, the place in Taken of the likeliest way to it
}

// Frame is a length and checks that the catalogue has, with the bits between divided as no table has it: which of them
// are a facility and which a number is for learn to find out.
type Frame struct {
	Format      *formats.Format // the commonest format of that frame
	Probability float64
}

// Rank answers for cards of one site. The error is a [*CardError] for a card with no sighting or with two different
// reads; no cards at all are an error too.
func (r *Ranker) Rank(cards []formats.Sightings) (Answer, error) {
	var ans Answer
	err := r.RankInto(&ans, cards)
	return ans, err
}

// RankInto is Rank for one question after another: it overwrites an answer and uses its memory again, so that a read
// that gives no warning costs no allocation. On an error the answer is empty.
func (r *Ranker) RankInto(ans *Answer, cards []formats.Sightings) error {
	ans.Candidates, ans.Frames, ans.Unknown, ans.Several = ans.Candidates[:0], ans.Frames[:0], 0, 0
	ans.First, ans.Warnings, ans.joint = nil, nil, 0
	return r.model.Weigh(cards, func(w *evidence.Work) { r.answer(w, ans) })
}

var never = math.Inf(-1)
