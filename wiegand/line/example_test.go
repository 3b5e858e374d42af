package line_test

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// A developer feeds a decoder from two inputs that raise interrupts. Here the edges come from a generator.
func ExampleDecoder() {
	d := line.NewDecoder(line.Config{})
	card := wiegand.MustParseBits("26:3A83702")
	edges, end := line.NewGenerator(line.Profile{}, 1).AppendRead(nil, 0, card)
	for _, e := range edges {
		if d.Feed(e) { // a read that a gap has ended
			fmt.Println(d.Read().Bits)
		}
	}
	// Where no edge comes, a timer says how late it is.
	if d.Feed(line.Edge{At: end + line.DefaultGap, Wire: line.NoWire}) {
		r := d.Read()
		fmt.Println(r.Bits.Hex(), r.Verdict(), line.TimingOf(d.Pulses()).Width.Mean)
	}
	// Output: 26:3A83702 healthy 50µs
}

// A recording by a hardware simulator, with the signals that belong to the line found by their names.
func ExampleReader() {
	f, err := os.Open("../../testdata/line/reader.vcd")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer f.Close()
	v, err := line.NewVCD(f)
	if err != nil {
		fmt.Println(err)
		return
	}
	choice, err := v.Choose(line.Signals{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(choice.Coding, choice.Names)
	r := line.NewReader(v, line.Config{}, line.PolarityAuto)
	for {
		read, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(read.At, read.Bits.Hex(), read.Verdict())
	}
	fmt.Println(r.Health().Verdict())
	// Output:
	// two-wire [reader.panel.d0 reader.panel.d1]
	// 80ms 26:3A83702 healthy
	// 232ms 26:3A83702 healthy
	// healthy
}

func ExampleNewCSV() {
	text := "time_us,D0,D1\n0,1,1\n60000,0,1\n60050,1,1\n62000,1,0\n62120,1,1\n120000,1,1\n"
	c, err := line.NewCSV(strings.NewReader(text), line.CSVOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	if _, err := c.Choose(line.Signals{}); err != nil {
		fmt.Println(err)
		return
	}
	r := line.NewReader(c, line.Config{}, line.PolarityAuto)
	read, err := r.Next()
	fmt.Println(read.Bits, read.Verdict(), err)
	for _, w := range read.Warnings(r.Pulses()) {
		fmt.Println(w)
	}
	// Output:
	// 01 suspect <nil>
	// pulse wider than the limit: bit 2 (120µs)
	// no card or key has so few bits
}

func ExampleHealth_Suggestions() {
	// A read whose ninth pulse was lost, from a reader with a steady pace.
	g := line.NewGenerator(line.Profile{}, 1)
	edges, end := g.AppendRead(nil, 0, wiegand.MustParseBits("26:3A83702"), line.Flaw{Bit: 8, Kind: line.Lose})
	d, s := line.NewDecoder(line.Config{}), line.Survey{}
	for _, e := range edges {
		d.Feed(e)
	}
	if d.Feed(line.Edge{At: end + line.DefaultGap, Wire: line.NoWire}) {
		s.Add(d.Read(), d.Pulses())
	}
	for _, text := range s.Health(d).Suggestions() {
		fmt.Println(text)
	}
	// Output:
	// a pulse may be missing just before this one (one and a half times the usual interval or more): a loose joint, too little voltage at the reader's end of a long cable, or a weak common ground can swallow pulses
}

func ExampleConsensus() {
	card := wiegand.MustParseBits("26:3A83702")
	short, _ := card.Delete(4)
	a := line.Consensus([]wiegand.Bits{card, short, card, card.WithBit(9, 1), card})
	fmt.Println(a.Bits.Hex(), a.Same, "of", a.Total, "sure:", a.Sure, "short:", a.Short, "weak:", a.Weak)
	// Output: 26:3A83702 3 of 5 sure: true short: 1 weak: [9]
}

func ExampleWriteVCD() {
	g := line.NewGenerator(line.Profile{}, 1)
	edges := g.AppendIdle(nil, 0)
	edges, end := g.AppendRead(edges, 100*time.Millisecond, wiegand.MustParseBits("bits:01"))
	edges = append(edges, line.Edge{At: end + 60*time.Millisecond, Wire: line.NoWire})
	if err := line.WriteVCD(os.Stdout, [2]string{"DATA0", "DATA1"}, slices.Values(edges)); err != nil {
		fmt.Println(err)
	}
	// Output:
	// $timescale 1 ns $end
	// $scope module line $end
	// $var wire 1 ! DATA0 $end
	// $var wire 1 " DATA1 $end
	// $upscope $end
	// $enddefinitions $end
	// #0
	// 1!
	// 1"
	// #100000000
	// 0!
	// #100050000
	// 1!
	// #102000000
	// 0"
	// #102050000
	// 1"
	// #162050000
}

// A published example, with clocking zeros around the message.
func ExampleParseTrack2() {
	b := wiegand.MustParseBits("0000000000 11010 00001 10000 01000 11001 11111 00100 00000")
	t, err := line.ParseTrack2(b)
	fmt.Println(t.Text, t.From, t.To, err)
	// Output: ;0123? 10 45 <nil>
}

func ExampleTrack2Bits() {
	b, err := line.Track2Bits(";0123?")
	fmt.Println(b, err)
	// Output: 11010000011000001000110011111100100 <nil>
}
