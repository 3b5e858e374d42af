package line_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// steadySim is a simulated reader, see spoilt_test.go: 2 ms between pulses of 50 µs, as is usual.
func steadySim() *sim { return &sim{rng: rand.New(rand.NewPCG(seed, 77)), pace: 2000, wide: 50} }

// Every pulse comes twice. The glitch time that is proposed gives the read back as it was sent.
func TestBounceGlitchTime(t *testing.T) {
	t.Parallel()
	s := steadySim()
	var falls []fall
	for _, f := range s.send(1e5, card) {
		falls = append(falls, f)
		f.at += f.wide + 15 + 20*s.rng.Float64()
		falls = append(falls, f)
	}
	reads, h := record(falls, line.Config{})
	require.Len(t, reads, 1)
	require.True(t, reads[0].Faults.Has(line.Bounce))
	require.Equal(t, line.Suspect, reads[0].Verdict())
	require.Equal(t, card, reads[0].Mended.String())
	require.Greater(t, h.Glitch, 30*us)
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "contact bounce: a loose terminal")
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "; "+h.Glitch.String()+" would do")
	reads, h = record(falls, line.Config{Glitch: h.Glitch})
	require.Len(t, reads, 1)
	require.Equal(t, card, reads[0].Bits.String())
	require.Equal(t, faults(line.Spike), reads[0].Faults&^faults(line.Wide))
	require.Zero(t, h.Glitch)

	// Open for longer than closed: a glitch time that joins the pulses would drop them.
	for i := range falls {
		falls[i].wide = 12
	}
	_, h = record(falls, line.Config{})
	require.Zero(t, h.Glitch)
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "here none would do")
}

// Pulses of one wire bring about shorter ones of the other: the pace and the widths tell which are the reader's. Of
// wires that touch, nothing does.
func TestCrosstalk(t *testing.T) {
	t.Parallel()
	s := steadySim()
	sent := s.send(1e5, card)
	for _, wide := range []float64{12, 30, 50} {
		var falls []fall
		for i, f := range sent {
			falls = append(falls, f)
			if i%3 != 0 || wide == 50 {
				falls = append(falls, fall{1 - f.wire, f.at + float64(i%2), wide})
			}
		}
		reads, _ := record(falls, line.Config{})
		require.Len(t, reads, 1)
		require.Equal(t, line.Suspect, reads[0].Verdict())
		require.True(t, reads[0].Faults.Has(line.BothLow))
		if wide == 50 {
			require.Zero(t, reads[0].Mended)
			continue
		}
		require.Equal(t, card, reads[0].Mended.String(), wide)
		require.Zero(t, reads[0].Open.OnesCount())
	}
}

// Each pulse comes once more half a beat later, on its own wire or on the other one: the pace is as steady as any.
func TestEchoHalfABeatLate(t *testing.T) {
	t.Parallel()
	for crossed := range 2 {
		var falls []fall
		for _, f := range steadySim().send(1e5, card) {
			falls = append(falls, f, fall{f.wire ^ crossed, f.at + 1000, f.wide})
		}
		reads, _ := record(falls, line.Config{})
		require.Len(t, reads, 1)
		require.Equal(t, line.Suspect, reads[0].Verdict())
		require.Equal(t, card, reads[0].Mended.String())
	}
}

func TestPulsesOfFiveMicroseconds(t *testing.T) {
	t.Parallel()
	s := steadySim()
	s.wide = 5
	falls := s.send(1e5, card)
	reads, h := record(falls, line.Config{})
	require.Empty(t, reads)
	advice := strings.Join(h.Suggestions(), "\n")
	require.Contains(t, advice, "every pulse lasts 5µs, and none counts")
	require.Contains(t, advice, "20µs or more")
	require.Contains(t, advice, "a glitch time of 2.5µs shows the reads")
	require.NotContains(t, advice, "motor", "no interference is as regular")
	reads, h = record(falls, line.Config{Glitch: 2500})
	require.Len(t, reads, 1)
	require.Equal(t, card, reads[0].Bits.String())
	require.Equal(t, faults(line.Narrow), reads[0].Faults)
	require.Contains(t, h.Suggestions()[0], "a setting of the pulse width")
}

func TestAllLengthsAreNamed(t *testing.T) {
	t.Parallel()
	s := steadySim()
	var falls []fall
	for i, n := range []int{26, 25, 24, 23, 26} {
		falls = append(falls, s.send(1e5+3e5*float64(i), card[:n])...)
	}
	_, h := record(falls, line.Config{})
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "(26 bits 2×, 23 bits 1×, 24 bits 1×, 25 bits 1×)")
}

