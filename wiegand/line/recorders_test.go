package line_test

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// changes writes a row for each change of the published 26-bit example, 2 ms apart and 50 µs wide.
func changes(row func(us, wire, level int) string) string {
	var b strings.Builder
	for i, bit := range card {
		at := 100000 + 2000*i
		b.WriteString(row(at, int(bit-'0'), 0) + "\n" + row(at+50, int(bit-'0'), 1) + "\n")
	}
	return b.String()
}

// sinceBefore makes the number that begins each row that since the row before, 0 in the first one.
func sinceBefore(rows string) (text string) {
	last := -1
	for row := range strings.Lines(rows) {
		number, rest, _ := strings.Cut(row, ",")
		us, _ := strconv.Atoi(number)
		if last < 0 {
			last = us
		}
		text += fmt.Sprintf("%d,%s", us-last, rest)
		last = us
	}
	return text
}

// A log of pulses in which another word comes may tell of another change: the rise of the wire.
func TestLogWithAnotherWord(t *testing.T) {
	t.Parallel()
	text := "100000 us: wire D0 dropped\n100050 us: wire D0 climbed\n102000 us: wire D1 dropped\n102050 us: wire D1 climbed\n"
	_, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
	require.ErrorIs(t, err, line.ErrLevel)
}

// The time since the row before and that until the next one may be called alike. Where the first row has 0 it is the
// former: nothing came before it.
func TestTimeSinceOrUntil(t *testing.T) {
	t.Parallel()
	_, err := line.NewCSV(strings.NewReader("D0,D1,dt_us\n1,1,364956\n0,1,50\n"), line.CSVOptions{})
	require.ErrorIs(t, err, line.ErrTime)
	require.ErrorContains(t, err, "or until the next one")
}

