package rank

import (
	"github.com/cardtell/cardtell/formats"
)

// Every number of judgement in the ranking is in this file, with its reason. No published counts were found for any of them;
// they are from memory of what sites have. The rough order matters, not the second digit: the calibration test measures what
// the stated probabilities are worth on sites that are simulated otherwise than assumed here.

const (
	// unknownPrior is the share of cards whose format is in no catalogue: private layouts are a minority at small sites, but
	// met often enough that five reads which fit nothing should be believed.
	unknownPrior = 0.05

	// unknownLow to unknownHigh is where private layouts mostly are; unknownUsual of them. The rest is spread over all lengths.
	unknownLow, unknownHigh = 24, 64
	unknownUsual            = 0.9

	// severalKinds is the chance that cards asked about together are of a second format, or printed in a second way: what is put
	// together mostly came together, but sites add cards of another maker.
	severalKinds = 0.05

	// sitePrior is the share that goes to a site's own formats where a site file names them: lists are right mostly, but the
	// one card that is asked about is often the one that does not belong.
	sitePrior = 0.9

	// unlisted is the share of a population's cards that its line in the site file does not cover.
	unlisted = 0.01

	// sameFacility is the concentration of the Chinese restaurant process for facilities: the weight of a new value against
	// one for each card seen. At 0.2 the second card of a site has another facility one time in six.
	sameFacility = 0.2

	// ownNumbers is the chance that the cards of a second facility have numbers of their own, rather than going on with those of
	// the first: both are usual where cards are ordered again.
	ownNumbers = 0.5

	// The prior for a facility: one byte, as many systems allow; anything the field holds; and the rest by its length in bits.
	// Facility 0 is seldom given out, though not never.
	facilityByte, facilityAny, facilityZero = 0.45, 0.30, 0.002

	// uniformShare is how much of the prior for a number is spread evenly over its field. The other part gives each length of
	// the number in bits the same weight, so that small numbers are likelier, as numbering from 1 makes them.
	uniformShare = 0.5
	// serialUniform is the same for chip serials, which are not numbered from 1.
	serialUniform = 0.95

	// notDate is the share of expiry fields that hold something else than a day of this century.
	notDate = 0.05

	// batched is the chance that a site's numbers come in batches rather than anyhow.
	batched = 0.7
	// serialBatched is the same for chip serials: tags of one production run are near one another at times.
	serialBatched = 0.1
	// oneBlock is the part of the batched sites whose cards all come out of one block, so that they lie equally dense in it.
	oneBlock = 0.3
	// nextNear is the chance that a card of a batched site, in rising order, is near the one before rather than from a new batch.
	nextNear = 0.85
	// batchBits is the size of the largest usual step from one card of a batch to the next, in bits: boxes hold up to some
	// thousands of cards, however wide the field.
	batchBits = 13

	// printUnrelated is the chance that a printed number has nothing to do with what is read: a sticker, another list.
	printUnrelated = 0.03
	// serialUnrelated is the same for a chip serial: many cards carry a number of their own beside it.
	serialUnrelated = 0.4
)

// How a printed number can differ from what its form gives. They add up to less than 1: the rest is misprints and habits
// that are not listed.
const (
	printExact     = 0.72 // as the form writes it
	printSeparator = 0.10 // other separators, or none
	printZeros     = 0.12 // more or fewer zeros at the start
	printSuffix    = 0.03 // only the last digits, four or more
)

// What a printed number looks like that has nothing to do with the card.
const (
	hexShare   = 0.15 // in hex
	widthShare = 0.08 // of any one width: prints have 4 to 16 digits, mostly
	separated  = 0.20 // in two parts
)

// faultPrior is the chance of each fault. Swapped lines are a common slip at a door; most readers and recorders send the
// first bit first; single misreads are rare on a sound line.
var faultPrior = [...]float64{
	None:            0.965,
	SwappedLines:    0.010,
	Reversed:        0.004,
	SwappedReversed: 0.002,
	LostBit:         0.006,
	ExtraBit:        0.005,
	FlippedBit:      0.008,
}

