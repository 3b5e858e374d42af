// Package roster finds what is wrong with a list of cardholders, and which card numbers are free.
//
// # Where to start
//
// [New] makes a [Roster], which takes the rows of a list one after the other and keeps what is needed to compare them,
// a few dozen bytes each. Then [Roster.Check] says what is wrong: the same card twice, cards that a door can't tell
// apart, numbers that are not the site's. [Roster.People] names who may be there twice, [Roster.Free] finds new
// numbers, and [Roster.New] writes them for every door.
package roster

import (
	"errors"
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// Roster is a list of cardholders and the site that it is for. It is not safe for concurrent use. Make one with
// New: the zero Roster is of no use.
type Roster struct {
	site     site.Site
	plan     *reading.Plan
	rows     int
	named    bool // the list has names, so that a row without one lacks it
	texts    texts
	cards    pile[cardRow] // readable cards of the site, in the order of rows
	doors    []doorCheck   // one for each door that has a form
	findings []Finding
	unread   []string // the numbers of rows that could not be read, or the whole row
	doubtful doubtful // what those may have
	order    []int32  // cards in the order of their keys
	scratch  []int32  // as many, for one door after the other
	distinct int      // different cards

	people     []Person
	morePeople int
}

// Row is one row of a list. Its texts are copied where they are kept.
type Row struct {
	Line   int // where it stands, from 1
	Name   []byte
	Number []byte // as the cell has it
}

// cardRow is one cardholder's card.
type cardRow struct {
	key  reading.Key
	line int32
	text int32 // of its name and number
}

// doorCheck is what a door's controller would show for each card.
type doorCheck struct {
	door    site.Door
	convert *reading.Converter
	shared  int          // the door whose hashes are this one's too: it has the same form; -1 where none
	hashes  pile[uint32] // of what is shown, one for each card; 0 where the card can't be written so
	taken   []int32      // cards in the order of those, once new numbers are looked for
	clashes int
	without int // cards that can't be entered
}

// Kind is what is wrong, in the order in which people are told.
type Kind uint8

// The kinds.
const (
	SameCard     Kind = iota // Line has the card of Other
	Clash                    // the door shows the cards of Line and Other alike
	Mistyped                 // no card of the site, and one mistake from Meant, which nobody has
	SameName                 // one name has two cards whose numbers differ by swapped digits
	NoName                   // a row without a name, in a list that has names
	NotEnterable             // the door's form can't have the card
	OverCapacity             // the door's controller holds fewer than Other cardholders
	OtherForm                // the number is not written as printed, but as a door wants it
	Unusable                 // the number can't be read as a card of the site: What says why
)

var kindNames = [...]string{
	"the same card", "alike at a door", "typed wrong", "one name", "no name", "not enterable", "over capacity", "another form",
	"unusable",
}

// String returns two or three words, such as "the same card".
func (k Kind) String() string { return kindNames[k] }

// Finding is something wrong with a row, or with a door. Its texts are found with [Roster.Name] and [Roster.Number].
type Finding struct {
	Kind  Kind
	Door  int          // place in [Roster.Doors], for Clash, NotEnterable and OverCapacity
	Line  int          // of the row; 0 where it is the whole list's
	Other int          // line of the other row; the cardholders for OverCapacity
	Text  int32        // names the row; -1 where nothing was kept of it
	With  int32        // names the other row
	What  reading.Kind // for Unusable
	Meant string       // for Mistyped: the number that was probably meant
	How   string       // for Mistyped: the mistake, such as "two digits swapped"
	// for Mistyped: how probable Meant is, of all cards of the site that one mistake makes the number of
	Probability float64
	Note        string // what the caller of [Roster.AddUnread] said
}

// Door is what the list is at one door.
type Door struct {
	site.Door
	Clashes int // cards that it can't tell from another
	Without int // rows whose card can't be entered
}

// New makes a Roster without rows. named says that the list has names. The error is for a door whose form no card of
// the plan can be written in.
func New(s site.Site, plan *reading.Plan, named bool) (*Roster, error) {
	c := &Roster{site: s, plan: plan, named: named}
	for i, d := range s.Doors {
		fm, ok := formats.FormByName(d.Enter)
		if !ok {
			continue
		}
		convert, err := reading.NewConverter(plan, fm)
		if err != nil {
			return nil, fmt.Errorf("door %q: %w", d.Name, err)
		}
		dc := doorCheck{door: d, convert: convert, shared: -1}
		for k := range c.doors {
			if s.Doors[i].Enter == c.doors[k].door.Enter && dc.shared < 0 {
				dc.shared = k
			}
		}
		c.doors = append(c.doors, dc)
	}
	return c, nil
}

// Add adds a row.
func (c *Roster) Add(row Row) {
	c.rows++
	text := c.texts.add(row.Name, row.Number)
	if c.named && c.texts.name(text) == "" {
		c.add(Finding{Kind: NoName, Line: row.Line, Text: text})
	}
	var seen reading.Seen
	err := c.plan.Read(row.Number, &seen)
	if err != nil {
		c.keepUnread(string(row.Number))
	}
	if err != nil && !c.alike(row.Number, &seen) {
		kind := reading.Unreadable
		if e, ok := errors.AsType[*reading.Error](err); ok {
			kind = e.Kind
		}
		c.add(Finding{Kind: Unusable, What: kind, Line: row.Line, Text: text})
		return
	}
	if seen.Reading.Second() {
		c.add(Finding{Kind: OtherForm, Line: row.Line, Text: text})
	}
	c.cards.add(cardRow{key: seen.Key(), line: int32(row.Line), text: text})
	for i := range c.doors {
		c.doors[i].add(&seen)
	}
}

// alike reads a number that can be several cards, of which every door wants the same, as the likeliest of them.
func (c *Roster) alike(number []byte, seen *reading.Seen) bool {
	for i := range c.doors {
		v := c.doors[i].convert
		if _, err := v.Convert(nil, number); err != nil {
			return false
		}
		*seen = v.Seen
	}
	return len(c.doors) > 0
}

// AddUnread adds a row of which it is not known where its number stands. what and note say why, text is all that it
// has: no number in it is taken for free.
func (c *Roster) AddUnread(line int, what reading.Kind, note, text string) {
	c.rows++
	c.add(Finding{Kind: Unusable, What: what, Line: line, Text: -1, Note: note})
	c.keepUnread(text)
}

// keepUnread keeps what a row that could not be read has, for the numbers that are not free because of it.
func (c *Roster) keepUnread(text string) {
	if len(c.unread) <= maxUnread {
		c.unread = append(c.unread, text)
	}
}

func (c *Roster) add(f Finding) { c.findings = append(c.findings, f) }

func (d *doorCheck) add(seen *reading.Seen) {
	if d.shared < 0 {
		d.hashes.add(d.hash(seen))
	}
}

// Rows returns how many rows were added.
func (c *Roster) Rows() int { return c.rows }

// Readable returns how many rows have a card of the site.
func (c *Roster) Readable() int { return c.cards.n }

// Cards returns how many different cards there are, after [Roster.Check].
func (c *Roster) Cards() int { return c.distinct }

// Name returns the name of a row, cut to 200 bytes; "" for -1.
func (c *Roster) Name(text int32) string { return c.texts.name(text) }

// Number returns the number of a row as it stands there, cut to 200 bytes; "" for -1.
func (c *Roster) Number(text int32) string { return c.texts.number(text) }

// Doors returns the doors of which the form is known, after [Roster.Check].
func (c *Roster) Doors() []Door {
	all := make([]Door, len(c.doors))
	for i := range c.doors {
		all[i] = Door{Door: c.doors[i].door, Clashes: c.doors[i].clashes, Without: c.doors[i].without}
	}
	return all
}

// ShownAs returns what a door shows for a number of the list, "" where it has no such form.
func (c *Roster) ShownAs(door int, number string) string {
	shown, err := c.enter(door, number)
	if err != nil {
		return ""
	}
	return shown
}

// WhyNot returns why a number of the list can't be entered at a door, nil where it can.
func (c *Roster) WhyNot(door int, number string) error {
	_, err := c.enter(door, number)
	return err
}

func (c *Roster) enter(door int, number string) (string, error) {
	var seen reading.Seen
	if err := c.plan.Read([]byte(number), &seen); err != nil && !c.alike([]byte(number), &seen) {
		return "", err
	}
	shown, err := c.doors[door].convert.Append(nil, &seen)
	return string(shown), err
}
