// Package reads has what came of a recording, read by read and in sum: as JSON for programs, as text for people.
package reads

import (
	"fmt"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// Entry is one read as it is printed, whatever it came from. The JSON keys are a promise to scripts.
type Entry struct {
	Time     *float64    `json:"time_s,omitempty"` // seconds, by the recording's clock
	Bits     string      `json:"bits,omitempty"`
	Length   int         `json:"length,omitempty"`
	Source   string      `json:"source"`
	Address  *int        `json:"address,omitempty"` // RS-485
	Reader   *int        `json:"reader,omitempty"`
	Text     string      `json:"text,omitempty"`   // a card sent as characters
	Track2   string      `json:"track2,omitempty"` // what the bits say as track 2
	KeyCount int         `json:"key_count,omitempty"`
	Keys     string      `json:"keys,omitempty"` // with --show-pins alone
	Verdict  string      `json:"verdict,omitempty"`
	Timing   *timingJSON `json:"timing,omitempty"`
	Mended   *mendedJSON `json:"mended,omitempty"`   // what the reader's pace gives back
	Row      int         `json:"row,omitempty"`      // of --list, that the card has
	Double   bool        `json:"double,omitempty"`   // it had that row before
	Rejected string      `json:"rejected,omitempty"` // why it is not in the list
	Warnings []string    `json:"warnings"`

	Came   wiegand.Bits `json:"-"` // bits as they came; none of a hidden key
	whole  wiegand.Bits // bits as the reader's pace gives them back, where none of them is open
	Placed Placed       `json:"-"` // the same, open bits and all
	Doubt  string       `json:"-"` // why there may be other bits, though nothing says so
	timing line.Timing
	what   string // what a person reads instead of bits
}

type timingJSON struct {
	Pulse    *statsJSON `json:"pulse_us,omitempty"`
	Interval *statsJSON `json:"interval_us,omitempty"`
}

type statsJSON struct {
	Min  float64 `json:"min"`
	P5   float64 `json:"p5"`
	Mean float64 `json:"mean"`
	P95  float64 `json:"p95"`
	Max  float64 `json:"max"`
}

func newStatsJSON(s line.Stats) *statsJSON {
	if s.N == 0 {
		return nil
	}
	us := func(d time.Duration) float64 { return float64(d.Nanoseconds()) / 1e3 }
	return &statsJSON{us(s.Min), us(s.P5), us(s.Mean), us(s.P95), us(s.Max)}
}

func (e *Entry) setBits(b wiegand.Bits) {
	e.Came, e.Bits, e.Length = b, b.String(), b.Len()
}

// OfLine describes a read of two wires.
func OfLine(r line.Read, pulses []line.Pulse, showPins bool) Entry {
	e := Entry{
		Time: new(r.At.Seconds()), Source: r.Coding.String(), Verdict: r.Verdict().String(),
		Warnings: append([]string{}, r.Warnings(pulses)...), timing: line.TimingOf(pulses),
	}
	e.Timing = &timingJSON{newStatsJSON(e.timing.Width), newStatsJSON(e.timing.Interval)}
	var doubts []string
	for _, f := range [...]line.Fault{line.OpenStart, line.OpenEnd, line.Unsteady, line.TwoWidths} {
		if r.Faults.Has(f) {
			doubts = append(doubts, f.String())
		}
	}
	e.Doubt = strings.Join(doubts, "; ")
	switch {
	case r.Coding == line.ClockAndData:
		e.track2(r)
	case IsKey(r):
		if e.key(r.Bits, showPins); showPins {
			e.mend(r)
		}
	default:
		e.setBits(r.Bits)
		e.mend(r)
	}
	return e
}

// Placed is a read as the reader's pace gives it back. In Open a 1 marks a bit whose pulse is lost.
type Placed struct{ Bits, Open wiegand.Bits }

// mendedJSON is a read as the reader's pace gives it back.
type mendedJSON struct {
	Bits   string `json:"bits"` // ? where nobody can say which bit it was
	Length int    `json:"length"`
	Open   []int  `json:"open,omitempty"` // those bits, from 1
}

// mend takes what the reader's pace gives back.
func (e *Entry) mend(r line.Read) {
	if r.Mended.Len() == 0 {
		return
	}
	m := mendedJSON{Length: r.Mended.Len()}
	text := []byte(r.Mended.String())
	for i := range text {
		if r.Open.Bit(i) == 1 {
			text[i] = '?'
			m.Open = append(m.Open, i+1)
		}
	}
	m.Bits, e.Mended = string(text), &m
	if e.Placed = (Placed{r.Mended, r.Open}); len(m.Open) == 0 {
		e.whole = r.Mended
	}
}

// best returns the bits to go by: as the reader's pace gives them back where it does, else as they came.
func (e *Entry) best() wiegand.Bits {
	if e.whole.Len() > 0 {
		return e.whole
	}
	return e.Came
}

// track2 looks for a track 2 message. Its bits are the read; the zeros around it are clocking.
func (e *Entry) track2(r line.Read) {
	b := r.Bits
	t, err := line.ParseTrack2(b)
	if mended, bad := line.ParseTrack2(r.Mended); err != nil && bad == nil && r.Open.OnesCount() == 0 {
		t, err, b = mended, nil, r.Mended
		e.Warnings = append(e.Warnings, "the message is there only as the reader's pace gives it back")
	}
	if err != nil {
		e.setBits(b)
		e.Warnings = append(e.Warnings, "no track 2 in it: "+err.Error())
		e.mend(r)
		return
	}
	message := b.Slice(t.From, t.To)
	if t.Backward {
		message = message.Reverse()
		e.Warnings = append(e.Warnings, "read backwards: the card was drawn the other way; the bits are turned round")
	}
	e.setBits(message)
	e.Track2 = t.Text
	e.what = fmt.Sprintf("track 2  %s  (%d clocking zeros before, %d behind)", t.Text, t.From, b.Len()-t.To)
}

// OfBus describes a reply of a bus that carries a card or keys; false for any other packet.
func OfBus(p osdp.Found, showPins bool) (Entry, bool) {
	if !p.Reply || p.Code != osdp.RAW && p.Code != osdp.FMT && p.Code != osdp.KEYPAD || p.Resent {
		return Entry{}, false
	}
	e := Entry{Source: "rs-485", Address: new(int(p.Address)), Warnings: []string{}}
	if p.Timed {
		e.Time = new(p.At.Seconds())
	}
	var err error
	if p.Code == osdp.KEYPAD {
		err = e.keys(p.Packet, showPins)
	} else {
		err = e.card(p.Packet, showPins)
	}
	if err != nil {
		e.what = "cannot be read"
		e.Warnings = append(e.Warnings, err.Error())
		if p.Encrypted() {
			e.what = p.Name() + ", encrypted, skipped"
		}
	}
	return e, true
}

func (e *Entry) card(p osdp.Packet, showPins bool) error {
	c, err := p.Card()
	if err != nil {
		return err
	}
	e.Reader = new(int(c.Reader))
	if c.Note != "" {
		e.Warnings = append(e.Warnings, c.Note)
	}
	if p.Code == osdp.FMT {
		e.Text = c.Text
		e.what = fmt.Sprintf("characters %q", c.Text)
		return nil
	}
	if isBusKey(p) {
		e.key(c.Bits, showPins)
		return nil
	}
	e.setBits(c.Bits)
	return nil
}

func (e *Entry) keys(p osdp.Packet, showPins bool) error {
	k, err := p.Keys()
	if err != nil {
		return err
	}
	e.Reader = new(int(k.Reader))
	e.KeyCount = k.Count
	if k.Note != "" {
		e.Warnings = append(e.Warnings, k.Note)
	}
	e.what = fmt.Sprintf("keypad %s  hidden; --show-pins shows it", k.Masked())
	if showPins {
		e.Keys = k.Digits
		e.what = "keypad " + k.Digits
	}
	return nil
}
