package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/wiegand/line"
)

// cardList is the list that --list writes: cards presented one after another, a row each. What is no card of its own, a
// card that came before or a read that is in doubt, is named in a second file.
type cardList struct {
	app     *app
	name    string
	opt     list.OutOptions
	like    *list.Reader // a list in whose dialect it is written
	rows    list.Writer
	rejects list.Writer // nil until there is something to reject
	seen    map[string]int
	doubles int
	bad     int

	site  site.Site
	kinds [][]*formats.Format // of each population
	forms []formats.Form      // of each door
}

// rejectsOf is the file of what is not in a list.
func rejectsOf(name string) string { return name + ".rejects.csv" }

// newCardList begins a list. inputs are files that it must not overwrite.
func (a *app) newCardList(name string, inputs []fs.FileInfo) (*cardList, error) {
	if name == "-" {
		return nil, errors.New("capture: --list -: standard output has the reads as they come; name a file")
	}
	like, err := list.From("", strings.NewReader("a,b\n"), list.Options{})
	if err != nil {
		return nil, err
	}
	l := &cardList{app: a, name: name, opt: list.OutOptions{Inputs: inputs}, like: like, seen: map[string]int{}}
	heads := []string{"card", "at_s", "read"}
	if a.site != "" {
		if err := l.readSite(); err != nil {
			return nil, err
		}
		heads = append(heads, "format", "facility", "number", "printed")
		for _, d := range l.site.Doors {
			heads = append(heads, d.Name)
		}
	}
	if l.rows, err = list.Create(name, like, l.opt); err != nil {
		return nil, err
	}
	return l, l.rows.Write(list.NewRow(append(heads, "remark")), nil)
}

// readSite finds the formats of the site's cards and the forms of its doors.
func (l *cardList) readSite() error {
	cat, err := l.app.catalogue()
	if err != nil {
		return err
	}
	if l.site, err = l.app.siteFile(cat); err != nil {
		return err
	}
	for _, p := range l.site.Cards {
		l.kinds = append(l.kinds, cat.Find(p.Format))
	}
	for _, d := range l.site.Doors {
		form, _ := formats.FormByName(d.Enter)
		l.forms = append(l.forms, form)
	}
	return nil
}

// add takes the next read, and tells in it what became of it. Keys of a keypad are no cards.
func (l *cardList) add(e *reads.Entry) error {
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
	if l.app.site != "" {
		var of []string
		of, remark = l.ofSite(e)
		cells = append(cells, of...)
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
func (l *cardList) ofSite(e *reads.Entry) (cells []string, remark string) {
	cells = make([]string, 4+len(l.forms))
	var found []formats.Card
	printed := ""
	for i, p := range l.site.Cards {
		for _, f := range l.kinds[i] {
			c, err := f.Read(e.Came)
			if err != nil || c.Record.Failed() != 0 || !belongs(&p, &c) || slices.Contains(found, c) {
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

// belongs tells whether a card is of a population.
func belongs(p *formats.Population, c *formats.Card) bool {
	value := func(field int) (uint64, bool) {
		if field < 0 {
			return 0, false
		}
		v, err := strconv.ParseUint(c.Text(field), 10, 64)
		return v, err == nil
	}
	facility, has := value(c.Format.Facility())
	number, ok := value(c.Format.Number())
	return ok && p.Has(facility, has, number)
}

// reject names what is not in the list.
func (l *cardList) reject(e *reads.Entry, why string) error {
	if err := l.openRejects(); err != nil {
		return err
	}
	return l.rejects.Write(list.NewRow([]string{atSeconds(e), readText(e), why}), nil)
}

func (l *cardList) openRejects() (err error) {
	if l.rejects != nil {
		return nil
	}
	if l.rejects, err = list.Create(rejectsOf(l.name), l.like, l.opt); err != nil {
		return err
	}
	return l.rejects.Write(list.NewRow([]string{"at_s", "read", "why"}), nil)
}

// close puts the files in their places, the rejects first. Where no card was read, what is there stays.
func (l *cardList) close() error {
	if len(l.seen) == 0 {
		l.app.remark("no card was read without a doubt; %s is not written", l.name)
		return errors.Join(l.abort(), errNo)
	}
	if exists(rejectsOf(l.name)) { // those of an earlier run would be taken for this one's
		if err := l.openRejects(); err != nil {
			return err
		}
	}
	for _, step := range []func(list.Writer) error{list.Writer.Finish, list.Writer.Commit} {
		for _, w := range []list.Writer{l.rejects, l.rows} {
			if w == nil {
				continue
			}
			if err := step(w); err != nil {
				return errors.Join(err, l.abort())
			}
		}
	}
	rest := ""
	if l.rejects != nil {
		rest = fmt.Sprintf("; %s and %s, in %s", say.Count(l.doubles, "double"), say.Count(l.bad, "bad read"), rejectsOf(l.name))
	}
	l.app.remark("%s has %s%s", l.name, say.Count(len(l.seen), "card"), rest)
	if l.bad > 0 {
		return errNo
	}
	return nil
}

// abort gives the files up.
func (l *cardList) abort() error {
	if l.rejects != nil {
		if err := l.rejects.Abort(); err != nil {
			return err
		}
	}
	return l.rows.Abort()
}