// TestLogsOfRecorders has the ways in which programs of small boards and of recorders write changes down (common
// practice, no source).
func TestLogsOfRecorders(t *testing.T) {
	t.Parallel()
	last := 0
	words := [2]string{"FALLING", "RISING"}
	state := [2]int{1, 1}
	levels := func(format string) string {
		state = [2]int{1, 1}
		return changes(func(us, wire, level int) string {
			state[wire] = level
			return fmt.Sprintf(format, us/1e6, us%1e6, state[0], state[1])
		})
	}
	falls := func(format string) (text string) {
		for i, bit := range card {
			at := 100000 + 2000*i
			text += fmt.Sprintf(format, at, bit-'0', at+50)
		}
		return text
	}
	for name, c := range map[string]struct {
		text string
		o    line.CSVOptions
		s    line.Signals
	}{
		"numbers of pins": {text: "time_us,pin,level\n" + changes(func(us, wire, level int) string {
			return fmt.Sprintf("%d,%d,%d", us, 2+wire, level)
		}), s: line.Signals{Data0: "2", Data1: "3"}},
		"pins 0 and 1": {text: "time_us,pin,level\n" + changes(func(us, wire, level int) string {
			return fmt.Sprintf("%d,%d,%d", us, wire, level)
		}), s: line.Signals{Data0: "0", Data1: "1"}},
		"the wire first": {text: "wire,time_us,level\n" + changes(func(us, wire, level int) string {
			return fmt.Sprintf("D%d,%d,%d", wire, us, level)
		})},
		"the level before the wire": {text: "time_us;level;wire\n" + changes(func(us, wire, level int) string {
			return fmt.Sprintf("%d;%d;D%d", us, level, wire)
		})},
		"lines for people": {text: changes(func(us, wire, level int) string {
			return fmt.Sprintf("%d us: D%d %s", us, wire, words[level])
		})},
		"in brackets": {text: changes(func(us, wire, level int) string {
			return fmt.Sprintf("[%d.%06d] D%d %s", us/1e6, us%1e6, wire, words[level])
		}), o: line.CSVOptions{Unit: "s"}},
		"time since the row before": {text: "delta_us,wire,level\n" + changes(func(us, wire, level int) string {
			since := us - last
			last = us
			return fmt.Sprintf("%d,D%d,%d", since, wire, level)
		})},
		"HI and LO": {text: "Time [s],D0,D1\n0.0,HI,HI\n" +
			strings.NewReplacer(",0", ",LO", ",1", ",HI").Replace(levels("%d.%06d,%d,%d"))},
		"quoted decimal comma": {text: `"Time [s]","D0","D1"` + "\n" + levels(`"%d,%06d","%d","%d"`)},
		"date and time":        {text: "Date;Time;D0;D1\n" + levels("2026-11-26;10:00:0%d.%06d;%d;%d")},
		"date with points":     {text: "Time;D0;D1\n" + levels("26.11.2026 10:00:0%d.%06d;%d;%d")},
		"date with strokes":    {text: "Time,D0,D1\n" + levels("11/26/2026 10:00:0%d.%06d,%d,%d")},
		"minutes and seconds":  {text: "Time,D0,D1\n" + levels("00:0%d.%06d,%d,%d")},
		"pulses and how long": {text: "name,start_time (s),duration (us)\n" +
			falls("D%[2]d,0.%06[1]d,50\n")},
		"pulses and their ends": {text: "Start (us);Wire;End (us)\n" + falls("%[1]d;D%[2]d;%[3]d\n")},
		"names in each row":     {text: levels("t=%d.%06ds D0=%d D1=%d")},
		"names behind the time": {text: levels("%d.%06d s: D0=%d D1=%d")},
		"number of the sample":  {text: "Sample Rate,1000000\nSample Number,D0,D1\n" + levels("%d%06d,%d,%d")},
		"number of the row":     {text: "#,t [us],D0,D1\n" + levels("%d,%[2]d,%[3]d,%[4]d")},
		"all levels in hex": {text: "Time [s];Bus\n" + levels("%d.%06d;0x%[4]X%[3]X"),
			s: line.Signals{Data0: "Bus[0]", Data1: "Bus[4]"}},
		"in hex with an h":           {text: "Time [s],Port[7:0]\n" + levels("%d.%06d,%[4]d%[3]dh"), s: line.Signals{Data0: "Port[0]", Data1: "Port[4]"}},
		"in binary":                  {text: "Time [s],D\n" + levels("%d.%06d,111111%[4]d%[3]d"), s: line.Signals{Data0: "D[0]", Data1: "D[1]"}},
		"in binary, with 0b":         {text: "Time [s],D\n" + levels("%d.%06d,0b%[4]d%[3]d"), s: line.Signals{Data0: "D[0]", Data1: "D[1]"}},
		"falls alone":                {text: falls("%[1]d us: D%[2]d falling\n")},
		"rises alone":                {text: "time_us,wire,edge\n" + falls("%[1]d,D%[2]d,rise\n")},
		"the wire and then the time": {text: "wire,t_us\n" + falls("D%[2]d,%[1]d\n")},
		"the time last":              {text: levels("%[3]d,%[4]d,%[1]d.%06[2]d s")},
		"the time last, by its head": {text: "D0;D1;us\n" + levels("%[3]d;%[4]d;%[1]d%06[2]d")},
		"the time of day last":       {text: "D0;D1;Uhrzeit\n" + levels("%[3]d;%[4]d;10:00:0%[1]d.%06[2]d")},
		"the number and then the time": {text: "Sample,Zeit,D0,D1\n" + levels("%d,%[2]d,%[3]d,%[4]d"),
			o: line.CSVOptions{Unit: "us"}},
		"t and no unit": {text: "n;t;D0;D1\n" + levels("%d;%[2]d;%[3]d;%[4]d"), o: line.CSVOptions{Unit: "us"}},
		"on and off": {text: "Time [s],D0,D1\n0.0,on,on\n" +
			strings.NewReplacer(",0", ",off", ",1", ",on").Replace(levels("%d.%06d,%d,%d"))},
		"with words beside them":      {text: "Time [s],D0,D1,Note\n" + levels("%d.%06d,%d,%d,ok")},
		"levels since the row before": {text: "dt_us,D0,D1\n" + sinceBefore(levels("%[2]d,%[3]d,%[4]d"))},
		"since the start":             {text: "time since start [us],wire\n" + falls("%[1]d,D%[2]d\n")},
		"the unit before since":       {text: "us since boot,wire\n" + falls("%[1]d,D%[2]d\n")},
		"a log with a level of its own": {text: changes(func(us, wire, level int) string {
			return fmt.Sprintf("2026-11-30 10:00:%02d.%06d [INFO] D%d %s", us/1e6, us%1e6, wire, words[level])
		})},
		"a log of a program": {text: changes(func(us, wire, level int) string {
			return fmt.Sprintf("[   12.%06d] reader: D%d went %d", us, wire, level)
		}), o: line.CSVOptions{Unit: "s"}},
		"a log of pulses":          {text: falls("%[1]d us - D%[2]d pulse seen\n")},
		"the time behind the wire": {text: falls("GPIO D%[2]d fell at %[1]d us\n")},
		"past 32 bits of microseconds": {text: "micros,wire,level\n" + changes(func(us, wire, level int) string {
			return fmt.Sprintf("%d,D%d,%d", uint32(us-115_000), wire, level)
		})},
		"past midnight": {text: "Time,D0,D1\n23:59:59.9,1,1\n" + levels("00:00:0%d.%06d,%d,%d")},
	} {
		reads, _, err := readCSV(strings.NewReader(c.text), c.o, c.s)
		require.NoError(t, err, name)
		require.Equal(t, []string{card}, bitsOf(reads), name)
	}
}

