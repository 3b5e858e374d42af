package line_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// readAll reads a recording to its end or to the error.
func readAll(src line.Source) ([]line.Read, line.Health, error) {
	r := line.NewReader(src, line.Config{}, line.PolarityAuto)
	var reads []line.Read
	for {
		read, err := r.Next()
		if err == io.EOF {
			return reads, r.Health(), nil
		}
		if err != nil {
			return reads, r.Health(), err
		}
		reads = append(reads, read)
	}
}

// readVCD reads a whole value change dump; which signals is as in s.
func readVCD(in io.Reader, s line.Signals) ([]line.Read, line.Health, error) {
	v, err := line.NewVCD(in)
	if err != nil {
		return nil, line.Health{}, err
	}
	if _, err := v.Choose(s); err != nil {
		return nil, line.Health{}, err
	}
	return readAll(v)
}

func bitsOf(reads []line.Read) []string {
	var s []string
	for _, r := range reads {
		s = append(s, r.Bits.String())
	}
	return s
}

// card is a published example: facility 212, number 7041, in the format of SIA AC-01-1996.10.
const card = "11101010000011011100000010"

func TestVCDFromASimulator(t *testing.T) {
	t.Parallel()
	b, err := os.ReadFile("../../testdata/line/reader.vcd")
	require.NoError(t, err)
	for _, s := range []line.Signals{
		{},
		{Data0: "data0", Data1: "data1"},
		{Data0: "reader.panel.d0", Data1: "reader.panel.d1"},
		{Data0: "d0", Data1: "reader.data1"},
	} {
		reads, health, err := readVCD(bytes.NewReader(b), s)
		require.NoError(t, err)
		require.Equal(t, []string{card, card}, bitsOf(reads), "%+v", s)
		require.Equal(t, 80*ms, reads[0].At)
		require.Equal(t, line.Healthy, health.Verdict())
		require.Equal(t, 50*us, health.Width.Min)
		require.Equal(t, 2*ms, health.Interval.Max)
	}
	// One byte at a time must make no difference.
	reads, _, err := readVCD(iotest.OneByteReader(bytes.NewReader(b)), line.Signals{})
	require.NoError(t, err)
	require.Equal(t, []string{card, card}, bitsOf(reads))
}

func TestVCDByHand(t *testing.T) {
	t.Parallel()
	f, err := os.Open("../../testdata/line/burst.vcd")
	require.NoError(t, err)
	defer f.Close()
	reads, health, err := readVCD(f, line.Signals{})
	require.NoError(t, err)
	require.Equal(t, []string{"0101"}, bitsOf(reads))
	require.Equal(t, 50*us, health.Width.Max)
	require.Equal(t, 2*ms, health.Interval.Min)
	// It begins 1 ms before the first pulse, so a bit before that cannot be ruled out.
	require.Equal(t, line.Faults(1<<line.CutStart), reads[0].Faults)
}

const vcdHead = "$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n"

// burst is two bits, 01, from 60 ms on, after idle lines.
const burst = "#0 1! 1\" #60000 0! #60050 1! #62000 0\" #62050 1\" #120000\n"