// misreadRates are how often single reads go wrong on a line where they do: now and then, or at a bad line one in ten. A line
// where most reads are wrong is not assumed: reads that mostly fail are better explained by another layout.
var misreadRates = [...]struct{ share, rate float64 }{{0.8, 0.03}, {0.2, 0.10}}

// systematic is the share of lost and extra bits that happen to every read at the same end: a first pulse that is swallowed
// while the reader wakes up, or a last one that comes too late.
const systematic = 0.3

// formWeights is how usual each form is in print, by what a format has. Forms that a format cannot give drop out, and the
// rest is scaled up.
var formWeights = map[class]map[string]float64{
	// A card with facility and number: installers' boxes list the number, or both. Where all data bits are printed as one
	// decimal, whoever printed it took them for one number, so that a format with one number is the better description.
	withFacility: {
		"number": 0.45, "pair": 0.25, "joined": 0.10, "number10": 0.06, "decimal": 0.03, "decimal10": 0.03, "hex": 0.05, "words": 0.02,
	},
	// A card with one number. Two numbers in print speak for a format with two fields.
	withNumber: {
		"number": 0.64, "number10": 0.22, "hex": 0.07, "pair24": 0.02, "joined24": 0.01, "words": 0.03,
	},
	// A chip or tag that is known by its serial: fobs show ten digits, or 3 and 5 digits, or both. Where the print has the
	// bytes in the other order than the read, the format with reversed bytes is the better description.
	withSerial: {
		"number": 0.17, "number10": 0.25, "decimal": 0.03, "hex": 0.12, "pair24": 0.18, "joined24": 0.04, "words": 0.015,
		"uid": 0.12, "uid-reversed": 0.01, "uid-reversed-decimal": 0.02,
	},
	// One number that is a card's at one site and a chip's serial at another: half of each of the two above.
	withEither: {
		"number": 0.405, "number10": 0.235, "decimal": 0.015, "hex": 0.095, "pair24": 0.10, "joined24": 0.025, "words": 0.0225,
		"uid": 0.06, "uid-reversed": 0.005, "uid-reversed-decimal": 0.01,
	},
	// A card with fields of its own names.
	withFields: {"joined": 0.60, "number": 0.20, "hex": 0.10},
}

// class is what a format has, as far as its print goes.
type class uint8

const (
	withFacility class = iota
	withNumber
	withSerial
	withEither
	withFields
)

func classOf(f *formats.Format) class {
	switch {
	case f.Number() < 0:
		return withFields
	case f.Kind == formats.KindSerial:
		return withSerial
	case f.Kind == formats.KindEither:
		return withEither
	case f.Facility() >= 0:
		return withFacility
	}
	return withNumber
}

// part is a way in which a card's data bits can be taken from a chip serial.
type part struct {
	name     string
	weight   float64
	bytes    int  // how many; 0: all
	last     bool // the last ones rather than the first
	reversed bool // their order
}

// parts is how usual each way is. Whole serials are the rule; readers that send fewer bits cut either end. A whole serial with
// its bytes reversed is left to the formats that reverse bytes where there is one.
var parts = []part{
	{"the whole serial, as sent", 0.56, 0, false, false},
	{"the whole serial, last byte first", 0.06, 0, false, true},
	{"its first 4 bytes", 0.06, 4, false, false},
	{"its first 4 bytes, last byte first", 0.06, 4, false, true},
	{"its last 4 bytes", 0.05, 4, true, false},
	{"its last 4 bytes, last byte first", 0.05, 4, true, true},
	{"its first 3 bytes", 0.04, 3, false, false},
	{"its first 3 bytes, last byte first", 0.05, 3, false, true},
	{"its last 3 bytes", 0.04, 3, true, false},
	{"its last 3 bytes, last byte first", 0.03, 3, true, true},
}

// shownFrom is the least probability of a candidate that is kept: below it a reading is noise on the screen.
const shownFrom = 1e-4
