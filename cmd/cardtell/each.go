package main

import (
	"bytes"
	"errors"
	"fmt"
	"runtime"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// batchLines is how many cards a worker takes at a time: enough that handing over costs nothing, few enough that memory
// stays small and the first answers come at once.
const batchLines = 256

// batch is some cards on their way through identify --each.
type batch struct {
	lines []int // of the file, or the places on the command line, from 1
	file  bool  // the cards are of the file
	texts []string
	out   bytes.Buffer
	bad   []error // cards that could not be read, in order
	no    bool    // some card fits no format
	done  chan struct{}
}

// runEach answers for every card by itself, in the order of input, on all processors and in memory that does not grow
// with the input. A card that can't be read is reported and the others go on; the exit code says so in the end.
func (o *identifyOptions) runEach(ranker *rank.Ranker, args []string) error {
	workers := runtime.GOMAXPROCS(0)
	work := make(chan *batch, workers)
	order := make(chan *batch, 4*workers)
	stop := make(chan struct{})
	for range workers {
		go func() {
			w := eachWriter{o: o, ranker: ranker, cards: make([]formats.Sightings, 1), known: map[string]known{}}
			for b := range work {
				w.answerBatch(b)
				close(b.done)
			}
		}()
	}
	var readErr error
	spare := make(spareBatches, cap(order)+workers)
	go func() {
		readErr = o.batches(args, spare, func(b *batch) error {
			select {
			case order <- b:
				work <- b
				return nil
			case <-stop:
				return errNo
			}
		})
		close(work)
		close(order)
	}()
	err := o.writeBatches(order, spare)
	close(stop)
	for range order { // let the reader end
	}
	if err == nil || errors.Is(err, errNo) {
		if readErr != nil {
			err = readErr
		}
	}
	return err
}

// batches reads the cards of the command line and then those of the file.
func (o *identifyOptions) batches(args []string, spare spareBatches, send func(*batch) error) error {
	b := spare.take(false)
	add := func(line int, text string) error {
		b.lines, b.texts = append(b.lines, line), append(b.texts, text)
		if len(b.lines) < batchLines {
			return nil
		}
		full := b
		b = spare.take(full.file)
		return send(full)
	}
	for i, arg := range args {
		if err := add(i+1, arg); err != nil {
			return err
		}
	}
	if o.file == "" {
		return send(b)
	}
	if len(b.lines) > 0 { // a batch is of one source, so that its errors name that
		if err := send(b); err != nil {
			return err
		}
	}
	b = spare.take(true)
	empty := len(args) == 0
	err := o.cardLines(func(line int, text string) error { empty = false; return add(line, text) })
	if err == nil && empty {
		err = fmt.Errorf("%s: no cards in it; write one a line, such as 26:32D687E", o.file)
	}
	if sendErr := send(b); sendErr != nil {
		return sendErr
	}
	return err
}

// spareBatches are batches that are written, for their memory.
type spareBatches chan *batch

// take returns an empty batch.
func (s spareBatches) take(file bool) *batch {
	b := &batch{}
	select {
	case b = <-s:
		b.out.Reset()
		clear(b.texts)
	default:
	}
	b.lines, b.texts, b.bad, b.no = b.lines[:0], b.texts[:0], nil, false
	b.file, b.done = file, make(chan struct{})
	return b
}

// writeBatches prints the answers in order.
func (o *identifyOptions) writeBatches(order <-chan *batch, spare spareBatches) error {
	var first error
	no := false
	for b := range order {
		<-b.done
		if _, err := o.out.Write(b.out.Bytes()); err != nil {
			return err
		}
		no = no || b.no
		for _, err := range b.bad {
			if first == nil {
				first = err
			} else {
				fmt.Fprintf(o.err, "cardtell: %s\n", oneLine(err))
			}
		}
		select {
		case spare <- b:
		default:
		}
	}
	if first == nil && no {
		return errNo
	}
	return first
}

func (w *eachWriter) answerBatch(b *batch) {
	o := w.o
	for i := range b.texts {
		if err := w.card(b, b.lines[i], b.texts[i]); err != nil {
			if o.json {
				writeJSONLine(&b.out, identifyJSON{Line: b.lines[i], Error: oneLine(err), Candidates: []candidateJSON{}})
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
	known  map[string]known
}

// known is what was answered for a text: a log has the same cards over and over. line is without its number, which
// begins it.
type known struct {
	line string
	no   bool
}

// maxKnown is how many texts a worker keeps, a site's cards and more.
const maxKnown = 1 << 13

// card answers for one card, from memory where the same text was asked before.
func (w *eachWriter) card(b *batch, line int, text string) error {
	if k, ok := w.known[text]; ok {
		b.no = b.no || k.no
		b.out.Write(append(w.appendLine(b.out.AvailableBuffer(), line), k.line...))
		return nil
	}
	from, no := b.out.Len(), b.no
	b.no = false
	err := w.weigh(b, line, text)
	if err == nil {
		if len(w.known) == maxKnown {
			clear(w.known)
		}
		var number [32]byte
		w.known[text] = known{string(b.out.Bytes()[from+len(w.appendLine(number[:0], line)):]), b.no}
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
	return appendRight(dst, strconv.AppendInt(place[:0], int64(line), 10), 7)
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
		return fmt.Errorf("%q: %w", clip(text, 48), err)
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
		dst = append(dst, percent(ans.Unknown)...)
		dst = append(dst, "  none of the known formats"...)
		if len(ans.First) > 0 {
			dst = append(dst, care...)
		}
		return append(dst, '\n')
	}
	c := &ans.Candidates[0]
	dst = append(dst, "  "...)
	dst = appendPercent(dst, c.Probability)
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

// appendPercent is percent without allocation, for probabilities of 0.05 to 99.95 %.
func appendPercent(dst []byte, p float64) []byte {
	if p < 0.0005 || p > 0.9995 {
		return append(dst, percent(p)...)
	}
	var buf [8]byte
	dst = appendRight(dst, strconv.AppendFloat(buf[:0], 100*p, 'f', 1, 64), 5)
	return append(dst, " %"...)
}

// appendRight appends text with spaces before it up to width columns.
func appendRight(dst, text []byte, width int) []byte {
	for n := len(text); n < width; n++ {
		dst = append(dst, ' ')
	}
	return append(dst, text...)
}