// TestVCDTraps walks what IEEE 1364 clause 18 allows and readers often miss. Each recording holds the read 01.
func TestVCDTraps(t *testing.T) {
	t.Parallel()
	pulses := func(id0, id1 string) string {
		return strings.NewReplacer("!", id0, `"`, id1).Replace("#60000 0! #60050 1! #62000 0\" #62050 1\" #120000\n")
	}
	for name, text := range map[string]string{
		"all on one line":         vcdHead + burst,
		"one word a line":         strings.ReplaceAll(vcdHead+burst, " ", "\n"),
		"tabs and returns":        strings.ReplaceAll(vcdHead+burst, " ", "\t\r\n"),
		"time scale with a space": strings.Replace(vcdHead, "1us", "1 us", 1) + burst,
		"time scale of 100 ns": strings.Replace(vcdHead, "1us", "100\nns", 1) + strings.NewReplacer("0 ", "00 ",
			"0\n", "00\n").Replace(burst),
		"no newline at the end":          vcdHead + strings.TrimSpace(burst),
		"initial values before any time": vcdHead + "$dumpvars 1! 1\" $end #0\n" + pulses("!", `"`),
		"initial values after the time":  vcdHead + "#0 $dumpvars 1! 1\" $end\n" + pulses("!", `"`),
		"unknown at the start":           vcdHead + "#0 $dumpvars x! z\" $end #10 1! #12 1\"\n" + pulses("!", `"`),
		"no initial values":              vcdHead + "#0\n" + pulses("!", `"`),
		"time starts above zero":         vcdHead + strings.Replace(burst, "#0 ", "#9 ", 1),
		"identifiers $ and #": strings.NewReplacer("!", "$", `"`, "#").Replace(vcdHead) + "#0 1$ 1#\n" +
			pulses("$", "#"),
		"identifiers that look like values": strings.NewReplacer("!", "0", `"`, "x1").Replace(vcdHead) + "#0 10 1x1\n" +
			pulses("0", "x1"),
		"long identifiers": strings.NewReplacer(" ! ", " !!!!!!!!a ", ` " `,
			" !!!!!!!!b ").Replace(vcdHead) + "#0 1!!!!!!!!a 1!!!!!!!!b\n" + pulses("!!!!!!!!a", "!!!!!!!!b"),
		"vectors of one bit": vcdHead +
			"#0 b1 ! B1 \" #60000 b0 ! #60050 b1 ! #62000 b0 \" #62050 b1 \" #120000\n",
		"values of another language": vcdHead +
			"#0 U! U\" #1 H! H\" #60000 L! #60050 H! #62000 L\" #62050 H\" #120000\n",
		"comment in between": vcdHead + strings.Replace(burst, "#62000", "$comment 0! 1! #7 $end #62000", 1),
		"dumpall in between": vcdHead + strings.Replace(burst, "#62000", "#61000 $dumpall 1! 1\" $end #62000",
			1),
		"change to the same value": vcdHead + strings.Replace(burst, "#60050", "0! #60050 1!", 1),
		"several changes at a time": vcdHead +
			"#0 1! 1\" #60000 0! #60050 1! 1\" #62000 0\" 1! #62050 1\" #120000\n",
		"another signal": "$var real 64 R volts $end $var event 1 E e $end $var reg 9 ( state $end " +
			vcdHead + strings.ReplaceAll(burst, "#62000", "r1.25 R 1E bx01 ( #62000"),
		"sections of a writer's own":         "$attrbegin misc 02 $end " + vcdHead + "$extra 1! 0! $end\n" + burst,
		"time goes on after the last change": vcdHead + burst + "#999999999\n",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			reads, _, err := readVCD(strings.NewReader(text), line.Signals{})
			require.NoError(t, err)
			require.Equal(t, []string{"01"}, bitsOf(reads))
			require.Equal(t, faults(line.TooShort), reads[0].Faults)
		})
	}
}

func TestVCDBusBits(t *testing.T) {
	t.Parallel()
	head := "$timescale 1us $end $var wire 4 ! bus [3:0] $end $enddefinitions $end\n"
	// bits 0 and 2 are the line: idle 0101, DATA0 = bus[0] falls, then DATA1 = bus[2]; short values are extended by 0.
	body := "#0 b101 ! #60000 b100 ! #60050 b101 ! #62000 b1 ! #62050 b101 ! #120000\n"
	reads, _, err := readVCD(strings.NewReader(head+body), line.Signals{Data0: "bus[0]", Data1: "bus[2]"})
	require.NoError(t, err)
	require.Equal(t, []string{"01"}, bitsOf(reads))
	head = strings.Replace(head, "[3:0]", "[0:3]", 1)
	reads, _, err = readVCD(strings.NewReader(head+body), line.Signals{Data0: "bus[3]", Data1: "bus[1]"})
	require.NoError(t, err)
	require.Equal(t, []string{"01"}, bitsOf(reads))
}

