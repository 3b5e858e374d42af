package found

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// Batch is what batch reports.
type Batch struct {
	Rows      int            `json:"rows"`
	Converted int            `json:"converted"`
	Rejected  int            `json:"rejected"`
	Cards     int            `json:"cards,omitempty"` // rows written, where some have several cards
	Other     int            `json:"other"`           // rows that are no cardholders
	Repaired  map[string]int `json:"repaired,omitempty"`
	Formulas  int            `json:"neutralised,omitempty"`
	ReadAs    []ReadAs       `json:"read_as,omitempty"`
	Input     string         `json:"input"`
	Outputs   []Output       `json:"outputs,omitempty"`
	Rejects   string         `json:"rejects_file,omitempty"`
	DryRun    bool           `json:"dry_run,omitempty"`
	Warnings  []string       `json:"warnings,omitempty"`
	Others    []OtherRow     `json:"others,omitempty"` // the first MaxProblems
	Problems  []Problem      `json:"problems"`
	Unlisted  int            `json:"problems_not_listed,omitempty"` // beyond the first MaxProblems

	// Of what was read, for people.
	Numbers string `json:"-"`
	NoCards Others `json:"-"`
	Masked  bool   `json:"-"` // card numbers
	Told    bool   `json:"-"` // each problem was told when it came
}

// ReadAs is a way in which numbers were read.
type ReadAs struct {
	Format string `json:"format"`
	Form   string `json:"form"`
	Cards  int    `json:"cards"`
}

type Output struct {
	Door string `json:"door,omitempty"`
	Form string `json:"form,omitempty"`
	File string `json:"file,omitempty"` // none in a trial without -o
}

// MaxProblems is how many problems JSON lists: the rejects file has them all.
const MaxProblems = 1000

// shownProblems is how many problems people are shown: enough to see what is wrong with a list.
const shownProblems = 10

// shownAlike is how many rows people are shown that have the same wrong with them, and shownLines how many characters
// of the lines of the others.
const shownAlike, shownLines = 2, 60

// Print writes the report for people.
func (r *Batch) Print(w io.Writer) {
	fmt.Fprintf(w, "%s: %d converted, %d rejected", say.Count(r.Rows, "row"), r.Converted, r.Rejected)
	if r.Other > 0 {
		fmt.Fprintf(w, ", %d other", r.Other)
	}
	if r.Cards > 0 {
		fmt.Fprintf(w, "; %s", say.Count(r.Cards, "card"))
	}
	if r.DryRun {
		fmt.Fprint(w, " (dry run: nothing was written)")
	}
	fmt.Fprintln(w)
	say.Print(w, "  read as   ", r.Input)
	if r.Numbers != "" {
		say.Print(w, "  numbers   ", r.Numbers)
	}
	r.printOutputs(w)
	r.NoCards.print(w, ", left out")
	r.printChanges(w)
	if r.Rejects != "" {
		none := ""
		if r.Rejected == 0 {
			none = ": none now; it had those of an earlier run"
		}
		say.Print(w, "  rejects   ", r.Rejects+none)
	}
	if r.Told {
		return
	}
	r.printProblems(w)
}

// printProblems tells what is wrong with rows: of what is wrong with many alike, the first two, and then their lines.
func (r *Batch) printProblems(w io.Writer) {
	var sorts []string
	of := map[string][]Problem{}
	for _, p := range r.Problems {
		what := p.sort()
		if of[what] == nil {
			sorts = append(sorts, what)
		}
		of[what] = append(of[what], p)
	}
	shown, told := 0, 0
	for _, what := range sorts {
		all := of[what]
		for i, p := range all {
			if shown++; shown > shownProblems {
				break
			}
			if i == shownAlike && len(all) > shownAlike+1 {
				say.Print(w, "    ", fmt.Sprintf("and %d more such: lines %s", len(all)-i, say.Clip(linesOf(all[i:]), shownLines)))
				told += len(all) - i
				break
			}
			say.Print(w, fmt.Sprintf("    line %-5d ", p.Line), p.Message)
			told++
		}
	}
	if more := r.Rejected - told; more > 0 {
		fmt.Fprintf(w, "    and %d more\n", more)
	}
}

// linesOf returns the lines of problems, those that follow one another as from-to.
func linesOf(all []Problem) string {
	var lines []formats.Range
	for _, p := range all {
		line := uint64(p.Line)
		if last := len(lines) - 1; last >= 0 && lines[last].Last+1 == line {
			lines[last].Last = line
		} else {
			lines = append(lines, formats.Range{First: line, Last: line})
		}
	}
	return formats.FormatRanges(lines)
}

// printChanges says what else was done to cells, and what to be careful about.
func (r *Batch) printChanges(w io.Writer) {
	for _, what := range slices.Sorted(maps.Keys(r.Repaired)) {
		fmt.Fprintf(w, "  repaired  %s: %s\n", say.Count(r.Repaired[what], "row"), what)
	}
	if r.Formulas > 0 {
		say.Print(w, "  defused   ", say.Count(r.Formulas,
			"cell")+" that a spreadsheet would run as a formula: now with ' before it")
	}
	if r.Masked {
		say.Print(w, "  masked    ", "the card numbers, with a key of this run alone; other columns are as they were")
	}
	for _, warning := range r.Warnings {
		say.Print(w, "  note      ", warning)
	}
}

func (r *Batch) printOutputs(w io.Writer) {
	for _, o := range r.Outputs {
		if o.File == "-" {
			continue // it is just above
		}
		what := o.Form
		if o.Door != "" {
			what = fmt.Sprintf("%s, for %s", o.Form, o.Door)
		}
		if r.DryRun {
			fmt.Fprintf(w, "  into      %s\n", picture.Clean(what))
		} else {
			fmt.Fprintf(w, "  written   %s\n", picture.Clean(o.File+" ("+what+")"))
		}
	}
}
