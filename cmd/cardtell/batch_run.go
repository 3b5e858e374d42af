package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats/reading"
)

// create begins the outputs and writes their heads.
func (j *batchJob) create() error {
	f := j.flags
	if err := j.distinct(); err != nil {
		return err
	}
	j.out = list.OutOptions{Encoding: f.outEncoding, Inputs: j.app.inputs}
	if f.outDelimiter != "" {
		var err error
		if j.out.Delimiter, err = list.DelimiterByName(f.outDelimiter); err != nil {
			return fmt.Errorf("--out-delimiter: %w", err)
		}
	}
	if f.outEncoding != "" {
		if _, err := list.EncodingByName(f.outEncoding); err != nil {
			return fmt.Errorf("--out-encoding: %w", err)
		}
	}
	for i := range j.targets {
		t := &j.targets[i]
		if f.dryRun {
			continue
		}
		var err error
		if t.file == "-" {
			t.writer, err = list.NewCSVWriter(j.app.out, j.table.Reader, j.out)
		} else {
			t.writer, err = list.Create(t.file, j.table.Reader, j.out)
		}
		if err != nil {
			return err
		}
	}
	for _, row := range j.table.before {
		j.result.Rows++
		if err := j.other(row); err != nil {
			return err
		}
	}
	if j.table.head == nil {
		return nil
	}
	for i := range j.targets {
		t := &j.targets[i]
		t.value = append(t.value[:0], cmp.Or(f.name, t.to)...)
		if err := j.write(t, j.table.head, false); err != nil {
			return err
		}
	}
	return nil
}

// write writes a row to one output, with the value that belongs to it. A head is not masked, and not replaced.
func (j *batchJob) write(t *target, row *list.Row, body bool) error {
	if t.writer == nil {
		return nil
	}
	value := t.value
	if body && j.masks != nil {
		value = j.masked
	}
	j.edits = j.edits[:0]
	for _, c := range j.cells {
		switch {
		case !body:
		case c == j.column && (j.flags.replace || j.masks != nil && len(j.numbers) == 1):
			j.edits = append(j.edits, list.Edit{Column: c, Value: value})
		case j.masks != nil:
			j.edits = append(j.edits, j.maskedCell(row, c))
		}
	}
	if !j.flags.replace {
		j.edits = append(j.edits, list.Edit{Column: list.Add, Value: value})
	}
	return t.writer.Write(row, j.edits)
}

func (j *batchJob) maskedCell(row *list.Row, column int) list.Edit {
	return list.Edit{Column: column, Value: []byte(j.masks.Value(strings.TrimSpace(row.Text(column))))}
}

// read puts the numbers of a row into j.numbers, until the next call. There is one, unless rows are split.
func (j *batchJob) read(row *list.Row) {
	j.numbers = j.numbers[:0]
	if !j.flags.split {
		j.numbers = append(j.numbers, j.value(row))
		return
	}
	parts := reading.Parts
	if j.plan != nil {
		parts = j.plan.Parts
	}
	for _, c := range j.cells {
		text := row.Text(c)
		for _, part := range parts(text) {
			j.numbers = append(j.numbers, []byte(part))
			text = ""
		}
		if strings.TrimSpace(text) != "" {
			j.numbers = append(j.numbers, []byte(text))
		}
	}
}

// run converts row by row, while the rows that follow are read.
func (j *batchJob) run() error {
	j.app.stdin.Once()
	j.table.Ahead()
	return j.table.each(func(row *list.Row, ragged bool) error {
		j.result.Rows++
		switch {
		case ragged:
			return j.reject(row, found.Ragged, j.table.raggedReason(row), "")
		case row.Kind != list.Data:
			return j.other(row)
		}
		return j.row(row)
	})
}

// other takes a row that is no cardholder: it is passed on where that does no harm, and named.
func (j *batchJob) other(row *list.Row) error {
	j.result.Other++
	j.others.Add(row, j.masks != nil)
	if !row.Kind.PassedOn() {
		return nil
	}
	for _, w := range j.writers() {
		if err := w.Write(row, nil); err != nil {
			return err
		}
	}
	return nil
}

