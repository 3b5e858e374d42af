package main

import (
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
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
	if r.Problems == nil {
		r.Problems = []problem{}
	}
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

// shownProblems is how many problems people are shown: enough to see what is wrong with a list.
const shownProblems = 10

func (j *batchJob) print(w io.Writer) {
	r := &j.result
	fmt.Fprintf(w, "%s: %d converted, %d rejected", count(r.Rows, "row"), r.Converted, r.Rejected)
	if r.DryRun {
		fmt.Fprint(w, " (dry run: nothing was written)")
	}
	fmt.Fprintln(w)
	printWrapped(w, "  read as   ", r.Input)
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
	for _, what := range sortedKeys(r.Repaired) {
		fmt.Fprintf(w, "  repaired  %s: %s\n", count(r.Repaired[what], "row"), what)
	}
	if r.Formulas > 0 {
		printWrapped(w, "  defused   ", count(r.Formulas, "cell")+" that a spreadsheet would run as a formula: now with ' before it")
	}
	if j.masks != nil {
		printWrapped(w, "  masked    ", "the card numbers, with a key of this run alone; other columns are as they were")
	}
	if r.Rejects != "" {
		fmt.Fprintf(w, "  rejects   %s\n", r.Rejects)
	}
	if j.flags.out == "-" && j.flags.rejects == "" {
		return // each was told when it came
	}
	for _, p := range r.Problems[:min(len(r.Problems), shownProblems)] {
		printWrapped(w, fmt.Sprintf("    line %-5d ", p.Line), p.Message)
	}
	if more := r.Rejected - shownProblems; more > 0 {
		fmt.Fprintf(w, "    and %d more\n", more)
	}
}

// printWrapped prints a head and after it a text, broken into lines that begin below it.
func printWrapped(w io.Writer, head, text string) {
	indent := utf8.RuneCountInString(head)
	for _, line := range wrapWords(text, plainWidth-indent) {
		fmt.Fprintln(w, head+line)
		head = strings.Repeat(" ", indent)
	}
}

func sortedKeys(m map[string]int) []string { return slices.Sorted(maps.Keys(m)) }
