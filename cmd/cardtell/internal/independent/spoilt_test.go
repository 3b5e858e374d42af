package independent

import (
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// spoilt is a recording that spoilt_lines.py makes, and what was sent.
type spoilt struct {
	What   string      `json:"what"`
	VCD    string      `json:"vcd"`
	Frames []sentFrame `json:"frames"`
}

type sentFrame struct {
	Bits  string  `json:"bits"`
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	State string  `json:"state"`
	Lost  []int   `json:"lost"`
}

// Of lines that Python simulates and spoils, no damaged read is healthy, and what the pace can give back is there: of
// frames that can be read or whose missing pulses the pace shows, nearly all.
func TestSpoiltLines(t *testing.T) {
	type question struct {
		Seed int `json:"seed"`
	}
	questions := make([]question, 3*perFormat())
	for i := range questions {
		questions[i].Seed = 100*seed + i
	}
	frames, missed, healthy := 0, 0, 0
	for i, a := range Ask[spoilt](t, "spoilt_lines.py", questions) {
		reads := readsOf(t, a.VCD)
		for _, r := range reads {
			if r.Verdict() == line.Healthy {
				healthy++
				require.True(t, a.sent(r), "seed %d, %s: %s at %v is said to be healthy", questions[i].Seed, a.What, r.Bits, r.At)
			}
		}
		for _, f := range a.Frames {
			if f.State != "whole" && f.State != "lost" {
				continue
			}
			if frames++; !f.among(reads) {
				missed++
				t.Logf("seed %d, %s: %s is not there", questions[i].Seed, a.What, f.Bits)
			}
		}
	}
	t.Logf("%d recordings, %d frames to be read, %d of them missed; %d healthy reads", len(questions), frames, missed, healthy)
	assert.Greater(t, healthy, len(questions))
	assert.LessOrEqual(t, missed, max(1, frames/200))
}

func readsOf(t *testing.T, vcd string) (reads []line.Read) {
	t.Helper()
	v, err := line.NewVCD(strings.NewReader(vcd))
	require.NoError(t, err)
	_, err = v.Choose(line.Signals{})
	require.NoError(t, err)
	for r := line.NewReader(v, line.Config{}, line.PolarityAuto); ; {
		read, err := r.Next()
		if errors.Is(err, io.EOF) {
			return reads
		}
		require.NoError(t, err)
		reads = append(reads, read)
	}
}

// sent reports whether a healthy read is what was sent at that time, or has a bit on the other wire, which nothing
// shows.
func (a *spoilt) sent(r line.Read) bool {
	for _, f := range a.Frames {
		if f.holds(r) && (f.Bits == r.Bits.String() || f.State == "turned" && len(f.Bits) == r.Bits.Len()) {
			return true
		}
	}
	return false
}

// holds reports whether a read was on the line when the frame was, give or take a pulse.
func (f *sentFrame) holds(r line.Read) bool {
	at := float64(r.At) / float64(time.Microsecond)
	return at > f.From-20000 && at < f.To
}

// among reports whether a frame is among the reads: as it was sent or, but for the bits whose pulses are missing, as
// the pace gives it back.
func (f *sentFrame) among(reads []line.Read) bool {
	for _, r := range reads {
		if f.holds(r) && (f.Bits == r.Bits.String() || f.is(r.Mended, r.Open)) {
			return true
		}
	}
	return false
}

func (f *sentFrame) is(mended, open wiegand.Bits) bool {
	if mended.Len() != len(f.Bits) || open.OnesCount() > len(f.Lost) {
		return false
	}
	for i, bit := range f.Bits {
		if open.Bit(i) == 0 && mended.Bit(i) != uint(bit-'0') {
			return false
		}
	}
	return true
}
