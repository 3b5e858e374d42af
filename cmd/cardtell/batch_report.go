package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats/reading"
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
		r.Outputs = append(r.Outputs, found.Output{Door: t.door, Form: t.to, File: t.file})
	}
	for i, n := range j.readBy {
		if by := &j.plan.Readings()[i]; n > 0 {
			r.ReadAs = append(r.ReadAs, found.ReadAs{Format: by.Format.ID, Form: by.Form.Name, Cards: n})
		}
	}
	if r.Problems == nil {
		r.Problems = []problem{}
	}
	r.Numbers, r.NoCards, r.Others, r.Masked = j.readAsWords(), j.others, j.others.Rows, j.masks != nil
	r.Told = j.flags.out == "-" && j.flags.rejects == ""
	j.adviseXLSX()
	card := func(p problem) bool {
		return found.IsCard(reading.Kind(p.Kind)) || p.Kind == string(reading.Impossible)
	}
	switch {
	case r.Rejected > 0 && r.Converted > 0 && j.plan != nil:
		if form := j.plan.OtherForm(different(j.table.sample, settledBy)); form != "" {
			j.warn(fmt.Sprintf("some numbers are written as %[1]s, and not as %[2]s: --from %[2]s,%[1]s converts both if so",
				form, j.plan.FirstForms()))
		}
	case r.Rejected > 0 && r.Converted == 0 && !slices.ContainsFunc(r.Problems, card):
		r.Warnings = append([]string{"no row could be converted: " + j.table.elsewhere(j.column, j.plan)}, r.Warnings...)
	}
	return j.app.report(r, func() {
		if j.flags.out != "-" {
			r.Print(j.app.out)
		} else if !j.app.quiet {
			r.Print(j.app.err)
		}
	}, r.Rejected > 0)
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
			words = append(words, fmt.Sprintf("%d of %s, written as %s%s", n, by.Format.ID, by.Form.Name, any))
		}
	}
	return strings.Join(words, "; ")
}