// writers returns the outputs; none for a dry run.
func (j *batchJob) writers() (all []*list.Writer) {
	for i := range j.targets {
		if w := j.targets[i].writer; w != nil {
			all = append(all, w)
		}
	}
	return all
}

// row converts one row for every door. One that can't be converted for some door is rejected for all of them, so that
// nobody opens one door and not the next; and so is one with several cards of which one can't be converted.
func (j *batchJob) row(row *list.Row) error {
	if kind, reason := j.noNumber(row); reason != "" {
		return j.reject(row, kind, reason, row.Text(j.column))
	}
	j.read(row)
	if len(j.numbers) == 0 {
		return j.reject(row, reading.Empty, "the cell is empty", "")
	}
	for i := 0; i < len(j.numbers) && len(j.numbers) > 1; i++ { // all of them, before one is written
		if ok, err := j.card(row, j.numbers[i]); !ok {
			return err
		}
	}
	for _, value := range j.numbers {
		if ok, err := j.card(row, value); !ok {
			return err
		}
		if err := j.put(row); err != nil {
			return err
		}
	}
	j.result.Converted++
	if j.flags.split {
		j.result.Cards += len(j.numbers)
	}
	return nil
}

// card converts a number for every door. Where that can't be done, it rejects the row and says no.
func (j *batchJob) card(row *list.Row, value []byte) (ok bool, err error) {
	for i := range j.targets {
		t := &j.targets[i]
		if t.value, err = j.convert(t, value); err != nil {
			return false, j.rejectFor(t, row, err)
		}
	}
	if j.rule != nil {
		j.repair = j.rule.repair
		if j.masks != nil {
			j.masked = j.masks.Append(j.masked[:0], j.targets[0].value)
		}
		return true, nil
	}
	seen := &j.targets[0].convert.Seen
	if seen.Reading.Second() {
		return false, j.reject(row, reading.Unreadable, fmt.Sprintf("%q: %s",
			cutShort(string(value)), otherForm(j.plan, seen)), row.Text(j.column))
	}
	j.repair = seen.Repair
	if j.masks != nil {
		c := seen.Card()
		j.masked = j.masks.Card(j.masked[:0], &c)
	}
	return true, nil
}

// put writes a row with the numbers of its card.
func (j *batchJob) put(row *list.Row) error {
	if j.rule == nil {
		j.readBy[j.targets[0].convert.Seen.Reading.Place()]++
	}
	if j.repair != "" {
		j.repaired(j.repair)
	}
	for i := range j.targets {
		t := &j.targets[i]
		if err := j.write(t, row, true); err != nil {
			return err
		}
		if t.fragile == "" && j.masks == nil && reading.Fragile(t.value) {
			t.fragile = string(t.value)
		}
	}
	return nil
}

// convert converts a number for one door. It is read once for all doors, unless it can be several cards: what is alike
// at one door is not at another.
func (j *batchJob) convert(t *target, value []byte) ([]byte, error) {
	if j.rule != nil {
		return j.rule.Convert(t.value[:0], value)
	}
	if first := j.targets[0].convert; t.convert != first && !first.Alike {
		if out, err := t.convert.Append(t.value[:0], &first.Seen); err == nil {
			return out, nil
		}
	}
	return t.convert.Convert(t.value[:0], value)
}

// noNumber says why a row has no number to convert, whatever stands in the cell; reason is "" where it may have one.
func (j *batchJob) noNumber(row *list.Row) (kind reading.Kind, reason string) {
	for _, column := range j.cells {
		v := row.Number(column)
		switch row.Holds(column) {
		case list.Text, list.Number:
		case list.Date:
			return reading.Damaged, fmt.Sprintf("%q: the cell holds a date: a spreadsheet takes 5-12 for one; "+
				"write the number there again as text", cutShort(string(v)))
		default:
			return reading.Damaged, fmt.Sprintf("%q: the cell holds %s, and no number", cutShort(string(v)), row.Holds(column))
		}
		if j.second >= 0 {
			what := "number"
			if column == j.second {
				what = "facility"
			}
			if v = bytes.TrimSpace(v); len(v) == 0 {
				return reading.Empty, "the cell of the " + what + " is empty"
			}
			if at := bytes.IndexAny(v, "0123456789"); at >= 0 && bytes.ContainsAny(v[at:], ",;/- ") { // behind a label
				return reading.Unreadable, fmt.Sprintf("%q: one number is wanted as %s, the other has a column of its own; "+
					"--split where each column has cards of its own", cutShort(string(v)), what)
			}
		}
	}
	return "", ""
}

