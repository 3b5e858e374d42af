package main

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"unicode"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
)

// readEvents reads the events and puts unknown cards together.
func (m *matcher) readEvents(name string) error {
	if m.isLog(name) {
		return m.readLog(name)
	}
	t, err := m.app.openTable(name, &m.flags.table)
	if err != nil {
		return err
	}
	defer t.close()
	if m.numberColumns, err = t.numbers(m.app); err != nil {
		return err
	}
	m.Input, m.Elsewhere = t.Describe(), t.elsewhere(m.column, nil)
	return t.each(func(row *list.Row, ragged bool) error {
		if row.Kind != list.Data {
			return nil
		}
		m.Rows++
		if ragged { // the number may be in another cell, and this one be another's
			m.Ragged = append(m.Ragged, row.Line)
		} else {
			m.AddEvent(match.Row{Line: row.Line, Value: m.shown(row)})
		}
		return nil
	})
}

// shown is the number of an event: as it stands, or that of the card where facility and number are spelt out, as in
// FC 12 ID 345.
func (m *matcher) shown(row *list.Row) []byte {
	return spelt(m.value(row))
}

func spelt(value []byte) []byte {
	if !bytes.ContainsFunc(value, func(r rune) bool { return r > 'F' && unicode.IsLetter(r) && !(r >= 'a' && r <= 'f') }) {
		return value
	}
	ways, err := formats.Spellings(string(value))
	if err != nil || len(ways) != 1 || len(ways[0].Sightings) != 1 {
		return value
	}
	if s := ways[0].Sightings[0]; s.Kind == formats.Printed && strings.Contains(s.Text, ",") {
		return []byte(s.Text)
	}
	return value
}

// firstLines is how many lines of a file say that it is a log.
const firstLines = 20

// isLog reports whether a file of events is a log of lines with a card among times and words, rather than a list with
// headings: by its first lines, unless an option is about lists.
func (m *matcher) isLog(name string) bool {
	t := &m.flags.table
	if list.IsSheet(name) || len(t.columns) > 0 || t.delimiter+t.quote+t.sheet != "" || t.headerRow > 0 || t.noHeader {
		return false
	}
	if name == "-" {
		m.app.keepInput()
	}
	n, cards := 0, 0
	err := m.app.lines(name, func(_ int, text string) error {
		card, err := formats.FromLog(text)
		switch n++; {
		case err == nil && card != text:
			cards++
		case n == 1 && !errors.Is(err, formats.ErrMissing), errors.Is(err, formats.ErrAmbiguous):
			return err
		}
		if n == firstLines {
			return errEnough
		}
		return nil
	})
	return (err == nil || errors.Is(err, errEnough)) && cards > 0
}

func (m *matcher) readLog(name string) error {
	if m.flags.out != "" {
		return fmt.Errorf("-o: %s is lines of text, to which no column can be put; leave -o out", name)
	}
	m.Input, m.Elsewhere = "lines of text, with the card taken out of each", "do its lines have one?"
	return m.app.cardLines(name, m.flags.redact, func(line int, card string) error {
		m.Rows++
		m.AddEvent(match.Row{Line: line, Value: spelt([]byte(strings.TrimPrefix(card, "printed:")))})
		return nil
	})
}

// ask takes numbers for an event each.
func (m *matcher) ask(numbers []string) {
	for i, number := range numbers {
		m.Rows++
		m.AddEvent(match.Row{Line: i + 1, Value: []byte(number)})
	}
	m.Asked = numbers
}

// write writes the events with the holder of each and how that is known. The events are read a second time.
func (m *matcher) write(name string) error {
	t, err := m.app.openTable(name, &m.flags.table)
	if err != nil {
		return err
	}
	defer t.close()
	w, err := list.Create(m.flags.out, t.Reader, list.OutOptions{Inputs: m.app.inputs})
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Commit it does nothing; before it, another failure is reported
	for _, row := range t.before {
		if err := w.Write(row, nil); err != nil {
			return err
		}
	}
	if t.head != nil {
		edits := []list.Edit{{Column: list.Add, Value: []byte("holder")}, {Column: list.Add, Value: []byte("match")}}
		if err := w.Write(t.head, edits); err != nil {
			return err
		}
	}
	err = t.each(func(row *list.Row, ragged bool) error {
		if ragged {
			return w.Write(row, m.raggedEdits(row))
		}
		return w.Write(row, m.eventEdits(row))
	})
	if err != nil {
		return err
	}
	return w.Commit()
}

// raggedEdits are the cells that an event with too many or too few of them gets: no holder, and why.
func (m *matcher) raggedEdits(row *list.Row) []list.Edit {
	var edits []list.Edit
	if m.Masks != nil {
		edits = m.Masks.Ragged(edits, row)
	}
	return append(edits, list.Edit{Column: list.Add}, list.Edit{Column: list.Add, Value: []byte(found.RaggedWords)})
}

// eventEdits are the cells that an event gets.
func (m *matcher) eventEdits(row *list.Row) []list.Edit {
	if row.Kind != list.Data {
		return nil
	}
	var edits []list.Edit
	text := strings.TrimSpace(string(m.shown(row)))
	if m.Masks != nil {
		edits = []list.Edit{{Column: m.column, Value: []byte(m.Masks.Value(text))}, {Column: m.second}}
		edits = slices.DeleteFunc(edits, func(e list.Edit) bool { return e.Column < 0 || e.Column >= row.Len() })
		sort.SliceStable(edits, func(i, j int) bool { return edits[i].Column < edits[j].Column })
	}
	name, how := "", "on the list"
	if u := m.Unknown(text); u != nil {
		how = "unknown"
		if other := m.Perhaps(u); other != nil && u.Best.Holder < 0 {
			how = fmt.Sprintf("unknown; or %s, %v: %s", m.WhoOf(other), other.Rule,
				say.Chance(other.Probability))
		}
		if u.Best.Holder >= 0 {
			word := "likely"
			if u.Best.Probability < 0.5 {
				word = "perhaps" // likelier than anybody else, and still less likely than not
			}
			name, how = m.HolderName(m.Holders()[u.Best.Holder]), fmt.Sprintf("%s, %v: %s", word, u.Best.Rule,
				say.Chance(u.Best.Probability))
		}
	} else if i := m.Find([]byte(text)); i >= 0 {
		name = m.HolderName(m.Holders()[i])
	}
	return append(edits, list.Edit{Column: list.Add, Value: []byte(name)}, list.Edit{Column: list.Add, Value: []byte(how)})
}
