package line_test

import (
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

// readCards is the heart of a service on a small board: the reader's two wires raise interrupts, and each read is handed on once
// the line has been quiet for a gap. It allocates nothing for each card.
func readCards(interrupts <-chan interrupt, pins [2]int, use func(wiegand.Bits)) {
	d := line.NewDecoder(line.Config{})
	quiet := time.NewTimer(line.DefaultGap)
	defer quiet.Stop()
	last := time.Duration(0)
	feed := func(e line.Edge) {
		if d.Feed(e) && d.Read().Verdict() != line.Suspect {
			use(d.Read().Bits)
		}
	}
	for {
		select {
		case i, open := <-interrupts:
			if !open {
				feed(line.Edge{At: last + line.DefaultGap, Wire: line.NoWire})
				return
			}
			wire := line.Data0
			if i.pin == pins[1] {
				wire = line.Data1
			}
			level := line.Low
			if i.high {
				level = line.High
			}
			last = i.at
			feed(line.Edge{At: i.at, Wire: wire, Level: level})
			quiet.Reset(line.DefaultGap)
		case <-quiet.C:
			if len(interrupts) > 0 {
				continue // the program was late, not the line
			}
			feed(line.Edge{At: last + line.DefaultGap, Wire: line.NoWire})
		}
	}
}

// A service on a board whose general-purpose inputs are wired to a reader, through level shifters: readers have 5 V signals.
func Example_gpioService() {
	interrupts := make(chan interrupt, 64) // filled by the driver; here by what a card of 26 bits does
	edges, _ := line.NewGenerator(line.Profile{}, 1).AppendRead(nil, 0, wiegand.MustParseBits("26:3A83702"))
	for _, e := range edges {
		interrupts <- interrupt{pin: 17 + int(e.Wire), high: e.Level == line.High, at: e.At}
	}
	close(interrupts)
	readCards(interrupts, [2]int{17, 18}, func(b wiegand.Bits) { fmt.Println(b.Hex()) })
	// Output: 26:3A83702
}

// What the published 26-bit standard allows.
func ExampleStandardLimits() {
	l := line.StandardLimits()
	fmt.Println(l.WidthMin, l.WidthMax, l.IntervalMin, l.IntervalMax)
	// Output: 20µs 100µs 200µs 20ms
}