// Whatever comes near a frame: a key of a keypad, a stray pulse, the next frame twice over.
func TestNearReads(t *testing.T) {
	t.Parallel()
	s := steadySim()
	frame := func(at float64, bits string) []fall { return s.send(at, bits) }
	for name, c := range map[string]struct {
		falls []fall
		want  []string
	}{
		"three frames": {append(append(frame(1e5, card), frame(1.8e5, card)...), frame(2.6e5, card)...),
			[]string{card, card, card}},
		"a key and a frame":      {append(frame(1e5, "0101"), frame(1.35e5, card)...), []string{"0101", card}},
		"a frame and a key":      {append(frame(1e5, card), frame(1.8e5, "0101")...), []string{card, "0101"}},
		"a stray pulse, a frame": {append([]fall{{0, 0.7e5, 50}}, frame(1e5, card)...), []string{"0", card}},
		"a frame, a stray pulse": {append(frame(1e5, card), fall{0, 1.8e5, 50}), []string{card, "0"}},
		"key 0 and a frame":      {append(frame(1e5, "0000"), frame(1.35e5, card)...), []string{"0000", card}},
		"longer than a read": {append(frame(1e5, strings.Repeat("01", 150)), frame(1e5+6e5+30000, card)...),
			[]string{strings.Repeat("01", 128), card}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			reads, h := record(c.falls, line.Config{})
			require.Equal(t, c.want, bitsOf(reads))
			for i, r := range reads {
				require.True(t, r.Faults.Has(line.NearRead), "read %d: %v", i+1, r.Warnings(nil))
				require.Contains(t, strings.Join(r.Warnings(nil), "\n"), "less silence between them than the gap")
				if r.Bits.String() == card {
					require.Equal(t, line.Marginal, r.Verdict())
				}
			}
			require.Contains(t, strings.Join(h.Suggestions(), "\n"), "a panel that waits for a longer silence")
			// The end of the recording, or a pause of the input, brings the same reads.
			for _, last := range []func(*line.Decoder) bool{(*line.Decoder).Pause,
				func(d *line.Decoder) bool { return d.End(1 << 60) }} {
				d, got := line.NewDecoder(line.Config{}), []line.Read(nil)
				for _, e := range simEdges(c.falls) {
					if d.Feed(e) {
						got = append(got, d.Read())
					}
				}
				for last(d) {
					got = append(got, d.Read())
				}
				require.Equal(t, c.want, bitsOf(got))
			}
		})
	}
	// Bytewise pauses of 15 ms are within the standard, and part nothing.
	reads, _ := record(append(frame(1e5, card[:8]), frame(1e5+14000+15000, card[8:])...), line.Config{})
	require.Equal(t, []string{card}, bitsOf(reads))
}

// A lost pulse is placed by its gap: bit 7, counted from 1, of the published 26-bit example.
func TestLostPulseIsPlaced(t *testing.T) {
	t.Parallel()
	falls := without(steadySim().send(1e5, card), map[int]bool{6: true})
	reads, _ := record(falls, line.Config{})
	require.Equal(t, card[:6]+card[7:], reads[0].Bits.String())
	require.Equal(t, wiegand.MustParseBits(card).WithBit(6, 0), reads[0].Mended)
	require.Equal(t, strings.Repeat("0", 6)+"1"+strings.Repeat("0", 19), reads[0].Open.String())
}

// DATA1 cut: each card of two frames, and the health says so.
func TestDeadWire(t *testing.T) {
	t.Parallel()
	falls, want := cutWire(steadySim(), card, 1)
	reads, h := record(falls, line.Config{})
	require.Equal(t, strings.Trim(card, "1"), want[0])
	require.Equal(t, want[0], reads[0].Mended.String())
	require.Zero(t, reads[0].Open.OnesCount())
	require.Contains(t, strings.Join(h.Suggestions(), "\n"), "no pulse on DATA1 in the whole recording")
	// Every length from 1 to 40, of zeros alone, is suspect; but for four of them behind a card, which is a key.
	for n := range 40 {
		zeros := strings.Repeat("0", n+1)
		reads, _ = record(steadySim().send(1e5, zeros), line.Config{})
		require.Equal(t, line.Suspect, reads[0].Verdict(), zeros)
		reads, _ = record(append(steadySim().send(1e5, card), steadySim().send(4e5, zeros)...), line.Config{})
		require.Equal(t, n+1 == 4, reads[1].Verdict() == line.Healthy, zeros)
	}
}

