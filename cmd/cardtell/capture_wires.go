package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/line"
)

// chooser is a source of edges whose signals have names.
type chooser interface {
	line.Source
	Choose(line.Signals) (line.Choice, error)
	Pairs() ([]line.Pair, error)
}

// openWires reads the beginning of a recording of two wires.
func (c *capture) openWires(in io.Reader, form string) (src chooser, err error) {
	if form == "vcd" {
		return notTimeout(func() (chooser, error) { return line.NewVCD(in) })
	}
	src, err = notTimeout(func() (chooser, error) {
		return line.NewCSV(in, line.CSVOptions{Unit: c.o.unit,
			Rate: c.o.rate})
	})
	if errors.Is(err, line.ErrTime) {
		err = fmt.Errorf("%w (--unit, --rate)", err)
	}
	return src, err
}

// choose finds the two wires in a recording: by what they are called, or by who moves, for which a file is read twice.
func (c *capture) choose(in io.Reader, form, name string) (chooser, line.Choice, error) {
	src, err := c.openWires(in, form)
	if err != nil {
		return nil, line.Choice{}, err
	}
	choice, err := src.Choose(c.o.signals)
	if c.live || c.o.signals != (line.Signals{}) || !errors.Is(err, line.ErrSignal) {
		return src, choice, err
	}
	pairs, failed := c.pairs(form, name)
	switch {
	case failed != nil || len(pairs) == 0:
		return nil, choice, err
	case len(pairs) > 1:
		return nil, choice, manyPairs(pairs)
	}
	if in, err = os.Open(name); err != nil {
		return nil, choice, err
	}
	if src, err = c.openWires(in, form); err != nil {
		return nil, choice, err
	}
	p := pairs[0]
	choice, err = src.Choose(pairSignals(p))
	choice.Note = fmt.Sprintf("%s and %s are taken for %s and %s: %s", p.Names[0], p.Names[1], p.Coding.WireName(0),
		p.Coding.WireName(1),
		"no other two signals look like a reader's")
	if !p.ByName {
		choice.Note += "; exchanged, every bit would be inverted"
	}
	return src, choice, err
}

// pairs proposes which signals of a recording are the wires of a reader.
func (c *capture) pairs(form, name string) ([]line.Pair, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	src, err := c.openWires(f, form)
	if err != nil {
		return nil, err
	}
	return src.Pairs()
}

func pairSignals(p line.Pair) line.Signals {
	if p.Coding == line.ClockAndData {
		return line.Signals{Clock: p.Names[0], Data: p.Names[1]}
	}
	return line.Signals{Data0: p.Names[0], Data1: p.Names[1]}
}

// maxPairs is how many pairs an error names.
const maxPairs = 6

// manyPairs says which options read which reader.
func manyPairs(pairs []line.Pair) error {
	var all []string
	for _, p := range pairs[:min(len(pairs), maxPairs)] {
		options := [2]string{"--d0", "--d1"}
		if p.Coding == line.ClockAndData {
			options = [2]string{"--clock", "--data"}
		}
		all = append(all, fmt.Sprintf("%s %s %s %s", options[0], say.Clip(p.Names[0], 60), options[1], say.Clip(p.Names[1], 60)))
	}
	more := ""
	if n := len(pairs) - maxPairs; n > 0 {
		more = fmt.Sprintf(", and %d more", n)
	}
	return fmt.Errorf("the recording seems to have %s; read one at a time: %s%s", say.Count(len(pairs), "reader"),
		strings.Join(all, ", or "), more)
}

// tap keeps the edges that go by, for a drawing: pulses too short to count are in no read.
type tap struct {
	line.Source
	on    bool
	edges []line.Edge
}

// maxTapped is how many edges are kept: many times as many as a read of 256 bits has.
const maxTapped = 1 << 13

// Next implements [line.Source].
func (t *tap) Next() (line.Edge, error) {
	e, err := t.Source.Next()
	if t.on && err == nil && e.Wire != line.NoWire {
		if len(t.edges) == 2*maxTapped {
			t.edges = append(t.edges[:0], t.edges[maxTapped:]...)
		}
		t.edges = append(t.edges, e)
	}
	return e, err
}

// around returns the edges of a read and a little before and behind it, as of wires that idle high; none where the
// recording has pulses without an end.
func (t *tap) around(r line.Read, inverted bool) (edges []line.Edge) {
	const more = 100 * time.Millisecond
	for _, e := range t.edges {
		switch {
		case e.Level == line.Pulsed:
			return nil
		case e.At < r.At-more || e.At > r.End+more:
			continue
		case inverted && e.Level == line.Low:
			e.Level = line.High
		case inverted && e.Level == line.High:
			e.Level = line.Low
		}
		edges = append(edges, e)
	}
	return edges
}
