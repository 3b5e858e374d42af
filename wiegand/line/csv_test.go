package line_test

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

func readCSV(in io.Reader, o line.CSVOptions, s line.Signals) ([]line.Read, line.Health, error) {
	c, err := line.NewCSV(in, o)
	if err != nil {
		return nil, line.Health{}, err
	}
	if _, err := c.Choose(s); err != nil {
		return nil, line.Health{}, err
	}
	return readAll(c)
}

// samples writes the levels of the read 01 as rows of time and two levels: at each change only, or every 10 µs.
func samples(format, delim string, all bool) string {
	var b strings.Builder
	for t := 0; t <= 120000; t += 10 {
		d0, d1 := 1, 1
		switch {
		case t >= 60000 && t < 60050:
			d0 = 0
		case t >= 62000 && t < 62050:
			d1 = 0
		}
		edge := t == 0 || t == 60000 || t == 60050 || t == 62000 || t == 62050 || t == 120000
		if all || edge {
			fmt.Fprintf(&b, format+"%s%d%s%d\n", float64(t), delim, d0, delim, d1)
		}
	}
	return b.String()
}

// TestCSVForms has the forms of one and the same recording, the read 01.
func TestCSVForms(t *testing.T) {
	t.Parallel()
	inSeconds := func(delim, point string) string {
		s := "0,1,1\n0.06,0,1\n0.06005,1,1\n0.062,1,0\n0.06205,1,1\n0.12,1,1\n"
		return strings.NewReplacer(",", delim, ".", point).Replace(s)
	}
	events := "60000,D0,0\n60050,D0,1\n62000,D1,0\n62050,D1,1\n"
	for name, c := range map[string]struct {
		text string
		o    line.CSVOptions
		s    line.Signals
	}{
		"seconds":                    {text: "Time [s],D0,D1\n" + inSeconds(",", ".")},
		"a head of units alone":      {text: "micros,D0,D1\n" + samples("%.0f", ",", false)},
		"ticks":                      {text: "ticks,D0,D1\n" + samples("%.0f", ",", false), o: line.CSVOptions{Rate: 1e6}},
		"pulses without a header":    {text: "60000 0\n62000 1\n", o: line.CSVOptions{Unit: "us"}},
		"seconds by option":          {text: "Time,D0,D1\n" + inSeconds(",", "."), o: line.CSVOptions{Unit: "s"}},
		"semicolons, decimal comma":  {text: "time_s;D0;D1\n" + inSeconds(";", ",")},
		"tabs, decimal comma":        {text: "time (s)\tD0\tD1\n" + inSeconds("\t", ",")},
		"bars":                       {text: "time s|D0|D1\n" + inSeconds("|", ".")},
		"spaces":                     {text: "time_s D0 D1\n" + inSeconds("   ", ".")},
		"exponents":                  {text: "time (s),D0,D1\n0,1,1\n6e-2,0,1\n6.005E-2,1,1\n+0.62e-1,1,0\n6205e-5,1,1\n12E-2,1,1\n"},
		"every sample, microseconds": {text: "time us,D0,D1\n" + samples("%.0f", ",", true)},
		"milliseconds":               {text: "Time (ms),D0,D1\n0,1,1\n60,0,1\n60.05,1,1\n62,1,0\n62.05,1,1\n120,1,1\n"},
		"nanoseconds":                {text: "Time[ns],D0,D1\n" + samples("%.0f000", ",", false)},
		"picoseconds":                {text: "Time [ps],D0,D1\n" + samples("%.0f000000", ",", false)},
		"femtoseconds":               {text: "Time [fs],D0,D1\n" + samples("%.0f000000000", ",", false)},
		"marks in names":             {text: "Time [us],DATA_0,data-1\n" + samples("%.0f", ",", false)},
		"micro sign":                 {text: "Time [µs],D0,D1\n" + samples("%.0f", ",", false)},
		"a time of day": {text: "time_s,D0,D1\n" + strings.NewReplacer("\n0", "\n1764080000").Replace("\n" +
			inSeconds(",", "."))[1:]},
		"time before the trigger": {text: "time_us,D0,D1\n-60000,1,1\n-50,1,1\n0,0,1\n50,1,1\n2000,1,0\n2050,1,1\n60000,1,1\n"},
		"preamble and remarks": {text: "# made by hand\nRate, 1 MHz, or so\n\nTime [us],D0,D1\n" +
			samples("%.0f", ",", false) + "# end\n"},
		"no header": {text: samples("%.0f", ",", false), o: line.CSVOptions{Unit: "us"}},
		"quotes":    {text: "\"Time [us]\",\"D0\",\"D1\"\n" + samples(`"%.0f"`, ",", false)},
		"quoted decimal comma": {text: "\"Time [s]\";\"D0\";\"D1\"\n" + strings.ReplaceAll(inSeconds(";", ","), "0,06;",
			`"0,06";`)},
		"byte order mark":         {text: "\xef\xbb\xbfTime [us],D0,D1\n" + samples("%.0f", ",", false)},
		"byte order mark and sep": {text: "\xef\xbb\xbfsep=;\nTime [us];D0;D1\n" + samples("%.0f", ";", false)},
		"a counter, other names":  {text: "No,green,white,Time [us]\n0,1,1,0\n1,0,1,60000\n2,1,1,60050\n3,1,0,62000\n4,1,1,62050\n5,1,1,120000\n"},
		"sep line":                {text: "sep=;\nTime [us];D0;D1\n" + samples("%.0f", ";", false)},
		"returns": {text: strings.ReplaceAll("Time [us],D0,D1\n"+samples("%.0f", ",", false), "\n",
			"\r\n")},
		"no newline at the end": {text: strings.TrimSpace("Time [us],D0,D1\n" + samples("%.0f", ",", false))},
		"words for levels": {text: "Time [us],D0,D1\n" + strings.NewReplacer(",0", ",low", ",1",
			",HIGH").Replace(samples("%.0f", ",", false))},
		"time is not first": {text: "Sample,D0,D1,Time [us]\n0,1,1,0\n1,0,1,60000\n2,1,1,60050\n3,1,0,62000\n4,1,1,62050\n5,1,1,120000\n"},
		"other columns": {text: "Time [us],lock,D1,D0\n" +
			strings.NewReplacer("\n", ",\n").Replace("0,1,1,1\n60000,0,1,0\n60050,1,1,1\n62000,1,0,1\n62050,1,1,1\n120000,1,1,1") + "\n"},
		"columns by name": {text: "Time [us],green,white\n" + samples("%.0f", ",", false),
			s: line.Signals{Data0: "green", Data1: "white"}},
		"one name of two": {text: "Time [us],white,green\n" + strings.NewReplacer(",0,1", ",1,0", ",1,0",
			",0,1").Replace(samples("%.0f", ",", false)), s: line.Signals{Data1: "white"}},
		"unknown at the start": {text: "Time [us],D0,D1\n0,x,z\n10,1,x\n" + strings.Replace(samples("%.0f", ",", false),
			"0,1,1", "20,1,1", 1)},
		"events with levels": {text: "time_us,wire,level\n" + events},
		"events with directions": {text: "time_us,wire,edge\n" + strings.NewReplacer(",0\n", ",falling\n", ",1\n",
			",rise\n").Replace(events)},
		"events with edges": {text: "edge;wire;time_us\nfalling edge;D0;60000\nrising edge;D0;60050\n" +
			"Falling Edge;D1;62000\nRising Edge;D1;62050\n"},
		"events with edges in one cell": {text: "time_us,event\n" + strings.NewReplacer(",0\n", " Falling Edge\n", ",1\n",
			" Rising Edge\n").Replace(events)},
		"events with edges in words": {text: strings.NewReplacer(",D", " us: D", ",0\n", " falling edge\n", ",1\n",
			" rising edge\n").Replace(events)},
		"events in one cell": {text: "time_us,event\n" + strings.NewReplacer("D0,", "D0 ", "D1,",
			"D1=").Replace(events)},
		"events with other names": {text: "time_us,wire,level\n" + strings.NewReplacer("D0", "green", "D1",
			"white").Replace(events), s: line.Signals{Data0: "green", Data1: "white"}},
		"events among others": {text: "time_us,wire,level\n" + strings.Replace(events, "62000", "61000,LED,1\n62000",
			1)},
		"pulses":             {text: "time_us,event\n60000,D0\n62000,D1\n"},
		"pulses of 0 and 1":  {text: "time_us,bit\n60000,0\n62000,1\n"},
		"pulses that bounce": {text: "time_us,event\n60000,D0\n60003,D0\n62000,D1\n"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, in := range []io.Reader{strings.NewReader(c.text), iotest.OneByteReader(strings.NewReader(c.text))} {
				if len(c.text) > 10000 {
					in = strings.NewReader(c.text)
				}
				if name == "other columns" {
					in = strings.NewReader(strings.ReplaceAll(c.text, ",\n", "\n"))
				}
				reads, _, err := readCSV(in, c.o, c.s)
				require.NoError(t, err)
				require.Equal(t, []string{"01"}, bitsOf(reads))
				but := reads[0].Faults &^ faults(line.TooShort) // two bits are enough to see it
				require.NotEqual(t, line.Suspect, but.Verdict(), "%v", reads[0].Warnings(nil))
			}
		})
	}
}

