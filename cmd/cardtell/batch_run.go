package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

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
	j.edits = j.edits[:0]
	if body && j.masks != nil {
		value = j.masked
	}
	switch {
	case j.flags.replace && body:
		j.edits = append(j.edits, list.Edit{Column: j.column, Value: value})
	case j.flags.replace:
	default:
		if body && j.masks != nil {
			j.edits = append(j.edits, list.Edit{Column: j.column, Value: value})
		}
		j.edits = append(j.edits, list.Edit{Column: list.Add, Value: value})
	}
	return t.writer.Write(row, j.edits)
}

// run converts row by row.
func (j *batchJob) run() error {
	for {
		row, err := j.table.next()
		switch {
		case errors.Is(err, io.EOF):
			return j.table.Unchanged()
		case errors.Is(err, errRagged):
			j.result.Rows++
			if err := j.reject(row, kindRagged, j.table.raggedReason(row), ""); err != nil {
				return err
			}
			continue
		case err != nil:
			return err
		case row.Blank:
			if err := j.pass(row); err != nil {
				return err
			}
			continue
		}
		j.result.Rows++
		if err := j.row(row); err != nil {
			return err
		}
	}
}

// pass passes a blank line on.
func (j *batchJob) pass(row *list.Row) error {
	for i := range j.targets {
		if w := j.targets[i].writer; w != nil {
			if err := w.Write(row, nil); err != nil {
				return err
			}
		}
	}
	return nil
}

// row converts one row for every door. One that can't be converted for some door is rejected for all of them, so that nobody
// opens one door and not the next.
func (j *batchJob) row(row *list.Row) error {
	value := row.Value(j.column)
	for i := range j.targets {
		t := &j.targets[i]
		var err error
		if t.value, err = t.convert.Convert(t.value[:0], value); err != nil {
			return j.rejectFor(t, row, err)
		}
	}
	repair := ""
	switch v := j.targets[0].convert.(type) {
	case *reading.Converter:
		if v.Seen.Reading.Second() {
			return j.reject(row, reading.Unreadable, j.otherForm(&v.Seen, value), row.Text(j.column))
		}
		repair = v.Seen.Repair
		if j.masks != nil {
			c := v.Seen.Card()
			j.masked = j.masks.card(j.masked[:0], &c)
		}
	case *ruleConverter:
		repair = v.repair
		if j.masks != nil {
			j.masked = j.masks.masker.Append(j.masked[:0], j.targets[0].value)
		}
	}
	j.result.Converted++
	if repair != "" {
		j.repaired(repair)
	}
	for i := range j.targets {
		if err := j.write(&j.targets[i], row, true); err != nil {
			return err
		}
	}
	return nil
}

// otherForm says that a number is not in the form that the list has, and in which it is.
func (j *batchJob) otherForm(seen *reading.Seen, value []byte) string {
	c := seen.Card()
	return fmt.Sprintf("%q: not written as printed; in the form %s it is %s: --from %s would convert both", cutShort(string(value)),
		seen.Reading.Form.Name, reading.Describe(&c), j.plan.FirstForms()+","+seen.Reading.Form.Name)
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
	}
	if t.door != "" && kind == reading.Impossible {
		reason = fmt.Sprintf("door %q: %s", t.door, reason)
	}
	return j.reject(row, kind, reason, row.Text(j.column))
}

// reject writes a row to the rejects, with its line and why.
func (j *batchJob) reject(row *list.Row, kind reading.Kind, reason, value string) error {
	j.result.Rejected++
	reason = j.masks.message(kind, reason, value)
	if len(j.result.Problems) < maxProblems {
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
	case kind == kindRagged:
		j.edits = j.masks.ragged(j.edits, row)
	case j.column < row.Len():
		j.edits = append(j.edits, list.Edit{Column: j.column, Value: []byte(j.masks.value(strings.TrimSpace(value)))})
	}
	return j.rejects.WriteNoted(strconv.Itoa(row.Line), reason, row, j.edits)
}

func (j *batchJob) rejectsFile() string { return cmp.Or(j.flags.rejects, j.flags.out+".rejects.csv") }

// openRejects begins the file of rejects.
func (j *batchJob) openRejects() error {
	var err error
	if j.rejects, err = list.Create(j.rejectsFile(), j.table.Reader, j.out); err != nil {
		return err
	}
	j.result.Rejects = j.rejectsFile()
	if j.table.heads == nil || j.flags.table.noHeader {
		return nil
	}
	return j.rejects.WriteNoted("line", "reason", list.NewRow(j.table.heads), nil)
}

// commit puts the outputs in their places, once all of them are on disk: the rejects first, so that an output never stands
// there without them.
func (j *batchJob) commit() error {
	if j.rejects == nil && !j.flags.dryRun && (j.flags.out != "-" || j.flags.rejects != "") && exists(j.rejectsFile()) {
		if err := j.openRejects(); err != nil { // the rejects of an earlier run would be taken for this one's
			return err
		}
	}
	writers := []list.Writer{j.rejects}
	for i := range j.targets {
		if w := j.targets[i].writer; w != nil {
			writers = append(writers, w)
			j.result.Formulas = max(j.result.Formulas, w.Neutralised())
		}
	}
	for _, step := range []func(list.Writer) error{list.Writer.Finish, list.Writer.Commit} {
		for _, w := range writers {
			if w == nil {
				continue
			}
			if err := step(w); err != nil {
				return err
			}
		}
	}
	return nil
}

// abort gives up what is not committed.
func (j *batchJob) abort() {
	for i := range j.targets {
		if w := j.targets[i].writer; w != nil {
			w.Abort() //nolint:errcheck // the failure that led here is the one to report
		}
	}
	if j.rejects != nil {
		j.rejects.Abort() //nolint:errcheck // as above
	}
}