// Every time scale that a header may have, from femtoseconds to tens of microseconds: the same read at the same time.
func TestVCDTimeScales(t *testing.T) {
	t.Parallel()
	for exp, name := range []string{"fs", "ps", "ns", "us"} {
		for zeros := range 3 {
			size := int64(1) // of the scale, in femtoseconds
			for range 3*exp + zeros {
				size *= 10
			}
			if size > 10_000_000_000 {
				continue // 50 µs are no whole number of them
			}
			scale := "1" + strings.Repeat("0", zeros) + name
			var body strings.Builder
			for i, value := range []string{"1! 1\"", "0!", "1!", "0\"", "1\"", ""} {
				at := []int64{0, 60000, 60050, 62000, 62050, 120000}[i] * 1_000_000_000 / size
				fmt.Fprintf(&body, "#%d %s\n", at, value)
			}
			reads, _, err := readVCD(strings.NewReader(strings.Replace(vcdHead, "1us", scale, 1)+body.String()), line.Signals{})
			require.NoError(t, err, scale)
			require.Equal(t, []string{"01"}, bitsOf(reads), scale)
			require.Equal(t, []time.Duration{60 * ms, 62*ms + 50*us}, []time.Duration{reads[0].At, reads[0].End}, scale)
		}
	}
}

// What is not bits, and what no standard has but can mean one thing only: voltages as real numbers, noisy ones as well;
// ports of the extended form, whose D and U are low and high and whose strengths are two words more (IEEE 1364 clause
// 18.4, from memory); a time scale of 2 µs. The pulses are those of burst.
func TestVCDOtherValues(t *testing.T) {
	t.Parallel()
	twice := func(text string) string { // as many steps of half the size
		return regexp.MustCompile(`#\d+`).ReplaceAllStringFunc(text, func(w string) string {
			n, err := strconv.Atoi(w[1:])
			require.NoError(t, err)
			require.Zero(t, n%2)
			return fmt.Sprint("#", n/2)
		})
	}
	value := regexp.MustCompile(`\b([01])([!"])`)
	real := strings.NewReplacer("wire 1", "real 64").Replace(vcdHead)
	port := strings.NewReplacer("wire 1 !", "port 1 <0", "wire 1 \"", "port [0:0] <1").Replace(vcdHead)
	ports := strings.NewReplacer("0!", "pD 6 0 <0 ", "1!", "pU 0 6 <0 ", `0"`, "pL 6 0 <1 ", `1"`, "pH 0 6 <1 ")
	for name, text := range map[string]string{
		"volts":    real + value.ReplaceAllString(burst, "r${1}${1}.03E+0 $2 "),
		"ports":    port + "$dumpports " + ports.Replace(burst) + "$vcdclose #999999 $end",
		"two µs":   strings.Replace(vcdHead, "1us", "2 us", 1) + twice(burst),
		"capitals": strings.Replace(vcdHead, "1us", "1 US", 1) + burst,
	} {
		reads, _, err := readVCD(strings.NewReader(text), line.Signals{})
		require.NoError(t, err, name)
		require.Equal(t, []string{"01"}, bitsOf(reads), name)
		require.Equal(t, faults(line.TooShort), reads[0].Faults, name)
	}
}