func TestCSVClockAndData(t *testing.T) {
	t.Parallel()
	// 1, 0, 1 with negative logic: DATA low is a 1.
	text := "time_us,CLOCK,DATA\n0,1,1\n60000,1,0\n60100,0,0\n60150,1,0\n60200,1,1\n61100,0,1\n61150,1,1\n62000,1,0\n62100,0,0\n62150,1,0\n62200,1,1\n120000,1,1\n"
	reads, health, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
	require.NoError(t, err)
	require.Equal(t, line.ClockAndData, health.Coding)
	require.Equal(t, []string{"101"}, bitsOf(reads))
}

// A list of pulses has the levels of clock and data where it says how long each lasts. DATA is low for longer than
// CLOCK; the lists begin and end with the message, of which no bit can be missing. It is published with its
// check character in a manual of stripe readers.
func TestPulsesOfClockAndData(t *testing.T) {
	t.Parallel()
	const message = "11010000011000001000110011111100100" // ;0123?
	long, ends, changes := "start_us;width_us;wire\n", "start_us;end_us;wire\n", "time_us;wire;level\n"
	for i, bit := range message {
		at := 60000 + 500*i
		if bit == '1' {
			long += fmt.Sprintf("%d;%d;SDATA\n", at-100, 300)
			ends += fmt.Sprintf("%d;%d;SDATA\n", at-100, at+200)
			changes += fmt.Sprintf("%d;SDATA;0\n", at-100)
		}
		long += fmt.Sprintf("%d;%d;SCLK\n", at, 120)
		ends += fmt.Sprintf("%d;%d;SCLK\n", at, at+120)
		changes += fmt.Sprintf("%d;SCLK;0\n%d;SCLK;1\n", at, at+120)
		if bit == '1' {
			changes += fmt.Sprintf("%d;SDATA;1\n", at+200)
		}
	}
	for _, text := range []string{long, ends, changes} {
		reads, health, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
		require.NoError(t, err, text)
		require.Equal(t, line.ClockAndData, health.Coding)
		require.Equal(t, []string{message}, bitsOf(reads))
		require.Equal(t, line.Marginal, reads[0].Verdict(), "%v", reads[0].Warnings(nil))
	}
	_, _, err := readCSV(strings.NewReader("time_us,event\n60000,CLOCK\n62000,DATA\n"), line.CSVOptions{}, line.Signals{})
	require.ErrorIs(t, err, line.ErrSignal)
	require.ErrorContains(t, err, "without their widths")
}

