package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

const learnHelp = `Works out the layout of an undocumented format from reads of one site's cards:
which bits are the number, which are parity and over what, which never change.

A card is a read, and what is printed on it where that is known:
  37:1B2A4C5D2=46143  a read of 37 bits in hex, and the number on the card
  110101…             a read as 24 or more 0s and 1s, with no print

A file has one of these a line, or is a list with columns read and printed.
Eight cards are the least from which anything can be learned, sixteen settle
nearly every layout.

The answer says how likely it is to be right, what is still open, and which
further card would settle it. With -o it is written as a definition file that
identify, convert and batch take with --formats.`

type learnOptions struct {
	*app
	out string
	id  string
}

func (a *app) learnCommand() *cobra.Command {
	o := learnOptions{app: a}
	c := &cobra.Command{
		Use:   "learn FILE|CARD…",
		Short: "Works out the layout of an undocumented format from reads",
		Long:  learnHelp,
		Example: `  cardtell learn testdata/demo/barrier.txt
  cardtell learn testdata/demo/barrier.txt -o ours.toml --id ours`,
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	c.Flags().StringVarP(&o.out, "output", "o", "", "write the layout as a definition file (TOML `FILE`)")
	c.Flags().StringVar(&o.id, "id", "", "`NAME` of the learned format (learned-BITS)")
	return c
}

// unsure is the probability below which a layout is not written to a file: it is likelier wrong than right.
const unsure = 0.5

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
	if o.json {
		err = o.printJSON(learnDocument(results))
	} else {
		for i := range results {
			if i > 0 {
				fmt.Fprintln(o.app.out)
			}
			o.print(&results[i], reads)
		}
	}
	if err == nil && (results[0].Probability < unsure || o.out != "" && !written) {
		err = errNo
	}
	return err
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
			if errors.Is(fileErr, fs.ErrNotExist) && err != nil && strings.ContainsAny(arg, ":=") {
				return nil, fmt.Errorf("learn: %w", err)
			}
			if fileErr != nil {
				return nil, fileErr
			}
			reads = append(reads, file...)
			continue
		}
		r, err := oneRead(i+1, arg)
		if err != nil {
			return nil, fmt.Errorf("learn: %w", err)
		}
		reads = append(reads, r)
	}
	return reads, nil
}

// oneRead takes READ or READ=PRINTED apart.
func oneRead(line int, text string) (learn.Read, error) {
	read, print, _ := strings.Cut(text, "=")
	s, err := formats.ParseSighting(read)
	if err != nil {
		return learn.Read{}, err
	}
	if s.Kind != formats.Read {
		return learn.Read{}, fmt.Errorf("%q: is no read; write LENGTH:HEX such as 37:1B2A4C5D2, or 24 or more 0s and 1s",
			say.Clip(text, 48))
	}
	return learn.Read{Line: line, Bits: s.Bits, Printed: strings.TrimPrefix(strings.TrimSpace(print), "printed:")}, nil
}

// file takes the cards of a file: a list where its first line names a column read, else one card a line.
func (o *learnOptions) file(name string) ([]learn.Read, error) {
	isList, err := o.isList(name)
	if err != nil {
		return nil, err
	}
	if isList {
		return o.list(name)
	}
	var reads []learn.Read
	err = o.lines(name, func(line int, text string) error {
		r, err := oneRead(line, text)
		if err != nil {
			return fmt.Errorf("%s:%d: %w", name, line, err)
		}
		reads = append(reads, r)
		return nil
	})
	if err == nil && len(reads) == 0 {
		err = fmt.Errorf("%s: no cards in it; write one READ=PRINTED a line, such as 37:1B2A4C5D2=46143", name)
	}
	return reads, err
}

// isList reports whether a file is a list with a column for reads: a spreadsheet, or text whose first line has no card
// on it but the word read.
func (o *learnOptions) isList(name string) (bool, error) {
	if name == "-" {
		return false, nil
	}
	if strings.EqualFold(filepath.Ext(name), ".xlsx") {
		return true, nil
	}
	is := false
	stop := errors.New("seen")
	err := o.lines(name, func(_ int, text string) error {
		for _, head := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;\t|\"' ", r) }) {
			is = is || strings.EqualFold(head, "read")
		}
		return stop
	})
	if errors.Is(err, stop) {
		err = nil
	}
	return is, err
}

func (o *learnOptions) list(name string) ([]learn.Read, error) {
	r, err := list.Open(name, list.Options{})
	if err != nil {
		return nil, err
	}
	defer r.Close()
	o.inputs = append(o.inputs, r.Info())
	head, err := r.Next()
	if err != nil {
		return nil, err
	}
	heads := head.Texts()
	column, err := list.FindColumn(heads, "read")
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	printed, err := list.FindColumn(heads, "printed")
	if err != nil {
		printed = -1
	}
	return cardsOf(name, r, column, printed)
}

// cardsOf takes the cards of the rows of a list. printed is -1 where there is no such column.
func cardsOf(name string, rows *list.Reader, column, printed int) ([]learn.Read, error) {
	var reads []learn.Read
	for {
		row, err := rows.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if row.Blank {
			continue
		}
		text := strings.TrimSpace(row.Text(column))
		if print := strings.TrimSpace(row.Text(printed)); print != "" {
			text += "=" + print
		}
		r, err := oneRead(row.Line, text)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, row.Line, err)
		}
		reads = append(reads, r)
	}
	if len(reads) == 0 {
		return nil, fmt.Errorf("%s: no rows below its head; write one a card", name)
	}
	return reads, nil
}

