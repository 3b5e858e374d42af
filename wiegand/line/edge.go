package line

import (
	"cmp"
	"time"
)

// Wire is one of the two lines of a reader.
type Wire uint8

// The wires. What the first is called depends on the signal: the two share a place because each is the one that must be
// told apart from the other.
const (
	Data0 Wire = 0 // two-wire: a pulse is a 0
	Data1 Wire = 1 // two-wire: a pulse is a 1
	Clock Wire = 0 // clock and data: a pulse is a bit
	Data  Wire = 1 // clock and data: the bit's value

	// NoWire in an [Edge] says that time has passed and nothing has changed.
	NoWire Wire = 2
)

// Level is the state of a wire.
type Level uint8

const (
	Unknown Level = iota // not known yet, or not driven
	Low
	High
	// Pulsed is not a level but a whole pulse of unknown length, for recordings that note only when a pulse began.
	Pulsed
)

// invert swaps low and high.
func (l Level) invert() Level {
	switch l {
	case Low:
		return High
	case High:
		return Low
	}
	return l
}

// Edge is a change of level: from At on, Wire is at Level. The zero value is wire 0 becoming unknown at time 0.
type Edge struct {
	At    time.Duration // since any fixed moment; the same one for all edges of a line
	Wire  Wire
	Level Level
}

// Coding is how two wires carry bits.
type Coding uint8

const (
	TwoWire      Coding = iota // DATA0 and DATA1, as SIA AC-01-1996.10
	ClockAndData               // CLOCK and DATA, as readers that stand in for a magnetic stripe reader
)

// Limits are what a pulse may be. A zero limit is not checked.
type Limits struct {
	WidthMin, WidthMax       time.Duration // of a pulse
	IntervalMin, IntervalMax time.Duration // between two pulses of a read
}

// StandardLimits returns the limits of the published 26-bit standard, SIA AC-01-1996.10, as manuals and general drivers
// quote them: 20 to 100 µs wide, 200 µs to 20 ms apart.
func StandardLimits() Limits {
	return Limits{
		WidthMin: 20 * time.Microsecond, WidthMax: 100 * time.Microsecond,
		IntervalMin: 200 * time.Microsecond, IntervalMax: 20 * time.Millisecond,
	}
}

const (
	// DefaultGap is the silence that ends a read. General drivers use 50 to 100 ms; it must exceed the longest interval
	// that the standard allows, 20 ms.
	DefaultGap = 50 * time.Millisecond
	// DefaultGlitch is the level that is too short to count: half of the shortest pulse that the standard allows, and a
	// tenth of the longest.
	DefaultGlitch = 10 * time.Microsecond
)

// Config says how to read a line. The zero value is the usual one: two wires, both idle high, the standard's limits.
type Config struct {
	Coding   Coding
	Inverted bool          // the wires idle low and pulse high, as after an inverting level shifter
	Gap      time.Duration // silence that ends a read, where it is five beats or more; 0 is DefaultGap
	Glitch   time.Duration // a level that lasts less does not count; 0 is DefaultGlitch, negative keeps everything
	Limits   *Limits       // nil is StandardLimits for two wires, and none for clock and data
}

// resolved returns c with its defaults filled in.
func (c Config) resolved() Config {
	if c.Gap <= 0 {
		c.Gap = DefaultGap
	}
	c.Glitch = cmp.Or(c.Glitch, DefaultGlitch)
	if c.Limits == nil {
		c.Limits = &Limits{}
		if c.Coding == TwoWire {
			*c.Limits = StandardLimits()
		}
	}
	return c
}
