package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/formats/reading"
)

// checkResult is what check reports.
type checkResult struct {
	Rows      int          `json:"rows"`
	Converted int          `json:"converted"` // rows whose number is a card of the site
	Rejected  int          `json:"rejected"`
	Cards     int          `json:"cards"` // different ones
	Input     string       `json:"input"`
	Names     []string     `json:"name_columns,omitempty"`
	Doors     []doorResult `json:"doors,omitempty"`
	Problems  []problem    `json:"problems"`
	Unlisted  int          `json:"problems_not_listed,omitempty"` // beyond the first of each kind, unless --all
	Next      []proposal   `json:"next,omitempty"`
	NoNext    []string     `json:"next_impossible,omitempty"`
}

type doorResult struct {
	Door         string `json:"door"`
	Form         string `json:"form"`
	Cardholders  int    `json:"cardholders"`
	Capacity     int    `json:"capacity,omitempty"`
	Collisions   int    `json:"collisions"`
	NotEnterable int    `json:"not_enterable,omitempty"`
}

// listedOfKind is how many problems of a kind are listed, to programs and to people, unless all are asked for.
const (
	listedOfKind = 1000
	shownOfKind  = 5
)

func (c *checker) report() error {
	r := checkResult{Rows: c.rows, Converted: len(c.cards), Rejected: c.rows - len(c.cards), Cards: c.distinct, Input: c.table.Describe(), Problems: []problem{}}
	for _, i := range c.names {
		r.Names = append(r.Names, c.table.heads[i])
	}
	for i := range c.doors {
		d := &c.doors[i]
		r.Doors = append(r.Doors, doorResult{
			Door: d.door.Name, Form: d.door.Enter, Cardholders: c.distinct - d.without, Capacity: d.door.Capacity, Collisions: d.clashes, NotEnterable: d.without,
		})
	}
	if c.flags.next > 0 {
		r.Next, r.NoNext = c.propose(c.flags.next)
		if c.masks != nil { // a proposal is numbers and nothing else
			r.Next, r.NoNext = nil, append(r.NoNext, "the numbers proposed can't be shown with --redact")
		}
	}
	if c.app.json {
		r.Problems, r.Unlisted = c.listed(listedOfKind)
		if err := c.app.printJSON(r); err != nil {
			return err
		}
	} else {
		c.print(c.app.out, &r)
	}
	if len(c.findings) > 0 || len(r.NoNext) > 0 {
		return errNo
	}
	return nil
}

// listed returns the problems in words: of each kind as many as limit.
func (c *checker) listed(limit int) (all []problem, left int) {
	all = []problem{}
	counts := map[string]int{}
	for i := range c.findings {
		f := &c.findings[i]
		name := f.name()
		if counts[name]++; counts[name] > limit && !c.flags.all {
			left++
			continue
		}
		all = append(all, c.words(f))
	}
	return all, left
}

func (f *finding) name() string {
	if f.kind == unusable {
		return string(f.what)
	}
	return findingNames[f.kind]
}

// words says what is wrong.
func (c *checker) words(f *finding) problem {
	p := problem{Line: int(f.line), Kind: f.name()}
	if f.kind == clash || f.kind == notEnterable || f.kind == overCapacity {
		p.Door = c.doors[f.door].door.Name
	}
	if f.kind == sameCard || f.kind == clash || f.kind == sameName {
		p.Other = int(f.other)
	}
	switch f.kind {
	case sameCard:
		p.Message = c.sameCardWords(f)
	case clash:
		p.Message = fmt.Sprintf("%s and line %d, %s: different cards that show the same at %s (%s)", c.party(f.text), f.other, c.party(f.with), p.Door,
			c.masks.value(c.shownAs(int(f.door), f.text)))
	case mistyped:
		meant, how, _ := strings.Cut(f.note, "|")
		p.Message = fmt.Sprintf("%s: not one of the site's cards; probably %s (%s), which nobody has", c.party(f.text), c.masks.value(meant), how)
	case sameName:
		p.Message = fmt.Sprintf("%s and line %d with %s: two digits swapped; is one of them typed wrong?", c.party(f.text), f.other, c.masks.value(c.texts.number(f.with)))
	case noName:
		p.Message = "the row has no name"
		if number := strings.TrimSpace(c.texts.number(f.text)); number != "" {
			p.Message = fmt.Sprintf("card %s has no name", c.masks.value(number))
		}
	case notEnterable:
		p.Message = fmt.Sprintf("%s: can't be entered at %s: %s", c.party(f.text), p.Door, c.whyNot(f))
	case overCapacity:
		d := c.doors[f.door].door
		p.Message = fmt.Sprintf("%s holds %d cardholders, the list has %d: %d too many", d.Name, d.Capacity, f.other, int(f.other)-d.Capacity)
	case unusable:
		p.Message = c.unusableWords(f)
	}
	return p
}

// party names a cardholder and the number.
func (c *checker) party(text int32) string {
	name, number := c.texts.parts(text)
	number = c.masks.value(strings.TrimSpace(number))
	if name == "" {
		return number
	}
	return clip(name, 40) + " with " + number
}