// A number in one column that does not hold as many signals as in the first row is no level.
func TestPackedColumnThatDoesNotFit(t *testing.T) {
	t.Parallel()
	_, _, err := readCSV(strings.NewReader("1 us D0=1 D1=1\n2 us D0=1 D2=0\n"), line.CSVOptions{}, line.Signals{})
	require.ErrorContains(t, err, "not the name that stands here")
	for _, bad := range []string{"0x12345", "0x", "1.5", "x", "0b11"} {
		_, _, err := readCSV(strings.NewReader("Time [s],Bus,n\n0,0x03,1\n1,"+bad+",1\n"), line.CSVOptions{},
			line.Signals{Data0: "Bus[0]", Data1: "Bus[1]"})
		if bad != "0b11" {
			require.ErrorIs(t, err, line.ErrLevel, bad)
			continue
		}
		require.NoError(t, err)
	}
}

// A recording may begin with its first change, or inside a pulse: the bit is there either way. What was before it is
// not known. Wires that are low for longer, as those of a reader without supply, have no pulse.
func TestFirstRowInsideAPulse(t *testing.T) {
	t.Parallel()
	rows := strings.SplitAfter("Time [us],D0,D1\n0,1,0\n50,1,1\n2000,0,1\n2050,1,1\n4000,1,0\n4050,1,1\n120000,1,1\n",
		"\n")
	read := func(first string) line.Read {
		text := rows[0] + first + strings.Join(rows[2:], "")
		reads, h, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
		require.NoError(t, err)
		require.Len(t, reads, 1)
		require.False(t, h.Inverted)
		require.True(t, reads[0].Faults.Has(line.CutStart))
		return reads[0]
	}
	require.Equal(t, "101", read(rows[1]).Bits.String())
	require.Equal(t, "101", read("40,1,0\n").Bits.String(), "10 µs of it are left")
	require.Equal(t, "01", read("-300,1,0\n").Bits.String(), "low for longer than a pulse of this reader")
	require.Equal(t, "01", read("0,0,0\n").Bits.String(), "both low")
}

// A reader that gets its supply while the recorder runs holds both wires low until then, for longer than a gap.
func TestPolarityOfSupplyThatComesUp(t *testing.T) {
	t.Parallel()
	s := steadySim()
	for _, low := range []time.Duration{5 * ms, 70 * ms, 300 * ms} {
		for _, other := range []line.Level{line.Low, line.High} { // at which level the recording begins to see the other wire
			edges := []line.Edge{{At: 0, Wire: 0, Level: other}, {At: 0, Wire: 1, Level: line.Low},
				{At: low, Wire: 0, Level: line.High}, {At: low, Wire: 1, Level: line.High}}
			for _, e := range simEdges(s.send(1e6, card)) {
				if e.At > low {
					edges = append(edges, e)
				}
			}
			reads, h, err := readAll(&source{edges: append(edges, line.Edge{At: 2 * time.Second, Wire: line.NoWire})})
			require.NoError(t, err)
			require.False(t, h.Inverted, low)
			require.Equal(t, []string{card}, bitsOf(reads))
			require.Equal(t, line.Healthy, reads[0].Verdict(), "%v", reads[0].Warnings(nil))
		}
	}
}

