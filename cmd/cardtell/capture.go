package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/presented"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/recording"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand/line"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// captureOptions are the flags of capture.
type captureOptions struct {
	form     string // --as
	signals  line.Signals
	csv      line.CSVOptions
	list     string
	gap      time.Duration
	glitch   time.Duration
	polarity line.Polarity
	same     bool
	identify bool
	showPins bool
	draw     string
	drawRead int

	makeReads []string
	made      recording.Made
	out       string
}

func (a *app) captureCommand() *cobra.Command {
	var o captureOptions
	cmd := &cobra.Command{
		Use: "capture FILE | --make READ -o FILE.vcd",
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("invert") {
				o.polarity = line.IdleHigh
				if o.made.Inverted {
					o.polarity = line.IdleLow
				}
			}
			switch {
			case len(args) > 1:
				return fmt.Errorf("capture: %q: follows the recording; name one at a time", say.Clip(args[1], 40))
			case len(o.makeReads) > 0 && len(args) > 0:
				return errors.New("capture: --make: makes a recording, and takes no FILE to read; leave one of them out")
			case len(o.makeReads) > 0:
				return a.makeRecording(o)
			case len(args) == 0:
				return errors.New("capture: no recording given; name a FILE, or - for standard input")
			}
			return a.runCapture(cmd.Context(), args[0], o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.form, "as", "", "`FORM` of the file: vcd, csv, hex, binary, json-lines or log")
	f.StringVar(&o.signals.Data0, "d0", "", "`NAME` of the signal that is DATA0")
	f.StringVar(&o.signals.Data1, "d1", "", "`NAME` of the signal that is DATA1")
	f.StringVar(&o.signals.Clock, "clock", "", "`NAME` of the signal that is CLOCK")
	f.StringVar(&o.signals.Data, "data", "", "`NAME` of the signal that is DATA")
	f.BoolVar(&o.made.Inverted, "invert", false, "the wires idle low; seen from the recording unless given")
	f.StringVar(&o.csv.Unit, "unit", "", "`UNIT` of the times in a CSV file: s, ms, us or ns")
	f.Float64Var(&o.csv.Rate, "rate", 0, "`HZ`: samples a second, in a CSV file whose rows have no time")
	f.DurationVar(&o.gap, "gap", line.DefaultGap, "`TIME` of silence that ends a read")
	f.DurationVar(&o.glitch, "glitch", line.DefaultGlitch, "`TIME` below which a level does not count")
	f.BoolVar(&o.same, "same", false, "all reads are of one card: print what they agree on")
	f.BoolVar(&o.identify, "identify", false, "rank what the cards that were read can be")
	f.StringVar(&o.list, "list", "", "write the cards that are read as a list to this CSV or XLSX `FILE`")
	f.BoolVar(&o.showPins, "show-pins", false, "show keypad entries")
	f.StringVar(&o.draw, "draw", "", "draw the pulses of one read in this SVG `FILE`")
	f.IntVar(&o.drawRead, "read", 1, "with --draw: `NUMBER` of the read to draw")
	f.StringArrayVar(&o.makeReads, "make", nil, "make a recording of `READ` (may repeat); ;0123? makes clock and data")
	f.StringVarP(&o.out, "output", "o", "", "with --make: VCD `FILE` to write; - is standard output")
	f.IntVar(&o.made.Repeat, "repeat", 1, "with --make: `TIMES` that each read comes")
	f.IntVar(&o.made.Jitter, "jitter", 0, "with --make: `PERCENT` by which widths and intervals vary")
	f.BoolVar(&o.made.Spikes, "spikes", false, "with --make: put a spike on every third bit")
	f.IntVar(&o.made.Lose, "lose", 0, "with --make: `BIT` whose pulse is lost")
	return cmd
}

// check refuses options that cannot work together.
func (o captureOptions) check() error {
	switch {
	case o.gap < time.Millisecond:
		return fmt.Errorf("capture: --gap %v: too short to end a read; the standard allows 20ms between pulses, and 50ms is usual",
			o.gap)
	case o.glitch < 0 || o.glitch >= o.gap:
		return fmt.Errorf("capture: --glitch %v: not a time from 0 to less than the gap; write one below %v", o.glitch, o.gap)
	case o.drawRead < 1:
		return fmt.Errorf("capture: --read %d: no such read; they are numbered from 1", o.drawRead)
	case o.draw != "" && !strings.EqualFold(filepath.Ext(o.draw), ".svg"):
		return fmt.Errorf("capture: --draw %q: the name does not end in .svg, which is what is written; name it so",
			say.Clip(o.draw, 60))
	}
	return nil
}

// capture is one run of the command.
type capture struct {
	*app
	o     captureOptions
	live  bool
	reads int // printed so far
	seen  *reads.Seen
	drawn *picture.Pulses // the read to be drawn, once it came
	list  *presented.List // nil without --list
	again func() (io.Reader, error)
}

func (a *app) runCapture(ctx context.Context, name string, o captureOptions) error {
	if err := o.check(); err != nil {
		return err
	}
	c := &capture{app: a, o: o, live: name == "-", seen: reads.NewSeen(o.same || o.identify)}
	var in io.Reader
	if c.live {
		ctx, stop := signal.NotifyContext(ctx, os.Interrupt)
		defer stop()
		in = recording.Follow(ctx, a.in, max(100*time.Millisecond, 2*o.gap))
	} else {
		f, info, err := a.openFile(name)
		if err != nil {
			return err
		}
		defer f.Close()
		if drawn, err := os.Stat(o.draw); err == nil && os.SameFile(info, drawn) {
			return fmt.Errorf("capture: %s: the drawing would overwrite the recording; name another file", o.draw)
		}
		in = recording.Text(f)
		c.again = func() (io.Reader, error) {
			_, err := f.Seek(0, io.SeekStart)
			return recording.Text(f), err
		}
	}
	if o.list != "" {
		if err := c.beginList(); err != nil {
			return err
		}
	}
	err := c.run(in, name)
	if c.list != nil { // what was read before the damage is whole
		if failed := c.closeList(); failed != nil && (err == nil || errors.Is(err, errNo)) {
			err = failed
		}
	}
	if err != nil && !errors.Is(err, errNo) {
		return recording.WithNames(fmt.Errorf("%s: %w", source(name), err))
	}
	if o.draw != "" {
		if err := c.writeDrawing(); err != nil {
			return err
		}
	}
	return err
}

// run reads the recording, prints what it holds, and sums it up.
func (c *capture) run(in io.Reader, name string) error {
	form, in, err := recording.FormOf(in, c.o.form, c.live)
	if err != nil {
		return err
	}
	switch {
	case c.o.csv.Unit != "" && form != "csv":
		return fmt.Errorf("--unit: has no effect on a %s recording; leave it out", form)
	case c.o.csv.Rate != 0 && form != "csv":
		return fmt.Errorf("--rate: has no effect on a %s recording; leave it out", form)
	case form == "vcd" || form == "csv":
		return c.line(in, form, name)
	case c.o.draw != "":
		return errors.New("--draw: has no effect on a bus recording, which holds bytes and no pulses; leave it out")
	case c.o.signals != line.Signals{}:
		return errors.New("--d0, --d1, --clock, --data: have no effect on a bus recording, which holds bytes and no signals; leave them out")
	}
	return c.bus(in, form, name)
}

func (c *capture) line(in io.Reader, form, name string) error {
	wires := recording.Wires{Form: form, CSV: c.o.csv, Signals: c.o.signals, Again: c.again}
	src, choice, err := wires.Open(in)
	if e, ok := errors.AsType[*line.Error](err); ok && !errors.Is(err, line.ErrSignal) {
		if _, none := formats.Spellings(e.Input); e.Input != "" && none == nil {
			return fmt.Errorf("%w; if these are cards, one a line: identify --file or learn, and not capture", err)
		}
	}
	if err != nil {
		return err
	}
	tap := &recording.Tap{Source: src, On: c.o.draw != ""}
	r := line.NewReader(tap, line.Config{Gap: c.o.gap, Glitch: cmp.Or(c.o.glitch, -1)}, c.o.polarity)
	if choice.Note != "" {
		c.remark("note: %s; say --d0 and --d1 to be sure", choice.Note)
	}
	c.heading(name, fmt.Sprintf("%v, %s is %s and %s is %s", choice.Coding, choice.Coding.WireName(0), choice.Names[0],
		choice.Coding.WireName(1), choice.Names[1]))
	for {
		read, err := r.Next()
		switch {
		case errors.Is(err, io.EOF):
			return c.endOfLine(r.Health(), src, nil)
		case errors.Is(err, os.ErrDeadlineExceeded):
			continue
		case err != nil:
			return c.endOfLine(r.Health(), src, err)
		}
		c.reads++
		if c.reads == c.o.drawRead && c.o.draw != "" {
			c.drawn = &picture.Pulses{Read: read, Pulses: slices.Clone(r.Pulses()),
				Edges: tap.Around(read, r.Health().Inverted), Names: choice.Names, Number: c.reads}
			tap.On = false
		}
		if err := c.print(reads.OfLine(read, r.Pulses(), c.o.showPins)); err != nil {
			return err
		}
	}
}

// endOfLine sums up a recording of two wires. damage is what ended it early, or nil; where it did so before any read,
// it says more than what was seen of the wires.
func (c *capture) endOfLine(h line.Health, src recording.Source, damage error) error {
	if damage != nil && h.Reads == 0 {
		return damage
	}
	sum := reads.Line{Health: h, Glitch: c.o.glitch}
	if s, ok := src.(interface{ Thresholds() ([2]float64, bool) }); ok {
		if volts, ok := s.Thresholds(); ok {
			sum.Volts = &volts
		}
	}
	return c.end(damage, func(w io.Writer) { sum.Print(w, c.seen) })
}

// end says what all reads have in common, sums them up and ranks them, as far as that is asked. The answer is no where
// there are none.
func (c *capture) end(damage error, sum func(io.Writer)) error {
	if c.o.same {
		damage = cmp.Or(damage, c.consensus())
	}
	sum(c.remarks())
	damage = cmp.Or(damage, c.identify())
	if damage == nil && c.reads == 0 {
		return errNo
	}
	return damage
}

func (c *capture) bus(in io.Reader, form, name string) error {
	source := map[string]func(io.Reader) osdp.Source{
		"hex": osdp.NewHex, "log": osdp.NewLog, "json-lines": osdp.NewJSONLines, "binary": osdp.NewBinary,
	}[form]
	c.heading(name, "RS-485 reader bus")
	s := osdp.NewScanner(source(in))
	var t reads.Bus
	for {
		p, err := s.Next()
		switch {
		case errors.Is(err, io.EOF):
			return c.endOfBus(s.Counts(), &t, form, nil)
		case errors.Is(err, os.ErrDeadlineExceeded):
			continue
		case err != nil:
			return c.endOfBus(s.Counts(), &t, form, err)
		}
		t.Add(p)
		e, ok := reads.OfBus(p, c.o.showPins)
		if !ok {
			continue
		}
		c.reads++
		if err := c.print(e); err != nil {
			return err
		}
	}
}

// endOfBus sums up a recording of a bus. Bytes that were taken for a bus only because they are no text, and hold no
// packet, are the wrong input.
func (c *capture) endOfBus(n osdp.Counts, t *reads.Bus, form string, damage error) error {
	if damage == nil && n.Packets == 0 && form == "binary" {
		return fmt.Errorf("%d bytes and no packet in them; no recording of a reader bus, nor VCD or CSV: is it the right file?", n.Bytes)
	}
	return c.end(damage, func(w io.Writer) { t.Print(w, n) })
}
