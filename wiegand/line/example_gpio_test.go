package line_test

import (
	"context"
	"fmt"
	"time"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// interrupt is what a driver of general-purpose inputs hands over: which pin changed, its level, and when.
type interrupt struct {
	pin  int
	high bool
	at   time.Duration
}

// edge is what the decoder wants to know of an interrupt. pins are those of DATA0 and DATA1.
func (i interrupt) edge(pins [2]int) line.Edge {
	e := line.Edge{At: i.at, Wire: line.Data0, Level: line.Low}
	if i.pin == pins[1] {
		e.Wire = line.Data1
	}
	if i.high {
		e.Level = line.High
	}
	return e
}

// A service on a board whose general-purpose inputs are wired to a reader, through level shifters: readers have 5 V
// signals. Each read is handed on once the line has been quiet for a gap.
func ExampleFollow() {
	edges := make(chan line.Edge, 256)
	go func() { // the driver; here it has what a card of 26 bits does
		made, _ := line.NewGenerator(line.Profile{}, 1).AppendRead(nil, 0, wiegand.MustParseBits("26:3A83702"))
		for _, m := range made {
			i := interrupt{pin: 17 + int(m.Wire), high: m.Level == line.High, at: m.At}
			edges <- i.edge([2]int{17, 18})
		}
	}()
	ctx, stop := context.WithTimeout(context.Background(), 10*time.Second)
	defer stop()
	for read, pulses := range line.Follow(ctx, edges, line.Config{}) {
		if read.Verdict() == line.Suspect {
			continue // see read.Warnings(pulses)
		}
		fmt.Println(read.Bits.Hex(), len(pulses), "pulses")
		break // a service goes on
	}
	// Output: 26:3A83702 26 pulses
}

// What the published 26-bit standard allows.
func ExampleStandardLimits() {
	l := line.StandardLimits()
	fmt.Println(l.WidthMin, l.WidthMax, l.IntervalMin, l.IntervalMax)
	// Output: 20µs 100µs 200µs 20ms
}
