package line_test

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// TestReadsOfDoubt spoils reads so that parts of them look like whole ones, with the simulator of spoilt_test.go. No
// read that comes out may be other bits than were sent, unless it is suspect.
func TestReadsOfDoubt(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		spoil func(s *sim, bits string) []fall
	}{
		{"a slow reader loses three pulses in a row", func(s *sim, bits string) []fall {
			s.pace, s.jitter = 10000+9000*s.rng.Float64(), min(s.jitter, 0.02)
			at := 5 + s.rng.IntN(len(bits)-13)
			return without(s.send(1e5, bits), map[int]bool{at: true, at + 1: true, at + 2: true})
		}},
		{"a motor starts", func(s *sim, bits string) []fall {
			falls := s.send(1e5, bits)
			for at := 1e5 + s.pace*float64(s.rng.IntN(len(bits)/2)); len(falls) < len(bits)+12; at += 3000 * s.rng.Float64() {
				falls = append(falls, fall{s.rng.IntN(2), at, 12 + 280*s.rng.Float64()})
			}
			return falls
		}},
		{"the recorder takes a sample in a pulse and a half", func(s *sim, bits string) []fall {
			sample, falls := 1.5*s.wide, []fall(nil)
			for _, f := range s.send(1e5, bits) {
				at := float64(int(f.at/sample)+1) * sample
				if at < f.at+f.wide {
					falls = append(falls, fall{f.wire, at, sample})
				}
			}
			return falls
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			wrong := 0
			for i := range generatedReads() / 10 {
				rng := rand.New(rand.NewPCG(seed, uint64(i)+7000))
				s, bits := newSim(rng), simBits(rng)
				falls := c.spoil(&s, bits)
				if len(falls) == len(bits) { // the recorder saw all of it
					continue
				}
				reads, _ := record(falls, line.Config{})
				for _, r := range reads {
					ends := len(reads) == 1 && strings.Contains(bits, r.Bits.String()) // nothing but the ends was lost
					if r.Verdict() != line.Suspect && r.Bits.Len() >= 4 && !ends {
						wrong++
						require.NotEqual(t, line.Healthy, r.Verdict(), "seed %d, recording %d: %v", seed, i, r.Bits)
					}
				}
			}
			require.LessOrEqual(t, wrong, generatedReads()/10/25, "of so many, one in 25 may be no more than doubted")
		})
	}
}

// A reader without a pace does not send two bits within a tenth of a millisecond once: one of the two is a stray pulse.
func TestStrayPulseWithoutPace(t *testing.T) {
	t.Parallel()
	for i := range 100 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+11000))
		at, falls := 1e5, []fall(nil)
		for _, bit := range simBits(rng) {
			falls = append(falls, fall{int(bit - '0'), at, 20})
			at += 1000 + 2000*rng.Float64()
		}
		reads, _ := record(falls, line.Config{})
		require.Equal(t, line.Marginal, reads[0].Verdict(), reads[0].Warnings(nil))
		beside := falls[rng.IntN(len(falls))]
		falls = append(falls, fall{1 - beside.wire, beside.at + 30 + 70*rng.Float64(), 20})
		reads, _ = record(falls, line.Config{})
		require.Equal(t, line.Suspect, reads[0].Verdict(), reads[0].Warnings(nil))
	}
}

// Pulses that shrink to about the glitch time are bits where they count and are lost where they do not.
func TestPulsesAboutTheGlitchTime(t *testing.T) {
	t.Parallel()
	wrong := 0
	for i := range 300 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+13000))
		s, bits := newSim(rng), simBits(rng)
		falls := s.send(1e5, bits)
		for k := range falls {
			falls[k].wide = 2 + 16*rng.Float64()
		}
		reads, _ := record(falls, line.Config{})
		for _, r := range reads {
			if r.Verdict() != line.Suspect && r.Bits.String() != bits {
				wrong++
			}
		}
	}
	require.LessOrEqual(t, wrong, 3, "of 300; a part that keeps its pace may be no more than doubted")
}

