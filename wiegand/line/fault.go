package line

import (
	"cmp"
	_ "embed"
	"fmt"
	"iter"
	"math/bits"
	"strings"
)

// Fault is one thing that can be wrong with a pulse, a read or a line.
type Fault uint8

// The faults. Those up to Grouped leave the bits as they are; from Missing on the bits themselves are in doubt.
const (
	OpenEnd      Fault = iota // the recording ends together with the read, so bits after it cannot be ruled out
	OpenStart                 // the recording begins together with the read, so bits before it cannot be ruled out
	Narrow                    // pulse shorter than the limit
	Wide                      // pulse longer than the limit
	TooSoon                   // pulse earlier after the one before than the limit
	TooLate                   // pulse later after the one before than the limit
	NearRead                  // another read is nearer than a gap
	Unsteady                  // the intervals vary so much that a lost pulse would not show
	TwoWidths                 // the pulses of one wire are of two widths, so that some may be another reader's or none
	FewSamples                // a pulse lasts one sample of the recorder, so that a shorter one may have come between two
	StrayBit                  // clock and data: a 1 outside of the message
	Spike                     // a level too short to count was removed
	Grouped                   // a pause after every so many bits, as of a reader that sends byte by byte
	Missing                   // an interval of one and a half times the usual or more: a pulse may be lost
	Doubled                   // an interval of half the usual or less: a pulse may be there twice
	Bounce                    // pulses come twice or more, close together
	BothLow                   // both wires low at once
	OneWire                   // every pulse came on the same wire
	Stuck                     // a wire stays low for so long that bits of it would not show
	NoReturn                  // a pulse began and did not end
	CutStart                  // the recording may have begun in the middle of the read
	CutEnd                    // the recording ended in the middle of the read
	TooLong                   // more pulses than a read can have
	UnknownLevel              // a wire was neither high nor low
	Backwards                 // an edge came with an earlier time than the one before
	Continued                 // the read before was closed while this one was still on its way: the two are one
	DataMoved                 // DATA changed while CLOCK was low
	NoMessage                 // clock and data without a whole message of track 2
	TooShort                  // fewer pulses than a card has, and not as many as keys have
	Noise                     // neither a pace nor pulses like a reader's
	OneSample                 // every pulse lasts one sample of the recorder: others may have come between two
	TwoReaders                // the pulses are of two readers at once
	numFaults
)

// faultText has what each fault is, said of one or several pulses of a read, the cause to look for first, and a
// blank line, fault by fault. Causes are common practice among electricians; the figures of cable and pull-up are
// those quoted for SIA AC-01-1996.10.
//
//go:embed faults.txt
var faultText string

// text returns a line of those about a fault, "" for what is none.
func (f Fault) text(line int) string {
	if f >= numFaults {
		return ""
	}
	return strings.SplitN(faultText, "\n", 3*int(f)+line+2)[3*int(f)+line]
}

// String returns what is wrong, in lower case and without a full stop.
func (f Fault) String() string { return cmp.Or(f.text(0), fmt.Sprintf("Fault(%d)", f)) }

// Cause returns what an electrician would look at first, in lower case; it is a suggestion and may be wrong.
func (f Fault) Cause() string { return f.text(1) }

// Faults is a set of faults. The zero value is none.
type Faults uint32

// Has tells whether f is one of the faults.
func (s Faults) Has(f Fault) bool { return f < numFaults && s>>f&1 != 0 }

// with returns s and f.
func (s Faults) with(f Fault) Faults { return s | 1<<f }

// exchange returns s with one fault in place of another, where that is in it.
func (s Faults) exchange(f, by Fault) Faults {
	if s.Has(f) {
		return s&^(1<<f) | 1<<by
	}
	return s
}

// All gives the faults in a fixed order.
func (s Faults) All() iter.Seq[Fault] {
	return func(yield func(Fault) bool) {
		for s := s & (1<<numFaults - 1); s != 0; s &= s - 1 {
			if !yield(Fault(bits.TrailingZeros32(uint32(s)))) {
				return
			}
		}
	}
}

// Verdict sums up a read's faults.
type Verdict uint8

const (
	Healthy  Verdict = iota // within all limits
	Marginal                // outside a limit, or disturbed, but nothing says that a bit is wrong
	Suspect                 // a bit may be wrong, missing or too many
)

// Verdict returns what the faults together say of a read.
func (s Faults) Verdict() Verdict {
	switch {
	case s>>Missing != 0, s.Has(Unsteady) && (s.Has(TwoWidths) || s.Has(TooLate)): // two readers at once keep no pace
		return Suspect
	case s != 0:
		return Marginal
	}
	return Healthy
}
