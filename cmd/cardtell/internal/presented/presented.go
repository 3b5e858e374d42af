// Package presented writes the list of cards that were presented at a reader one after another, to name and import.
package presented

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/wiegand/line"
)

// List has a row for each card. What is no card of its own, a card that came before or a read that is in doubt, is
// named in a second file.
type List struct {
	name    string
	opt     list.OutOptions
	like    *list.Reader // a list in whose dialect it is written
	rows    *list.Writer
	rejects *list.Writer // nil until there is something to reject
	seen    map[string]int
	doubles int
	bad     int

	site  *Site
	forms []formats.Form // of each door
}

// Site is where the cards are to be used.
type Site struct {
	site.Site
	Catalogue formats.Catalogue
}

// rejectsOf is the file of what is not in a list.
func rejectsOf(name string) string { return name + ".rejects.csv" }

// New begins a list. inputs are files that it must not overwrite. With a site each card has its numbers, in the forms
// that the doors want; nil for none.
func New(name string, inputs []fs.FileInfo, s *Site) (*List, error) {
	like, err := list.From("", strings.NewReader("a,b\n"), list.Options{})
	if err != nil {
		return nil, err
	}
	l := &List{name: name, opt: list.OutOptions{Inputs: inputs}, like: like, seen: map[string]int{}, site: s}
	heads := []string{"card", "at_s", "read"}
	if s != nil {
		heads = append(heads, "format", "facility", "number", "printed")
		for _, d := range s.Doors {
			heads = append(heads, d.Name)
			l.forms = append(l.forms, formNamed(d.Enter))
		}
	}
	if l.rows, err = list.Create(name, like, l.opt); err != nil {
		return nil, err
	}
	return l, l.rows.Write(list.NewRow(append(heads, "remark")), nil)
}

// Add takes the next read, and tells in it what became of it. Keys of a keypad are no cards.
func (l *List) Add(e *reads.Entry) error {
	key := cmp.Or(e.Text, e.Bits)
	switch {
	case e.KeyCount > 0:
		return nil
	case key == "" || e.Verdict == line.Suspect.String():
		l.bad++
		e.Rejected = "bad read, present the card again"
		return l.reject(e, "bad read: "+strings.Join(e.Warnings, "; "))
	case l.seen[key] > 0:
		l.doubles++
		e.Row, e.Double = l.seen[key], true
		return l.reject(e, fmt.Sprintf("double: the same as card %d", e.Row))
	}
	e.Row = len(l.seen) + 1
	l.seen[key] = e.Row
	cells, remark := []string{strconv.Itoa(e.Row), atSeconds(e), readText(e)}, e.Track2
	if l.site != nil {
		var of []string
		of, remark = l.ofSite(e)
		cells = append(cells, of...)
	}
	if e.Doubt != "" {
		remark = strings.TrimPrefix(remark+"; "+e.Doubt, "; ")
	}
	return l.rows.Write(list.NewRow(append(cells, remark)), nil)
}

func atSeconds(e *reads.Entry) string {
	if e.Time == nil {
		return ""
	}
	return strconv.FormatFloat(*e.Time, 'f', 3, 64)
}

func readText(e *reads.Entry) string {
	if e.Came.Len() == 0 {
		return e.Text
	}
	return e.Came.Hex()
}

// ofSite returns the cells that say which of the site's cards it is, and a remark where that is not sure: then they are
// empty.
func (l *List) ofSite(e *reads.Entry) (cells []string, remark string) {
	cells = make([]string, 4+len(l.forms))
	var found []formats.Card
	printed := ""
	for _, p := range l.site.Cards {
		for _, f := range l.site.Catalogue.Find(p.Format) {
			c, err := f.Read(e.Came)
			if err != nil || c.Record.Failed() != 0 || !p.Belongs(&c) || slices.Contains(found, c) {
				continue
			}
			found, printed = append(found, c), p.Printed
		}
	}
	switch {
	case len(found) == 0:
		return cells, "none of the site's cards"
	case len(found) > 1:
		return cells, fmt.Sprintf("can be one of %d of the site's cards", len(found))
	}
	c := &found[0]
	cells[0] = c.Format.ID
	for i, field := range []int{c.Format.Facility(), c.Format.Number()} {
		if field >= 0 {
			cells[1+i] = c.Text(field)
		}
	}
	var cannot []string
	for i, form := range append([]formats.Form{formNamed(printed)}, l.forms...) {
		if form.Name == "" {
			continue
		}
		text, err := form.Text(c)
		if err != nil {
			cannot = append(cannot, form.Name)
		}
		cells[3+i] = text
	}
	if len(cannot) > 0 {
		remark = "this card cannot be written as " + strings.Join(cannot, ", ")
	}
	return cells, remark
}

func formNamed(name string) formats.Form {
	form, _ := formats.FormByName(name)
	return form
}

// reject names what is not in the list.
func (l *List) reject(e *reads.Entry, why string) error {
	if err := l.openRejects(); err != nil {
		return err
	}
	return l.rejects.Write(list.NewRow([]string{atSeconds(e), readText(e), why}), nil)
}

func (l *List) openRejects() (err error) {
	if l.rejects != nil {
		return nil
	}
	if l.rejects, err = list.Create(rejectsOf(l.name), l.like, l.opt); err != nil {
		return err
	}
	return l.rejects.Write(list.NewRow([]string{"at_s", "read", "why"}), nil)
}

// Sum is what became of a recording.
type Sum struct {
	Cards, Doubles, Bad int
	Rejects             string // the file of the last two; "" where there is none
}

// Close puts the files in their places, the rejects first. Where no card was read, what is there stays.
func (l *List) Close() (Sum, error) {
	sum := Sum{Cards: len(l.seen), Doubles: l.doubles, Bad: l.bad}
	if sum.Cards == 0 {
		return sum, l.abort()
	}
	if _, err := os.Stat(rejectsOf(l.name)); err == nil { // those of an earlier run would be taken for this one's
		if err := l.openRejects(); err != nil {
			return sum, err
		}
	}
	writers := []*list.Writer{l.rows}
	if l.rejects != nil {
		writers, sum.Rejects = []*list.Writer{l.rejects, l.rows}, rejectsOf(l.name)
	}
	if err := list.Together(l.name, writers); err != nil {
		return sum, errors.Join(err, l.abort())
	}
	return sum, nil
}

// abort gives the files up.
func (l *List) abort() error {
	if l.rejects != nil {
		if err := l.rejects.Abort(); err != nil {
			return err
		}
	}
	return l.rows.Abort()
}