func (c *checker) sameCardWords(f *finding) string {
	here, there := strings.TrimSpace(c.texts.number(f.text)), strings.TrimSpace(c.texts.number(f.with))
	words := fmt.Sprintf("%s: the same card as line %d", c.party(f.text), f.other)
	if name := c.texts.name(f.with); name != "" {
		words += ", " + clip(name, 40)
	}
	if here != there && c.masks == nil {
		words += ", where it is written " + there
	} else if here != there {
		words += ", where it is written in another way"
	}
	return words
}

// whyNot says why a card can't be entered at a door.
func (c *checker) whyNot(f *finding) string {
	var seen reading.Seen
	if err := c.plan.Read([]byte(c.texts.number(f.text)), &seen); err != nil {
		return err.Error()
	}
	_, err := c.doors[f.door].convert.Append(nil, &seen)
	if err == nil {
		return ""
	}
	if c.masks != nil {
		return "its format does not have the form " + c.doors[f.door].door.Enter + ", or a part of it is not known"
	}
	return err.Error()
}

func (c *checker) unusableWords(f *finding) string {
	if f.text < 0 {
		return f.note
	}
	name, number := c.texts.parts(f.text)
	var seen reading.Seen
	reason := kindWords[f.what]
	var e *reading.Error
	if errors.As(c.plan.Read([]byte(number), &seen), &e) {
		reason = c.masks.message(e.Kind, e.Reason, number)
	}
	if name == "" {
		return reason
	}
	return clip(name, 40) + ": " + reason
}

// headings are what people are told of each kind.
var headings = map[string]string{
	"duplicate": "the same card twice", "collision": "cards that a door can't tell apart", "typing": "probably typed wrong", "no-name": "no name",
	"no-form": "can't be entered at a door", "capacity": "more cardholders than a controller holds",
	string(reading.Empty): "no number", string(reading.Damaged): "changed by a spreadsheet", string(reading.Unreadable): "can't be read",
	string(reading.OutOfRange): "do not fit", string(reading.WrongFacility): "of another facility",
	string(reading.OutOfBlock): "numbers in none of the site's blocks", string(reading.Ambiguous): "can be two cards", string(kindRagged): "too many or too few cells",
}

func (c *checker) print(w io.Writer, r *checkResult) {
	fmt.Fprintf(w, "%s: %s, %s\n", count(r.Rows, "row"), count(r.Cards, "card"), count(len(c.findings), "problem"))
	printWrapped(w, "  read as   ", r.Input)
	if len(r.Names) > 0 {
		fmt.Fprintf(w, "  names     %s\n", picture.Clean(strings.Join(r.Names, ", ")))
	} else {
		fmt.Fprintf(w, "  names     no such column found; --names COLUMN checks them\n")
	}
	c.printDoors(w, r)
	shown, last := 0, ""
	counts := map[string]int{}
	for i := range c.findings {
		counts[c.findings[i].name()]++
	}
	for i := range c.findings {
		f := &c.findings[i]
		name := f.name()
		if name != last {
			shown, last = 0, name
			fmt.Fprintf(w, "\n%s: %d\n", headings[name], counts[name])
		}
		if shown++; shown > shownOfKind && !c.flags.all {
			if shown == shownOfKind+1 {
				fmt.Fprintf(w, "  and %d more; --all lists them\n", counts[name]-shownOfKind)
			}
			continue
		}
		c.printFinding(w, f)
	}
	for _, p := range r.Next {
		c.printNext(w, p)
	}
	for _, why := range r.NoNext {
		printWrapped(w, "\nnext: ", why)
	}
}

func (c *checker) printFinding(w io.Writer, f *finding) {
	p := c.words(f)
	head := "  "
	if p.Line > 0 {
		head = fmt.Sprintf("  line %-5d ", p.Line)
	}
	printWrapped(w, head, p.Message)
}

func (c *checker) printDoors(w io.Writer, r *checkResult) {
	width := 0
	for _, d := range r.Doors {
		width = max(width, len([]rune(clip(d.Door, 30))))
	}
	for i, d := range r.Doors {
		head := "          "
		if i == 0 {
			head = "  doors   "
		}
		words := fmt.Sprintf("%s wanted, %s", d.Form, count(d.Cardholders, "card"))
		if d.Capacity > 0 {
			words += fmt.Sprintf(" of at most %d", d.Capacity)
		}
		if d.Collisions > 0 {
			words += fmt.Sprintf(", %d not told apart", d.Collisions)
		}
		fmt.Fprintf(w, "%s  %-*s  %s\n", head, width, picture.Clean(clip(d.Door, 30)), words)
	}
}

func (c *checker) printNext(w io.Writer, p proposal) {
	words := fmt.Sprintf("%s to %s, format %s", p.First, p.Last, p.Format)
	if p.Facility != nil {
		words += ", facility " + *p.Facility
	}
	if p.From != p.First {
		words += fmt.Sprintf("; written %s to %s", p.From, p.To)
	}
	printWrapped(w, "\nnext: ", words)
}