// Pulses of two wires that are low together come in order of time: the wires touch.
func TestPulsesThatOverlap(t *testing.T) {
	t.Parallel()
	text := "start_us;width_us;wire\n60000;50;D0\n60020;50;D1\n62000;50;D1\n62020;20;D0\n"
	reads, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
	require.NoError(t, err)
	require.True(t, reads[0].Faults.Has(line.BothLow))
	require.False(t, reads[0].Faults.Has(line.Backwards))
}

// A recording that is over before the moment that its times count from ends where it ends: its read may go on behind
// that.
func TestEndBeforeTimeZero(t *testing.T) {
	t.Parallel()
	for _, head := range []string{"time_us,D0,D1\n", "start_us;width_us;wire\n"} {
		var faults []line.Faults
		for _, from := range []int{60000, -900000} {
			text := head
			for i, row := range []string{"1,1", "0,1", "1,1", "1,0", "1,1", "0,1", "1,1"} {
				at := from + 1000*i
				if head[0] == 't' {
					text += fmt.Sprintf("%d,%s\n", at, row)
				} else if i%2 == 1 {
					text += fmt.Sprintf("%d;500;D%d\n", at, i/2%2)
				}
			}
			reads, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
			require.NoError(t, err)
			require.Len(t, reads, 1)
			faults = append(faults, reads[0].Faults)
		}
		require.Equal(t, faults[0], faults[1], head)
		require.True(t, faults[0].Has(line.CutEnd) || faults[0].Has(line.OpenEnd), "%v", faults[0])
	}
}

