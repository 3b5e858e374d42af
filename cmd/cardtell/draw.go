package main

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/conversion"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

const drawHelp = `Draws what each bit of a card's read is for, and whether its checks hold.

Without --format the cards are ranked, as identify does, and drawn as the
likeliest reading has them; --top K draws the K likeliest. With --format a read
is drawn as that format has it, with the checks that fail. -o writes a drawing
(.svg) or a sheet to print on A4 or Letter (.html), which need no other file.`

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
		Use:   "draw CARD…",
		Short: "Draws the bits of a card as a picture",
		Long:  drawHelp,
		Example: `  cardtell draw 26:32D687E
  cardtell draw --file testdata/demo/drawer.txt -o drawer.html`,
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
	write, err := sheetWriter("draw: -o", o.output)
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
	sheet, no, err := o.sheet(cards)
	if err != nil {
		return err
	}
	if n := len(sheet.Plates); n > maxPlates {
		return fmt.Errorf("draw: %d pictures: a drawing takes %d; draw fewer cards at a time, or a smaller --top", n,
			maxPlates)
	}
	sheet.Narrow = o.narrow
	if err := o.write(sheet, write); err != nil {
		return err
	}
	if no {
		return errNo
	}
	return nil
}

// sheetWriter picks the kind of drawing by the ending of the file's name, which option gives; nil where there is none.
func sheetWriter(option, name string) (func(picture.Sheet, io.Writer) error, error) {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".svg":
		return picture.Sheet.WriteSVG, nil
	case ".html", ".htm":
		return picture.Sheet.WriteHTML, nil
	}
	if name == "" {
		return nil, nil
	}
	return nil, fmt.Errorf("%s %q: the name ends neither in .svg nor in .html, which say what to write; name it so",
		option, say.Clip(name, 60))
}

// write writes the file, or prints the pictures.
func (o *drawOptions) write(sheet picture.Sheet, write func(picture.Sheet, io.Writer) error) error {
	if write != nil {
		if err := o.replaceFile(o.output, func(w io.Writer) error { return write(sheet, w) }); err != nil {
			return err
		}
	}
	switch {
	case o.json:
		return o.printJSON(drawnJSON{File: o.output, Drawn: sheetJSON(sheet)})
	case write != nil:
		o.remark("%s: %s", o.output, say.Count(len(sheet.Plates), "picture"))
		return nil
	}
	o.printSheet(sheet)
	return nil
}

// sheet puts the drawing together. no is true where no known format fits well.
func (o *drawOptions) sheet(cards []formats.Sightings) (sheet picture.Sheet, no bool, err error) {
	if o.format != "" {
		sheet, err = o.named(cards)
		return sheet, false, err
	}
	ranker, err := o.ranker()
	if err != nil {
		return sheet, false, err
	}
	a, err := answer.OfCards(ranker, cards)
	if err != nil {
		return sheet, false, err
	}
	sheet.Title = o.title
	for _, k := range a.Parts() {
		if k.Serials() {
			sheet.Notes = append(sheet.Notes, picture.Note{Title: "Not drawn", Lines: []string{fmt.Sprintf("card %d: %s",
				k.Number(0), serialWords)}})
			continue
		}
		o.addKind(&sheet, &k)
	}
	if len(sheet.Plates) == 0 {
		return sheet, false, fmt.Errorf("draw: %s", serialWords)
	}
	return sheet, !a.Fits(), nil
}

// serialWords say why a chip's serial alone is not drawn.
const serialWords = "of a chip's serial no reader has sent a bit yet; identify says what readers send of it, and " +
	"draw --format ID draws it as one format"

