package main

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats/reading"
)

// numberColumns say where a list has its numbers: in one column, or that of the facility and that of the number.
type numberColumns struct {
	column int
	second int // the facility's; -1 where it has none of its own
	pair   []byte
}

var errTooOften = errors.New("--column: given too often; give the facility's and the number's")

// value returns the number of a row; with the facility before it, where that has a column of its own. It is valid until
// the next call.
func (c *numberColumns) value(row *list.Row) []byte {
	if c.second < 0 {
		return row.Number(c.column)
	}
	c.pair = append(append(c.pair[:0], bytes.TrimSpace(row.Number(c.second))...), ',')
	c.pair = append(c.pair, bytes.TrimSpace(row.Number(c.column))...)
	return c.pair
}

// text is value as a text.
func (c *numberColumns) text(row *list.Row) string { return string(c.value(row)) }

// numbers finds the columns that are named, the facility's before the number's; by its heading where none is. It tells
// the user which that is, where a is not nil.
func (t *table) numbers(a *app) (numberColumns, error) {
	if len(t.flags.columns) > 2 {
		return numberColumns{}, errTooOften
	}
	found, err := t.named(a)
	if err != nil {
		return numberColumns{}, err
	}
	c := numberColumns{column: found[len(found)-1], second: -1}
	if len(found) == 2 {
		c.second = found[0]
	}
	return c, nil
}

// named finds all columns that are named, in the order of the names; see numbers.
func (t *table) named(a *app) (found []int, err error) {
	names := t.flags.columns
	if len(names) == 0 {
		names = []string{""} // by its head
	}
	for _, name := range names {
		i, err := t.cards(a, name)
		if err != nil {
			return nil, err
		}
		if slices.Contains(found, i) {
			return nil, fmt.Errorf("--column: column %d is named twice; name two columns", i+1)
		}
		found = append(found, i)
	}
	return found, t.nameless(found[len(found)-1])
}

// nameless returns an error where the name of a column is somebody's card: the list has no names of columns, and its
// first row would be lost.
func (t *table) nameless(column int) error {
	if t.head == nil || t.flags.headerRow > 0 || !list.IsNumber(t.heads[column]) {
		return nil
	}
	which := ""
	if !t.flags.secret {
		which = " (" + cutShort(strings.TrimSpace(t.heads[column])) + ")"
	}
	return &list.Error{File: t.Name, Line: t.head.Line, Reason: fmt.Sprintf(headIsCard, which)}
}

// elsewhere asks whether a column of which nothing could be read is the right one, and names the one that by its
// heading may be, or the form in which its numbers would be cards of the plan. There may be no plan.
func (t *table) elsewhere(column int, plan *reading.Plan) string {
	if plan != nil {
		if form := plan.OtherForm(different(t.sample, settledBy)); form != "" {
			return fmt.Sprintf("none is written as %[1]s; they can be written as %[2]s: --from %[2]s if so", plan.FirstForms(), form)
		}
	}
	if !t.flags.secret {
		for _, i := range list.CardColumns(t.heads) {
			if i != column {
				return fmt.Sprintf("is %q the right column? --column %q has card numbers by its heading",
					cutShort(t.heads[column]), cutShort(t.heads[i]))
			}
		}
	}
	if plan == nil {
		return "is it the right column?"
	}
	return fmt.Sprintf("is it the right column, and are its numbers written as %s?", plan.FirstForms())
}

// headIsCard is said of a list whose first row is a card, which has the number named in it.
const headIsCard = "the first row has a card number in that column%s, not a heading; " +
	"--no-header if the list has no headings"

// ofColumns takes numbers in two columns for pairs: what else is said of them is an error.
func (n *numberFlags) ofColumns(names []string) error {
	switch {
	case len(names) > 2:
		return errTooOften
	case len(names) < 2:
		return nil
	case len(n.Forms) > 0 && !slices.Equal(n.Forms, []string{"pair"}):
		return fmt.Errorf("--from %s: facility and number have a column each, so that they are a pair; leave --from out",
			strings.Join(n.Forms, ","))
	case n.Facility != "":
		return fmt.Errorf("--facility %s: the facility is in a column; leave one of them out", n.Facility)
	}
	n.Forms = []string{"pair"}
	return nil
}
