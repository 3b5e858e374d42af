package recording

import (
	"time"

	"github.com/cardtell/cardtell/wiegand/line"
)

// Tap keeps the edges that go by, for a drawing: pulses too short to count are in no read.
type Tap struct {
	line.Source
	On    bool
	edges []line.Edge
}

// maxTapped is how many edges are kept: many times as many as a read of 256 bits has.
const maxTapped = 1 << 13

// Next implements [line.Source].
func (t *Tap) Next() (line.Edge, error) {
	e, err := t.Source.Next()
	if t.On && err == nil && e.Wire != line.NoWire {
		if len(t.edges) == 2*maxTapped {
			t.edges = append(t.edges[:0], t.edges[maxTapped:]...)
		}
		t.edges = append(t.edges, e)
	}
	return e, err
}

// SampleTime returns the time from one sample of the recording to the next, 0 where it has none.
func (t *Tap) SampleTime() time.Duration {
	if s, ok := t.Source.(interface{ SampleTime() time.Duration }); ok {
		return s.SampleTime()
	}
	return 0
}

// Around returns the edges of a read and a little before and behind it, as of wires that idle high; none where the
// recording has pulses without an end.
func (t *Tap) Around(r line.Read, inverted bool) (edges []line.Edge) {
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
