package main

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// heading says what is about to be read, and what was assumed.
func (c *capture) heading(name string, choice line.Choice) {
	if choice.Note != "" {
		c.remark("note: %s; say --d0 and --d1 to be sure", picture.Clean(choice.Note))
	}
	if c.json {
		return
	}
	fmt.Fprintf(c.out, "%s: %v, %s is %s and %s is %s\n\n", picture.Clean(shortName(name)), choice.Coding,
		choice.Coding.WireName(0),
		picture.Clean(choice.Names[0]), choice.Coding.WireName(1), picture.Clean(choice.Names[1]))
	c.follow()
}

func (c *capture) busHeading(name string) {
	if !c.json {
		fmt.Fprintf(c.out, "%s: RS-485 reader bus\n\n", picture.Clean(shortName(name)))
		c.follow()
	}
}

// follow lets the reader of a live recording see what there is.
func (c *capture) follow() error {
	if c.live {
		return c.out.Flush()
	}
	return nil
}

// print writes one read, and keeps its bits for what comes at the end.
func (c *capture) print(e entry) error {
	if e.bits.Len() > 0 && e.KeyCount == 0 {
		c.found.add(e.bits)
		if c.keep {
			c.cards = append(c.cards, e.best())
			if e.placed.open.OnesCount() > 0 {
				c.open[e.best()] = e.placed
			}
			if e.Verdict != line.Suspect.String() {
				c.sound[e.best()] = true
			}
		}
	}
	if c.list != nil {
		if err := c.list.add(&e); err != nil {
			return err
		}
	}
	switch {
	case c.json && c.o.same: // what they agree on is all that is printed
		return nil
	case c.json:
		if e.Warnings == nil {
			e.Warnings = []string{}
		}
		if err := writeJSON(c.out, e); err != nil {
			return err
		}
	default:
		c.text(e)
	}
	return c.follow()
}

// text writes one read for people.
func (c *capture) text(e entry) {
	var head []string
	if e.Time != nil {
		head = append(head, fmt.Sprintf("at %.4f s", *e.Time))
	}
	if e.Address != nil {
		head = append(head, fmt.Sprintf("address %d", *e.Address))
	}
	if e.Reader != nil {
		head = append(head, fmt.Sprintf("reader %d", *e.Reader))
	}
	if e.Length > 0 {
		head = append(head, say.Count(e.Length, "bit"))
	}
	if e.bits.Len() > 0 {
		head = append(head, e.bits.Hex())
	}
	first := strings.Join(head, "   ")
	if n := len(head) - 1; n > 0 && len(first)+5 > say.Width { // a long read in hex has a line of its own
		first = strings.Join(head[:n], "   ") + "\n     " + head[n]
	}
	fmt.Fprintf(c.out, "#%-4d%s\n", c.reads, first)
	if e.bits.Len() > 0 {
		say.Print(c.out, "     ", grouped(e.bits))
	}
	if e.what != "" {
		say.Print(c.out, "     ", e.what)
	}
	if e.Verdict != "" {
		say.Print(c.out, "     ", e.Verdict+timingText(e.timing))
	}
	for _, w := range e.Warnings {
		say.Print(c.out, "     - ", w)
	}
	if e.Mended != nil {
		say.Print(c.out, "     ", e.Mended.text())
	}
	switch {
	case e.Double:
		fmt.Fprintf(c.out, "     list: card %d again\n", e.Row)
	case e.Row > 0:
		fmt.Fprintf(c.out, "     list: card %d\n", e.Row)
	case e.Rejected != "":
		say.Print(c.out, "     ", "list: "+e.Rejected)
	}
	fmt.Fprintln(c.out)
}

// grouped writes bits in groups of eight.
func grouped(b wiegand.Bits) string {
	var s strings.Builder
	for i := 0; i < b.Len(); i += 8 {
		if i > 0 {
			s.WriteByte(' ')
		}
		s.WriteString(b.Slice(i, i+8).String())
	}
	return s.String()
}

func timingText(t line.Timing) string {
	s := ""
	if t.Width.N > 0 {
		s += "; pulses " + rangeText(t.Width)
	}
	if t.Interval.N > 0 {
		s += "; intervals " + rangeText(t.Interval)
	}
	return s
}

func rangeText(s line.Stats) string {
	lo, hi := line.Round(s.Min), line.Round(s.Max)
	if lo == hi {
		return lo.String()
	}
	return fmt.Sprintf("%v to %v, mean %v", lo, hi, line.Round(s.Mean))
}

// writeDrawing draws the read that was asked for.
func (c *capture) writeDrawing() error {
	switch {
	case c.drawn == nil:
		return fmt.Errorf("capture: --read %d: the recording has %s", c.o.drawRead, say.Count(c.reads, "read"))
	case isKey(c.drawn.read) && !c.o.showPins:
		return fmt.Errorf("capture: --draw: read %d is as short as a keypad key, which is somebody's PIN; --show-pins draws it",
			c.o.drawRead)
	}
	p := picture.Pulses{Read: c.drawn.read, Pulses: c.drawn.pulses, Edges: c.drawn.edges, Names: c.drawn.names,
		Number: c.o.drawRead}
	if err := c.replaceFile(c.o.draw, p.WriteSVG); err != nil {
		return err
	}
	c.remark("read %d is drawn in %s", c.o.drawRead, c.o.draw)
	return nil
}
