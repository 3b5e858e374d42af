package line_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// several writes a VCD file of readers with these names of wires; an empty pair of reads leaves its wires as they are.
// The simulator is that of spoilt_test.go.
func several(names [][2]string, moving []bool) (vcd, csv string) {
	type change struct {
		at     float64
		signal int
		level  int
	}
	var changes []change
	for r := range names {
		if !moving[r] {
			continue
		}
		s := sim{rng: rand.New(rand.NewPCG(seed, uint64(r))), pace: 1000 + 300*float64(r), wide: 50}
		for k := range 4 {
			for _, f := range s.send(1e5+float64(r)*4e5+float64(k)*2e6, simBits(s.rng)) {
				changes = append(changes, change{f.at, 2*r + f.wire, 0}, change{f.at + f.wide, 2*r + f.wire, 1})
			}
		}
	}
	sort.SliceStable(changes, func(i, k int) bool { return changes[i].at < changes[k].at })
	var v, c strings.Builder
	v.WriteString("$timescale 1 us $end\n")
	c.WriteString("time_us")
	levels := []string{}
	for r, pair := range names {
		for w, name := range pair {
			fmt.Fprintf(&v, "$var wire 1 %c %s $end\n", '!'+2*r+w, name)
			fmt.Fprintf(&c, ",%s", name)
			levels = append(levels, "1")
		}
	}
	v.WriteString("$enddefinitions $end\n#0\n")
	for i := range levels {
		fmt.Fprintf(&v, "1%c\n", '!'+i)
	}
	fmt.Fprintf(&c, "\n0,%s\n", strings.Join(levels, ","))
	for _, ch := range changes {
		levels[ch.signal] = fmt.Sprint(ch.level)
		fmt.Fprintf(&v, "#%.0f %d%c\n", ch.at, ch.level, '!'+ch.signal)
		fmt.Fprintf(&c, "%.0f,%s\n", ch.at, strings.Join(levels, ","))
	}
	return v.String() + "#99000000\n", c.String() + "99000000," + strings.Join(levels, ",") + "\n"
}

func TestPairs(t *testing.T) {
	t.Parallel()
	all := func(n int) []bool { return slices.Repeat([]bool{true}, n) }
	for name, c := range map[string]struct {
		names  [][2]string
		moving []bool
		want   [][2]string
		byName bool
	}{
		"scopes":           {[][2]string{{"gate_d0", "gate_d1"}, {"door_d0", "door_d1"}}, all(2), nil, true},
		"number behind":    {[][2]string{{"d0_a", "d1_a"}, {"d0_b", "d1_b"}}, all(2), nil, true},
		"two kinds of 0":   {[][2]string{{"r0_d0", "r0_d1"}, {"r1_d0", "r1_d1"}}, all(2), nil, true},
		"names say little": {[][2]string{{"green", "white"}, {"brown", "yellow"}, {"grey", "pink"}}, all(3), nil, false},
		"only two move": {[][2]string{{"ch7", "ch6"}, {"ch4", "ch3"}, {"lock", "led"}}, []bool{false, true, false},
			[][2]string{{"ch3", "ch4"}}, false}, // the lower number is DATA0
		"a reader is off": {[][2]string{{"a0", "a1"}, {"b0", "b1"}}, []bool{false, true}, [][2]string{{"b0", "b1"}}, true},
		"mixed":           {[][2]string{{"gate_d0", "gate_d1"}, {"x", "y"}}, all(2), nil, false},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			want := c.want
			if want == nil {
				want = c.names
			}
			vcd, csv := several(c.names, c.moving)
			v, err := line.NewVCD(strings.NewReader(vcd))
			require.NoError(t, err)
			fromVCD, err := v.Pairs()
			require.NoError(t, err)
			l, err := line.NewCSV(strings.NewReader(csv), line.CSVOptions{})
			require.NoError(t, err)
			fromCSV, err := l.Pairs()
			require.NoError(t, err)
			require.Equal(t, fromVCD, fromCSV)
			require.Len(t, fromVCD, len(want))
			for i, p := range fromVCD {
				require.Equal(t, want[i], p.Names)
				require.Equal(t, line.TwoWire, p.Coding)
				require.Equal(t, c.byName || strings.HasPrefix(p.Names[0], "gate"), p.ByName)
				v, err := line.NewVCD(strings.NewReader(vcd))
				require.NoError(t, err)
				_, err = v.Choose(line.Signals{Data0: p.Names[0], Data1: p.Names[1]})
				require.NoError(t, err)
				reads, _, err := readAll(v)
				require.NoError(t, err)
				require.Len(t, reads, 4)
			}
		})
	}
}

