package line

import (
	"fmt"
	"iter"
	"math/bits"
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

// faultText has what each fault is, said of one or several pulses of a read, and the cause to look for first. Causes
// are common practice among electricians; the figures of cable and pull-up are those quoted for SIA AC-01-1996.10.
var faultText = [numFaults]struct{ is, cause string }{
	OpenEnd: {"the recording ends with this read; later bits cannot be ruled out",
		"let the recorder run on for a second after the last card"},
	OpenStart: {"the recording begins with this read; earlier bits cannot be ruled out",
		"start recording before the card is presented"},
	Narrow: {"pulse narrower than the limit",
		"where all are alike, the reader's pulses are that short, and a panel may miss them: look for a setting of the pulse " +
			"width; else the recorder samples too slowly (take 1 million samples a second or more), or its threshold is too low " +
			"for a line with slow edges"},
	Wide: {"pulse wider than the limit",
		"slow return to high: the cable may be too long (150 m is the usual limit) or the pull-up missing or too weak " +
			"(1 to 10 kilohms is usual)"},
	TooSoon: {"pulses closer together than the limit",
		"ringing or an echo on the line may be counted as a pulse: check the pull-up, and that nothing else hangs on the wires"},
	TooLate: {"pulses further apart than the limit",
		"a pulse between them may be lost, or the reader pauses inside a read; panels may take it for two reads"},
	NearRead: {"another read is so near that the two may be one: less silence between them than the gap, or whole beats",
		"two cards or keys one right after the other, a reader that sends without a pause, or one card of which the bits " +
			"between were lost: present it again and compare; a panel that waits for a longer silence takes both for one"},
	Unsteady: {"the pace is so unsteady that a pulse lost or doubled would not show",
		"most readers are steady: interference or a weak supply may upset this one; present the card again and compare"},
	TwoWidths: {"pulses of one wire are of two widths: some may be none of this reader's",
		"a reader's pulses are alike: look for a second reader on the wires, for echoes and for interference; present the card " +
			"again and compare"},
	FewSamples: {"a pulse lasts one sample of the recorder: a shorter one may have come between two",
		"take 1 million samples a second or more"},
	StrayBit: {"a 1 outside of the message, where zeros are usual",
		"the stripe was drawn unevenly, or interference was taken for a clock pulse"},
	Spike: {"level too short to count, removed",
		"interference: look for mains, motor or lock wiring beside the cable, an unearthed screen (earth it at one end), a " +
			"missing common ground between reader and panel, and a lock coil without its suppression diode"},
	Grouped: {"a pause after every so many bits, all alike: the reader sends them in groups",
		"it is the reader's way; a panel that waits for less than the pause takes each group for a read"},
	Missing: {"a pulse may be missing just before this one (one and a half times the usual interval or more)",
		"a loose joint, too little voltage at the reader's end of a long cable, or a weak common ground can swallow pulses"},
	Doubled: {"this pulse or the one before may be an echo (too soon for the reader's pace)",
		"ringing, a bad contact or interference can make one pulse look like two"},
	Bounce: {"pulses come twice or more, close together: contact bounce",
		"a loose terminal, a worn connector or a relay contact in the line; until that is mended, a longer glitch time joins the pulses"},
	BothLow: {"both wires low at once",
		"the two data wires may touch each other or sit in each other's pair; if one of them is a clock, read the recording " +
			"as clock and data"},
	OneWire: {"every pulse came on the same wire",
		"the other data wire may be broken, not connected, or recorded on another input"},
	Stuck: {"a wire stays low for so long that bits of it would not show",
		"the pull-up or the common ground may be missing, the wire shorted to ground, or the reader without power"},
	NoReturn: {"a pulse begins and does not end",
		"the pull-up may be missing: an open-collector reader can pull the wire down but not up"},
	CutStart: {"the recording may have begun in the middle of this read",
		"start recording before the card is presented"},
	CutEnd: {"the recording ends in the middle of this read",
		"let the recorder run on for a second after the last card"},
	TooLong: {"more pulses than any card format has",
		"the silence between reads may be shorter than the gap set here, or the wires carry something else"},
	UnknownLevel: {"a wire was neither high nor low",
		"record behind the pull-up, so that a wire that is not driven reads high"},
	Backwards: {"an edge came with an earlier time than the one before",
		"the source of the time stamps is not steady"},
	Continued: {"the read before this one was closed while the input paused: the two are one read",
		"the program that writes the recording holds data back; let it write each line at once"},
	DataMoved: {"DATA changed while CLOCK was low",
		"clock and data may be swapped, or this is no clock-and-data signal"},
	NoMessage: {"no whole message of track 2 in it",
		"the stripe was drawn too fast or unevenly, a bit was lost or gained, or the reader sends something else over clock and data"},
	TooShort: {"no card or key has so few bits",
		"interference, or the rest of a read of which pulses were lost or not seen: present the card again"},
	TwoReaders: {"the pulses are those of two readers at once, each at its own pace",
		"two readers share the wires, and sent at the same time: present one card at a time, and see whether both belong there"},
	OneSample: {"every pulse lasts one sample of the recorder: others, or every second one, may have come between two",
		"take 1 million samples a second or more"},
	Noise: {"the pulses keep no pace, and are not alike: interference may have been taken for bits",
		"look for motors, locks and mains beside the cable, and for an unearthed screen; present the card again"},
}

// String returns what is wrong, in lower case and without a full stop.
func (f Fault) String() string {
	if f < numFaults {
		return faultText[f].is
	}
	return fmt.Sprintf("Fault(%d)", f)
}

// Cause returns what an electrician would look at first, in lower case; it is a suggestion and may be wrong.
func (f Fault) Cause() string {
	if f < numFaults {
		return faultText[f].cause
	}
	return ""
}

// Faults is a set of faults. The zero value is none.
type Faults uint32

// Has tells whether f is one of the faults.
func (s Faults) Has(f Fault) bool { return f < numFaults && s>>f&1 != 0 }

// with returns s and f.
func (s Faults) with(f Fault) Faults { return s | 1<<f }

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