// A reader that sends byte by byte pauses after every eighth bit; where a pause is missing, or another one is there,
// pulses may be lost.
func TestGroups(t *testing.T) {
	t.Parallel()
	for i := range 100 {
		rng := rand.New(rand.NewPCG(seed, uint64(i)+9000))
		s, bits := newSim(rng), simBits(rng)
		s.jitter = min(s.jitter, 0.1)
		falls := s.send(1e5, bits)
		for k := range falls {
			falls[k].at += float64(k/8) * s.pace * float64(1+i%3)
		}
		reads, _ := record(falls, line.Config{})
		require.Equal(t, []string{bits}, bitsOf(reads))
		require.Equal(t, line.Marginal, reads[0].Verdict(), reads[0].Warnings(nil))
		reads, _ = record(without(falls, map[int]bool{1 + rng.IntN(len(falls)-2): true}), line.Config{})
		require.Equal(t, line.Suspect, reads[0].Verdict(), reads[0].Warnings(nil))
	}
}

// Two keys of a slow reader are two reads, where they are five beats apart or more.
func TestSlowReaderParts(t *testing.T) {
	t.Parallel()
	s := sim{rng: rand.New(rand.NewPCG(seed, 0)), pace: 15000, wide: 50}
	reads, _ := record(append(s.send(1e5, "0101"), s.send(1e5+3*15000+81000, "1100")...), line.Config{})
	require.Equal(t, []string{"0101", "1100"}, bitsOf(reads))
	reads, _ = record(append(s.send(1e5, "0101"), s.send(1e5+3*15000+55000, "1100")...), line.Config{})
	require.Equal(t, []string{"01011100"}, bitsOf(reads))
	require.Equal(t, line.Suspect, reads[0].Verdict())
}

// An open-collector line in a dump is 0 and z, since only its pull-up makes it high (IEEE 1364 has z for what is not
// driven). Where it is driven high as well, z is no level.
func TestVCDOpenCollector(t *testing.T) {
	t.Parallel()
	head := "$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n"
	body := "#0 z! z\" #60000 0! #60050 z! #62000 0\" #62050 z\" #64000 0! #64050 z! #66000 0\" #66050 z\" #220000\n"
	for _, text := range []string{head + body, head + strings.NewReplacer("0!", "b0 !", "z!", "bz !").Replace(body)} {
		reads, _, err := readVCD(strings.NewReader(text), line.Signals{})
		require.NoError(t, err)
		require.Equal(t, []string{"0101"}, bitsOf(reads))
		require.Equal(t, line.Healthy, reads[0].Verdict())
		v, err := line.NewVCD(strings.NewReader(strings.NewReplacer("D0", "a", "D1", "b").Replace(text)))
		require.NoError(t, err)
		pairs, err := v.Pairs()
		require.NoError(t, err)
		require.Len(t, pairs, 1)
	}
	reads, _, err := readVCD(strings.NewReader(head+strings.Replace(body, "#62000", "#61000 1! #61500 z! #62000", 1)),
		line.Signals{})
	require.NoError(t, err)
	require.True(t, reads[0].Faults.Has(line.UnknownLevel))
}