// addKind adds cards of one kind to the drawing, under the numbers that they were asked about with.
func (o *drawOptions) addKind(sheet *picture.Sheet, k *answer.Kind) {
	fits, from := answer.Fits(k.Ans), len(sheet.Plates)
	if !fits {
		for i := range k.Cards {
			sheet.Plates = append(sheet.Plates, barePlate(i, k.Cards[i], strings.TrimSpace(say.Percent(k.Ans.Unknown))))
		}
	}
	for n := range k.Ans.Candidates[:min(o.top, len(k.Ans.Candidates))] {
		if !fits && o.top == 1 {
			break // the picture of a reading that is likely wrong is drawn only where more than one is asked for
		}
		for i := range k.Cards {
			sheet.Plates = append(sheet.Plates, candidatePlate(&k.Ans.Candidates[n], i, k.Cards))
		}
	}
	for i := range sheet.Plates[from:] {
		p := &sheet.Plates[from+i]
		p.Number, p.Evidence = k.Number(p.Number-1), k.Numbered(p.Evidence)
	}
	for _, n := range []picture.Note{{Title: "To be surer", Lines: k.Numbered(k.Settle)},
		{Title: "Take care", Lines: k.Numbered(slices.Concat(k.First, k.Ans.Warnings))}} {
		if len(n.Lines) > 0 {
			sheet.Notes = append(sheet.Notes, n)
		}
	}
}

// seen writes a card as it was given.
func seen(s formats.Sightings) string {
	prefix := map[formats.SightingKind]string{formats.Serial: "chip serial ", formats.Hex: "hex "}
	var parts []string
	for _, t := range s {
		parts = append(parts, prefix[t.Kind]+t.Text)
	}
	return strings.Join(parts, " = ")
}

// barePlate is a card that no known format fits.
func barePlate(i int, s formats.Sightings, chance string) picture.Plate {
	p := picture.Plate{Number: i + 1, Seen: seen(s), Chance: chance}
	for _, t := range s {
		if t.Kind == formats.Read {
			p.Bits = append(p.Bits, t.Bits)
		}
	}
	return p
}

// candidatePlate is the i-th card as a candidate reads it.
func candidatePlate(c *rank.Candidate, i int, cards []formats.Sightings) picture.Plate {
	p := barePlate(i, cards[i], strings.TrimSpace(say.Percent(c.Probability)))
	if c.Cards[i].Format == nil {
		return p
	}
	p.Card = &c.Cards[i]
	p.Computed = len(p.Bits) == 0
	if i == 0 { // it speaks of all cards together
		p.Evidence = c.Evidence(cards)
	}
	r := c.Repairs[i]
	if sure := c.Sure(cards, i); sure.Known != p.Card.Known && r.Fault == rank.FlippedBit && len(p.Bits) > 0 {
		if card, err := c.Format.Read(p.Bits[0]); err == nil { // which bit it was nobody knows: none is put right
			p.Card = &card
			p.Repair = fmt.Sprintf("Drawn as it came, with what fails: it can be one of %d cards, %s. Present the card again.",
				r.Ways, answer.SureWords(&sure, &c.Cards[i]))
			return p
		}
	}
	if r.Bit > 0 {
		p.Repair = fmt.Sprintf(repairWords[r.Fault], r.Bit)
		if r.Fault != rank.ExtraBit { // its bit is not among those drawn
			p.Mark = r.Bit
		}
	} else if words := c.Fault.Words(); words != "" {
		p.Fault = "Drawn as the card has it: " + words + "."
	}
	return p
}

// repairWords say what a picture of a damaged read shows: one of several reads that it can have been.
var repairWords = map[rank.Fault]string{
	rank.FlippedBit: "Drawn as if bit %d were the one that was misread. It may be another one: present the card again.",
	rank.LostBit:    "Drawn as if bit %d were the one that was lost. It may be another one: present the card again.",
	rank.ExtraBit:   "Drawn as if bit %d of the read were the one too many. It may be another one: present the card again.",
}

// named draws the cards as the format that --format names: a read as it is, whether or not its checks hold; a print as
// the form of that format that it most likely is.
func (o *drawOptions) named(cards []formats.Sightings) (sheet picture.Sheet, err error) {
	cat, err := o.catalogue()
	if err != nil {
		return sheet, err
	}
	found, err := conversion.Formats(cat, o.format)
	if err != nil {
		return sheet, err
	}
	only := make([]formats.Format, len(found))
	for i := range found {
		only[i] = *found[i]
	}
	alone, err := formats.NewCatalogue(only)
	if err != nil {
		return sheet, err
	}
	ranker, err := rank.New(alone)
	if err != nil {
		return sheet, err
	}
	sheet.Title = o.title
	for i := range cards {
		p, err := namedPlate(ranker, found, i, cards[i])
		if err != nil {
			return sheet, err
		}
		sheet.Plates = append(sheet.Plates, p)
	}
	return sheet, nil
}

