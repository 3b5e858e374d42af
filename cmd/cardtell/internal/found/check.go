package found

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
)

// Check is what check reports.
type Check struct {
	Rows      int          `json:"rows"`
	Converted int          `json:"converted"` // rows whose number is a card of the site
	Rejected  int          `json:"rejected"`
	Cards     int          `json:"cards"` // different ones
	Input     string       `json:"input,omitempty"`
	Names     []string     `json:"name_columns,omitempty"`
	Doors     []doorResult `json:"doors,omitempty"`
	Problems  []Problem    `json:"problems"`
	Unlisted  int          `json:"problems_not_listed,omitempty"` // beyond the first of each kind, unless --all
	// who may be on the list more than once: no problem by itself
	People []Problem  `json:"people,omitempty"`
	Next   []Proposal `json:"next,omitempty"`
	Output string     `json:"output,omitempty"`
	NoNext []string   `json:"next_impossible,omitempty"`
	Others []OtherRow `json:"others,omitempty"`

	Wanted  int    `json:"-"` // new numbers
	NoCards Others `json:"-"`

	Elsewhere string `json:"-"` // where the numbers may be, if no row could be read
}

type doorResult struct {
	Door         string `json:"door"`
	Form         string `json:"form"`
	Cardholders  int    `json:"cardholders"`
	Capacity     int    `json:"capacity,omitempty"`
	Collisions   int    `json:"collisions"`
	NotEnterable int    `json:"not_enterable,omitempty"`
}

// ListedOfKind and ShownOfKind are how many problems of a kind are listed, to programs and to people, unless all are
// asked for.
const (
	ListedOfKind = 1000
	ShownOfKind  = 5
)

// List is a list that was checked.
type List struct {
	*roster.Roster
	Findings []roster.Finding
	AtDoors  []roster.Door
	All      bool   // all problems are told, and not just the first of each kind
	Masks    *Masks // of numbers; nil where none is to be masked

	// Reason says why a number of this kind can't be used.
	Reason func(kind reading.Kind, number string) string
}

// Summary is what the list as such shows, without its problems.
func (c *List) Summary() Check {
	r := Check{Rows: c.Rows(), Converted: c.Readable(), Rejected: c.Rows() - c.Readable(), Cards: c.Cards(),
		Problems: []Problem{}}
	for i := range c.AtDoors {
		d := &c.AtDoors[i]
		r.Doors = append(r.Doors, doorResult{
			Door: d.Name, Form: d.Enter, Cardholders: c.Cards() - d.Without, Capacity: d.Capacity, Collisions: d.Clashes,
			NotEnterable: d.Without,
		})
	}
	people, _ := c.People()
	for i := range people {
		r.People = append(r.People, c.personWords(&people[i]))
	}
	return r
}

// findingNames are what JSON calls the kinds.
var findingNames = []string{"duplicate", "collision", "typing", "typing", "no-name", "no-form", "capacity", "other-form", ""}

// Listed returns the problems in words: of each kind as many as limit.
func (c *List) Listed(limit int) (all []Problem, left int) {
	some, left := c.First(limit)
	all = make([]Problem, len(some))
	for i, f := range some {
		all[i] = c.Words(f)
	}
	return all, left
}

// First returns the first findings of each kind, as many as limit unless all are asked for, and how many are left.
func (c *List) First(limit int) (some []*roster.Finding, left int) {
	counts := map[string]int{}
	for i := range c.Findings {
		f := &c.Findings[i]
		name := nameOf(f)
		if counts[name]++; counts[name] > limit && !c.All {
			left++
			continue
		}
		some = append(some, f)
	}
	return some, left
}

// nameOf is what JSON calls the kind of a finding.
func nameOf(f *roster.Finding) string {
	if f.Kind == roster.Unusable {
		return string(f.What)
	}
	return findingNames[f.Kind]
}