// Clock and data: a stray 1 among the zeros does not hide the message (ISO/IEC 7811 track 2, worked example above), and
// without a message no read is healthy.
func TestTrack2BehindStrayBits(t *testing.T) {
	t.Parallel()
	message := strings.ReplaceAll(messages[3].bits, " ", "")
	for _, c := range []struct {
		before, behind string
		stray          int
	}{
		{"00000000", "0000", 0}, {"00010000", "0000", 1}, {"0001", "0000", 1}, {"00010100", "0000", 2}, {"0000", "0001", 1},
		{"01000", "00100", 2},
	} {
		b := wiegand.MustParseBits("bits:" + c.before + message + c.behind)
		for _, backward := range []bool{false, true} {
			got, err := line.ParseTrack2(b)
			require.NoError(t, err)
			require.Equal(t, messages[3].text, got.Text)
			require.Equal(t, []any{c.stray, backward}, []any{got.Stray, got.Backward})
			require.Equal(t, message, map[bool]wiegand.Bits{false: b.Slice(got.From, got.To),
				true: b.Slice(got.From, got.To).Reverse()}[backward].String())
			b = b.Reverse()
		}
		r, _, _ := play(t, line.Config{Coding: line.ClockAndData}, clockEdges(b.String()))
		require.Equal(t, []line.Faults{0, faults(line.StrayBit), faults(line.StrayBit)}[c.stray], r.Faults)
	}
	_, err := line.ParseTrack2(wiegand.MustParseBits("bits:1001001" + message))
	require.ErrorContains(t, err, "does not begin a start sentinel", "three stray bits are too many to be sure")
	// Any bit of the message wrong, lost or there twice: never healthy, and never another message.
	b := wiegand.MustParseBits("bits:0000" + message + "0000")
	for i := 4; i < 4+len(message); i++ {
		short, _ := b.Delete(i)
		long, _ := b.Insert(i, b.Bit(i))
		for _, bad := range []wiegand.Bits{b.WithBit(i, 1-b.Bit(i)), short, long} {
			r, _, _ := play(t, line.Config{Coding: line.ClockAndData}, clockEdges(bad.String()))
			require.NotEqual(t, line.Healthy, r.Verdict(), "bit %d", i+1)
			if got, err := line.ParseTrack2(bad); err == nil { // the first bit twice is a stray one and the message
				require.Equal(t, messages[3].text, got.Text)
				require.Equal(t, 1, bad.Len()-b.Len())
				continue
			}
			require.True(t, r.Faults.Has(line.NoMessage))
		}
	}
}

// clockEdges draws clock and data: DATA low for a 1, CLOCK low for 40 µs each millisecond, in the middle of the bit.
func clockEdges(bits string) (edges []line.Edge) {
	at := 100 * ms
	for _, b := range bits {
		level := line.High
		if b == '1' {
			level = line.Low
		}
		edges = append(edges, line.Edge{At: at - 300*us, Wire: line.Data, Level: level},
			line.Edge{At: at, Wire: line.Clock, Level: line.Low}, line.Edge{At: at + 40*us, Wire: line.Clock, Level: line.High})
		at += ms
	}
	return append(edges, line.Edge{At: at, Wire: line.Data, Level: line.High})
}

// A wire that is shorted just after a read has no bit more for it; that it stays low is said of the read all the same.
func TestStuckBehindARead(t *testing.T) {
	t.Parallel()
	falls := steadySim().send(1e5, card)
	last := falls[len(falls)-1].at
	for after, want := range map[float64]string{2000: card + "0", 12000: card} {
		reads, _ := record(append(falls, fall{0, last + after, 9e5}), line.Config{})
		require.Len(t, reads, 1)
		require.Equal(t, want, reads[0].Bits.String())
		require.Equal(t, line.Suspect, reads[0].Verdict())
		require.True(t, reads[0].Faults.Has(line.Stuck))
	}
}

// The last pulse of a reader that sends a bit every 2 ms lasts for 20 ms: bits of its wire behind it would not show, so
// that the read is in doubt. One that lasts for less than a beat hides none.
func TestLongLastPulse(t *testing.T) {
	t.Parallel()
	for wide, want := range map[float64]line.Verdict{1200: line.Marginal, 20000: line.Suspect} {
		falls := steadySim().send(1e5, card)
		falls[len(falls)-1].wide = wide
		reads, _ := record(falls, line.Config{})
		require.Len(t, reads, 1)
		require.Equal(t, want, reads[0].Verdict(), "%v µs: %v", wide, reads[0].Faults)
	}
}

// Times read in a unit a thousand or a million times too large or too small make pulses that are no reader's (SIA
// AC-01-1996.10: 20 to 100 µs), and nothing is wrong with the wires.
func TestTimesInAnotherUnit(t *testing.T) {
	t.Parallel()
	for _, wide := range []float64{20, 45, 60, 100} {
		for _, times := range []float64{1e-3, 1, 1e3, 1e6} {
			s := steadySim()
			s.wide = wide
			falls := s.send(1e5, card)
			for i := range falls {
				falls[i].at, falls[i].wide = falls[i].at*times, falls[i].wide*times
			}
			_, h := record(falls, line.Config{})
			require.Equal(t, times != 1, h.OutOfScale(), "%v µs times %v", wide, times)
			if times != 1 {
				require.Len(t, h.Suggestions(), 1)
				require.Contains(t, h.Suggestions()[0], "the unit of the times")
			}
		}
	}
	// Interference on an idle line is as short, but not alike.
	var falls []fall
	for i := range 20 {
		falls = append(falls, fall{i % 2, 1e5 + 30000*float64(i), 0.1 + 0.04*float64(i)})
	}
	_, h := record(falls, line.Config{})
	require.False(t, h.OutOfScale())
}
