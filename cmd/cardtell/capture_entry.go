package main

import (
	"fmt"
	"time"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// entry is one read as it is printed, whatever it came from. The JSON keys are a promise to scripts.
type entry struct {
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

	bits   wiegand.Bits
	whole  wiegand.Bits // bits as the reader's pace gives them back, where none of them is open
	placed placedRead   // the same, open bits and all
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

func seconds(d time.Duration) *float64 {
	s := d.Seconds()
	return &s
}

// setBits takes the bits of a card.
func (e *entry) setBits(b wiegand.Bits) {
	e.bits, e.Bits, e.Length = b, b.String(), b.Len()
}

// longestKey is how many bits a key of a keypad has at most when it comes as bits, one by one: 4, 6 and 8 are
// common practice, no source. No card format is that short.
const longestKey = 8

// lineEntry describes a read of two wires.
func lineEntry(r line.Read, pulses []line.Pulse, showPins bool) entry {
	e := entry{
		Time: seconds(r.At), Source: r.Coding.String(), Verdict: r.Verdict().String(), Warnings: r.Warnings(pulses),
		timing: line.TimingOf(pulses),
	}
	e.Timing = &timingJSON{newStatsJSON(e.timing.Width), newStatsJSON(e.timing.Interval)}
	switch {
	case r.Coding == line.ClockAndData:
		e.track2(r)
	case isKey(r):
		if e.key(r.Bits, showPins); showPins {
			e.mend(r)
		}
	default:
		e.setBits(r.Bits)
		e.mend(r)
	}
	return e
}

// isKey tells whether a read is short enough to be a key of a keypad, or several keys in one frame, as it came or as
// the reader's pace has it: a key whose pulses bounce has more bits, and a card of which one wire is dead has fewer.
func isKey(r line.Read) bool {
	n := r.Bits.Len()
	if r.Mended.Len() > 0 {
		n = r.Mended.Len()
	}
	f, frame := formats.Keys(r.Bits)
	frame = frame && f.Likely() && r.Verdict() == line.Healthy // a piece of a card can look like keys
	return r.Coding == line.TwoWire && (n <= longestKey || frame)
}

// mendedJSON is a read as the reader's pace gives it back.
type mendedJSON struct {
	Bits   string `json:"bits"` // ? where nobody can say which bit it was
	Length int    `json:"length"`
	Open   []int  `json:"open,omitempty"` // those bits, from 1
}

// mend takes what the reader's pace gives back.
func (e *entry) mend(r line.Read) {
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
	if e.placed = (placedRead{r.Mended, r.Open}); len(m.Open) == 0 {
		e.whole = r.Mended
	}
}

// text says what the pace gives back.
func (m *mendedJSON) text() string {
	s := fmt.Sprintf("by the reader's pace it is %s: ", count(m.Length, "bit"))
	for i := 0; i < len(m.Bits); i += 8 {
		s += m.Bits[i:min(i+8, len(m.Bits))] + " "
	}
	if len(m.Open) > 0 {
		s += "(? where a pulse is lost)"
	}
	return s
}

// best returns the bits to go by: as the reader's pace gives them back where it does, else as they came.
func (e *entry) best() wiegand.Bits {
	if e.whole.Len() > 0 {
		return e.whole
	}
	return e.bits
}

// track2 looks for a track 2 message. Its bits are the read; the zeros around it are clocking.
func (e *entry) track2(r line.Read) {
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

// key describes a key, or several in one frame: a part of somebody's PIN.
func (e *entry) key(b wiegand.Bits, showPins bool) {
	e.KeyCount = 1
	e.Length = b.Len()
	f, frame := formats.Keys(b)
	e.what = "short as a keypad key"
	if frame {
		e.KeyCount, e.what = len(f.Keys), fmt.Sprintf("%d keys of %d bits in one frame", len(f.Keys), f.Each)
	}
	if !showPins {
		e.what += ", and hidden; --show-pins shows it"
		return
	}
	e.Bits, e.bits = b.String(), b
	switch e.Keys = keyOf(b); {
	case frame:
		e.Keys = f.Keys
		e.what += ": " + f.Keys
	case e.Keys != "":
		e.what = "keypad key " + e.Keys
	}
}

// keyOf returns the key that a short read stands for, "" where it stands for none: 4 bits of value, or 8 of which the
// first four are the complement of the others, or 6 with an even parity bit before and an odd one behind (common
// practice; the first two are in general drivers, the last has no source).
func keyOf(b wiegand.Bits) string {
	v, _ := b.Uint64()
	switch b.Len() {
	case 4:
	case 6:
		d := v >> 1 & 15
		even, odd := v>>5^d>>3^d>>2, v^d>>1^d
		if even&1 != 0 || odd&1 != 1 {
			return ""
		}
		v = d
	case 8:
		if v>>4 != ^v&15 {
			return ""
		}
		v &= 15
	default:
		return ""
	}
	const keys = "0123456789*#"
	if v >= uint64(len(keys)) {
		return ""
	}
	return keys[v : v+1]
}

// busEntry describes a reply of a bus that carries a card or keys; false for any other packet.
func busEntry(p osdp.Found, showPins bool) (entry, bool) {
	if !p.Reply || p.Code != osdp.RAW && p.Code != osdp.FMT && p.Code != osdp.KEYPAD || p.Resent {
		return entry{}, false
	}
	address := int(p.Address)
	e := entry{Source: "rs-485", Address: &address, Warnings: []string{}}
	if p.Timed {
		e.Time = seconds(p.At)
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

func (e *entry) card(p osdp.Packet, showPins bool) error {
	c, err := p.Card()
	if err != nil {
		return err
	}
	e.reader(c.Reader)
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

// isBusKey tells whether a card's read is short enough to be a key: some readers pass on those of their keypad as bits.
func isBusKey(p osdp.Packet) bool {
	c, err := p.Card()
	return p.Code == osdp.RAW && err == nil && c.Bits.Len() > 0 && c.Bits.Len() <= longestKey
}

func (e *entry) keys(p osdp.Packet, showPins bool) error {
	k, err := p.Keys()
	if err != nil {
		return err
	}
	e.reader(k.Reader)
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

func (e *entry) reader(r byte) {
	n := int(r)
	e.Reader = &n
}