// Words says what is wrong.
func (c *List) Words(f *roster.Finding) Problem {
	p := Problem{Line: int(f.Line), Kind: nameOf(f)}
	if f.Kind == roster.Clash || f.Kind == roster.NotEnterable || f.Kind == roster.OverCapacity {
		p.Door = c.AtDoors[f.Door].Name
	}
	if f.Kind == roster.SameCard || f.Kind == roster.Clash || f.Kind == roster.SameName {
		p.Other = int(f.Other)
	}
	switch f.Kind {
	case roster.SameCard:
		p.Message = c.sameCardWords(f)
	case roster.Clash:
		p.Message = fmt.Sprintf("%s and line %d, %s: different cards that show the same at %s (%s)", c.party(f.Text), f.Other,
			c.party(f.With), p.Door,
			c.Masks.Value(c.ShownAs(f.Door, c.Number(f.Text))))
	case roster.Mistyped:
		p.Message = fmt.Sprintf("%s: not one of the site's cards; probably %s (%s; %s), which nobody has",
			c.party(f.Text), c.Masks.Value(f.Meant), say.Chance(f.Probability), f.How)
	case roster.SameName:
		p.Message = fmt.Sprintf("%s and line %d with %s: two digits swapped; is one of them typed wrong?", c.party(f.Text),
			f.Other, c.Masks.Value(c.Number(f.With)))
	case roster.NoName:
		p.Message = "the row has no name"
		if number := strings.TrimSpace(c.Number(f.Text)); number != "" {
			p.Message = fmt.Sprintf("card %s has no name", c.Masks.Value(number))
		}
	case roster.NotEnterable:
		p.Message = fmt.Sprintf("%s: can't be entered at %s: %s", c.party(f.Text), p.Door, c.whyNot(f))
	case roster.OverCapacity:
		d := c.AtDoors[f.Door]
		p.Message = fmt.Sprintf("%s holds %d cardholders, the list has %d: %d too many", d.Name, d.Capacity, f.Other,
			int(f.Other)-d.Capacity)
	case roster.OtherForm:
		p.Message = c.party(f.Text) + ": " + c.Reason(reading.Unreadable, c.Number(f.Text))
	case roster.Unusable:
		p.Message = c.unusableWords(f)
	}
	return p
}

// party names a cardholder and the number.
func (c *List) party(text int32) string {
	name, number := c.Name(text), c.Number(text)
	number = c.Masks.Value(strings.TrimSpace(number))
	if name == "" {
		return number
	}
	return say.Clip(name, 40) + " with " + number
}

func (c *List) sameCardWords(f *roster.Finding) string {
	here, there := strings.TrimSpace(c.Number(f.Text)), strings.TrimSpace(c.Number(f.With))
	words := fmt.Sprintf("%s: the same card as line %d", c.party(f.Text), f.Other)
	if name := c.Name(f.With); name != "" {
		words += ", " + say.Clip(name, 40)
	}
	if here != there && c.Masks == nil {
		words += ", where it is written " + there
	} else if here != there {
		words += ", where it is written in another way"
	}
	return words
}

func (c *List) whyNot(f *roster.Finding) string {
	err := c.WhyNot(f.Door, c.Number(f.Text))
	if err == nil {
		return ""
	}
	if c.Masks != nil {
		return "it can't be written as " + c.AtDoors[f.Door].Enter + ", or a part of it is not known"
	}
	return err.Error()
}

func (c *List) unusableWords(f *roster.Finding) string {
	if f.Text < 0 {
		return f.Note
	}
	name, number := c.Name(f.Text), c.Number(f.Text)
	reason := c.Reason(f.What, number)
	if name == "" {
		return reason
	}
	return say.Clip(name, 40) + ": " + reason
}