// print says what was learned from reads of one length.
func (o *learnOptions) print(r *learn.Result, reads []learn.Read) {
	w, style := o.app.out, o.style()
	fmt.Fprintf(w, "%s\n", style.Bold(headline(r)))
	for _, k := range r.Known {
		fmt.Fprintf(w, "Known: format %s explains every read%s.\n", k.ID, printedAs(k.Form))
	}
	evidence := "What speaks for it:"
	if r.Probability > 0 && r.Probability < unsure {
		fmt.Fprintf(w, "Nothing is settled yet. The likeliest of many layouts, not to be relied on:\n")
		evidence = "What it would mean:"
	}
	if r.Probability > 0 {
		fmt.Fprintf(w, "%s that it is right for every number%s, same facility.\n", strings.TrimSpace(say.Percent(r.Probability)),
			upTo(r))
		o.draw(r, reads, style)
	}
	say.PrintList(w, evidence, r.Evidence, style)
	if len(r.Open) > 0 && r.Probability > 0 {
		say.PrintList(w, "Still open:", []string{"what these bits are for: " + r.Open.String()}, style)
	}
	var others []string
	for _, a := range r.Alternatives {
		others = append(others, strings.TrimSpace(say.Percent(a.Probability))+": "+a.Differs)
	}
	say.PrintList(w, "Also possible:", others, style)
	var bad []string
	for _, m := range r.Misreads {
		bad = append(bad, fmt.Sprintf("line %d, %s: %s", m.Line, m.Read.Hex(), misreadWords(m)))
	}
	say.PrintList(w, "Misreads, left out:", bad, style)
	say.PrintList(w, "To be surer:", r.Settle, style)
	say.PrintList(w, "Take care:", r.Warnings, style)
}

// upTo says how far the number field reaches as it was seen: a larger number is refused, not guessed.
func upTo(r *learn.Result) string {
	for _, f := range r.Spec.Fields {
		if n := f.Bits.Len(); f.Name == wiegand.FieldNumber && f.Coding == wiegand.Binary && n < 64 {
			return fmt.Sprintf(" up to %d", uint64(1)<<n-1)
		}
	}
	return ""
}

func headline(r *learn.Result) string {
	cards := fmt.Sprintf("%d bits, from %d cards", r.Length, r.Reads)
	switch {
	case r.Printed == 0:
		cards += " without printed numbers"
	case r.Printed < r.Reads:
		cards += fmt.Sprintf(", %d of them with a printed number", r.Printed)
	default:
		cards += " with printed numbers"
	}
	if r.Reads == 1 {
		cards = strings.Replace(cards, "1 cards", "1 card", 1)
	}
	return cards
}

func printedAs(form string) string {
	if form == "" {
		return ""
	}
	return ", and what is printed is its " + form
}

// draw draws the first read that the layout explains, and marks what is open.
func (o *learnOptions) draw(r *learn.Result, reads []learn.Read, style picture.Style) {
	layout, err := wiegand.Compile(r.Spec)
	if err != nil {
		return
	}
	for _, read := range reads {
		bits := read.Bits
		if r.Swapped {
			bits = bits.Invert()
		}
		rec, err := layout.Decode(bits)
		if err != nil || !rec.OK() {
			continue
		}
		f := formats.Format{Layout: layout}
		card, err := f.Read(bits)
		if err != nil {
			return
		}
		var drawing strings.Builder
		picture.Text(&drawing, &card, style)
		fmt.Fprintf(o.app.out, "\n%s\n", strings.TrimRight(drawing.String(), "\n"))
		o.drawOpen(r, picture.Segments(&card), style)
		return
	}
}

// drawOpen writes a row with a question mark under each bit that is open, where the picture takes one line.
func (o *learnOptions) drawOpen(r *learn.Result, segments []picture.Segment, style picture.Style) {
	width := segments[len(segments)-1].Last + len(segments) - 1
	if len(r.Open) == 0 || width+2 > style.Width {
		return
	}
	row := []byte(strings.Repeat(" ", width+2))
	for i, seg := range segments {
		for bit := range r.Open.Bits() {
			if bit >= seg.First && bit <= seg.Last {
				row[2+bit-1+i] = '?'
			}
		}
	}
	text := strings.TrimRight(string(row), " ")
	if len(text)+6 <= style.Width {
		text += "  open"
	}
	fmt.Fprintln(o.app.out, text)
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
		if r.Probability < unsure {
			o.remark("the %d-bit layout is too unsure to be relied on (%s): not written", r.Length,
				strings.TrimSpace(say.Percent(r.Probability)))
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

// name returns the id of a learned format.
func (o *learnOptions) name(r *learn.Result, lengths int) string {
	switch {
	case o.id == "":
		return fmt.Sprintf("learned-%d", r.Length)
	case lengths > 1:
		return fmt.Sprintf("%s-%d", o.id, r.Length)
	}
	return o.id
}

// misreadWords says what is wrong with a read, or with the print beside it.
func misreadWords(m learn.Misread) string {
	if m.Printed == "" {
		return "checks that hold in the other reads fail: most likely a misread"
	}
	return fmt.Sprintf("the card %s: the read has another number; a misread, or a slip of the pen", m.Printed)
}