// A reader whose supply goes before its first read pulls both wires low for longer than the read lasts, and shakes them
// when it comes back. The times are our own; that a wire idles high is common practice, no source.
func TestPolarityOfSupplyThatGoes(t *testing.T) {
	t.Parallel()
	edges := []line.Edge{{At: 0, Wire: 0, Level: line.High}, {At: 0, Wire: 1, Level: line.High}}
	for _, at := range []time.Duration{100 * ms, 400300 * us, 400700 * us} {
		for w := range line.Wire(2) {
			until := at + 150*us
			if at == 100*ms {
				until = 400 * ms
			}
			edges = append(edges, line.Edge{At: at, Wire: w, Level: line.Low}, line.Edge{At: until, Wire: w, Level: line.High})
		}
	}
	slices.SortStableFunc(edges, func(a, b line.Edge) int { return cmp.Compare(a.At, b.At) })
	for _, e := range simEdges(steadySim().send(5e5, card)) {
		if e.At >= 500*ms {
			edges = append(edges, e)
		}
	}
	reads, h, err := readAll(&source{edges: append(edges, line.Edge{At: 2 * time.Second, Wire: line.NoWire})})
	require.NoError(t, err)
	require.False(t, h.Inverted)
	require.Equal(t, card, reads[len(reads)-1].Bits.String())
	require.Equal(t, line.Healthy, reads[len(reads)-1].Verdict())
}

// A wire that sticks is not one that idles so, though it be low for longer than high.
func TestPolarityOfAWireThatSticks(t *testing.T) {
	t.Parallel()
	for _, inverted := range []bool{false, true} {
		idle, active := line.High, line.Low
		if inverted {
			idle, active = line.Low, line.High
		}
		_, h, err := readAll(&source{edges: []line.Edge{{Wire: 0, Level: idle}, {Wire: 1, Level: idle},
			{At: 200 * ms, Wire: 0, Level: active}, {At: 10 * time.Second, Wire: line.NoWire}}})
		require.NoError(t, err)
		require.Equal(t, inverted, h.Inverted)
		require.Equal(t, [2]bool{true, false}, h.Stuck)
	}
}

// voltages is a scope's export of the published 26-bit example: both wires idle at idle and pulse to active, with
// normal noise; wire cut does not move. Every pulse is seen on the other wire too, at its edges, as crosstalk volts.
func voltages(idle, active, noise, crosstalk float64, cut int) string {
	rng := rand.New(rand.NewPCG(seed, 12))
	var b strings.Builder
	b.WriteString("Time (s),D0 (V),D1 (V)\n")
	for n := range 25000 {
		v := [2]float64{idle, idle}
		if us := n*10 - 100000; us >= 0 && us/2000 < len(card) {
			w := int(card[us/2000] - '0')
			switch in := us % 2000; {
			case in < 50 && w != cut:
				v[w] = active
				if in == 0 {
					v[1-w] -= crosstalk
				}
			case in == 50:
				v[1-w] += crosstalk
			}
		}
		fmt.Fprintf(&b, "%.5f,%.3f,%.3f\n", float64(n)*1e-5, v[0]+noise*rng.NormFloat64(), v[1]+noise*rng.NormFloat64())
	}
	return b.String()
}