// Print writes the report for people. command is the one that writes the list for every door, for a list that is sound.
func (c *List) Print(w io.Writer, r *Check, command string) {
	fmt.Fprintf(w, "%s: %s, %s\n", say.Count(r.Rows, "row"), say.Count(r.Cards, "card"), say.Count(len(c.Findings), "problem"))
	say.Print(w, "  read as   ", r.Input)
	if len(r.Names) > 0 {
		fmt.Fprintf(w, "  names     %s\n", picture.Clean(strings.Join(r.Names, ", ")))
	} else {
		fmt.Fprintf(w, "  names     no such column found; --names COLUMN checks them\n")
	}
	r.NoCards.print(w, ", not checked")
	c.printDoors(w, r)
	shown, last := 0, ""
	counts := map[string]int{}
	for i := range c.Findings {
		counts[nameOf(&c.Findings[i])]++
	}
	for i := range c.Findings {
		f := &c.Findings[i]
		name := nameOf(f)
		if name != last {
			shown, last = 0, name
			fmt.Fprintf(w, "\n%s: %d\n", said[reading.Kind(name)].heading, counts[name])
		}
		if shown++; shown > ShownOfKind && !c.All {
			if shown == ShownOfKind+1 {
				fmt.Fprintf(w, "  and %d more; --all lists them\n", counts[name]-ShownOfKind)
			}
			continue
		}
		c.printFinding(w, f)
	}
	c.printPeople(w, r)
	if len(r.Next)+len(r.NoNext) > 0 {
		fmt.Fprintln(w, "\nnew numbers:")
	}
	for _, p := range r.Next {
		c.printNext(w, p)
	}
	if n := r.Rejected; n > 0 && len(r.Next) > 0 {
		say.Print(w, "  ", fmt.Sprintf("not among them: numbers that the %s not read may have", say.Count(n, "row")))
	}
	for _, why := range r.NoNext {
		say.Print(w, "  ", why)
	}
	c.printToDo(w, r, command)
}

func (c *List) printPeople(w io.Writer, r *Check) {
	if len(r.People) == 0 {
		return
	}
	fmt.Fprintf(w, "\npeople who may be here twice: %d (no problem by itself)\n", len(r.People))
	for i, p := range r.People {
		if i == ShownOfKind && !c.All {
			fmt.Fprintf(w, "  and %d more; --all lists them\n", len(r.People)-ShownOfKind)
			return
		}
		say.Print(w, fmt.Sprintf("  line %-5d ", p.Line), p.Message)
	}
}

// personNames are what JSON calls the kinds of people.
var personNames = []string{"several-cards", "spellings", "one-letter"}

// personWords says who may be on the list more than once.
func (c *List) personWords(p *roster.Person) Problem {
	last := p.Rows[len(p.Rows)-1]
	words := Problem{Line: last.Line, Other: p.Rows[0].Line, Kind: personNames[p.Kind]}
	var others []string
	for _, row := range p.Rows[:len(p.Rows)-1] {
		others = append(others, fmt.Sprintf("line %d, %s", row.Line, c.party(row.Text)))
	}
	with := c.party(last.Text) + "; " + strings.Join(others, "; ")
	switch {
	case p.Kind == roster.OneLetter:
		words.Message = with + ": one letter differs"
	case p.Kind == roster.Spellings:
		words.Message = with + ": one name in several spellings"
	default:
		words.Message = with
	}
	if p.Cards > 1 {
		words.Message += fmt.Sprintf(": %d cards", p.Cards)
	}
	return words
}

// isCard reports whether a number that can't be used is a card all the same, so that its column is the right one.
func isCard(f roster.Finding) bool { return f.Kind == roster.Unusable && IsCard(f.What) }

// isStrange reports whether a number is a card that the site file does not have, and none that was typed wrong.
func isStrange(f roster.Finding) bool {
	return f.Kind == roster.Unusable && (f.What == reading.WrongFacility || f.What == reading.OutOfBlock)
}

// IsCard reports whether what is wrong with a number is something else than that it is none.
func IsCard(what reading.Kind) bool {
	return what == reading.WrongFacility || what == reading.OutOfBlock || what == reading.Ambiguous ||
		what == reading.Several
}