func TestPairsOfClockAndData(t *testing.T) {
	t.Parallel()
	text := "time_us,in.clk,in.dat,out.clk,out.dat\n0,1,1,1,1\n1000,1,0,1,1\n1100,0,0,1,1\n1140,1,0,1,1\n1300,1,0,0,1\n1340,1,0,1,1\n900000,1,0,1,1\n"
	c, err := line.NewCSV(strings.NewReader(text), line.CSVOptions{})
	require.NoError(t, err)
	pairs, err := c.Pairs()
	require.NoError(t, err)
	require.Equal(t, []line.Pair{
		{Coding: line.ClockAndData, Names: [2]string{"in.clk", "in.dat"}, ByName: true},
		{Coding: line.ClockAndData, Names: [2]string{"out.clk", "out.dat"}, ByName: true},
	}, pairs)
	c, err = line.NewCSV(strings.NewReader(text+"900001,1\n"), line.CSVOptions{})
	require.NoError(t, err)
	_, err = c.Pairs()
	require.ErrorIs(t, err, line.ErrSyntax)
}

// Names in a list of events are whatever the recorder calls its inputs. Two that move together are the wires, the lower
// first, and so are bits of the values of a port; of three, such as the states of both wires, nothing tells which two.
func TestPairsOfEvents(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		head  string
		wires [2]string
		event func(wire string, at, level int) string
		want  []string
	}{
		"channels": {"time_us;channel;level", [2]string{"CH0", "CH1"}, nil, []string{"CH0", "CH1"}},
		"pins":     {"time_us;pin;level", [2]string{"10", "9"}, nil, []string{"9", "10"}},
		"pulses": {"time_us;pin", [2]string{"2", "3"}, func(wire string, at, level int) string {
			return strings.Repeat(fmt.Sprintf("%d;%s\n", at, wire), 1-level)
		}, []string{"2", "3"}},
		"states": {"time_us;state", [2]string{"P1", "P2"}, func(wire string, at, level int) string {
			return fmt.Sprintf("%d;%s\n", at, [2]string{wire, "P3"}[level])
		}, nil},
		"values without a prefix": {"time_us;value", [2]string{"F2", "F1"}, func(wire string, at, level int) string {
			first := ""
			if at == 100000 {
				first = "0;F3\n"
			}
			return first + fmt.Sprintf("%d;%s\n", at, [2]string{wire, "F3"}[level])
		}, nil},
		"values below hex": {"time_us;value (hex)", [2]string{"F2", "F1"}, func(wire string, at, level int) string {
			return fmt.Sprintf("%d;%s\n", at, [2]string{wire, "F3"}[level])
		}, []string{"value (hex)[0]", "value (hex)[1]"}},
		"values of a port": {"time_us;port", [2]string{"0x02", "0x01"}, func(wire string, at, level int) string {
			return fmt.Sprintf("%d;%s\n", at, [2]string{wire, "0x03"}[level])
		}, []string{"port[0]", "port[1]"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if c.event == nil {
				c.event = func(wire string, at, level int) string { return fmt.Sprintf("%d;%s;%d\n", at, wire, level) }
			}
			text := c.head + "\n"
			for k := range 2 {
				for i, bit := range card {
					at := 100000 + k*900000 + 2000*i
					text += c.event(c.wires[bit-'0'], at, 0) + c.event(c.wires[bit-'0'], at+50, 1)
				}
			}
			l, err := line.NewCSV(strings.NewReader(text), line.CSVOptions{})
			require.NoError(t, err)
			pairs, err := l.Pairs()
			require.NoError(t, err)
			if c.want == nil {
				require.Empty(t, pairs)
				return
			}
			require.Len(t, pairs, 1)
			require.Equal(t, c.want, pairs[0].Names[:])
			s := line.Signals{Data0: pairs[0].Names[0], Data1: pairs[0].Names[1]}
			if !strings.HasSuffix(s.Data0, "[0]") {
				s = line.Signals{Data0: c.wires[0], Data1: c.wires[1]}
			}
			reads, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, s)
			require.NoError(t, err)
			require.Equal(t, []string{card, card}, bitsOf(reads))
		})
	}
}

// Of a clock that only falls nobody knows what DATA was meanwhile.
func TestClockAndDataOfOneLevel(t *testing.T) {
	t.Parallel()
	text := "60000us CLOCK low\n62000us DATA low\n64000us CLOCK low\n"
	_, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
	require.ErrorIs(t, err, line.ErrLevel)
	require.ErrorContains(t, err, "clock and data need both")
}

// Where a list of events has two names and no more, they are the wires, however little they move together: green is
// DATA0 and white DATA1 (common practice, no source).
func TestTheOnlyTwoNames(t *testing.T) {
	t.Parallel()
	c, err := line.NewCSV(strings.NewReader("time_us,wire,level\n1000,White,0\n1050,White,1\n900000,Green,0\n900050,Green,1\n"),
		line.CSVOptions{})
	require.NoError(t, err)
	pairs, err := c.Pairs()
	require.NoError(t, err)
	require.Equal(t, []line.Pair{{Coding: line.TwoWire, Names: [2]string{"Green", "White"}}}, pairs)
}
