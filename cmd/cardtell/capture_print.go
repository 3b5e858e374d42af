package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/presented"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// heading says what is about to be read.
func (c *capture) heading(name, what string) {
	if !c.json {
		fmt.Fprintf(c.out, "%s: %s\n\n", picture.Clean(source(name)), picture.Clean(what))
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
func (c *capture) print(e reads.Entry) error {
	c.seen.Add(&e)
	if c.list != nil {
		if err := c.list.Add(&e); err != nil {
			return err
		}
	}
	if c.json && c.o.same { // what they agree on is all that is printed
		return nil
	}
	if err := c.report(e, func() { e.Print(c.out, c.reads) }, false); err != nil {
		return err
	}
	return c.follow()
}

func (c *capture) writeDrawing() error {
	switch {
	case c.drawn == nil:
		return fmt.Errorf("capture: --read %d: the recording has %s", c.o.drawRead, say.Count(c.reads, "read"))
	case reads.IsKey(c.drawn.Read) && !c.o.showPins:
		return fmt.Errorf("capture: --draw: read %d is as short as a keypad key, which is somebody's PIN; --show-pins draws it",
			c.o.drawRead)
	}
	if err := c.replaceFile(c.o.draw, c.drawn.WriteSVG); err != nil {
		return err
	}
	c.remark("read %d is drawn in %s", c.o.drawRead, c.o.draw)
	return nil
}

// remarks is where sums and suggestions go: behind the reads for people, to standard error beside JSON.
func (c *capture) remarks() io.Writer {
	switch {
	case !c.json:
		return c.out
	case c.quiet:
		return io.Discard
	}
	return c.err
}

// consensus prints what all reads agree on. The answer is no where they do not.
func (c *capture) consensus() error {
	all, ok := c.seen.Agreement()
	if !ok {
		return nil
	}
	return c.report(all, func() { all.Print(c.out) }, !all.Sure)
}

func (c *capture) beginList() error {
	if c.o.list == "-" {
		return errors.New("capture: --list -: standard output has the reads as they come; name a file")
	}
	var in *presented.Site
	if c.site != "" {
		cat, s, err := c.known()
		if err != nil {
			return err
		}
		in = &presented.Site{Site: s, Catalogue: cat}
	}
	var err error
	c.list, err = presented.New(c.o.list, c.inputs, in)
	return err
}

// closeList puts the list in its place, and says what it has. The answer is no where reads are not in it.
func (c *capture) closeList() error {
	sum, err := c.list.Close()
	switch {
	case sum.Cards == 0:
		c.remark("no card was read without a doubt; %s is not written", c.o.list)
		return errors.Join(err, errNo)
	case err != nil:
		return err
	}
	rest := ""
	if sum.Rejects != "" {
		rest = fmt.Sprintf("; %s and %s, in %s", say.Count(sum.Doubles, "double"), say.Count(sum.Bad, "bad read"),
			sum.Rejects)
	}
	c.remark("%s has %s%s", c.o.list, say.Count(sum.Cards, "card"), rest)
	if sum.Bad > 0 {
		return errNo
	}
	return nil
}
