// Package layout says what layouts are, those of formats and those that were learned: as text for people, or as JSON.
package layout

import (
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// Unsure is the probability below which a layout is likelier wrong than right, and not to be relied on.
const Unsure = 0.5

// Text writes what was learned, one kind of reads after the other.
func Text(w io.Writer, results []learn.Result, style picture.Style) {
	for i := range results {
		if i > 0 {
			fmt.Fprintln(w)
		}
		text(w, &results[i], style)
	}
}

// TwoKinds and SomeOfEach say that cards taken for one kind may be of two; ToldFrom is how likely that is to be told.
const (
	TwoKinds   = "two kinds of card"
	SomeOfEach = "some of one format or print, some of another"
	ToldFrom   = 0.001
)

func text(w io.Writer, r *learn.Result, style picture.Style) {
	fmt.Fprintf(w, "%s\n", style.Bold(headline(r)))
	for _, k := range r.Known {
		fmt.Fprintf(w, "Known: format %s explains every read%s.\n", k.ID, printedAs(k.Form))
	}
	evidence := "What speaks for it:"
	if r.Probability > 0 && r.Probability < Unsure {
		fmt.Fprintf(w, "Nothing is settled yet. The likeliest of many layouts, not to be relied on:\n")
		evidence = "What it would mean:"
	}
	if r.Probability > 0 {
		fmt.Fprintf(w, "%s that it is right for every number%s, same facility.\n",
			say.Chance(r.Probability),
			upTo(r))
		draw(w, r, style)
	}
	say.PrintList(w, evidence, r.Evidence, style)
	if len(r.Open) > 0 && r.Probability > 0 {
		say.PrintList(w, "Still open:", []string{"what these bits are for: " + r.Open.String()}, style)
	}
	var others []string
	for _, a := range r.Alternatives {
		others = append(others, say.Chance(a.Probability)+": "+a.Differs)
	}
	if r.Several >= ToldFrom && r.Several < 0.5 { // else there is a result for each
		others = append(others, fmt.Sprintf("%s: %s, %s", say.Chance(r.Several), TwoKinds, SomeOfEach))
	}
	say.PrintList(w, "Also possible:", others, style)
	var bad []string
	for i := range r.Misreads {
		m := &r.Misreads[i]
		bad = append(bad, fmt.Sprintf("line %d, %s: %s", m.Line, m.Read.Hex(), misreadWords(m, r.Length)))
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
	cards, what := fmt.Sprintf("%d bits, from %s", r.Length, say.Count(r.Reads, "card")), "printed number"
	if r.Number.Print == learn.PrintSerial {
		what = "chip serial"
	}
	switch {
	case r.Printed == 0:
		cards += " without printed numbers"
	case r.Printed < r.Reads:
		cards += fmt.Sprintf(", %d of them with a %s", r.Printed, what)
	default:
		cards += fmt.Sprintf(" with %ss", what)
	}
	return cards
}

func printedAs(form string) string {
	switch {
	case form == "":
		return ""
	case strings.Contains(form, " "): // a part of a chip serial
		return ", and holds of the chip serial " + strings.Replace(form, "its ", "the ", 1)
	case strings.HasPrefix(form, "longer-number"):
		return ", and what is printed is a longer number"
	}
	return ", and what is printed is its " + form
}

// draw draws a read that the layout explains, and marks what is open.
func draw(w io.Writer, r *learn.Result, style picture.Style) {
	layout, err := wiegand.Compile(r.Spec)
	if err != nil {
		return
	}
	bits := r.Example
	if r.Swapped {
		bits = bits.Invert()
	}
	f := formats.Format{Layout: layout}
	card, err := f.Read(bits)
	if err != nil {
		return
	}
	fmt.Fprintln(w)
	picture.Text(w, &card, style)
	drawOpen(w, r, picture.Segments(&card), style)
}

// drawOpen writes a row with a question mark under each bit that is open, where the picture takes one line.
func drawOpen(w io.Writer, r *learn.Result, segments []picture.Segment, style picture.Style) {
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
	fmt.Fprintln(w, text)
}

// misreadWords says what is wrong with a read, or with the print beside it.
func misreadWords(m *learn.Misread, length int) string {
	if n := m.Read.Len(); n < length {
		return "a bit is missing; present the card again"
	} else if n > length {
		return "there is a bit too many; present the card again"
	}
	if m.Printed == "" {
		return "checks that hold in the other reads fail: most likely a misread"
	}
	return fmt.Sprintf("the card %s: the read has another number; a misread, or a slip of the pen", m.Printed)
}
