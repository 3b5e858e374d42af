// Package judgement has every number of the model that is a judgement, with its reason.
//
// No published counts were found for any of them; they are from memory of what sites have. The rough order matters, not
// the second digit: the worlds of the calibration measure what the stated probabilities are worth on sites that are
// made otherwise than assumed here.
package judgement

import (
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Formats and layouts.
const (
	// UnknownPrior is the share of cards whose layout is in no catalogue: private layouts are a minority at small
	// sites, but met often enough that five reads which fit nothing should be believed.
	UnknownPrior = 0.05

	// UnlistedSplit is the share of cards that have a frame of the catalogue (its length and checks) whose bits are
	// divided into facility and number as no table has it, against the weights of the frame's own formats; and as much
	// for every frame, however rare.
	UnlistedSplit, UnlistedAnyway = 0.02, 1.5

	// MemorySplit is how much of a format's weight that is remembered, and nowhere read, goes to its frame with other
	// parts.
	MemorySplit = 0.15

	// UnknownLow to UnknownHigh is where private layouts mostly are; UnknownUsual of them. The rest is spread over all
	// lengths.
	UnknownLow, UnknownHigh = 24, 64
	UnknownUsual            = 0.9

	// SeveralKinds is the chance that cards asked about together are of a second format, or printed in a second way:
	// what is put together mostly came together, but small sites buy where they can, and one sample in seven shows it.
	SeveralKinds = 0.15
	// LooksApart is the chance that cards of two kinds are written down in ways that tell them apart at a glance, as one
	// in hex and the other in decimal.
	LooksApart = 0.5

	// LotByPrint is the chance that cards of one kind that are printed in no way alike came in lots, each with a facility
	// and numbers of its own.
	LotByPrint = 0.3

	// SameFormat is the chance that such a second kind is of the format of the first, and printed or wired otherwise.
	// Cards of one format with another facility, or other boxes, are no kind of their own.
	SameFormat = 0.3
	// SameLength is the chance that a second format has reads as long as the first, whichever that is: a site's readers
	// and controllers are often set to one length.
	SameLength = 0.2

	// SitePrior is the share that goes to a site's own formats where a site file names them: lists are right mostly,
	// but the one card that is asked about is often the one that does not belong.
	SitePrior = 0.9

	// AsSaid is the share of a site's prints that are in the form that its file says: who wrote it had the cards in
	// hand. The others are as usual as they are anywhere.
	AsSaid = 0.98

	// SerialBesideHex is how much less usual a chip's serial is that somebody read with a phone, where the site's cards
	// show their number in hex: both look alike, and the print is at hand.
	SerialBesideHex = 0.05

	// Unlisted is the share of a population's cards that its line in the site file does not cover.
	Unlisted = 0.01
)

// Facilities.
const (
	// The prior for a facility: one byte, as many systems allow; anything the field holds; and the rest by its length
	// in bits. Facility 0 is seldom given out, though not never.
	FacilityByte, FacilityAny, FacilityZero = 0.45, 0.30, 0.002

	// Neighbours is the chance that the facilities of a site that has several are next to one another, as when cards
	// were ordered again from the same maker.
	Neighbours = 0.25

	// OwnNumbers is the chance that the cards of a second facility have numbers of their own, rather than going on with
	// those of the first: both are usual where cards are ordered again.
	OwnNumbers = 0.5
)

// Concentrations is how ready a site is to have another facility: mostly one for all; sometimes two or three; some
// sites pool cards of many. Strength is the weight of a new value against one for each card seen.
var Concentrations = [...]struct{ Share, Strength float64 }{{0.70, 0.05}, {0.25, 0.5}, {0.05, 3}}

// Strays is the share of kinds among which are cards from anywhere, each with any facility: visitors', old ones,
// whatever somebody has. How many of its cards are such is Beta(1, StraysRate); or all of them are, at one in
// StraysAll.
const Strays, StraysRate, StraysAll = 0.05, 3, 0.01

// Numbers.
const (
	// NumbersSpread is the share of kinds whose numbers lie anyhow over the field, SerialSpread the same for chip
	// serials, which are not numbered from 1: at times tags of one production run are near one another. EitherSpread is
	// for numbers that are a card's at one site and a serial at another.
	NumbersSpread, SerialSpread, EitherSpread = 0.30, 0.80, 0.55

	// SerialMaker is the share of long chip serials that begin with who made the chip, as the standards have it: old
	// and foreign chips, and serials cut by a reader, do not. VicinitySerial is the share of those of 8 bytes that are
	// as ISO/IEC 15693-3 has them; the others' first bytes can be anything.
	SerialMaker, VicinitySerial = 0.6, 0.8
	// MakerHigh is the share of those whose maker's code is from 80 hex on, or 0: codes are given out in order, and did
	// not reach that far (from memory).
	MakerHigh = 0.02
	// Stepped is the share of kinds whose numbers are in equal steps: every second card of a box, or numbers that
	// somebody made up. StepsAstray is the share of those among which are numbers that are not.
	Stepped, StepsAstray = 0.005, 0.05
	// FromOne is the share of the other kinds that count up from 1, rather than from anywhere.
	FromOne = 0.4
	// SerialFromOne is the share of kinds whose bytes come last byte first that count up from 1. Those are chip
	// serials, and hardly anybody writes serials of his own.
	SerialFromOne = 0.01
	// StaysLow is the chance, in each halving, that numbers which count up from 1 have not reached the upper half.
	StaysLow = 0.9
	// OneSide is the chance, in each halving, that all numbers of a kind are in one half, since they lie in a box; else
	// some are in each.
	OneSide = 0.96
	// SeveralSide is the same for numbers that lie apart from others and are no box by themselves: two boxes that lie
	// anywhere are both in one half as often as not, and those of one maker are rather near one another.
	SeveralSide = 0.7
	// SmallBox to LargeBox are the usual sizes of boxes of cards in bits: 32 to 8192 cards, however wide the field is;
	// smaller and larger ones are met RareBox times as often.
	SmallBox, LargeBox, RareBox = 5, 13, 0.3

	// NotDate is the share of expiry fields that hold something else than a day of this century.
	NotDate = 0.05
)

// Prints.
const (
	// PrintUnrelated is the chance that the numbers printed on a kind of card have nothing to do with what is read:
	// asset numbers, another list. It is a habit of the kind, not an accident of a card.
	PrintUnrelated = 0.06
	// PrintedRead is the chance that what is noted beside a kind of card is the whole read, checks and all, as readers
	// on a desk and panels show it; in hex the first bit is at the left of the first digit ReadLeft of the time.
	PrintedRead, ReadLeft = 0.015, 0.3
	// PrintedFacility is the chance that only the facility is, and PrintedNumberHex that a print in hex is the number
	// alone of a format that has a facility too.
	PrintedFacility, PrintedNumberHex = 0.01, 0.1
	// PrintedLonger is the chance that what is printed is a longer number of which the data bits are the last.
	PrintedLonger = 0.02
	// PrintedBefore is the chance that another number stands behind the card's, as that of an order, a batch or a copy,
	// with a sign between; PrintedBehind that it stands before it, as a year does; PrintedTurned that a facility stands
	// behind the number.
	PrintedBefore, PrintedBehind, PrintedTurned = 0.01, 0.01, 0.005
	// PrintedThousands is the chance that a sign between two groups of digits parts thousands, where no read says so: one
	// between facility and number is far more usual.
	PrintedThousands = 1e-6
	// PrintedChecked is the chance that the last digit of a print checks the others as ISO/IEC 7812-1 has it, and
	// PrintedDigit that it is another one that is no part of the number.
	PrintedChecked, PrintedDigit = 0.002, 0.002
	// PrintedPrefixed is the chance that a print begins with digits of a year, a site or the like, with no sign between:
	// two mostly.
	PrintedPrefixed = 0.01
	// PrintedDigitsHex is the chance that prints of digits alone are in hex, and happen to have no letter.
	PrintedDigitsHex = 0.03
	// PrintedBytesTurned is the chance that a number of 3 bytes, or of 5, is printed with its last byte first.
	PrintedBytesTurned = 0.003
	// SerialUnrelated is the same for a chip serial: many cards carry a number of their own beside it. SerialInParts is
	// that for cards with a facility beside their number, together of ShortSerial bits or more: who takes a whole
	// serial takes it for one number. Of 3 bytes of one, readers make a facility and a number.
	SerialUnrelated, SerialInParts, ShortSerial = 0.4, 0.94, 32
)

// MixedPrints is the chance that some cards of a kind are printed, or written down, in one way, and others in another:
// in hex and in decimal, as two numbers and as one. That is a habit of its own.
const MixedPrints = 0.02

// MixedStyles is the chance that the cards of a kind are written down in the same way and not in the same style, as
// where several people did it: with the zeros of a form and without, or with one sign between and another.
const MixedStyles = 0.02

// TypingErrors is how often a print is written down wrong, at different sites: hardly ever, or up to one in four.
// Shares add up to 1.
var TypingErrors = [...]struct{ Share, Rate float64 }{{0.50, 0.003}, {0.25, 0.02}, {0.15, 0.07}, {0.10, 0.20}}

// OtherStyle is the chance that a slip is to write one card in another style than the rest.
const OtherStyle = 0.05

// What a wrong print is mostly.
const (
	SlipDigit   = 0.45 // one digit is another one
	SlipSwap    = 0.15 // two digits beside one another are swapped
	SlipLost    = 0.10 // a digit is missing
	SlipExtra   = 0.05 // a digit is there too many
	SlipOther   = 0.15 // the print of another card that was asked about
	SlipNothing = 0.10 // anything
)

// How a site writes what a form gives. They add up to 1.
const (
	StyleExact      = 0.73  // as the form writes it
	StyleFirst      = 0.01  // a pair, without the zeros of its first number
	StyleSeparator  = 0.10  // other separators, or none
	StyleDropped    = 0.075 // zeros at the start dropped
	StyleFilled     = 0.025 // zeros put before it up to some width
	StyleFilledPair = 0.005 // a pair, zeros put before its numbers up to some width of each
	StyleAll        = 0.025 // or up to as many digits as the largest number of its field has, as programs print them
	StyleLast       = 0.03  // only the last digits, four or more
)

// FilledTo is the share of each width among numbers that zeros are put before: five digits hold every number of 16
// bits, which most cards have, eight those of 24 bits, and ten are the usual width of decimals.
func FilledTo(digits int) float64 {
	switch digits {
	case 5:
		return 0.40
	case 8:
		return 0.10
	case 10:
		return 0.20
	}
	return 0.30 / (Widths - 3)
}

// Widths is how many widths there are that a number is filled up to: 3 to 20 digits.
const Widths = 18

// What a printed number looks like that has nothing to do with the card.
const (
	HexShare   = 0.15 // in hex
	WidthShare = 0.08 // of any one width: prints have 4 to 16 digits, mostly
	Separated  = 0.05 // in two parts: of other lists few are
)

// Lines.

// StuckLine is the chance that a read comes from no card: one data line is cut or shorted, and all bits are alike.
const StuckLine = 0.001

// WiringPrior is the chance of each wiring: swapped lines are a common slip at a door; most readers and recorders send
// the first bit first.
var WiringPrior = [...]float64{0.984, 0.010, 0.004, 0.002}

// MisreadRates is how often single reads go wrong, on different lines: hardly ever, now and then, or on a bad line. A
// line where most reads are wrong is not assumed: reads that mostly fail are better explained by another layout.
var MisreadRates = [...]struct{ Share, Rate float64 }{{0.80, 0.001}, {0.13, 0.02}, {0.055, 0.08}, {0.015, 0.25}}

// WayStrength is how many misreads the shares below count for, before those of a line say how it goes wrong.
const WayStrength = 4.0

// What a misread is.
const (
	MisreadFlip  = 0.36 // one bit is wrong
	MisreadLost  = 0.26 // one is missing
	MisreadExtra = 0.22 // one is there too many
	MisreadTwo   = 0.08 // two bits are wrong
	MisreadMore  = 0.08 // more than that: nothing can be told of the card
)

// OneLine is the share of those last ones in which one data line is silent, as where a wire has come loose.
const OneLine = 0.1

// MisreadAtEnd is the share of bits lost, or too many, that are the first of a read, and as many are the last: there
// readers and recorders begin and stop to listen. The others can be anywhere.
const MisreadAtEnd = 0.15

// AtOneEnd is the chance that a bit is lost, or one too many, on every read at the same end: a first pulse that is
// swallowed while the reader wakes up, or a last one that comes too late. Sites whose cards have a length of their own
// are met more often.
const AtOneEnd = 0.01

// Undocumented layouts.

// EndChecks is how many parity bits a layout that nobody documented has at its beginning and at its end: mostly one
// each, as nearly all in public texts, then none at all.
var EndChecks = [...]struct {
	First, Last int
	Share       float64
}{
	{1, 1, 0.62}, {0, 0, 0.15}, {0, 1, 0.06}, {1, 0, 0.04}, {2, 1, 0.06}, {1, 2, 0.03}, {2, 2, 0.02}, {0, 2, 0.01},
	{2, 0, 0.01},
}

// StartBit is the chance that a layout begins with a bit that is the same on every card, to say that a read begins; it
// is 1 mostly.
const StartBit, StartOne = 0.04, 0.8

// How the two main parity bits are computed together: each over the half beside it, as in the published formats; over
// every second bit or two bits in three, as is common practice; or each by a rule of its own.
const PairHalves, PairInterleaved = 0.40, 0.07

// OddPrior is the chance that the first main parity bit is odd; the last one is even as often. That the first is even
// and the last odd is the published 26-bit standard's rule, and that of nearly every format in public texts.
const OddPrior = 0.36

// What a parity bit covers by itself. That layouts put a parity bit at each end, over the half beside it,
// is what the published formats do; that of the interleaved ones is common practice.
const (
	RuleAll    = 0.14 // everything between the parity bits
	RuleHalf   = 0.05 // the first or the second half of that
	RuleRun    = 0.70 // a run with any ends
	RuleBeside = 0.09 // a run that begins or ends where everything does
	RuleComb   = 0.02 // every second bit, every third, two in three
)

// OuterAll is the chance that a second parity bit at an end covers everything further in, the other parity bits too.
const OuterAll = 0.5

// Where an undocumented layout has its number.
const (
	// LikeListed is the share of undocumented layouts with a facility and a number as wide as those of some format of
	// the catalogue. The others' prints are spread more widely.
	LikeListed = 0.25

	NumberAlone    = 0.25  // it is all of the data: there is no facility
	NumberAtEnd    = 0.80  // else it ends where the data does, or anywhere
	OrderReversed  = 0.04  // its last bit counts most
	OrderBytes     = 0.025 // its bytes are in the other order
	OrderBitBytes  = 0.01  // the bits of each byte are
	CodingBCD      = 0.02  // decimal digits of 4 bits
	CodingDigits5  = 0.005 // of 5 bits, the last one parity
	WiredInverse   = 0.01  // every bit is changed
	NumberSplit    = 0.003 // it is in two runs, with something else between
	NoNumber       = 0.02  // nothing of the kind: every bit by itself
	FacilityBehind = 0.03  // the facility that is printed with it is behind it
	FacilityApart  = 0.03  // something not printed is between it and the number, such as how often a card was issued
	FacilityAll    = 0.80  // the facility that is printed with it is all bits before it, rather than some of them
	RestFree       = 0.10  // what is before the number is different on every card, rather than one of a few values
	RestTwoFields  = 0.10  // what is before it, or behind it, is two fields, such as a facility and which issue a card is
	RestChecks     = 0.50  // bits that are different on every card are checks: sums, or parity in other places
	BehindFixed    = 0.20  // what is behind it says nothing: bits that are all 0 on every card, or all 1
	FixedZero      = 0.80  // of those, 0
)

// How an undocumented layout's number is printed.
const (
	PrintedFull   = 0.60
	PrintedPair   = 0.20 // behind the facility, with a separator
	PrintedJoined = 0.10 // behind the facility, in a fixed count of digits
	PrintedLast   = 0.03 // its last digits
	PrintedOffset = 0.02 // with a constant added; of formats too
	PrintedHex    = 0.50 // in hex, of those that are in hex
	// All data bits, of which facility and number are parts, as one number: so much as often as the number alone, in
	// decimal and in hex.
	PrintedWhole, PrintedWholeHex = 0.2, 1.0
)

// FormWeights returns how usual each form is in print of a format's cards, by name. Forms that the format cannot give
// drop out, and the rest is scaled up.
func FormWeights(f *formats.Format) map[string]float64 { return formWeights[classOf(f)] }

// formWeights are those weights, by what a format has.
var formWeights = map[class]map[string]float64{
	// A card with facility and number: installers' boxes list the number, or both. Where all data bits are printed as
	// one decimal, whoever printed it took them for one number, so that a format with one number is the better
	// description.
	withFacility: {
		"number": 0.46, "pair": 0.25, "joined": 0.11, "number10": 0.06, "decimal": 0.02, "decimal10": 0.02, "hex": 0.05,
		"words": 0.02,
	},
	// A card with one number. Two numbers in print speak for a format with two fields.
	withNumber: {
		"number": 0.63, "number10": 0.21, "hex": 0.07, "pair24": 0.02, "joined24": 0.01, "number24": 0.02, "words": 0.03,
	},
	// A chip or tag that is known by its serial: fobs show ten digits, or 3 and 5 digits, or both. Where the print has
	// the bytes in the other order than the read, the format with reversed bytes is the better description.
	withSerial: {
		"number": 0.17, "number10": 0.24, "decimal": 0.03, "hex": 0.12, "pair24": 0.17, "joined24": 0.04, "number24": 0.03,
		"words": 0.015,
		"uid":   0.12, "uid-reversed": 0.01, "uid-reversed-decimal": 0.02,
	},
	// One number that is a card's at one site and a chip's serial at another: half of each of the two above.
	withEither: {
		"number": 0.40, "number10": 0.23, "decimal": 0.015, "hex": 0.095, "pair24": 0.095, "joined24": 0.025,
		"number24": 0.025, "words": 0.0225,
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

// LowOfLong is how usual the forms of the low 24 bits are on chips with serials of more than LowUsual bits, against
// those with shorter ones: tags of 4 and 5 bytes are where they come from. Common practice, no source.
const LowUsual, LowOfLong = 40, 0.1

// Part is a way in which a card's data bits can be taken from a chip serial.
type Part struct {
	Name     string  // as an answer has it
	Weight   float64 // its share
	Bytes    int     // how many; 0: all
	last     bool    // the last ones rather than the first
	reversed bool    // their order
}

// Parts is how usual each way is. Whole serials are the rule; readers that send fewer bits cut either end. A whole
// serial with its bytes reversed is left to the formats that reverse bytes where there is one.
var Parts = []Part{
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

// SerialForms are the parts that a chip serial shows which is printed in a form of that name.
var SerialForms = map[string]*Part{"uid": &Parts[0], "uid-reversed": &Parts[1]}

// Take returns the part of a serial; ok is false where the serial is too short, or the part is all of it and another
// option.
func (p *Part) Take(serial wiegand.Bits) (b wiegand.Bits, ok bool) {
	n := 8 * p.Bytes
	switch {
	case n == 0:
		b = serial
	case n >= serial.Len():
		return b, false
	case p.last:
		b = serial.Slice(serial.Len()-n, serial.Len())
	default:
		b = serial.Slice(0, n)
	}
	if p.reversed {
		b, _ = b.ReverseBytes() // whole bytes, so that it can't fail
	}
	return b, true
}