// stepsOfRows says what to do about the rows of the list.
func (c *List) stepsOfRows(r *Check) (steps []string) {
	var doors []string // that the list is too long for
	for i := range c.Findings {
		if f := &c.Findings[i]; f.Kind == roster.OverCapacity {
			doors = append(doors, say.Clip(c.AtDoors[f.Door].Name, 30))
		}
	}
	switch {
	case r.Rows == 0:
		return []string{"there is no row below the headings: is it the right file, and the right sheet?"}
	case r.Converted == 0 && !slices.ContainsFunc(c.Findings, isCard):
		return []string{"no row could be read: " + r.Elsewhere}
	case len(c.Findings) > len(doors):
		if slices.ContainsFunc(c.Findings, isStrange) {
			steps = append(steps, "put cards that are in use here, and not yet in the site file, there as another [[cards]]")
		}
		steps = append(steps, "correct these rows in the list, and check it again; batch leaves out what it can't convert, and says so")
	}
	if len(doors) > 0 {
		steps = append(steps, "make a shorter list for "+strings.Join(doors, ", ")+"; --door NAME checks a list for one door alone")
	}
	return steps
}

// printToDo says what to do with all that.
func (c *List) printToDo(w io.Writer, r *Check, command string) {
	steps := c.stepsOfRows(r)
	if r.Output != "" {
		with := ""
		if len(r.Doors) > 0 {
			with = ", with what to type in at each door"
		}
		steps = append(steps, fmt.Sprintf("have cards with the new numbers made; %s has them%s", r.Output, with))
		if !list.IsXLSX(r.Output) {
			steps = append(steps, "a spreadsheet takes the zeros from numbers of a CSV file: -o OUT.xlsx writes one that it can open safely")
		}
	}
	for _, d := range r.Doors {
		if len(r.Next) > 0 && d.Capacity > 0 && d.Cardholders <= d.Capacity && d.Cardholders+r.Wanted > d.Capacity {
			steps = append(steps, fmt.Sprintf("%s holds %d cardholders and has %d: there is no room for all of the new ones", say.Clip(d.Door, 30), d.Capacity, d.Cardholders))
		}
	}
	if len(steps) == 0 && len(r.Doors) > 0 {
		doors := "every door"
		if len(r.Doors) == 1 {
			doors = say.Clip(r.Doors[0].Door, 30)
		}
		steps = append(steps, "the list is sound: "+command+" writes it for "+doors)
	}
	if len(steps) > 0 {
		fmt.Fprintln(w, "\nwhat to do:")
	}
	for _, step := range steps {
		say.Print(w, "  - ", step)
	}
}

func (c *List) printFinding(w io.Writer, f *roster.Finding) {
	p := c.Words(f)
	head := "  "
	if p.Line > 0 {
		head = fmt.Sprintf("  line %-5d ", p.Line)
	}
	say.Print(w, head, p.Message)
}

func (c *List) printDoors(w io.Writer, r *Check) {
	width := 0
	for _, d := range r.Doors {
		width = max(width, len([]rune(say.Clip(d.Door, 30))))
	}
	for i, d := range r.Doors {
		head := "          "
		if i == 0 {
			head = "  doors   "
		}
		words := fmt.Sprintf("%s wanted, %s", d.Form, say.Count(d.Cardholders, "card"))
		if d.Capacity > 0 {
			words += fmt.Sprintf(" of at most %d", d.Capacity)
		}
		if d.Collisions > 0 {
			words += fmt.Sprintf(", %d not told apart", d.Collisions)
		}
		fmt.Fprintf(w, "%s  %-*s  %s\n", head, width, picture.Clean(say.Clip(d.Door, 30)), words)
	}
}

func (c *List) printNext(w io.Writer, p Proposal) {
	words := p.First
	if p.Last != p.First {
		words += " to " + p.Last
	}
	words += ", format " + p.Format
	if p.Facility != nil {
		words += ", facility " + *p.Facility
	}
	if p.From != p.First {
		words += "; written " + p.From
		if p.To != p.From {
			words += " to " + p.To
		}
	}
	say.Print(w, "  ", words)
}