// TestCSVBad has every kind of bad input, the error's kind and line, and the reads that come before it.
func TestCSVBad(t *testing.T) {
	t.Parallel()
	good := "Time [us],D0,D1\n" + samples("%.0f", ",", false) // seven lines
	for _, c := range []struct {
		name, text string
		s          line.Signals
		kind       error
		line       int
		says       string
		reads      int
	}{
		{"empty", "", line.Signals{}, line.ErrSyntax, 0, "empty", 0},
		{"header alone", "Time [us],D0,D1\n", line.Signals{}, line.ErrSyntax, 1, "no row of data", 0},
		{"prose", strings.Repeat("nothing to see here\n", 2000), line.Signals{}, line.ErrSyntax, 1000, "no row of data", 0},
		{"binary junk", "\x00\x01\xff\xfe\x80", line.Signals{}, line.ErrSyntax, 1, "NUL byte", 0},
		{"UTF-16", "\xff\xfeT\x00i\x00", line.Signals{}, line.ErrSyntax, 1, "UTF-8", 0},
		{"endless line", strings.Repeat("1", 1<<17), line.Signals{}, line.ErrSyntax, 1, "longer than", 0},
		{"endless line after a read", good + strings.Repeat("1,", 1<<17), line.Signals{}, line.ErrSyntax, 8, "longer than",
			1},
		{"no unit", "Time,D0,D1\n0,1,1\n", line.Signals{}, line.ErrTime, 2, "s, ms, us or ns", 0},
		{"decimal comma between commas", "Time [s],D0,D1\n0,001,1,1\n", line.Signals{}, line.ErrSyntax, 2, "decimal comma",
			0},
		{"time runs backwards", good + "5,1,1\n", line.Signals{}, line.ErrTime, 8, "backwards", 1},
		{"time is no number", good + "soon,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"time without digits", good + "e5,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"exponent without digits", good + "13e,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"exponent of letters", good + "13e4x,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"exponent out of all bounds", good + "0e101,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"two points", good + "13.0.0,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"time past 73 years", good + "9e99,1,1\n", line.Signals{}, line.ErrTime, 8, "not a time", 1},
		{"cut short", good + "130000,1", line.Signals{}, line.ErrSyntax, 8, "2 cells", 1},
		{"too many cells", good + "130000,1,1,1\n", line.Signals{}, line.ErrSyntax, 8, "4 cells", 1},
		{"a voltage", good + "130000,3.3,1\n", line.Signals{}, line.ErrLevel, 8, `not a level in column "D0"`, 1},
		{"no level", good + "130000,,1\n", line.Signals{}, line.ErrLevel, 8, "not a level", 1},
		{"no levels at all", "Time [s],A,B\n0,red,blue\n", line.Signals{}, line.ErrSyntax, 2, "no row of data", 0},
		{"a voltage that is none", "Time [s],A,B\n0,3.31,3.29\n1,3.3,oops\n", line.Signals{}, line.ErrLevel, 3,
			`not a level in column "B"`, 0},
		{"no rate", "D0,D1\n1,1\n", line.Signals{}, line.ErrTime, 2, "what the rate is", 0},
		{"a time in volts", "Time,D0,D1\n5V,1,1\n", line.Signals{}, line.ErrSyntax, 2, "no row of data", 0},
		{"a sample without its number", "Sample rate: 1 kHz\nSample,D0,D1\n0,1,1\nx,1,1\n", line.Signals{}, line.ErrTime, 4,
			"not the number of a sample", 0},
		{"samples that run backwards", "Sample rate: 1 kHz\nSample,D0,D1\n7,1,1\n6,1,1\n", line.Signals{}, line.ErrTime, 4,
			"backwards", 0},
		{"no such column", good, line.Signals{Data0: "D0", Data1: "DI"}, line.ErrSignal, 0, "no such signal", 0},
		{"three columns", "Time [us],A,B,C\n0,1,1,1\n", line.Signals{}, line.ErrSignal, 0, "3 signals", 0},
		{"one column", "Time [us],D0\n0,1\n", line.Signals{}, line.ErrSignal, 0, "1 signal,", 0},
		{"event of no level", "time_us,wire,level\n0,D0,1\n5,D0,up the wall\n", line.Signals{}, line.ErrLevel, 3,
			"rise or fall", 0},
		{"events of other names", "time_us,wire,level\n0,A,1\n5,B,0\n", line.Signals{}, line.ErrSignal, 0,
			"no event of this name", 0},
		{"events misspelt", "time_us,wire,level\n0,D0,1\n60000,D0,0\n60050,D0,1\n62000,D1,0\n",
			line.Signals{Data0: "D0", Data1: "DI"}, line.ErrSignal, 0, `"DI": no event`, 1},
		{"clock of pulses", "time_us,event\n0,CLOCK\n", line.Signals{}, line.ErrSignal, 0, "need levels", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			reads, _, err := readCSV(strings.NewReader(c.text), line.CSVOptions{}, c.s)
			var e *line.Error
			require.ErrorAs(t, err, &e)
			require.ErrorIs(t, err, c.kind)
			require.Contains(t, err.Error(), c.says)
			require.NotContains(t, err.Error(), "\n")
			require.Less(t, len(err.Error()), 300)
			require.Len(t, reads, c.reads)
			if c.line > 0 {
				require.Equal(t, c.line, e.Line, "%v", err)
			}
		})
	}
	_, err := line.NewCSV(strings.NewReader(good), line.CSVOptions{Unit: "fortnights"})
	require.ErrorIs(t, err, line.ErrTime)
	require.ErrorContains(t, err, "fortnights")
}

func BenchmarkCSV(b *testing.B) {
	text := "Time [us],D0,D1\n" + samples("%.0f", ",", true)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A remark between the head of a table and its first row is no head.
func TestRemarkBelowTheHead(t *testing.T) {
	t.Parallel()
	rows := "0;1;1\n60000;0;1\n60050;1;1\n62000;1;0\n62050;1;1\n64000;1;0\n64050;1;1\n66000;0;1\n66050;1;1\n200000;1;1\n"
	for _, head := range []string{"time_us;D0;D1\n# a remark\n", "Model;scope\n# time_us;D0;D1\n"} {
		reads, _, err := readCSV(strings.NewReader(head+rows), line.CSVOptions{}, line.Signals{})
		require.NoError(t, err)
		require.Equal(t, []string{"0110"}, bitsOf(reads))
	}
}