// Headers that are odd and no mistake: scopes that end before they begin or have no name, variables that are no bits,
// buses without a range, whose rightmost bit is called 0 here.
func TestVCDOddHeaders(t *testing.T) {
	t.Parallel()
	head := "$timescale 1us $end $upscope $end $scope module $end $upscope $end $var real 64 % volts $end $var event 0 & e $end " +
		"$var wire 0 + nothing $end $var string 0 - s $end $var wire 3 ! bus $end $enddefinitions $end\n"
	v, err := line.NewVCD(strings.NewReader(head))
	require.NoError(t, err)
	require.Equal(t, []string{"bus[0]", "bus[1]", "bus[2]"}, v.Names())
	// Bits 0 and 1 are the line, which idles at 11; b1 and b0 are shorter and extended by 0.
	body := "#0 b111 ! #60000 b10 ! #60050 b11 ! #62000 b1 ! #62050 b11 ! #120000\n"
	reads, _, err := readVCD(strings.NewReader(head+body), line.Signals{Data0: "bus[0]", Data1: "bus[1]"})
	require.NoError(t, err)
	require.Equal(t, []string{"01"}, bitsOf(reads))
}

func TestVCDDumpOffCutsARead(t *testing.T) {
	t.Parallel()
	body := "#0 1! 1\" #60000 0! #60050 1! #61000 $dumpoff x! x\" $end #62000 $dumpon 1! 1\" $end #64000 0! #64050 1! #130000\n"
	reads, _, err := readVCD(strings.NewReader(vcdHead+body), line.Signals{})
	require.NoError(t, err)
	require.Equal(t, []string{"00"}, bitsOf(reads))
	require.True(t, reads[0].Faults.Has(line.UnknownLevel))
	require.Equal(t, line.Suspect, reads[0].Verdict())
}

// Levels that are neither high nor low do not end a recording. The read that they fall into is suspect, those before
// and after are as they were.
func TestVCDUnknownInside(t *testing.T) {
	t.Parallel()
	body := "#0 1! 1\" #59000 0! #59050 1! #61000 0! #61050 1! " + // a read
		"#162000 0! #162050 1! #163000 x! #163500 1! #164000 0! #164050 1! " + // another one, of which something was not seen
		"#264000 bz \" #264100 1\" #265000 0! #265050 1! " + // just after what was not seen
		"#400000 0! #400050 1! #402000 0! #402050 1! #500000\n"
	reads, _, err := readVCD(strings.NewReader(vcdHead+body), line.Signals{})
	require.NoError(t, err)
	require.Equal(t, []string{"00", "00", "0", "00"}, bitsOf(reads))
	require.Equal(t, faults(line.OneWire, line.TooShort), reads[0].Faults)
	require.True(t, reads[1].Faults.Has(line.UnknownLevel))
	require.True(t, reads[2].Faults.Has(line.CutStart))
	require.Equal(t, line.Suspect, reads[1].Verdict())
	require.Equal(t, faults(line.OneWire, line.TooShort), reads[3].Faults)
}

