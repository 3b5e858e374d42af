package main

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/inorder"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// batchLines is how many cards a worker takes at a time: enough that handing over costs nothing, few enough that what
// comes of them stays in the processor's cache and the first answers come at once.
const batchLines = 64

// batch is some cards on their way through identify --each.
type batch struct {
	lines []int // of the file, or the places on the command line, from 1
	file  bool  // the cards are of the file
	texts []string
	out   bytes.Buffer
	bad   []error // cards that could not be read, in order
	no    bool    // some card fits no format
}

// runEach answers for every card by itself, in the order of input. A card that can't be read is reported and the others
// go on; the exit code says so in the end.
func (o *identifyOptions) runEach(ranker *rank.Ranker, args []string) error {
	var first, readErr error
	var known memory
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
		w := eachWriter{o: o, ranker: ranker, cards: make([]formats.Sightings, 1), known: &known}
		return w.answerBatch
	}, func(b *batch, _ bool) error {
		no = no || b.no
		_, err := o.out.Write(b.out.Bytes())
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
		b.lines, b.texts, b.bad, b.no, b.file = b.lines[:0], b.texts[:0], nil, false, file
		b.out.Reset()
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
	err := o.cardLines(func(line int, text string) error { none = false; return add(line, text) })
	send(b)
	if err == nil && none {
		err = fmt.Errorf("%s: no cards in it; write one a line, such as 26:32D687E", o.file)
	}
	return err
}

func (w *eachWriter) answerBatch(b *batch) {
	o := w.o
	for i := range b.texts {
		if err := w.card(b, b.lines[i], b.texts[i]); err != nil {
			if o.json {
				writeJSONLine(&b.out, identifyJSON{Line: b.lines[i], Error: say.Error(err), Candidates: []candidateJSON{}})
			}
			b.bad = append(b.bad, fmt.Errorf("%s: %w", o.place(b, b.lines[i]), err))
		}
	}
}

// place names a card for an error: file and line, or its place on the command line.
func (o *identifyOptions) place(b *batch, line int) string {
	if !b.file {
		return fmt.Sprintf("card %d", line)
	}
	return fmt.Sprintf("%s:%d", o.file, line)
}

// eachWriter answers for one card after another, keeping what it can for the next.
type eachWriter struct {
	o      *identifyOptions
	ranker *rank.Ranker
	cards  []formats.Sightings
	one    formats.Sightings
	ans    rank.Answer
	known  *memory
}

// memory keeps what was answered for texts, for all workers: a log has the same cards over and over.
type memory struct {
	answers sync.Map // of text to known
	n       atomic.Int32
}

// known is an answer without the number of its line, which begins it.
type known struct {
	rest string
	no   bool
}

// maxKnown is how many texts are kept, a site's cards and more: the first ones. Among many more than that few come
// again.
const maxKnown = 1 << 13

// card answers for one card, from memory where the same text was asked before.
func (w *eachWriter) card(b *batch, line int, text string) error {
	if k, ok := w.known.answers.Load(text); ok {
		k := k.(*known)
		b.no = b.no || k.no
		b.out.Write(w.appendLine(b.out.AvailableBuffer(), line))
		b.out.WriteString(k.rest)
		return nil
	}
	from, no := b.out.Len(), b.no
	b.no = false
	err := w.weigh(b, line, text)
	if err == nil && w.known.n.Load() < maxKnown {
		var number [32]byte
		w.known.n.Add(1)
		w.known.answers.Store(text, &known{string(b.out.Bytes()[from+len(w.appendLine(number[:0], line)):]), b.no})
	}
	b.no = b.no || no
	return err
}

// appendLine appends what an answer begins with: the place of the card.
func (w *eachWriter) appendLine(dst []byte, line int) []byte {
	if w.o.json {
		return append(strconv.AppendInt(append(dst, `{"line":`...), int64(line), 10), ',')
	}
	var place [20]byte
	return say.AppendRight(dst, strconv.AppendInt(place[:0], int64(line), 10), 7)
}