func (j *batchJob) repaired(what string) {
	if j.result.Repaired == nil {
		j.result.Repaired = map[string]int{}
	}
	j.result.Repaired[what]++
}

func (j *batchJob) rejectFor(t *target, row *list.Row, err error) error {
	kind, reason := reading.Unreadable, err.Error()
	var e *reading.Error
	if errors.As(err, &e) {
		kind = e.Kind
		reason += toSettle(e)
	}
	if kind == reading.Several {
		reason += ", or --split"
	}
	if t.door != "" && kind == reading.Impossible {
		reason = fmt.Sprintf("door %q: %s", t.door, reason)
	}
	return j.reject(row, kind, reason, row.Text(j.column))
}

// reject writes a row to the rejects, with its line and why.
func (j *batchJob) reject(row *list.Row, kind reading.Kind, reason, value string) error {
	j.result.Rejected++
	reason = j.masks.Message(kind, reason, value)
	if len(j.result.Problems) < found.MaxProblems {
		j.result.Problems = append(j.result.Problems, problem{Line: row.Line, Kind: string(kind), Message: reason})
	} else {
		j.result.Unlisted++
	}
	if j.flags.out == "-" && j.flags.rejects == "" {
		fmt.Fprintf(j.app.err, "line %d: %s\n", row.Line, reason) // no remark: --quiet must not lose a row
		return nil
	}
	if j.flags.dryRun {
		return nil
	}
	if j.rejects == nil {
		if err := j.openRejects(); err != nil {
			return err
		}
	}
	j.edits = j.edits[:0]
	switch {
	case j.masks == nil:
	case kind == found.Ragged:
		j.edits = j.masks.Ragged(j.edits, row)
	default:
		for _, c := range j.cells {
			if c < row.Len() {
				j.edits = append(j.edits, j.maskedCell(row, c))
			}
		}
	}
	return j.rejects.WriteNoted(strconv.Itoa(row.Line), reason, row, j.edits)
}

func (j *batchJob) rejectsFile() string { return cmp.Or(j.flags.rejects, j.flags.out+".rejects.csv") }

func (j *batchJob) openRejects() error {
	var err error
	out := j.out
	out.New = true
	if j.rejects, err = list.Create(j.rejectsFile(), j.table.Reader, out); err != nil {
		return err
	}
	j.result.Rejects = j.rejectsFile()
	if j.table.heads == nil || j.flags.table.noHeader {
		return nil
	}
	return j.rejects.WriteNoted("line", "reason", list.NewRow(j.table.heads), nil)
}

// commit puts the outputs in their places, once all of them are on disk: the rejects first, so that an output never
// stands there without them.
func (j *batchJob) commit() error {
	if j.rejects == nil && !j.flags.dryRun && (j.flags.out != "-" || j.flags.rejects != "") && exists(j.rejectsFile()) {
		if err := j.openRejects(); err != nil { // the rejects of an earlier run would be taken for this one's
			return err
		}
	}
	all := j.writers()
	if j.rejects != nil {
		all = append([]*list.Writer{j.rejects}, all...)
	}
	if err := list.Together(j.flags.out, all); err != nil {
		return err
	}
	for _, w := range j.writers() {
		j.result.Formulas = max(j.result.Formulas, w.Neutralised())
		j.warn(w.Notes()...)
	}
	return nil
}

// abort gives up what is not committed.
func (j *batchJob) abort() {
	for _, w := range j.writers() {
		w.Abort() //nolint:errcheck // the failure that led here is the one to report
	}
	if j.rejects != nil {
		j.rejects.Abort() //nolint:errcheck // as above
	}
}
