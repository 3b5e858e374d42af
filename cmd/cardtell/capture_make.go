package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
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

// makeRecording writes a recording of made-up pulses.
func (a *app) makeRecording(o captureOptions) error {
	switch {
	case o.out == "":
		return errors.New("capture: --make: no output; give -o FILE.vcd, or -o - for standard output")
	case o.jitter < 0 || o.jitter > 90:
		return fmt.Errorf("capture: --jitter %d: out of range; write 0 to 90 percent", o.jitter)
	case o.repeat < 1 || o.repeat > 10000:
		return fmt.Errorf("capture: --repeat %d: out of range; write 1 to 10000", o.repeat)
	}
	edges, coding, err := o.edges()
	if err != nil {
		return err
	}
	names := [2]string{coding.WireName(0), coding.WireName(1)}
	write := func(w io.Writer) error { return line.WriteVCD(w, names, slices.Values(edges)) }
	switch {
	case !strings.EqualFold(filepath.Ext(o.out), ".vcd") && o.out != "-":
		return fmt.Errorf("capture: -o %q: the name does not end in .vcd, which is what is written; name it so",
			say.Clip(o.out, 60))
	case o.out == "-":
		return write(a.out)
	}
	if err := a.replaceFile(o.out, write); err != nil {
		return err
	}
	a.remark("%s holds %s; try: cardtell capture %s", o.out, say.Count(len(o.makeReads)*o.repeat, "read"), o.out)
	return nil
}

// edges makes the pulses of all reads.
func (o captureOptions) edges() ([]line.Edge, line.Coding, error) {
	profile := line.Profile{
		Width:    o.around(50 * time.Microsecond),
		Interval: o.around(2 * time.Millisecond),
		Inverted: o.polarity == line.IdleLow,
	}
	if o.spikes {
		profile.SpikeEvery = 3
	}
	reads := make([]wiegand.Bits, 0, len(o.makeReads))
	for i, text := range o.makeReads {
		b, coding, err := parseMade(text)
		if err != nil {
			return nil, 0, err
		}
		if i > 0 && coding != profile.Coding {
			return nil, 0, errors.New("capture: --make: both kinds of line at once; a recording is of two wires or of clock and data: make two")
		}
		if o.lose < 0 || o.lose > b.Len() {
			return nil, 0, fmt.Errorf("capture: --lose %d: no such bit; the read has bits 1 to %d", o.lose, b.Len())
		}
		profile.Coding = coding
		reads = append(reads, b)
	}
	var flaws []line.Flaw
	if o.lose > 0 {
		flaws = append(flaws, line.Flaw{Bit: o.lose - 1, Kind: line.Lose})
	}
	g := line.NewGenerator(profile, makeSeed)
	edges, at := g.AppendIdle(nil, 0), makeLead
	for _, b := range reads {
		for range o.repeat {
			edges, at = g.AppendRead(edges, at, b, flaws...)
			at += makePause
		}
	}
	return append(edges, line.Edge{At: at - makePause + makeLead, Wire: line.NoWire}), profile.Coding, nil
}

// around returns the range that --jitter gives.
func (o captureOptions) around(d time.Duration) line.Range {
	by := d * time.Duration(o.jitter) / 100
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
