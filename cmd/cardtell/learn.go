package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/layout"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
)

type learnOptions struct {
	*app
	out string
	id  string
}

func (a *app) learnCommand() *cobra.Command {
	o := learnOptions{app: a}
	c := &cobra.Command{
		Use:  "learn FILE|CARD…",
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	c.Flags().StringVarP(&o.out, "output", "o", "", "write the layout as a definition file (TOML `FILE`)")
	c.Flags().StringVar(&o.id, "id", "", "`NAME` of the learned format (learned-BITS)")
	return c
}

func (o *learnOptions) run(args []string) error {
	if o.out == "-" {
		return errors.New("learn: -o -: the answer goes to standard output; write the layout to a file")
	}
	cat, err := o.catalogue()
	if err != nil {
		return err
	}
	reads, err := o.reads(args)
	if err != nil {
		return err
	}
	results, err := learn.Learn(reads, cat)
	if err != nil {
		if len(args) == 1 {
			return fmt.Errorf("learn: %s: %w", say.Clip(args[0], 80), err)
		}
		return fmt.Errorf("learn: %w", err)
	}
	written := false
	if o.out != "" { // first, so that nothing is on standard output if it fails
		if written, err = o.write(results, cat); err != nil {
			return err
		}
	}
	return o.report(layout.JSON(results),
		func() { layout.Text(o.app.out, results, o.style()) },
		results[0].Probability < layout.Unsure || o.out != "" && !written)
}

// reads takes the cards of the command line and those of the files that it names.
func (o *learnOptions) reads(args []string) ([]learn.Read, error) {
	if len(args) == 0 {
		return nil, errors.New("learn: no cards; name a file with one READ=PRINTED a line, or write cards such as 37:1B2A4C5D2=46143")
	}
	var reads []learn.Read
	for i, arg := range args {
		sightings, err := formats.ParseSightings(arg)
		if err != nil || sightings[0].Kind != formats.Read {
			file, fileErr := o.file(arg)
			if fileErr == nil {
				reads = append(reads, file...)
				continue
			}
			if !errors.Is(fileErr, fs.ErrNotExist) || err == nil || !strings.ContainsAny(arg, ":=") {
				return nil, fileErr
			}
		}
		card, err := oneCard(i+1, arg)
		if err != nil {
			return nil, fmt.Errorf("learn: %w", err)
		}
		reads = append(reads, card...)
	}
	return reads, nil
}

// oneCard takes READ or READ=PRINTED apart: a read for each number that is printed.
func oneCard(line int, text string) ([]learn.Read, error) {
	if ways, err := formats.Spellings(text); err == nil && len(ways) == 1 && len(ways[0].Sightings) == 2 &&
		!strings.Contains(text, "=") { // parted by a comma, semicolon or tab
		text = ways[0].Sightings[0].Text + "=" + ways[0].Sightings[1].Text
	}
	read, print, _ := strings.Cut(text, "=")
	s, err := formats.ParseSighting(read)
	if err != nil {
		return nil, err
	}
	if s.Kind != formats.Read {
		return nil, fmt.Errorf("%q: is no read; write LENGTH:HEX such as 37:1B2A4C5D2, or 24 or more 0s and 1s",
			say.Clip(text, 48))
	}
	var card []learn.Read
	for _, print := range strings.Split(print, "=") { // in a list another number can stand before it
		print = strings.TrimPrefix(strings.TrimSpace(print), "printed:")
		both := []string{print}
		if ways, err := formats.Spellings(print); err == nil && len(ways) == 1 && len(ways[0].Sightings) == 2 {
			both = []string{ways[0].Sightings[0].Text, ways[0].Sightings[1].Text} // a fob's number, and its facility and number
		}
		for _, print := range both {
			card = append(card, learn.Read{Line: line, Bits: s.Bits, Printed: print})
		}
	}
	return card, nil
}

// file takes the cards of a file, one a line, or of a list with columns read and printed.
func (o *learnOptions) file(name string) (reads []learn.Read, err error) {
	err = o.cardLines(name, false, func(line int, text string) error {
		card, err := oneCard(line, text)
		if err != nil {
			return fmt.Errorf("%s:%d: %w", source(name), line, err)
		}
		reads = append(reads, card...)
		return nil
	})
	if err == nil && len(reads) == 0 {
		err = fmt.Errorf("%s: no cards in it; write one READ=PRINTED a line, such as 37:1B2A4C5D2=46143", source(name))
	}
	return reads, err
}

// write writes the formats that were learned, all lengths in one file. Those that the catalogue has are not written
// again, and one that is likelier wrong than right is not written at all.
func (o *learnOptions) write(results []learn.Result, cat formats.Catalogue) (written bool, err error) {
	var text []byte
	for i := range results {
		r := &results[i]
		if len(r.Known) > 0 {
			o.remark("the %d-bit reads are of format %s, which is known already: not written", r.Length, r.Known[0].ID)
			continue
		}
		if r.Probability < layout.Unsure {
			o.remark("the %d-bit layout is too unsure to be relied on (%s): not written", r.Length,
				say.Chance(r.Probability))
			continue
		}
		id := o.name(r, len(results))
		if len(cat.Find(id)) > 0 {
			return false, fmt.Errorf("learn: --id %s: is a format already, which --formats would replace; choose another name",
				id)
		}
		def, err := r.Definition(id)
		if bad, ok := errors.AsType[*formats.Error](err); ok && o.id != "" {
			err = fmt.Errorf("learn: --id %q: %s", say.Clip(o.id, 40), bad.Reason)
		}
		if err != nil {
			return false, err
		}
		if text != nil {
			text = append(text, '\n')
		}
		text = append(text, def...)
	}
	if text == nil {
		return false, nil
	}
	if err := o.replaceText(o.out, text); err != nil {
		return false, err
	}
	o.remark("%s written; use it with --formats %s", o.out, o.out)
	return true, nil
}

func (o *learnOptions) name(r *learn.Result, lengths int) string {
	switch {
	case o.id == "":
		return fmt.Sprintf("learned-%d", r.Length)
	case lengths > 1:
		return fmt.Sprintf("%s-%d", o.id, r.Length)
	}
	return o.id
}