// Names as people and recorders write them. The names are our own; that DATA0 is green and DATA1 white is common
// practice, no source.
func TestNamesOfWires(t *testing.T) {
	t.Parallel()
	for _, names := range [][2]string{{"D0", "D1"}, {"Data 0 (green)", "Data 1 (white)"}, {"00-DATA0", "01-DATA1"},
		{"Zero", "One"}, {"DATA0/in", "DATA1/in"}, {"reader D0", "reader D1"}, {"green", "white"},
		{"CH1", "CH2"}, {"Ch 9 (in)", "Ch 10 (in)"}, {"A0", "A1"}, {"Clock (white)", "Data (green)"},
		{"A", "B"}, {"CHA (in)", "CHB (in)"}, {"reader clk", "reader data"}} {
		for turned := range 2 {
			text := "time_us," + names[turned] + "," + names[1-turned] + "\n"
			for i, level := range []string{"11", "01", "11", "10", "11", "01", "11", "01", "11"} {
				text += fmt.Sprintf("%d,%c,%c\n", 60000+1000*i, level[turned], level[1-turned])
			}
			c, err := line.NewCSV(strings.NewReader(text), line.CSVOptions{})
			require.NoError(t, err)
			choice, err := c.Choose(line.Signals{})
			require.NoError(t, err, names)
			require.Equal(t, names, choice.Names, "turned %d", turned)
			isClock := strings.HasPrefix(names[0], "C") && names[0][1] == 'l' || strings.HasSuffix(names[0], "clk")
			require.Equal(t, isClock, choice.Coding == line.ClockAndData, names)
		}
	}
	v, err := line.NewVCD(strings.NewReader("$timescale 1us $end $var reg 1 ! D0 [0] $end $var reg 1 \" D1 [0:0] $end " +
		"$var wire 1 # bit [0] $end $var wire 1 $ bit [1] $end $enddefinitions $end #0 1! 1\" #99 0!\n"))
	require.NoError(t, err)
	require.Equal(t, []string{"D0", "D1", "bit[0]", "bit[1]"}, v.Names())
	_, err = v.Choose(line.Signals{Data0: "D0[0]", Data1: "D1"})
	require.NoError(t, err)
}

// Numbers of channels are no names of wires: of eight, the two that move like a reader's are proposed, and neither a
// light that goes on with each card nor a clock that always runs.
func TestPairsOfChannels(t *testing.T) {
	t.Parallel()
	s := sim{rng: rand.New(rand.NewPCG(seed, 5)), pace: 2000, wide: 50}
	type change struct {
		at            float64
		signal, level int
	}
	var all []change
	for k := range 3 {
		falls := s.send(2e5+1e6*float64(k), simBits(s.rng))
		for _, f := range falls {
			all = append(all, change{f.at, 4 + f.wire, 0}, change{f.at + f.wide, 4 + f.wire, 1})
		}
		end := falls[len(falls)-1].at
		all = append(all, change{end + 30000, 0, 0}, change{end + 230000, 0, 1})
	}
	for i := range 4000 {
		all = append(all, change{500 * float64(i), 1, i % 2})
	}
	slices.SortStableFunc(all, func(a, b change) int { return int(a.at - b.at) })
	text := "$timescale 1us $end "
	for i := range 8 {
		text += fmt.Sprintf("$var wire 1 %c D%d $end ", '!'+i, i)
	}
	text += "$enddefinitions $end\n#0 1! 1\" 1# 1$ 1% 1& 1' 1(\n"
	for _, c := range all {
		text += fmt.Sprintf("#%.0f %d%c\n", c.at, c.level, '!'+c.signal)
	}
	v, err := line.NewVCD(strings.NewReader(text))
	require.NoError(t, err)
	pairs, err := v.Pairs()
	require.NoError(t, err)
	require.Len(t, pairs, 1)
	require.Equal(t, [2]string{"D4", "D5"}, pairs[0].Names)
}