// weigh answers for one card.
func (w *eachWriter) weigh(b *batch, line int, text string) error {
	var err error
	ans := &w.ans
	if w.one, err = formats.AppendSightings(w.one[:0], text); err == nil && oneSpelling(text, w.one) {
		w.cards[0] = w.one
		err = w.ranker.RankInto(ans, w.cards)
	} else if ways, none := formats.Spellings(text); none != nil {
		return none
	} else {
		var all rank.TextAnswer
		if all, err = w.ranker.RankSpellings([][]formats.Spelling{ways}); err == nil {
			*ans, w.cards[0] = all.Answer, all.Taken[0].Cards[0]
		}
	}
	if err != nil {
		if bad, ok := errors.AsType[*rank.CardError](err); ok {
			err = errors.New(bad.Reason) // the card is always the first one here
		}
		return fmt.Errorf("%q: %w", say.Clip(text, 48), err)
	}
	serial, alone := aloneSerial(w.cards)
	b.no = b.no || !alone && !answered(ans)
	if w.o.json {
		doc := answerJSON(w.cards, ans, nil, w.o.top)
		doc.Line = line
		if alone {
			doc.Serial = newSerialJSON(serial, w.o.cat)
		}
		writeJSONLine(&b.out, doc)
		return nil
	}
	b.out.Write(w.appendText(b.out.AvailableBuffer(), line, ans))
	return nil
}

// oneSpelling reports whether a text that is a read can be nothing else, so that it need not be weighed.
func oneSpelling(text string, s formats.Sightings) bool {
	if len(s) != 1 || s[0].Kind != formats.Read {
		return false
	}
	_, hex, ok := strings.Cut(text, ":")
	return !ok || 4*len(hex) >= s[0].Bits.Len()
}

func writeJSONLine(out *bytes.Buffer, doc identifyJSON) {
	_ = writeJSON(out, doc) // into memory, and of plain types: it can't fail
}

// appendText appends one line: where the card stands, how sure the first reading is, the format, the card. A fault and
// the first warning follow; the rest is for asking about that card alone.
func (w *eachWriter) appendText(dst []byte, line int, ans *rank.Answer) []byte {
	dst = w.appendLine(dst, line)
	if serial, alone := aloneSerial(w.cards); alone {
		return fmt.Appendf(dst, "           a chip's serial of %d bytes  (ask about it alone for what readers send)\n",
			serial.Bits.Len()/8)
	}
	const care = "  (take care: ask about this card alone)"
	if !answered(ans) {
		dst = append(dst, "  "...)
		dst = append(dst, say.Percent(ans.Unknown)...)
		dst = append(dst, "  none of the known formats"...)
		if len(ans.First) > 0 {
			dst = append(dst, care...)
		}
		return append(dst, '\n')
	}
	c := &ans.Candidates[0]
	dst = append(dst, "  "...)
	dst = say.AppendPercent(dst, c.Probability)
	dst = append(append(dst, "  "...), c.Format.ID...)
	for n := len(c.Format.ID); n < 16; n++ {
		dst = append(dst, ' ')
	}
	card := c.Sure(w.cards, 0)
	for i, field := range c.Format.Layout.Spec().Fields {
		if field.Name == wiegand.FieldUnknown || !c.Cards[0].Known.Has(i) {
			continue
		}
		dst = append(append(append(dst, "  "...), field.Name...), ' ')
		if card.Known.Has(i) {
			dst = card.AppendField(dst, i)
		} else {
			dst = append(dst, "unknown"...)
		}
	}
	if c.Fault != rank.None {
		dst = append(append(dst, "  "...), c.Fault.String()...)
	}
	if len(ans.First)+len(ans.Warnings) > 0 {
		dst = append(dst, care...)
	}
	return append(dst, '\n')
}
