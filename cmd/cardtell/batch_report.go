package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

func exists(name string) bool {
	_, err := os.Lstat(name)
	return err == nil
}

// report says what was done: as JSON, or to people. With the list itself on standard output it goes to standard error.
func (j *batchJob) report() error {
	r := &j.result
	r.Input, r.DryRun = j.table.Describe(), j.flags.dryRun
	for _, t := range j.targets {
		r.Outputs = append(r.Outputs, batchOutput{Door: t.door, Form: t.to, File: t.file})
	}
	for i, n := range j.readBy {
		if by := &j.plan.Readings()[i]; n > 0 {
			r.ReadAs = append(r.ReadAs, readingUsed{by.Format.ID, by.Form.Name, n})
		}
	}
	if r.Problems == nil {
		r.Problems = []problem{}
	}
	j.adviseXLSX()
	if j.app.json {
		if err := j.app.printJSON(r); err != nil {
			return err
		}
	} else if j.flags.out != "-" {
		j.print(j.app.out)
	} else if !j.app.quiet {
		j.print(j.app.err)
	}
	if r.Rejected > 0 {
		return errNo
	}
	return nil
}

// warn keeps what is to be said beside the counts, once each.
func (j *batchJob) warn(all ...string) {
	for _, w := range all {
		if !slices.Contains(j.result.Warnings, w) {
			j.result.Warnings = append(j.result.Warnings, w)
		}
	}
}

// adviseXLSX says once what opening an output in a spreadsheet would do to a number in it.
func (j *batchJob) adviseXLSX() {
	for _, t := range j.targets {
		if t.fragile != "" && t.file != "" && t.file != "-" && !list.IsXLSX(t.file) {
			j.warn(fmt.Sprintf("a spreadsheet that opens %s would change numbers such as %s; "+
				"for people to open, name the output .xlsx", t.file, t.fragile))
			return
		}
	}
}

// interrupted says which files an earlier run has left as they were when it was ended between two of them.
func (j *batchJob) interrupted() error {
	if j.flags.out == "" || j.flags.out == "-" {
		return nil
	}
	done, left, err := list.Interrupted(j.flags.out)
	if err != nil || len(done)+len(left) == 0 {
		return err
	}
	mine := map[string]bool{list.Place(j.rejectsFile()): true}
	for _, t := range j.targets {
		mine[list.Place(t.file)] = true
	}
	var still []string
	for _, name := range left {
		if !mine[name] {
			still = append(still, name)
		}
	}
	base := func(names []string) string {
		short := make([]string, len(names))
		for i, n := range names {
			short[i] = filepath.Base(n)
		}
		return cmp.Or(strings.Join(short, ", "), "none")
	}
	now := "this run writes all of them anew"
	switch {
	case j.flags.dryRun:
		now = "run it again without --dry-run"
	case len(still) > 0:
		now = "not of this run: " + base(still)
	}
	j.warn(fmt.Sprintf("an earlier run was ended while it put its files in place; of that run: %s; still older: %s; %s",
		base(done), base(left), now))
	return nil
}

// readAsWords says how the numbers were read. Where a form has no fixed count of digits, a missing one can't be seen.
func (j *batchJob) readAsWords() string {
	var words []string
	for i, n := range j.readBy {
		if by := &j.plan.Readings()[i]; n > 0 {
			any := ""
			if !by.Fixed() {
				any = ", with any count of digits"
			}
			words = append(words, fmt.Sprintf("%d in the form %s of %s%s", n, by.Form.Name, by.Format.ID, any))
		}
	}
	return strings.Join(words, "; ")
}

// noCards says how many rows are no cardholders, and what they are.
func (j *batchJob) noCards() string {
	var kinds []string
	for _, k := range []list.Kind{list.Blank, list.Title, list.Header, list.Total, list.Footer} {
		if n := j.others[k]; n > 0 {
			kinds = append(kinds, fmt.Sprintf("%d %s", n, k))
		}
	}
	return strings.Join(kinds, ", ")
}

// shownProblems is how many problems people are shown: enough to see what is wrong with a list.
const shownProblems = 10

func (j *batchJob) print(w io.Writer) {
	r := &j.result
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
	if words := j.readAsWords(); words != "" {
		say.Print(w, "  numbers   ", words)
	}
	j.printOutputs(w)
	if r.Other > 0 {
		say.Print(w, "  other     ", j.noCards())
	}
	for _, o := range r.Others {
		if o.LeftOut {
			say.Print(w, fmt.Sprintf("    line %-5d ", o.Line), strings.TrimSpace(o.Kind+" "+o.Text)+", left out")
		}
	}
	j.printChanges(w)
	if r.Rejects != "" {
		fmt.Fprintf(w, "  rejects   %s\n", r.Rejects)
	}
	if j.flags.out == "-" && j.flags.rejects == "" {
		return // each was told when it came
	}
	for _, p := range r.Problems[:min(len(r.Problems), shownProblems)] {
		say.Print(w, fmt.Sprintf("    line %-5d ", p.Line), p.Message)
	}
	if more := r.Rejected - shownProblems; more > 0 {
		fmt.Fprintf(w, "    and %d more\n", more)
	}
}

// printChanges says what else was done to cells, and what to be careful about.
func (j *batchJob) printChanges(w io.Writer) {
	r := &j.result
	for _, what := range sortedKeys(r.Repaired) {
		fmt.Fprintf(w, "  repaired  %s: %s\n", say.Count(r.Repaired[what], "row"), what)
	}
	if r.Formulas > 0 {
		say.Print(w, "  defused   ", say.Count(r.Formulas,
			"cell")+" that a spreadsheet would run as a formula: now with ' before it")
	}
	if j.masks != nil {
		say.Print(w, "  masked    ", "the card numbers, with a key of this run alone; other columns are as they were")
	}
	for _, warning := range r.Warnings {
		say.Print(w, "  note      ", warning)
	}
}

// printOutputs says which files were written, in which form.
func (j *batchJob) printOutputs(w io.Writer) {
	r := &j.result
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

func sortedKeys(m map[string]int) []string { return slices.Sorted(maps.Keys(m)) }
