package recording

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

const (
	makeLead  = 100 * time.Millisecond // before the first read, and behind the last
	makePause = 500 * time.Millisecond // between reads
	makeSeed  = 1                      // the same command makes the same file
	// shortestBare is how many 0s and 1s are a read without saying so; fewer may be a number.
	shortestBare = 24
)

// Made says how made-up pulses look.
type Made struct {
	Repeat   int  // times that each read comes
	Jitter   int  // percent by which widths and intervals vary
	Inverted bool // the wires idle low
	Spikes   bool // a spike on every third bit
	Lose     int  // bit whose pulse is lost, from 1; 0 for none
}

// Make makes the pulses of reads, or of track 2 where they begin with a semicolon, each repeated.
func Make(texts []string, o Made) ([]line.Edge, line.Coding, error) {
	profile := line.Profile{
		Width:    o.around(50 * time.Microsecond),
		Interval: o.around(2 * time.Millisecond),
		Inverted: o.Inverted,
	}
	if o.Spikes {
		profile.SpikeEvery = 3
	}
	reads := make([]wiegand.Bits, 0, len(texts))
	for i, text := range texts {
		b, coding, err := parseMade(text)
		if err != nil {
			return nil, 0, err
		}
		if i > 0 && coding != profile.Coding {
			return nil, 0, errors.New("capture: --make: both kinds of line at once; a recording is of two wires or of clock and data: make two")
		}
		if o.Lose < 0 || o.Lose > b.Len() {
			return nil, 0, fmt.Errorf("capture: --lose %d: no such bit; the read has bits 1 to %d", o.Lose, b.Len())
		}
		profile.Coding = coding
		reads = append(reads, b)
	}
	var flaws []line.Flaw
	if o.Lose > 0 {
		flaws = append(flaws, line.Flaw{Bit: o.Lose - 1, Kind: line.Lose})
	}
	g := line.NewGenerator(profile, makeSeed)
	edges, at := g.AppendIdle(nil, 0), makeLead
	for _, b := range reads {
		for range o.Repeat {
			edges, at = g.AppendRead(edges, at, b, flaws...)
			at += makePause
		}
	}
	return append(edges, line.Edge{At: at - makePause + makeLead, Wire: line.NoWire}), profile.Coding, nil
}

// around returns the range that --jitter gives.
func (o Made) around(d time.Duration) line.Range {
	by := d * time.Duration(o.Jitter) / 100
	return line.Range{Min: d - by, Max: d + by}
}

// parseMade reads what is to be sent: a read, or the text of a track 2.
func parseMade(text string) (wiegand.Bits, line.Coding, error) {
	if strings.HasPrefix(text, ";") {
		b, err := line.Track2Bits(text)
		if err != nil {
			return b, 0, fmt.Errorf("capture: --make: %w", err)
		}
		padded, err := wiegand.BitsFromWords([4]uint64{}, 10).Concat(b) // clocking zeros, as a stripe has them
		return padded, line.ClockAndData, err
	}
	b, err := wiegand.ParseBits(text)
	switch {
	case err != nil:
		return b, 0, fmt.Errorf("capture: --make: %w", err)
	case b.Len() == 0:
		return b, 0, errors.New("capture: --make: a read without bits; write one, such as 26:3A83702")
	case b.Len() < shortestBare && !strings.Contains(text, ":"):
		return b, 0, fmt.Errorf("capture: --make %q: can be a number or a read; write bits:%s for the read", text, text)
	}
	return b, line.TwoWire, nil
}
