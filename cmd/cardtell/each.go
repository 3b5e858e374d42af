package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/inorder"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/rank"
)

// batchLines is how many cards a worker takes at a time: enough that handing over costs nothing, few enough that what
// comes of them stays in the processor's cache and the first answers come at once.
const batchLines = 64

// batch is some cards on their way through identify --each.
type batch struct {
	lines []int // of the file, or the places on the command line, from 1
	file  bool  // the cards are of the file
	texts []string
	out   []byte
	bad   []error // cards that could not be read, in order
	no    bool    // some card fits no format
}

// runEach answers for every card by itself, in the order of input. A card that can't be read is reported and the others
// go on; the exit code says so in the end.
func (o *identifyOptions) runEach(ranker *rank.Ranker, args []string) error {
	var first, readErr error
	var known answer.Memory
	no := false
	bad := func(err error) {
		if first == nil {
			first = err
		} else {
			fmt.Fprintf(o.err, "cardtell: %s\n", say.Error(err))
		}
	}
	err := inorder.Run(func(take func() *batch, send func(*batch) bool) error {
		readErr = o.batches(args, take, send) // a bad card before it is told first
		return nil
	}, func() func(*batch) {
		each := answer.Each{Ranker: ranker, Catalogue: o.cat, JSON: o.json, Top: o.top, Known: &known}
		return func(b *batch) { o.answerBatch(&each, b) }
	}, func(b *batch, _ bool) error {
		no = no || b.no
		_, err := o.out.Write(b.out)
		for _, err := range b.bad {
			bad(err)
		}
		return err
	})
	switch {
	case err != nil:
		return err
	case readErr != nil:
		bad(readErr)
	}
	if first == nil && no {
		return errNo
	}
	return first
}

// batches reads the cards of the command line and then those of the file.
func (o *identifyOptions) batches(args []string, take func() *batch, send func(*batch) bool) error {
	empty := func(file bool) *batch {
		b := take()
		b.lines, b.texts, b.out, b.bad, b.no, b.file = b.lines[:0], b.texts[:0], b.out[:0], nil, false, file
		return b
	}
	b := empty(false)
	add := func(line int, text string) error {
		b.lines, b.texts = append(b.lines, line), append(b.texts, text)
		if len(b.lines) == batchLines {
			if !send(b) {
				return errNo // the writer's error comes first
			}
			b = empty(b.file)
		}
		return nil
	}
	for i, arg := range args {
		if err := add(i+1, arg); err != nil {
			return err
		}
	}
	send(b)
	if o.file == "" {
		return nil
	}
	b = empty(true) // a batch is of one source, so that its errors name that
	none := len(args) == 0
	err := o.cardLines(o.file, false, func(line int, text string) error { none = false; return add(line, text) })
	send(b)
	if err == nil && none {
		err = fmt.Errorf("%s: no cards in it; write one a line, such as 26:32D687E", source(o.file))
	}
	return err
}

func (o *identifyOptions) answerBatch(each *answer.Each, b *batch) {
	for i, text := range b.texts {
		out, fits, err := each.Append(b.out, b.lines[i], text)
		if err != nil {
			out = each.AppendError(b.out, b.lines[i], err)
			b.bad = append(b.bad, fmt.Errorf("%s: %s", o.place(b, b.lines[i]), strings.TrimPrefix(err.Error(), "card ")))
		}
		if b.out == nil { // the others of its size
			out = slices.Grow(out, len(out)*len(b.texts))
		}
		b.out, b.no = out, b.no || err == nil && !fits
	}
}

// place names a card for an error: file and line, or its place on the command line.
func (o *identifyOptions) place(b *batch, line int) string {
	if !b.file {
		return fmt.Sprintf("card %d", line)
	}
	return fmt.Sprintf("%s:%d", source(o.file), line)
}
