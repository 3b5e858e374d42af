package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/drawn"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// maxPlates is how many pictures one drawing takes: more are a file that nothing shows well.
const maxPlates = 400

type drawOptions struct {
	*app
	format, file, output, title string
	top                         int
	narrow                      bool
}

func (a *app) drawCommand() *cobra.Command {
	o := drawOptions{app: a}
	c := &cobra.Command{
		Use:  "draw CARD…",
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	f := c.Flags()
	f.StringVar(&o.format, "format", "", "draw them as this format, by `ID`, whether or not it fits")
	f.IntVar(&o.top, "top", 1, "draw the `K` likeliest readings")
	f.StringVar(&o.file, "file", "", "take cards from `FILE`, one a line; - is standard input")
	f.StringVarP(&o.output, "output", "o", "", "write the `FILE`: .svg is a drawing, .html a sheet to print")
	f.BoolVar(&o.narrow, "narrow", false, "with -o FILE.svg: for a phone, the bits alone in short rows")
	f.StringVar(&o.title, "title", "", "`TEXT` at the head of the drawing")
	return c
}

func (o *drawOptions) run(args []string) error {
	write, err := drawn.Writer("draw: -o", o.output)
	switch {
	case err != nil:
		return err
	case o.narrow && !strings.EqualFold(filepath.Ext(o.output), ".svg"):
		return fmt.Errorf("draw: --narrow: is of a drawing only; name it with -o FILE.svg (a sheet in HTML fits phones by itself)")
	case o.top < 1:
		return fmt.Errorf("draw: --top %d: there is nothing to draw; write 1 or more", o.top)
	case o.top > 1 && o.format != "":
		return fmt.Errorf("draw: --top %d: --format names the one reading to draw; leave one of them out", o.top)
	case len(args) == 0 && o.file == "":
		return fmt.Errorf("draw: no cards; write one, such as 26:32D687E, or give --file FILE")
	}
	input := identifyOptions{app: o.app, file: o.file}
	cards, err := input.likeliest(args)
	if err != nil {
		return err
	}
	sheet, fits, err := o.sheet(cards)
	if err != nil {
		return err
	}
	if n := len(sheet.Plates); n > maxPlates {
		return fmt.Errorf("draw: %d pictures: a drawing takes %d; draw fewer cards at a time, or a smaller --top", n,
			maxPlates)
	}
	sheet.Narrow = o.narrow
	if write == nil {
		return o.report(drawn.JSON("", sheet),
			func() { drawn.Text(o.out, sheet, o.style()) }, !fits)
	}
	if err := o.replaceFile(o.output, func(w io.Writer) error { return write(sheet, w) }); err != nil {
		return err
	}
	return o.report(drawn.JSON(o.output, sheet),
		func() { o.remark("%s: %s", o.output, say.Count(len(sheet.Plates), "picture")) }, !fits)
}

// sheet puts the drawing together. fits is false where no known format fits well.
func (o *drawOptions) sheet(cards []formats.Sightings) (sheet picture.Sheet, fits bool, err error) {
	if o.format != "" {
		cat, err := o.catalogue()
		if err == nil {
			sheet, err = drawn.OfFormat(cat, o.format, cards, o.title)
		}
		return sheet, true, err
	}
	ranker, err := o.ranker()
	if err != nil {
		return sheet, false, err
	}
	return drawn.OfLikeliest(ranker, cards, o.title, o.top)
}