// TestVCDBad has every kind of bad input, the error's kind and line, and the reads that come before it.
func TestVCDBad(t *testing.T) {
	t.Parallel()
	good := vcdHead + burst // two lines, one read
	for _, c := range []struct {
		name, text string
		kind       error
		line       int
		says       string
		reads      int
	}{
		{"empty", "", line.ErrSyntax, 0, "empty", 0},
		{"header cut short", vcdHead[:30], line.ErrSyntax, 1, "cut short", 0},
		{"not a VCD", "time,D0,D1\n0,1,1\n", line.ErrSyntax, 1, "no VCD", 0},
		{"no time scale", "$var wire 1 ! D0 $end $enddefinitions $end", line.ErrTime, 1, "$timescale", 0},
		{"time scale of nothing", strings.Replace(vcdHead, "1us", "0us", 1), line.ErrTime, 1, "1, 10 or 100", 0},
		{"time scale of 1.5 us", strings.Replace(vcdHead, "1us", "1.5us", 1), line.ErrTime, 1, "1, 10 or 100", 0},
		{"var too short", "$timescale 1us $end\n$var wire 1 $end", line.ErrSyntax, 2, "$var", 0},
		{"var of no size", "$timescale 1us $end\n$var wire one ! a $end", line.ErrSyntax, 2, "size", 0},
		{"one identifier, two sizes", "$timescale 1us $end\n$var wire 1 ! a $end\n$var wire 2 ! b $end", line.ErrSyntax, 3,
			"before", 0},
		{"more bits than there is memory", "$timescale 1us $end\n$var wire 1 ! a $end\n$var wire " + fmt.Sprint(math.MaxInt) +
			" # b $end",
			line.ErrSyntax, 3, "more than 131072 signals", 0},
		{"a long name", "$timescale 1us $end\n$scope module " + strings.Repeat("s", 1000) + " $end $var wire 1 ! " +
			strings.Repeat("a", 23) +
			" $end $enddefinitions $end", line.ErrSignal, 0, "1 signal", 0},
		{"a name too long", "$timescale 1us $end\n$scope module " + strings.Repeat("s", 1000) + " $end $var wire 1 ! " +
			strings.Repeat("a", 24) +
			" $end", line.ErrSyntax, 2, "more than 1024 characters", 0},
		{"one bit too many", "$timescale 1us $end\n$var wire 1 ! a $end\n$var wire 131072 # b $end", line.ErrSyntax, 3,
			"more than 131072 signals", 0},
		{"as many bits as may be", "$timescale 1us $end\n$var wire 1 ! a $end\n$var wire 131071 # b $end $enddefinitions $end",
			line.ErrSignal, 0, "131072 signals", 0},
		{"no such signals", "$timescale 1us $end $enddefinitions $end", line.ErrSignal, 0, "0 signals", 0},
		{"binary junk", "\x00\x01\xff\xfe\x80", line.ErrSyntax, 1, "no VCD", 0},
		{"junk after a read", good + "\x00\xff\n", line.ErrSyntax, 3, "neither a time nor", 1},
		{"endless word", good + strings.Repeat("#", 1<<17), line.ErrSyntax, 3, "longer than", 1},
		{"time runs backwards", good + "#5\n", line.ErrTime, 3, "backwards", 1},
		{"time is no number", good + "#12x\n", line.ErrTime, 3, "not a time", 1},
		{"time too great", good + "#99999999999999999999\n", line.ErrTime, 3, "18", 1},
		{"time past 73 years", good + "#999999999999999999\n", line.ErrTime, 3, "73 years", 1},
		{"undeclared identifier", good + "\n#130000\n1%\n", line.ErrSignal, 5, `"%" was not declared`, 1},
		{"undeclared vector", good + "b1 %\n", line.ErrSignal, 3, "not declared", 1},
		{"value without identifier", good + "1 !\n", line.ErrSyntax, 3, "without a space", 1},
		{"one real signal", "$timescale 1us $end $var real 64 ! V0 $end $enddefinitions $end", line.ErrSignal, 0, "1 signal", 0},
		{"bits and voltages", "$timescale 1us $end $var real 64 ! D0 $end $var wire 1 % D1 $end $enddefinitions $end",
			line.ErrSignal, 0, "record both alike", 0},
		{"real value on the line", good + "r1.5 !\n", line.ErrLevel, 3, "kind that was declared", 1},
		{"no voltage", "$timescale 1us $end $var real 64 ! D0 $end $var real 64 % D1 $end $enddefinitions $end\n#0 rnan !",
			line.ErrLevel, 2, "not a voltage", 0},
		{"vector of nonsense", good + "b012 !\n", line.ErrSyntax, 3, "vector", 1},
		{"cut inside a vector", good + "b0", line.ErrSyntax, 3, "cut short", 1},
		{"declaration among the values", good + "$var wire 1 % a $end\n", line.ErrSyntax, 3, "declaration", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			reads, _, err := readVCD(strings.NewReader(c.text), line.Signals{})
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
}

func TestVCDDamagedInsideARead(t *testing.T) {
	t.Parallel()
	for at := strings.Index(burst, "#62000"); at < len(burst)-9; at++ {
		reads, _, err := readVCD(strings.NewReader(vcdHead+burst[:at]+" ???"), line.Signals{})
		require.Error(t, err)
		require.Len(t, reads, 1, "what came before the damage is kept")
		require.True(t, reads[0].Faults.Has(line.CutEnd), "and marked")
	}
}

// A net that several scopes declare is one signal, by any of its names.
func TestVCDNetOfSeveralNames(t *testing.T) {
	t.Parallel()
	text := "$timescale 1us $end $scope module a $end $var wire 1 ! x $end $var wire 1 \" y $end $upscope $end " +
		"$scope module b $end $var wire 1 ! x $end $var wire 1 \" y $end $upscope $end $enddefinitions $end\n#0 1! 1\"\n"
	for _, s := range []line.Signals{{Data0: "x", Data1: "y"}, {Data0: "a.x", Data1: "y"}, {Data0: "a.x", Data1: "b.y"}} {
		v, err := line.NewVCD(strings.NewReader(text))
		require.NoError(t, err)
		_, err = v.Choose(s)
		require.NoError(t, err, s)
	}
}

func TestVCDNames(t *testing.T) {
	t.Parallel()
	text := "$timescale 1us $end $scope module top $end $var wire 1 ! green $end $var wire 1 \" white $end $var wire 1 # lock $end " +
		"$scope module deep $end $var wire 1 % lock $end $upscope $end $upscope $end $enddefinitions $end\n#0 1! 1\"\n"
	open := func(s line.Signals) (line.Choice, error) {
		v, err := line.NewVCD(strings.NewReader(text))
		require.NoError(t, err)
		require.Equal(t, []string{"top.green", "top.white", "top.lock", "top.deep.lock"}, v.Names())
		return v.Choose(s)
	}
	c, err := open(line.Signals{Data0: "green", Data1: "white"})
	require.NoError(t, err)
	require.Equal(t, line.Choice{Coding: line.TwoWire, Names: [2]string{"top.green", "top.white"}}, c)
	c, err = open(line.Signals{Clock: "white", Data: "top.lock"})
	require.NoError(t, err)
	require.Equal(t, line.ClockAndData, c.Coding)
	for name, s := range map[string]line.Signals{
		"no such signal":             {Data0: "gren", Data1: "white"},
		"no name is given for DATA1": {Data0: "green"},
		"no name is given for CLOCK": {Data: "green"},
		"one signal cannot be both":  {Data0: "green", Data1: "top.green"},
		"name one pair":              {Data0: "green", Clock: "white"},
		"2 signals end in this name": {Data0: "green", Data1: "lock"},
	} {
		_, err := open(s)
		var e *line.Error
		require.ErrorAs(t, err, &e)
		require.ErrorIs(t, err, line.ErrSignal)
		require.Contains(t, err.Error(), name)
		require.Equal(t, []string{"top.green", "top.white", "top.lock", "top.deep.lock"}, e.Names)
	}
	c, err = open(line.Signals{})
	require.NoError(t, err)
	require.Equal(t, [2]string{"top.green", "top.white"}, c.Names, "common practice, no source")
	require.Contains(t, c.Note, "top.green is taken for DATA0")
	text = strings.NewReplacer("green", "ch5", "white", "ch6").Replace(text)
	four, err := line.NewVCD(strings.NewReader(text))
	require.NoError(t, err)
	_, err = four.Choose(line.Signals{})
	require.ErrorContains(t, err, "4 signals, and the names do not tell")
	// Where there are only two signals, their order decides, and a note says so.
	v, err := line.NewVCD(strings.NewReader("$timescale 1us $end $var wire 1 ! CH1 $end $var wire 1 \" CH0 $end $enddefinitions $end"))
	require.NoError(t, err)
	c, err = v.Choose(line.Signals{})
	require.NoError(t, err)
	require.Equal(t, [2]string{"CH0", "CH1"}, c.Names)
	require.Contains(t, c.Note, "CH0 is taken for DATA0")
}

func TestWriteVCDReadsBack(t *testing.T) {
	t.Parallel()
	for _, inverted := range []bool{false, true} {
		g := line.NewGenerator(line.Profile{Inverted: inverted}, seed)
		edges := g.AppendIdle(nil, 0)
		edges, end := g.AppendRead(edges, 60*ms, wiegand.MustParseBits(card))
		edges = append(edges, line.Edge{At: end + 60*ms, Wire: line.NoWire})
		var a, b bytes.Buffer
		require.NoError(t, line.WriteVCD(&a, [2]string{"D0", "D 1"}, slices.Values(edges)))
		require.NoError(t, line.WriteVCD(&b, [2]string{"D0", "D 1"}, slices.Values(edges)))
		require.Equal(t, a.String(), b.String())
		reads, health, err := readVCD(&a, line.Signals{})
		require.NoError(t, err)
		require.Equal(t, []string{card}, bitsOf(reads))
		require.Equal(t, inverted, health.Inverted, "the idle level tells the polarity")
		require.Equal(t, line.Healthy, health.Verdict())
	}
	require.ErrorIs(t, line.WriteVCD(io.Discard, [2]string{}, slices.Values([]line.Edge{{At: -1}})), line.ErrTime)
	require.ErrorIs(t, line.WriteVCD(io.Discard, [2]string{}, slices.Values([]line.Edge{{Level: line.Pulsed}})),
		line.ErrLevel)
}

// endless is a recording of one read again and again, of any size, made while it is read. It is as a simulator or a
// logic analyser writes it, one word a line.
type endless struct {
	chunk []byte
	left  int64
	at    int64
}

func (e *endless) Read(p []byte) (int, error) {
	if len(e.chunk) == 0 {
		if e.left <= 0 {
			return 0, io.EOF
		}
		e.chunk = e.next(e.chunk[:0])
	}
	n := copy(p, e.chunk)
	e.chunk, e.left = e.chunk[n:], e.left-int64(n)
	return n, nil
}

func (e *endless) next(dst []byte) []byte {
	if e.at == 0 {
		dst = append(dst, vcdHead+"#0\n1!\n1\"\n"...)
	}
	e.at += 60_000
	for _, c := range []byte(card) {
		id := "!\""[c-'0']
		dst = fmt.Appendf(dst, "#%d\n0%c\n#%d\n1%c\n", e.at, id, e.at+50, id)
		e.at += 2000
	}
	return dst
}

// TestVCDInConstantMemory streams a recording and looks at the heap. It is 16 MB long, and 1 GB with
// CARDTELL_LONG_TESTS=1: go test -run ConstantMemory -v ./wiegand/line.
func TestVCDInConstantMemory(t *testing.T) {
	size := int64(16 << 20)
	if os.Getenv("CARDTELL_LONG_TESTS") != "" {
		size = 1 << 30
	} else if testing.Short() {
		t.Skip("takes a second")
	}
	v, err := line.NewVCD(&endless{left: size})
	require.NoError(t, err)
	_, err = v.Choose(line.Signals{})
	require.NoError(t, err)
	r := line.NewReader(v, line.Config{}, line.PolarityAuto)
	var before, now runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	start, reads, peak := time.Now(), 0, uint64(0)
	for ; ; reads++ {
		read, err := r.Next()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		require.Equal(t, 26, read.Bits.Len())
		if reads%10000 == 0 {
			runtime.ReadMemStats(&now)
			peak = max(peak, now.Sys)
		}
	}
	t.Logf("%d MB, %d reads, %.0f MB/s with making it, %.1f MB from the system at most",
		size>>20, reads, float64(size)/1e6/time.Since(start).Seconds(), float64(peak)/1e6)
	require.Less(t, peak, uint64(64<<20))
}

func BenchmarkVCD(b *testing.B) {
	e := &endless{}
	var text []byte
	for len(text) < 4<<20 {
		text = e.next(text)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		reads, _, err := readVCD(bytes.NewReader(text), line.Signals{})
		if err != nil || len(reads) < 1000 {
			b.Fatal(len(reads), err)
		}
	}
}