func namedPlate(ranker *rank.Ranker, found []*formats.Format, i int, s formats.Sightings) (picture.Plate, error) {
	p := barePlate(i, s, "")
	ans, err := ranker.Rank([]formats.Sightings{s})
	if err != nil {
		return p, err
	}
	if len(p.Bits) > 0 {
		card, err := readAs(found, p.Bits[0])
		if err != nil {
			return p, fmt.Errorf("draw: card %d: %w", i+1, err)
		}
		p.Card = &card
	}
	for k := range ans.Candidates {
		c := &ans.Candidates[k]
		if c.Fault != rank.None || c.Cards[0].Format == nil || p.Card != nil && c.Cards[0].Record != p.Card.Record {
			continue
		}
		p.Card, p.Evidence = &c.Cards[0], c.Evidence([]formats.Sightings{s})
		p.Computed = len(p.Bits) == 0
		return p, nil
	}
	if p.Card == nil {
		return p, fmt.Errorf("draw: card %d: %q: is nothing that format %s can have; leave --format out to see what it can be",
			i+1, say.Clip(p.Seen, 40), found[0].ID)
	}
	if failed := p.Card.Record.Failed(); failed != 0 {
		p.Evidence = []string{p.Card.Format.DescribeChecks(failed) + ": FAILS, so this is a misread, or another format"}
	}
	return p, nil
}

// readAs takes a read apart by the format of its length.
func readAs(found []*formats.Format, b wiegand.Bits) (formats.Card, error) {
	var lengths []string
	for _, f := range found {
		if f.Layout.Len() == b.Len() {
			return f.Read(b)
		}
		lengths = append(lengths, fmt.Sprint(f.Layout.Len()))
	}
	if n := len(lengths); n > 2 {
		lengths = []string{lengths[0], "…", lengths[n-1]}
	}
	return formats.Card{}, fmt.Errorf("read %s: has %d bits; format %s has %s", say.Clip(b.Hex(), 40), b.Len(), found[0].ID,
		strings.Join(lengths, ", "))
}

// printSheet draws in text.
func (o *drawOptions) printSheet(sheet picture.Sheet) {
	style := o.style()
	if sheet.Title != "" {
		fmt.Fprintf(o.out, "%s\n\n", style.Bold(picture.Clean(sheet.Title)))
	}
	for i := range sheet.Plates {
		p := &sheet.Plates[i]
		if i > 0 {
			fmt.Fprintln(o.out)
		}
		o.printPlate(p, style)
	}
	for _, n := range sheet.Notes {
		say.PrintList(o.out, n.Title+":", n.Lines, style)
	}
}

func (o *drawOptions) printPlate(p *picture.Plate, style picture.Style) {
	head := style.Bold(p.Title())
	if p.Chance != "" {
		head += ", " + p.Chance
	}
	fmt.Fprintln(o.out, head)
	for _, line := range say.Wrap(picture.Clean(p.Seen), style.Width-2) {
		fmt.Fprintf(o.out, "  %s\n", line)
	}
	if p.Computed {
		say.Print(o.out, "  ", picture.ComputedWords)
	}
	for _, text := range []string{p.Fault, p.Repair} {
		if text != "" {
			for _, line := range say.Wrap(text, style.Width-2) {
				fmt.Fprintf(o.out, "  %s\n", style.Bad(line))
			}
		}
	}
	fmt.Fprintln(o.out)
	if p.Card == nil {
		for _, b := range p.Bits {
			picture.Bits(o.out, b, style)
		}
		return
	}
	if p.Card.Whole() {
		picture.Text(o.out, p.Card, style)
	} else {
		fmt.Fprintf(o.out, "  %s (the rest of the read is not known)\n", answer.CardWords(p.Card))
	}
	if p.Card.Record.OK() || p.Repair == "" { // the numbers of a read that is surely bad are nobody's
		fmt.Fprintf(o.out, "\n%s\n%s\n", style.Bold(p.FormsTitle()+":"), strings.Join(answer.FormLines(p.Card), "\n"))
	}
	say.PrintList(o.out, "Evidence:", p.Evidence, style)
}