// Noise is no level, be the wires at whatever voltage: before they move, and where they never do.
func TestNoisyVoltages(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ idle, active, noise, crosstalk float64 }{
		"idle at ground":              {0.1, 5, 0.25, 0.5},
		"idle above ground":           {0.4, 3.3, 0.15, 0.3},
		"idle at the supply":          {5, 0.4, 0.25, 0.7},
		"twelve volts":                {0.1, 12, 0.3, 1.5},
		"a probe of ten":              {0.02, 0.5, 0.02, 0.05},
		"a scope that hides the rest": {0, -5, 0.2, 0.5},
	} {
		for cut := -1; cut < 2; cut++ {
			reads, h, err := readCSV(strings.NewReader(voltages(c.idle, c.active, c.noise, c.crosstalk, cut)),
				line.CSVOptions{}, line.Signals{})
			require.NoError(t, err)
			require.Len(t, reads, 1, "%s %d", name, cut)
			require.Equal(t, c.active > c.idle, h.Inverted, name)
			require.Zero(t, h.Spikes, "%s %d", name, cut)
			if cut < 0 {
				require.Equal(t, card, reads[0].Bits.String(), name)
				require.Equal(t, line.Healthy, reads[0].Verdict(), "%s %v", name, reads[0].Warnings(nil))
			} else {
				require.Equal(t, strings.Count(card, string('1'-rune(cut))), reads[0].Bits.Len(), name)
				require.Zero(t, h.Pulses[cut], "%s %d", name, cut)
			}
		}
	}
}

// A reader whose pulses come at random by an eighth of the beat now and then has two that look like an echo, or like a
// lost pulse. Nothing is made of it: a mended read that is wrong is worse than none.
func TestUnsteadyReadsAreNotMended(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(seed, 13))
	doubted, wrong := 0, 0
	for range 2000 {
		bits := randomBits(rng, 100).String()
		var falls []fall
		for i, bit := range bits {
			falls = append(falls, fall{int(bit - '0'), 1e5 + 1000*(float64(i)+0.1*rng.NormFloat64()), 50})
		}
		reads, _ := record(falls, line.Config{})
		require.Len(t, reads, 1)
		require.Equal(t, bits, reads[0].Bits.String())
		if reads[0].Verdict() == line.Suspect {
			doubted++
		}
		if reads[0].Mended.Len() > 0 {
			wrong++
		}
	}
	require.Greater(t, doubted, 100, "or there was nothing to see")
	require.LessOrEqual(t, wrong, 4, "of 2000")
}

// At 32 µs a sample, pulses of 20 µs every 62.5 samples are seen every second time, and those that are seen are as
// steady as any, so that the read must be in doubt. At 8 µs a sample none is lost.
func TestEverySecondBitBetweenSamples(t *testing.T) {
	t.Parallel()
	read := func(sample int) line.Read {
		var b strings.Builder
		fmt.Fprintf(&b, "Sample interval: %dus\nD0,D1\n", sample)
		for us := 0; us < 200000; us += sample {
			v := [2]int{1, 1}
			if in := us - 79990; in >= 0 && in/2000 < len(card) && in%2000 < 20 {
				v[card[in/2000]-'0'] = 0
			}
			fmt.Fprintf(&b, "%d,%d\n", v[0], v[1])
		}
		reads, _, err := readCSV(strings.NewReader(b.String()), line.CSVOptions{}, line.Signals{})
		require.NoError(t, err)
		require.Len(t, reads, 1)
		return reads[0]
	}
	half := read(32)
	require.Equal(t, len(card)/2, half.Bits.Len(), "or there was nothing to see")
	require.Equal(t, faults(line.OneSample, line.TooShort), half.Faults)
	require.Equal(t, line.Suspect, half.Verdict())
	few := read(15) // some are seen twice
	require.Equal(t, card, few.Bits.String())
	require.Equal(t, faults(line.FewSamples, line.Narrow), few.Faults|faults(line.Narrow))
	whole := read(8)
	require.Equal(t, card, whole.Bits.String())
	require.Equal(t, line.Healthy, whole.Verdict(), "%v", whole.Warnings(nil))
}