// Times and heads of CSV files as recorders write them (common practice, no source), the times of day as RFC 3339 has
// them. Each has the same four pulses.
func TestCSVTimes(t *testing.T) {
	t.Parallel()
	micros := []int{0, 60000, 60050, 62000, 62050, 64000, 64050, 66000, 66050, 200000}
	levels := []string{"11", "01", "11", "10", "11", "01", "11", "10", "11", "11"}
	rows := func(head, format, more string) string {
		for i, us := range micros {
			head += fmt.Sprintf(format, us) + "," + levels[i][:1] + "," + levels[i][1:] + more + "\n"
		}
		return head
	}
	numbered := "Index,t [us],D0,D1\n"
	bare := ""
	for i, us := range micros {
		numbered += fmt.Sprintf("%d,%d,%c,%c\n", i, us, levels[i][0], levels[i][1])
		bare += fmt.Sprintf("%d,%.1f,%c,%c\n", i, float64(us), levels[i][0], levels[i][1])
	}
	for name, c := range map[string]struct {
		text string
		unit string
	}{
		"time of day":         {rows("Time,D0,D1\n", "12:00:00.%06d", ""), ""},
		"date and time":       {rows("Time,D0,D1\n", "2026-03-01T12:00:00.%06d", ""), ""},
		"with a space":        {rows("Timestamp,D0,D1\n", "2026-03-01 12:00:00.%06d", ""), ""},
		"with a zone":         {rows("Time,D0,D1\n", "2026-03-01T12:00:00.%06d+01:00", ""), ""},
		"a comma at the end":  {rows("Time [us],D0,D1,\n", "%d", ","), ""},
		"commas below":        {rows("Time [us],D0,D1\n", "%d", ","), ""},
		"units in a row":      {rows("Time,D0,D1\nus,V,V\n", "%d", ""), ""},
		"units in brackets":   {rows("Time,D0,D1\n(us),,\n", "%d", ""), ""},
		"a number of the row": {numbered, ""},
		"no head":             {bare, "us"},
	} {
		l, err := line.NewCSV(strings.NewReader(c.text), line.CSVOptions{Unit: c.unit})
		require.NoError(t, err, name)
		_, err = l.Choose(line.Signals{})
		require.NoError(t, err, name)
		reads, _, err := readAll(l)
		require.NoError(t, err, name)
		require.Equal(t, []string{"0101"}, bitsOf(reads), name)
		require.Equal(t, line.Healthy, reads[0].Verdict(), name)
	}
}

// Of a key of six bits, 2 ms apart, two pulses between the first and the last one are lost: the four that are left are
// as many as a key has, and there is no telling that its reader is unsteady.
func TestKeysOfWhichBitsAreLost(t *testing.T) {
	t.Parallel()
	for lost := range 1 << 4 {
		if bits.OnesCount(uint(lost)) != 2 {
			continue
		}
		var edges []line.Edge
		for i, bit := range "110001" {
			if i == 0 || i == 5 || lost>>(i-1)&1 == 0 {
				at, w := 100*ms+time.Duration(i)*2*ms, line.Wire(bit-'0')
				edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Low},
					line.Edge{At: at + 50*us, Wire: w, Level: line.High})
			}
		}
		read := readOf(t, append(edges, line.Edge{At: time.Second, Wire: line.NoWire}))
		require.Equal(t, 4, read.Bits.Len())
		require.Equal(t, line.Suspect, read.Verdict(), "%04b", lost)
	}
}

// Of keys of eight bits, 2 ms apart, each has four of either value (public general-purpose drivers): where a wire has
// gone dead, four pulses of the other one are left, and only those of a key in a row keep the pace of a key 0 or 15.
func TestKeyOfADeadWire(t *testing.T) {
	t.Parallel()
	for _, bits := range []string{"11100001", "11000011", "10100101", "10110100", "10010110", "01101001"} {
		s := sim{rng: rand.New(rand.NewPCG(1, 0)), pace: 2000, wide: 50}
		alive := slices.DeleteFunc(s.send(600e3, bits), func(f fall) bool { return f.wire == 0 })
		reads, _ := record(append(s.send(100e3, bits), alive...), line.Config{})
		require.Equal(t, []string{bits, "1111"}, bitsOf(reads))
		require.Equal(t, line.Healthy, reads[0].Verdict(), bits)
		require.Equal(t, line.Suspect, reads[1].Verdict(), bits)
	}
}