// Changes alone, as a recorder of 50 µs a sample wrote them: pulses of 45 µs every 1470 µs are a sample long or not
// there, and their intervals differ by a sample. Where the reader itself is in step with 50 µs, they do not.
func TestChangesBySamples(t *testing.T) {
	t.Parallel()
	for _, pace := range []int{1470, 1500} {
		text := "time_us,wire,level\n"
		for i, bit := range card {
			at := 100010 + pace*i
			if from, to := (at+49)/50*50, (at+45+49)/50*50; from < to {
				text += fmt.Sprintf("%d,D%c,0\n%d,D%c,1\n", from, bit, to, bit)
			}
		}
		reads, _, err := readCSV(strings.NewReader(text+"400000,D0,1\n"), line.CSVOptions{}, line.Signals{})
		require.NoError(t, err)
		require.Len(t, reads, 1)
		require.Equal(t, pace == 1470, reads[0].Faults.Has(line.OneSample), "%v", reads[0].Warnings(nil))
	}
}

// A dump in which all changes are whole steps of 100 µs, as a recorder of 10,000 samples a second makes it: of pulses
// of 50 µs, which last a step there or leave nothing, some may be missing, be those that are there as steady as may
// be. Where every pulse lasts two steps, none is.
func TestStepsOfARecorder(t *testing.T) {
	t.Parallel()
	for _, width := range []int{100, 200} {
		text := strings.Replace(vcdHead, "1us", "1ns", 1) + "#0 1! 1\" "
		for i, bit := range "0110" {
			id, at := "!\""[bit-'0'], 100_000+2_100*i
			text += fmt.Sprintf("#%d000 0%c #%d000 1%c ", at, id, at+width, id)
		}
		reads, _, err := readVCD(strings.NewReader(text+"#400000000"), line.Signals{})
		require.NoError(t, err)
		require.Equal(t, []string{"0110"}, bitsOf(reads))
		require.Equal(t, width == 100, reads[0].Faults.Has(line.OneSample))
		require.Equal(t, width == 100, reads[0].Verdict() == line.Suspect)
	}
}

// A reader's pulses of 100 µs, 1 ms apart, as a recorder of any whole part of 100 µs wrote them: one that looks every
// 100 µs has seen each, since it and the reader keep step.
func TestPulsesOfAHundredMicroseconds(t *testing.T) {
	t.Parallel()
	text := "time_us,wire,level\n"
	for i, bit := range card {
		text += fmt.Sprintf("%d,D%c,0\n%d,D%[2]c,1\n", 123650+1000*i, bit, 123750+1000*i)
	}
	reads, _, err := readCSV(strings.NewReader(text+"400000,D0,1\n"), line.CSVOptions{}, line.Signals{})
	require.NoError(t, err)
	require.Equal(t, []string{card}, bitsOf(reads))
	require.Equal(t, faults(line.OpenStart), reads[0].Faults)
}

// At 50 µs a sample, levels that become known between two samples are no changes.
func TestLevelsKnownLate(t *testing.T) {
	t.Parallel()
	text := vcdHead + "#0 x! x\" #3 1! 1\" "
	for i, bit := range card {
		id, at := "!\""[bit-'0'], (100_010+1470*i)/50*50
		text += fmt.Sprintf("#%d 0%c #%d 1%c ", at, id, at+50, id)
	}
	reads, _, err := readVCD(strings.NewReader(text+"#400000"), line.Signals{})
	require.NoError(t, err)
	require.True(t, reads[0].Faults.Has(line.OneSample))
}

// The same at 50 µs, which a reader's pulse may last as well: that the step is the recorder's shows where pulses come
// by it too early or too late, and is known for the reads that follow.
func TestStepsKnownFromAnotherRead(t *testing.T) {
	t.Parallel()
	for _, early := range []int{0, 50} {
		text := strings.Replace(vcdHead, "1us", "1ns", 1) + "#0 1! 1\" "
		for i, bit := range "01100101" {
			id, at := "!\""[bit-'0'], 100_000+2_100*i+i/4*300_000
			if i == 2 {
				at -= early
			}
			text += fmt.Sprintf("#%d000 0%c #%d000 1%c ", at, id, at+50, id)
		}
		reads, _, err := readVCD(strings.NewReader(text+"#700000000"), line.Signals{})
		require.NoError(t, err)
		require.Equal(t, []string{"0110", "0101"}, bitsOf(reads))
		require.Equal(t, early > 0, reads[1].Faults.Has(line.OneSample))
	}
}
